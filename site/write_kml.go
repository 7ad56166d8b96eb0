package site

import (
	"bufio"
	"encoding/xml"
	"io"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// WriteKML writes s as KML 2.2 (OGC 07-147r2) that [Read] reads back: roles and
// kinds in ExtendedData. Positions as in WriteGeoJSON.
func (s *Site) WriteKML(w io.Writer) error {
	b := bufio.NewWriter(w)
	b.WriteString(xml.Header + `<kml xmlns="http://www.opengis.net/kml/2.2"><Document>`)
	xmlText(b, "name", s.Name)
	b.WriteString("\n")
	for _, f := range s.shapes() {
		b.WriteString("<Placemark>")
		xmlText(b, "name", f.name)
		b.WriteString("<ExtendedData>")
		kmlDatum(b, "role", f.role)
		kmlDatum(b, "kind", f.kind)
		if f.laid != nil {
			kmlDatum(b, "spacing", strconv.FormatFloat(f.laid.SpacingM, 'f', -1, 64))
			kmlDatum(b, "direction", strconv.FormatFloat(f.laid.DirectionDeg, 'f', -1, 64))
			kmlDatum(b, "session", f.laid.Session)
		}
		if f.pace != 0 {
			kmlDatum(b, "pace", strconv.FormatFloat(f.pace, 'f', -1, 64))
		}
		b.WriteString("</ExtendedData>")
		kmlShape(b, f.Geometry)
		b.WriteString("</Placemark>\n")
	}
	b.WriteString("</Document></kml>\n")
	return b.Flush()
}

func kmlDatum(b *bufio.Writer, name, value string) {
	if value != "" {
		b.WriteString(`<Data name="` + name + `">`)
		xmlText(b, "value", value)
		b.WriteString("</Data>")
	}
}

// xmlText writes an element; b keeps its error.
func xmlText(b *bufio.Writer, name, text string) {
	b.WriteString("<" + name + ">")
	xml.EscapeText(b, []byte(text))
	b.WriteString("</" + name + ">")
}

func kmlShape(b *bufio.Writer, g orb.Geometry) {
	switch g := g.(type) {
	case orb.Point:
		xmlTag(b, "Point", func() { xmlText(b, "coordinates", kmlTuples([]orb.Point{g})) })
	case orb.LineString:
		xmlTag(b, "LineString", func() { xmlText(b, "coordinates", kmlTuples(g)) })
	case orb.Polygon:
		xmlTag(b, "Polygon", func() {
			for i, r := range g {
				side := "innerBoundaryIs"
				if i == 0 {
					side = "outerBoundaryIs"
				}
				xmlTag(b, side, func() {
					xmlTag(b, "LinearRing", func() { xmlText(b, "coordinates", kmlTuples(r)) })
				})
			}
		})
	}
}

func xmlTag(b *bufio.Writer, name string, inside func()) {
	b.WriteString("<" + name + ">")
	inside()
	b.WriteString("</" + name + ">")
}

func kmlTuples(ps []orb.Point) string {
	out := make([]string, len(ps))
	for i, p := range ps {
		out[i] = degrees(p[0]) + "," + degrees(p[1])
	}
	return strings.Join(out, " ")
}

func degrees(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
