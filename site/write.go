package site

import (
	"encoding/json"
	"io"
	"math"

	"github.com/paulmach/orb"

	"untrod/grid"
)

type collectionOut struct {
	Type     string       `json:"type"`
	Name     string       `json:"name,omitempty"`
	Features []featureOut `json:"features"`
}

type featureOut struct {
	Type       string        `json:"type"`
	Properties propertiesOut `json:"properties"`
	Geometry   geometryOut   `json:"geometry"`
}

type propertiesOut struct {
	Role      string   `json:"role"`
	Name      string   `json:"name,omitempty"`
	Kind      string   `json:"kind,omitempty"`
	Spacing   *float64 `json:"spacing,omitempty"`
	Direction *float64 `json:"direction,omitempty"`
	Session   string   `json:"session,omitempty"`
	Pace      float64  `json:"pace,omitempty"`
}

type geometryOut struct {
	Type        string       `json:"type"`
	Coordinates orb.Geometry `json:"coordinates"`
}

// WriteGeoJSON writes s as an RFC 7946 FeatureCollection that [Read] reads back:
// roles, names, kinds, how ground was laid out and how slow it is as properties,
// coordinates rounded to 1e-8 degree (about 1 mm), outer rings counter-clockwise and
// holes clockwise. Notes are left out. Shapes across the antimeridian are not split in two, as section
// 3.1.9 would have it: the file stays one polygon, with longitudes of both signs.
func (s *Site) WriteGeoJSON(w io.Writer) error {
	out := collectionOut{Type: "FeatureCollection", Name: s.Name, Features: []featureOut{}}
	for _, f := range s.shapes() {
		out.Features = append(out.Features, f.feature())
	}
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	return e.Encode(out)
}

// shape is one feature of a site as it is written.
type shape struct {
	role, name, kind string
	orb.Geometry
	laid *LaidOut // nil but for laid-out ground
	pace float64  // 0 but for slow ground
}

// shapes are the features of s in the order they are written.
func (s *Site) shapes() []shape {
	var out []shape
	for _, a := range s.Boundary {
		out = append(out, shape{role: roleBoundary, name: a.Name, Geometry: a.orb()})
	}
	for _, a := range s.Keepouts {
		out = append(out, shape{role: roleKeepout, name: a.Name, Geometry: a.orb()})
	}
	for _, l := range s.Landmarks {
		role := roleLandmark
		if l.Mark {
			role = roleMark
		}
		out = append(out, shape{role: role, name: l.Name, kind: l.Kind, Geometry: l.orb()})
	}
	for _, l := range s.LaidOut {
		out = append(out, l.shape())
	}
	for _, l := range s.Slow {
		out = append(out, l.shape())
	}
	return out
}

func (f shape) feature() featureOut {
	p := propertiesOut{Role: f.role, Name: f.name, Kind: f.kind, Pace: f.pace}
	if f.laid != nil {
		p.Spacing, p.Direction, p.Session = &f.laid.SpacingM, &f.laid.DirectionDeg, f.laid.Session
	}
	return featureOut{"Feature", p, geometryOut{f.GeoJSONType(), f.Geometry}}
}

func (a Area) orb() orb.Polygon {
	p := orb.Polygon{orbRing(a.Outer, orb.CCW)}
	for _, h := range a.Holes {
		p = append(p, orbRing(h, orb.CW))
	}
	return p
}

func (l Landmark) orb() orb.Geometry {
	switch {
	case l.Shape == AreaShape:
		return orb.Polygon{orbRing(l.Points, orb.CCW)}
	case l.Shape == LineShape:
		return orb.LineString(orbPoints(l.Points))
	case len(l.Points) == 0:
		return orb.MultiPoint{}
	}
	return orbPoints(l.Points)[0]
}

// orbRing closes a ring and turns it to the wanted winding.
func orbRing(ps []grid.LonLat, want orb.Orientation) orb.Ring {
	r := orb.Ring(orbPoints(ps))
	if len(r) == 0 {
		return r
	}
	r = append(r, r[0])
	whole := r.Clone() // without the jump at the antimeridian, to see its winding
	for i := range whole {
		whole[i][0] = whole[0][0] + math.Remainder(whole[i][0]-whole[0][0], 360)
	}
	if o := whole.Orientation(); o != 0 && o != want {
		r.Reverse()
	}
	return r
}

func orbPoints(ps []grid.LonLat) []orb.Point {
	out := make([]orb.Point, len(ps))
	for i, p := range ps {
		out[i] = orb.Point{math.Round(p.Lon*1e8) / 1e8, math.Round(p.Lat*1e8) / 1e8}
	}
	return out
}
