package site

import (
	"bytes"
	"compress/gzip"
	"encoding/xml"
	"fmt"
	"io"
	"strings"

	"golang.org/x/text/encoding/unicode"
)

// maxBytes is the largest site file read, after decompression. The most vertices
// that Validate allows need under 3 MB.
const maxBytes = 16 << 20

// Read reads a site from GeoJSON (RFC 7946), KML 2.2 or GPX, each optionally
// gzip-compressed, in UTF-8 or UTF-16, told apart by content. The name is used
// in messages, and as the site's name when the file gives none. Errors name the
// place in the file; the site is checked with [Site.Validate]. Odd but usable
// things are counted in Notes. Elevations are ignored.
//
// In GeoJSON the property "role" says what a shape is: boundary, keepout,
// landmark, mark, laid-out or slow; without it polygons are boundary and the rest
// landmarks. "name" and "kind" name it; a laid-out polygon also has "spacing",
// "direction" and perhaps "session", as [LaidOut] says, and a slow one "pace", as
// [Slow] says. In KML the same are read from ExtendedData.
// In GPX the first closed route, or else track, is the boundary: its ends lie
// within 10 m or 2 % of its length of each other, and within a tenth of it.
// Small loops, as receivers draw at rest, are cut off it. Waypoints are landmarks.
//
// A file may have at most 16 MB once decompressed.
func Read(r io.Reader, name string) (*Site, error) {
	s := &Site{}
	if err := s.read(r, name); err != nil {
		return nil, err
	}
	if s.Name == "" && len(s.Boundary) > 0 {
		s.Name = s.Boundary[0].Name
	}
	if s.Name == "" {
		s.Name = baseName(name)
	}
	if err := s.settle(name); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return s, nil
}

func (s *Site) read(r io.Reader, name string) error {
	file := source{place: name}
	raw, err := slurp(r)
	if err != nil {
		return file.errorf("%w", err)
	}
	text, err := toUTF8(raw)
	if err != nil {
		return file.errorf("%w", err)
	}
	switch head := bytes.TrimSpace(text); {
	case len(head) == 0:
		return file.errorf("the file is empty")
	case head[0] == '{':
		return s.readGeoJSON(text, name)
	case head[0] != '<':
		return file.errorf("not GeoJSON, KML or GPX: starts with %q", clip(head, 20))
	}
	switch root := rootElement(text); strings.ToLower(root) {
	case "kml":
		return s.readKML(text, name)
	case "gpx":
		return s.readGPX(raw, name) // raw: that reader sees to encodings itself
	case "html":
		return file.errorf("this is a web page, not GeoJSON, KML or GPX")
	case "":
		return file.errorf("not GeoJSON, KML or GPX: damaged XML")
	default:
		return file.errorf("not KML or GPX: XML of <%s>", clip([]byte(root), 40))
	}
}

// settle checks the finished site, leaves out landmarks that lie out of reach
// and notes keep-outs that take nothing away.
func (s *Site) settle(name string) error {
	if err := s.Validate(); err != nil {
		return err
	}
	f, err := s.Frame()
	if err != nil {
		return err
	}
	near := s.Landmarks[:0]
	for _, l := range s.Landmarks {
		if inReach(f, l.Points) {
			near = append(near, l)
			continue
		}
		s.Notes.Add(NoteLandmarkFar, func() string {
			return fmt.Sprintf("%s: landmark %q at %v is over %d km from the boundary's middle",
				name, l.Name, l.Points[0], reachM/1000)
		})
	}
	s.Landmarks = near
	for _, i := range s.idleKeepouts(f) {
		s.Notes.Add(NoteKeepoutOutside, func() string {
			return fmt.Sprintf("%s: %s lies outside the boundary", name, s.label(roleKeepout, i))
		})
	}
	return nil
}

// slurp reads and decompresses a whole file.
func slurp(r io.Reader) ([]byte, error) {
	raw, err := readCapped(r)
	if err != nil || !bytes.HasPrefix(raw, []byte{0x1f, 0x8b}) {
		return raw, err
	}
	z, err := gzip.NewReader(bytes.NewReader(raw))
	if err != nil {
		return nil, fmt.Errorf("damaged gzip: %w", err)
	}
	if raw, err = readCapped(z); err != nil {
		return nil, fmt.Errorf("gzip: %w", err)
	}
	return raw, nil
}

func readCapped(r io.Reader) ([]byte, error) {
	b, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, err
	}
	if len(b) > maxBytes {
		return nil, fmt.Errorf("larger than %d MB, too large for a site file", maxBytes>>20)
	}
	return b, nil
}

// toUTF8 takes off a byte order mark and turns UTF-16 into UTF-8.
func toUTF8(b []byte) ([]byte, error) {
	order := unicode.BigEndian
	switch {
	case bytes.HasPrefix(b, []byte("\xef\xbb\xbf")):
		return b[3:], nil
	case bytes.HasPrefix(b, []byte("\xff\xfe")), len(b) > 1 && b[0] != 0 && b[1] == 0:
		order = unicode.LittleEndian
	case bytes.HasPrefix(b, []byte("\xfe\xff")), len(b) > 1 && b[0] == 0 && b[1] != 0:
	default:
		return b, nil
	}
	return unicode.UTF16(order, unicode.UseBOM).NewDecoder().Bytes(b)
}

// rootElement returns the name of the first XML element, or "" when there is
// none to be read.
func rootElement(text []byte) string {
	d := xml.NewDecoder(bytes.NewReader(text))
	d.Strict = false // pages that are not XML are to be named too
	d.CharsetReader = latin1
	for {
		t, err := d.RawToken()
		if err != nil {
			return ""
		}
		if e, ok := t.(xml.StartElement); ok {
			return e.Name.Local
		}
		if e, ok := t.(xml.Directive); ok && bytes.HasPrefix(bytes.ToLower(e), []byte("doctype html")) {
			return "html"
		}
	}
}

// baseName is the last part of a path without its extension.
func baseName(name string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	name = strings.TrimSuffix(name, ".gz")
	if i := strings.LastIndexByte(name, '.'); i > 0 {
		name = name[:i]
	}
	return name
}

func clip(b []byte, n int) []byte { return b[:min(n, len(b))] }
