package site

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"golang.org/x/text/encoding/charmap"

	"untrod/grid"
	"untrod/track"
)

// maxDepth is how deep the elements of a KML file may lie within each other.
const maxDepth = 1000

// placemark is a KML 2.2 Placemark (OGC 07-147r2), as far as it is used.
type placemark struct {
	Name   string    `xml:"name"`
	Data   []kmlData `xml:"ExtendedData>Data"`
	Simple []kmlData `xml:"ExtendedData>SchemaData>SimpleData"`
	kmlGeometry
}

type kmlData struct {
	Name  string `xml:"name,attr"`
	Value string `xml:"value"`
	Text  string `xml:",chardata"`
}

type kmlGeometry struct {
	Points   []string      `xml:"Point>coordinates"`
	Lines    []string      `xml:"LineString>coordinates"`
	Rings    []string      `xml:"LinearRing>coordinates"`
	Polygons []kmlPolygon  `xml:"Polygon"`
	Multi    []kmlGeometry `xml:"MultiGeometry"`
}

type kmlPolygon struct {
	Outer []string `xml:"outerBoundaryIs>LinearRing>coordinates"`
	Inner []string `xml:"innerBoundaryIs>LinearRing>coordinates"`
}

func (s *Site) readKML(text []byte, name string) error {
	d := xml.NewDecoder(bytes.NewReader(text))
	d.CharsetReader = func(label string, r io.Reader) (io.Reader, error) {
		if !knownCharset(label) {
			s.Notes.Add(track.NoteCharset, func() string {
				return fmt.Sprintf("%s: character set %q not known, read as windows-1252", name, label)
			})
		}
		return latin1(label, r)
	}
	within := []string{""} // names of the open elements
	for {
		t, err := d.Token()
		if err == io.EOF {
			return nil
		} else if err != nil {
			return xmlError(name, d, err)
		}
		switch t := t.(type) {
		case xml.EndElement:
			within = within[:len(within)-1]
		case xml.StartElement:
			switch parent := within[len(within)-1]; {
			case t.Name.Local == "Placemark":
				err = s.readPlacemark(d, t, name)
			case t.Name.Local == "name" && parent == "Document" && s.Name == "":
				err = s.readKMLName(d, t, name)
			case len(within) > maxDepth:
				err = xmlError(name, d, fmt.Errorf("elements nested more than %d deep", maxDepth))
			default:
				within = append(within, t.Name.Local)
			}
			if err != nil {
				return err
			}
		}
	}
}

func (s *Site) readKMLName(d *xml.Decoder, start xml.StartElement, name string) error {
	if err := d.DecodeElement(&s.Name, &start); err != nil {
		return xmlError(name, d, err)
	}
	s.Name = strings.TrimSpace(s.Name)
	return nil
}

func (s *Site) readPlacemark(d *xml.Decoder, start xml.StartElement, name string) error {
	at, _ := d.InputPos()
	var p placemark
	if err := d.DecodeElement(&p, &start); err != nil {
		return xmlError(name, d, err)
	}
	src := source{
		place: fmt.Sprintf("%s:%d: placemark", name, at),
		name:  strings.TrimSpace(p.Name), kind: p.data("kind"), property: p.data,
	}
	src.quoteName()
	var err error
	if src.role, err = parseRole(p.data("role")); err != nil {
		return src.errorf("%w", err)
	}
	n, err := s.addKML(src, p.kmlGeometry)
	if err == nil && n == 0 {
		s.Notes.Add(NoteNoGeometry, func() string { return src.place + ": no geometry" })
	}
	return err
}

// data returns a value of ExtendedData, whatever the case of its name.
func (p placemark) data(key string) string {
	for _, list := range [][]kmlData{p.Data, p.Simple} {
		for _, d := range list {
			if strings.EqualFold(d.Name, key) {
				return strings.TrimSpace(d.Value + d.Text)
			}
		}
	}
	return ""
}

// addKML adds all shapes of a geometry and returns their number.
func (s *Site) addKML(src source, g kmlGeometry) (int, error) {
	n := len(g.Points) + len(g.Lines) + len(g.Rings) + len(g.Polygons)
	for _, p := range g.Polygons {
		if len(p.Outer) != 1 {
			return n, src.errorf("polygon with %d outer rings, needs 1", len(p.Outer))
		}
		var rings [][]grid.LonLat
		for _, text := range append(p.Outer, p.Inner...) {
			ring, err := kmlCoordinates(text)
			if err != nil {
				return n, src.errorf("%w", err)
			}
			rings = append(rings, ring)
		}
		if err := s.addPolygon(src, rings); err != nil {
			return n, err
		}
	}
	for _, text := range append(g.Lines, g.Rings...) {
		if err := s.addKMLLine(src, LineShape, text); err != nil {
			return n, err
		}
	}
	for _, text := range g.Points {
		if err := s.addKMLLine(src, PointShape, text); err != nil {
			return n, err
		}
	}
	for _, m := range g.Multi {
		k, err := s.addKML(src, m)
		if n += k; err != nil {
			return n, err
		}
	}
	return n, nil
}

func (s *Site) addKMLLine(src source, shape Shape, text string) error {
	ps, err := kmlCoordinates(text)
	if err != nil {
		return src.errorf("%w", err)
	}
	if shape == PointShape && len(ps) != 1 {
		return src.errorf("point of %d positions", len(ps))
	}
	return s.addLine(src, shape, ps)
}

// kmlCoordinates reads "lon,lat[,alt] lon,lat[,alt] ...".
func kmlCoordinates(text string) ([]grid.LonLat, error) {
	var out []grid.LonLat
	for tuple := range strings.FieldsSeq(text) {
		parts := strings.Split(tuple, ",")
		if len(parts) < 2 {
			return nil, fmt.Errorf("position %q is not longitude,latitude", clip([]byte(tuple), 60))
		}
		lon, err1 := strconv.ParseFloat(parts[0], 64)
		lat, err2 := strconv.ParseFloat(parts[1], 64)
		if errors.Join(err1, err2) != nil || math.IsNaN(lon+lat) {
			return nil, fmt.Errorf("position %q is not longitude,latitude", clip([]byte(tuple), 60))
		}
		out = append(out, grid.LonLat{Lon: lon, Lat: lat})
	}
	return out, nil
}

func knownCharset(label string) bool {
	switch strings.ToLower(label) {
	case "utf-8", "utf8", "us-ascii", "ascii", "utf-16", "utf-16le", "utf-16be",
		"iso-8859-1", "latin1", "windows-1252", "cp1252":
		return true
	}
	return false
}

// latin1 is the decoder's way to other character sets. UTF-16 has been turned
// into UTF-8 before; what is not known is read byte by byte.
func latin1(label string, r io.Reader) (io.Reader, error) {
	switch strings.ToLower(label) {
	case "utf-8", "utf8", "us-ascii", "ascii", "utf-16", "utf-16le", "utf-16be":
		return r, nil
	}
	return charmap.Windows1252.NewDecoder().Reader(r), nil
}

// xmlError puts the place before a decoder's error and says it in plain words.
func xmlError(name string, d *xml.Decoder, err error) error {
	at, _ := d.InputPos()
	var syntax *xml.SyntaxError
	switch {
	case errors.As(err, &syntax) && syntax.Msg == "unexpected EOF":
		err = errors.New("cut short: the file ends within an element")
	case errors.As(err, &syntax):
		err = fmt.Errorf("not XML: %s", syntax.Msg)
	}
	return fmt.Errorf("%s:%d: %w", name, at, err)
}
