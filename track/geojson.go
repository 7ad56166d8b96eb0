package track

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
)

// ReadGeoJSON reads a GeoJSON file (RFC 7946) in one pass: a feature collection, a
// feature, a bare geometry, or a sequence of them (RFC 8142). name stands in
// messages. The members of an object may come in any order.
//
// A LineString is a track of one segment, a MultiLineString of one for each line;
// so are those of a GeometryCollection. Times come from the property coordTimes or
// times, or the times of the property coordinateProperties: one for each position, in
// an array or, for several lines, in one for each. Times are ISO 8601, without a
// zone UTC, or seconds or milliseconds since 1970. Numbers after the elevation
// are passed over.
//
// Points are waypoints, with time, accuracy and the like from the properties that
// have such names; see [ReadKML] for those that become a track. Polygons are passed
// over: a file of these alone is a log without fixes.
//
// One unreadable value is a note and stays missing, words such as NaN in place of a number
// among them. Positions off the globe are kept as they are. Where the file is cut short or
// not JSON any more, what was complete before that is kept, with a note of kind
// [NoteTruncated].
//
// It fails with a *[ParseError] when the file is empty or r fails, and with an
// *[UnsupportedError] when it is another kind of file. It may be UTF-8 or UTF-16. Time
// and memory are linear in the positions and text. No single text or position may
// be over 16 MB, and objects may not be nested deeper than 100.
func ReadGeoJSON(r io.Reader, name string) (*Log, error) {
	in := newLookahead(r).in
	g := &geoReader{src: chunks{r: &looseJSON{r: in}, buf: make([]byte, chunkBytes)}}
	g.log, g.line = &Log{Name: name, Format: "GeoJSON"}, g.src.line
	head, err := in.Peek(headBytes)
	switch text := bytes.TrimLeft(head, "\x1e"+xmlBlanks); {
	case len(head) == 0 && err == io.EOF:
		return nil, &ParseError{Name: name, Err: errors.New("empty file")}
	case len(head) == 0:
		return nil, &ParseError{Name: name, Err: err}
	case len(text) > 0 && text[0] != '{':
		found := looksLike(head)
		if found == "" {
			found = "looks like XML"
		}
		return nil, g.unsupported(found)
	}
	g.d = json.NewDecoder(&g.src)
	g.d.UseNumber()
	if err := g.run(); err != nil {
		return nil, err
	}
	g.tracksOfPoints()
	return g.log, nil
}

// geoReader holds what has been read of the file.
type geoReader struct {
	fieldReader
	src   chunks
	d     *json.Decoder
	known bool // something of GeoJSON was seen
	depth int  // of objects
	raw   rawJSON
}

func (g *geoReader) unsupported(found string) error {
	return &UnsupportedError{Name: g.log.Name, Found: found, Format: g.log.Format}
}

func (g *geoReader) run() error {
	for {
		tok, err := g.token()
		if err == nil && tok == json.Delim('{') {
			err = g.feature()
		} else if err == nil {
			err = damage("content after the end")
		}
		if err == nil && !g.known {
			return g.unsupported("looks like JSON")
		}
		switch {
		case err == nil:
			continue
		case !g.known && (err == io.EOF || err == io.ErrUnexpectedEOF):
			return &ParseError{Name: g.log.Name, Line: g.line(), Err: errors.New("no GeoJSON object")}
		case !g.known:
			return &ParseError{Name: g.log.Name, Line: g.line(), Err: err}
		}
		return g.log.ended(err, g.line())
	}
}

// token reads one token, which is good until the next.
func (g *geoReader) token() (json.Token, error) {
	tok, err := g.d.Token()
	return tok, g.fault(err)
}

// fault keeps account of where the decoder is and tells damage from a failing
// source.
func (g *geoReader) fault(err error) error {
	g.src.used = g.d.InputOffset()
	if err == nil {
		return nil
	}
	var syntax *json.SyntaxError
	switch {
	case errors.As(err, &syntax):
		return damage(err.Error())
	case err == io.EOF && g.depth > 0:
		return io.ErrUnexpectedEOF
	}
	return err
}

// members calls do for each member of an object whose brace was read, up to the
// closing one.
func (g *geoReader) members(do func(key string) error) error {
	const deepest = 100
	if g.depth++; g.depth > deepest {
		return damage("objects nested too deep")
	}
	for {
		tok, err := g.token()
		key, more := tok.(string)
		if err == nil && more {
			err = do(key)
		}
		if err != nil {
			return err
		}
		if !more {
			g.depth--
			return nil
		}
	}
}

// begins reads the start of a value and reports whether it is open, '{' or '['.
// Anything else is passed over; unless it is null, with a note.
func (g *geoReader) begins(open json.Delim, what string) (bool, error) {
	tok, err := g.token()
	if err != nil || tok == open {
		return err == nil, err
	}
	if tok != nil {
		kind := map[json.Delim]string{'{': "object", '[': "array"}[open]
		g.note(NoteBadField, what+" that is no "+kind)
	}
	return false, g.skip(tok)
}

// skip passes over the value that begins with tok.
func (g *geoReader) skip(tok json.Token) error {
	const deepest = 10_000 // as in the decoder's own limit
	for depth := 0; ; {
		switch tok {
		case json.Delim('{'), json.Delim('['):
			depth++
		case json.Delim('}'), json.Delim(']'):
			depth--
		}
		if depth == 0 {
			return nil
		}
		if depth > deepest {
			return damage("values nested too deep")
		}
		var err error
		if tok, err = g.token(); err != nil {
			return err
		}
	}
}

// skipNext passes over the next value.
func (g *geoReader) skipNext() error {
	tok, err := g.token()
	if err != nil {
		return err
	}
	return g.skip(tok)
}

// rawJSON is a value as it stands in the file, good until the next.
type rawJSON []byte

// UnmarshalJSON keeps the value without copying it.
func (r *rawJSON) UnmarshalJSON(b []byte) error {
	*r = b
	return nil
}

// value reads a value whole.
func (g *geoReader) value() (rawJSON, error) {
	g.raw = nil
	err := g.d.Decode(&g.raw)
	return g.raw, g.fault(err)
}
