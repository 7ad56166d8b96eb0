package track

import (
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
	g := &gpxReader{}
	if err := g.openXML(r, &Log{Name: name, Format: "GPX"}, "gpx"); err != nil {
		return nil, err
	}
	if err := g.run(g); err != nil {
		return nil, err
	}
	return g.log, nil
}

// gpxReader holds what has been read of the file.
type gpxReader struct {
	xmlReader
	lineList
	inPoint bool
	point   Waypoint // the open point
}

func (g *gpxReader) start() element {
	if len(g.open) == 0 {
		g.root()
		return elRoot
	}
	el := meaning(g.x.local)
	if !fits(el, g.top(), g.inPoint) {
		return elOther
	}
	switch {
	case el == elSegment:
		g.endSegment() // points outside any segment
	case el.isPoint():
		g.startPoint()
	}
	return el
}

// root reads the attributes of the outermost element.
func (g *gpxReader) root() {
	declaration := "xmlns"
	if prefix := strings.TrimSuffix(string(g.x.name), "gpx"); prefix != "" {
		declaration += ":" + strings.TrimSuffix(prefix, ":")
	}
	for {
		key, value, err := g.x.attribute()
		switch {
		case err != nil:
			g.note(NoteBadField, "unreadable attribute of <gpx>")
			return
		case len(key) == 0:
			return
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

func (g *gpxReader) end(el element) {
	switch {
	case el.isField():
		g.setField(el)
	case el.isPoint():
		g.endPoint(el)
	case el == elSegment:
		if !g.endSegment() {
			g.note(NoteEmpty, "segment without points")
		}
	case el == elTrack:
		g.log.Tracks = g.endLine(&g.lineList, g.log.Tracks, "track")
	case el == elRoute:
		g.log.Routes = g.endLine(&g.lineList, g.log.Routes, "route")
	}
}
