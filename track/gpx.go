package track

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"strings"
)

// ReadGPX reads a GPX 1.0 or 1.1 file in one pass: tracks, routes and waypoints.
// name stands in messages. Elements are known by their local names, whatever
// prefix or namespace they carry.
//
// Of a point it takes position, elevation, time, fix kind, satellites, HDOP and
// PDOP, and the horizontal accuracy that many programs add as an extension;
// satellites and the like deep inside extensions are taken where the point itself
// does not give them. Times without a zone are UTC. What a point lacks stays
// missing as in [NoFix].
//
// The encoding may be UTF-8, UTF-16 or a declared single-byte character set.
// Empty segments, and tracks and routes without points, are left out with a note.
// One unreadable value is a note and stays missing; a decimal comma is a note and
// is read as a point, except in an elevation such as 1,234, which may be meant in
// thousands. Positions off the globe are kept as they are. Where the file is cut
// short or its tags no longer pair up, the points completed before that are kept,
// with a note.
//
// It fails with a *[ParseError] when the file is empty, has no complete <gpx> tag
// or r fails, and with an *[UnsupportedError] when it is another kind of file. Time
// and memory are linear in the points and text, with no allocation for a single
// track point. No single tag or text may be over 16 MB.
func ReadGPX(r io.Reader, name string) (*Log, error) {
	in := bufio.NewReader(r)
	head, err := in.Peek(headBytes)
	if len(head) == 0 {
		if err == io.EOF {
			err = errors.New("empty file")
		}
		return nil, &ParseError{Name: name, Err: err}
	}
	if found := looksLike(head); found != "" {
		return nil, &UnsupportedError{Name: name, Found: found}
	}
	text, unknown := decoded(in)
	g := &gpxReader{x: newScanner(text), log: &Log{Name: name, Format: "GPX"}}
	if unknown != "" {
		g.note(NoteCharset, "unknown character set "+quoted(unknown)+", read as UTF-8")
	}
	if err := g.run(); err != nil {
		return nil, err
	}
	return g.log, nil
}

// gpxReader holds what has been read of the file.
type gpxReader struct {
	x    *scanner
	log  *Log
	open []element // the open elements, outermost first

	inPoint bool
	point   Waypoint // the open point
	text    []byte   // of the open field
	line    Track    // the open track or route
	fixes   fixList  // of its open segment
}

func (g *gpxReader) run() error {
	for {
		kind, err := g.x.next()
		if err == nil {
			switch kind {
			case tokenStart:
				err = g.start()
			case tokenText:
				err = g.characters()
			case tokenEnd:
				g.end()
			case tokenDone:
				err = io.EOF
			}
		}
		if err != nil {
			return g.stop(err)
		}
	}
}

// stop turns what ended the reading into a note or, if nothing can be kept, an
// error.
func (g *gpxReader) stop(err error) error {
	var unsupported *UnsupportedError
	var broken damage
	cut := err == io.EOF || err == io.ErrUnexpectedEOF
	switch started := len(g.open) > 0; {
	case errors.As(err, &unsupported):
		return err
	case !started && cut:
		return &ParseError{Name: g.log.Name, Line: g.x.line(), Err: errors.New("no complete <gpx> tag")}
	case started && err == io.EOF:
		return nil
	case started && cut:
		g.note(NoteTruncated, "file ends too early, read up to here")
	case started && errors.As(err, &broken):
		g.note(NoteBadXML, err.Error()+", read up to here")
	default:
		return &ParseError{Name: g.log.Name, Line: g.x.line(), Err: err}
	}
	g.finish()
	return nil
}

// finish keeps the segment and track or route that were open when reading stopped.
func (g *gpxReader) finish() {
	for len(g.open) > 1 {
		if !g.top().isField() && !g.top().isPoint() {
			g.end()
			continue
		}
		g.open = g.open[:len(g.open)-1]
	}
}

func (g *gpxReader) top() element { return g.open[len(g.open)-1] }

func (g *gpxReader) start() error {
	if len(g.open) == 0 {
		return g.root()
	}
	if len(g.x.ends) == 1 {
		return damage("content after </gpx>")
	}
	el := meaning(g.x.local)
	if !fits(el, g.top(), g.inPoint) {
		el = elOther
	}
	g.open = append(g.open, el)
	switch {
	case el == elSegment:
		g.endSegment() // points outside any segment
	case el.isPoint():
		g.startPoint()
	case el.isField():
		g.text = g.text[:0]
	}
	return nil
}

// root checks the outermost element. It stays in g.open even after its end, as
// the sign that the file is GPX.
func (g *gpxReader) root() error {
	if string(g.x.local) != "gpx" {
		return &UnsupportedError{Name: g.log.Name, Found: rootLooks(shown(g.x.name))}
	}
	g.open = append(g.open, elGPX)
	declaration := "xmlns"
	if prefix := strings.TrimSuffix(string(g.x.name), "gpx"); prefix != "" {
		declaration += ":" + strings.TrimSuffix(prefix, ":")
	}
	for {
		key, value, err := g.x.attribute()
		switch {
		case err != nil:
			g.note(NoteBadField, "unreadable attribute of <gpx>")
			return nil
		case len(key) == 0:
			return nil
		case string(key) == "creator":
			g.log.Creator = plain(value)
		case string(key) == declaration && !gpxNamespace(string(value)):
			g.note(NoteOddNamespace, "namespace "+quoted(string(value))+" is not that of GPX 1.0 or 1.1")
		}
	}
}

func gpxNamespace(uri string) bool {
	return uri == "http://www.topografix.com/GPX/1/0" || uri == "http://www.topografix.com/GPX/1/1"
}

func (g *gpxReader) characters() error {
	switch {
	case len(g.open) == 0:
		return nil // between the document type and the root
	case g.top().isField():
		return g.addText()
	case len(g.x.ends) == 0 && len(bytes.TrimSpace(g.x.text)) > 0:
		return damage("content after </gpx>")
	}
	return nil
}

func (g *gpxReader) addText() error {
	had := len(g.text)
	if had+len(g.x.text) > maxToken {
		return damage("an element with too much text")
	}
	g.text = append(g.text, g.x.text...)
	if !g.x.verbatim {
		g.text = g.text[:had+len(unescape(g.text[had:]))]
	}
	return nil
}

func (g *gpxReader) end() {
	if len(g.open) == 1 {
		return // </gpx>
	}
	el := g.top()
	g.open = g.open[:len(g.open)-1]
	switch {
	case el.isField():
		g.setField(el)
		g.text = g.text[:0]
	case el.isPoint():
		g.endPoint(el)
	case el == elSegment:
		if !g.endSegment() {
			g.note(NoteEmpty, "segment without points")
		}
	case el == elTrack:
		g.endSegment()
		g.log.Tracks = g.endLine(g.log.Tracks, "track")
	case el == elRoute:
		g.endSegment()
		g.log.Routes = g.endLine(g.log.Routes, "route")
	}
}

// note counts what is odd at the line of the last token.
func (g *gpxReader) note(k NoteKind, what string) {
	g.log.Notes.Add(k, func() string { return where(g.log.Name, g.x.line()) + ": " + what })
}
