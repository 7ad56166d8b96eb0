package site

import (
	"bufio"
	"encoding/csv"
	"encoding/xml"
	"io"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkt"

	"untrod/track"
)

// WriteGPX writes s as GPX 1.1: outlines as closed routes, the boundary first,
// point landmarks as waypoints, lines as routes. [Read] takes the first outline and the
// waypoints back; GPX has no roles for the rest, whose role stands in the type.
func (s *Site) WriteGPX(w io.Writer) error {
	b := bufio.NewWriter(w)
	b.WriteString(xml.Header + `<gpx version="1.1" creator="untrod" xmlns="http://www.topografix.com/GPX/1/1">` + "\n")
	all := s.shapes()
	for _, f := range all {
		if p, ok := f.Geometry.(orb.Point); ok {
			gpxPlace(b, "wpt", p, func() {
				xmlText(b, "name", f.name)
				xmlText(b, "type", f.role)
			})
		}
	}
	for _, f := range all {
		switch g := f.Geometry.(type) {
		case orb.LineString:
			gpxRoute(b, f, g)
		case orb.Polygon:
			for _, r := range g {
				gpxRoute(b, f, orb.LineString(r))
			}
		}
	}
	b.WriteString("</gpx>\n")
	return b.Flush()
}

func gpxRoute(b *bufio.Writer, f shape, line orb.LineString) {
	b.WriteString("<rte>")
	xmlText(b, "name", f.name)
	xmlText(b, "type", f.role)
	for _, p := range line {
		gpxPlace(b, "rtept", p, func() {})
	}
	b.WriteString("</rte>\n")
}

func gpxPlace(b *bufio.Writer, element string, p orb.Point, inside func()) {
	b.WriteString("<" + element + ` lat="` + degrees(p[1]) + `" lon="` + degrees(p[0]) + `">`)
	inside()
	b.WriteString("</" + element + ">")
}

// WriteCSV writes s as rows of role, name, kind and shape, the shape as well-known
// text (OGC 06-103r4) in longitude and latitude.
func (s *Site) WriteCSV(w io.Writer) error {
	c := csv.NewWriter(w)
	c.Write([]string{"role", "name", "kind", "wkt"})
	for _, f := range s.shapes() {
		c.Write([]string{f.role, track.Inert(f.name), track.Inert(f.kind), wkt.MarshalString(f.Geometry)})
	}
	c.Flush()
	return c.Error()
}
