package report

import (
	"encoding/xml"
	"io"
	"math"
	"slices"
	"strconv"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"
	"github.com/paulmach/orb/geojson"

	"untrod/coverage"
	"untrod/grid"
)

// GapsGeoJSON writes a FeatureCollection (RFC 7946) with one feature a gap,
// largest first: its outline as a Polygon, or a MultiPolygon when it is in
// several pieces or lies across the 180th meridian, which RFC 7946 section
// 3.1.9 wants it cut at. Positions are WGS 84 degrees to 8 decimals, outer rings
// run counter-clockwise, and the properties are id, name, area_m2, widest_m,
// centre, an object of lon and lat, chance_swept, untrodden_m2 and in_doubt.
func GapsGeoJSON(w io.Writer, r *coverage.Result) error {
	fc := geojson.NewFeatureCollection()
	for _, g := range r.Gaps {
		f := geojson.NewFeature(degrees(r.Frame, g))
		f.Properties = geojson.Properties{
			"id": g.ID, "name": "gap " + strconv.Itoa(g.ID),
			"area_m2": round2(g.AreaM2), "widest_m": round2(g.WidestM),
			"centre": lonLat(g.Centre), "chance_swept": to(g.ChanceSwept, 4),
			"untrodden_m2": round2(g.UntroddenM2), "in_doubt": g.InDoubt,
		}
		fc.Append(f)
	}
	b, err := fc.MarshalJSON()
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// degrees is the outline of g in longitude and latitude.
func degrees(f grid.Frame, g coverage.Gap) orb.Geometry {
	var all orb.MultiPolygon
	for _, p := range g.Outline {
		all = append(all, cutAtMeridian(unrolled(f, p, g.Centre.Lon))...)
	}
	for _, p := range all {
		for i, r := range p {
			tidy(r, i == 0)
		}
	}
	if len(all) == 1 {
		return all[0]
	}
	return all
}

// unrolled puts p in degrees with longitudes within 180 of near, so that they
// may leave [-180, 180] but never jump.
func unrolled(f grid.Frame, p grid.Polygon, near float64) orb.Polygon {
	var out orb.Polygon
	for _, r := range append([]grid.Ring{p.Outer}, p.Holes...) {
		if len(r) < 3 {
			continue
		}
		ring := make(orb.Ring, 0, len(r)+1)
		for _, q := range r {
			ll := f.ToLonLat(q)
			ring = append(ring, orb.Point{near + math.Remainder(ll.Lon-near, 360), ll.Lat})
		}
		out = append(out, append(ring, ring[0]))
	}
	return out
}

// cutAtMeridian cuts p where it leaves [-180, 180] and turns what lies beyond
// round.
func cutAtMeridian(p orb.Polygon) orb.MultiPolygon {
	b := p.Bound()
	if len(p) == 0 || b.Min[0] >= -180 && b.Max[0] <= 180 {
		return orb.MultiPolygon{p}
	}
	var out orb.MultiPolygon
	for _, turn := range []float64{0, 360, -360} {
		side := orb.Bound{Min: orb.Point{-180 + turn, -90}, Max: orb.Point{180 + turn, 90}}
		piece := clip.Polygon(side, p.Clone())
		if len(piece) == 0 {
			continue
		}
		for _, r := range piece {
			for i := range r {
				r[i][0] -= turn
			}
		}
		out = append(out, piece)
	}
	return out
}

// tidy rounds a ring in place and turns it: outer rings counter-clockwise,
// holes clockwise (RFC 7946 section 3.1.6).
func tidy(r orb.Ring, outer bool) {
	if (r.Orientation() == orb.CCW) != outer {
		slices.Reverse(r)
	}
	for i, p := range r {
		r[i] = orb.Point{roundTo(p[0], 8), roundTo(p[1], 8)}
	}
}

// The parts of GPX 1.1 that are written, in the order the schema wants.
type gpxFile struct {
	XMLName  xml.Name `xml:"gpx"`
	NS       string   `xml:"xmlns,attr"`
	XSI      string   `xml:"xmlns:xsi,attr"`
	Schema   string   `xml:"xsi:schemaLocation,attr"`
	Version  string   `xml:"version,attr"`
	Creator  string   `xml:"creator,attr"`
	Metadata gpxName  `xml:"metadata"`
	Wpts     []gpxWpt `xml:"wpt"`
	Rtes     []gpxRte `xml:"rte"`
	Trks     []gpxTrk `xml:"trk"`
}

type gpxName struct {
	Name string `xml:"name"`
}

type gpxWpt struct {
	Lat  string `xml:"lat,attr"`
	Lon  string `xml:"lon,attr"`
	Name string `xml:"name,omitempty"`
	Desc string `xml:"desc,omitempty"`
}

type gpxTrk struct {
	Name string   `xml:"name"`
	Desc string   `xml:"desc"`
	Segs []gpxSeg `xml:"trkseg"`
}

type gpxSeg struct {
	Pts []gpxWpt `xml:"trkpt"`
}

const gpxNS = "http://www.topografix.com/GPX/1/1"

// newGPX is a file with nothing but its name.
func newGPX(name string) gpxFile {
	return gpxFile{
		NS: gpxNS, XSI: "http://www.w3.org/2001/XMLSchema-instance",
		Schema:  gpxNS + " " + gpxNS + "/gpx.xsd",
		Version: "1.1", Creator: "untrod", Metadata: gpxName{name},
	}
}

// GapsGPX writes GPX 1.1 for a handheld or a phone: for every gap but those in
// doubt, largest first, a waypoint at its centre ("Gap 1", "38 m2, 4.2 m wide"; with receiver
// error allowed for also "chance swept 12 %") and a track of the same name along
// its outline, each ring a closed segment. Without gaps it holds the name alone.
func GapsGPX(w io.Writer, r *coverage.Result, u Units) error {
	doc := newGPX(siteName(r) + ": gaps")
	for _, g := range r.Untrodden() {
		name, desc := "Gap "+strconv.Itoa(g.ID), u.area(g.AreaM2)+", "+u.length(g.WidestM)+" wide"
		if r.Certainty != nil {
			desc += ", chance swept " + percent(100*g.ChanceSwept)
		}
		c := gpxPoint(g.Centre)
		c.Name, c.Desc = name, desc
		doc.Wpts = append(doc.Wpts, c)
		doc.Trks = append(doc.Trks, gpxTrk{name, desc, segments(r.Frame, g.Outline)})
	}
	return writeXML(w, doc)
}

func segments(f grid.Frame, outline []grid.Polygon) (segs []gpxSeg) {
	for _, p := range outline {
		for _, r := range append([]grid.Ring{p.Outer}, p.Holes...) {
			var s gpxSeg
			for _, q := range r {
				s.Pts = append(s.Pts, gpxPoint(f.ToLonLat(q)))
			}
			if len(s.Pts) > 0 {
				segs = append(segs, gpxSeg{append(s.Pts, s.Pts[0])})
			}
		}
	}
	return segs
}

// gpxPoint writes p to 8 decimals. The schema's longitudes end short of 180.
func gpxPoint(p grid.LonLat) gpxWpt {
	lon := roundTo(p.Lon, 8)
	if lon == 180 {
		lon = -180
	}
	return gpxWpt{Lat: strconv.FormatFloat(roundTo(p.Lat, 8), 'f', -1, 64), Lon: strconv.FormatFloat(lon, 'f', -1, 64)}
}
