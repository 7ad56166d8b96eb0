package site

import (
	"errors"

	"untrod/grid"
	"untrod/track"
)

// Frame returns the frame centred on the boundary. It is grid.FrameAround over
// the boundary's vertices, with its errors.
func (s *Site) Frame() (grid.Frame, error) {
	var all []grid.LonLat
	for _, a := range s.Boundary {
		for _, r := range a.rings() {
			all = append(all, r...)
		}
	}
	if len(all) == 0 {
		return grid.Frame{}, errors.New("no vertices")
	}
	return grid.FrameAround(all)
}

// Local returns the site in f's metres, ring by ring and vertex by vertex, in
// the file's order and winding. Edges are straight in the frame; one of 1 km
// running east at latitude 60 lies up to 4 cm from the straight line in
// longitude and latitude, one of 5 km up to 0.9 m.
func (s *Site) Local(f grid.Frame) Local {
	var l Local
	for _, a := range s.Boundary {
		l.Boundary = append(l.Boundary, a.local(f))
	}
	for _, a := range s.Keepouts {
		l.Keepouts = append(l.Keepouts, a.local(f))
	}
	for _, m := range s.Landmarks {
		l.Landmarks = append(l.Landmarks, LocalLandmark{m, toXY(f, m.Points)})
	}
	for _, g := range s.LaidOut {
		l.LaidOut = append(l.LaidOut, LocalLaidOut{g, g.local(f)})
	}
	for _, g := range s.Slow {
		l.Slow = append(l.Slow, LocalSlow{g, g.local(f)})
	}
	return l
}

// Marks are the landmarks of l to check a receiver against: those that are marks
// and points. A line or area has no one place to stand on.
func (l Local) Marks() []track.MarkAt {
	var out []track.MarkAt
	for _, m := range l.Landmarks {
		if m.Mark && m.Shape == PointShape && len(m.XY) == 1 {
			out = append(out, track.MarkAt{Name: m.Name, XY: m.XY[0]})
		}
	}
	return out
}

func (a Area) local(f grid.Frame) grid.Polygon {
	p := grid.Polygon{Outer: toXY(f, a.Outer)}
	for _, h := range a.Holes {
		p.Holes = append(p.Holes, toXY(f, h))
	}
	return p
}

func toXY(f grid.Frame, ps []grid.LonLat) []grid.XY {
	out := make([]grid.XY, len(ps))
	for i, p := range ps {
		out[i] = f.ToXY(p)
	}
	return out
}

// FromWalks returns a site whose boundary is the given polygons, in f's metres:
// what is used when no site file says where to search. It is not validated.
func FromWalks(polys []grid.Polygon, f grid.Frame, name string) *Site {
	s := &Site{Name: name}
	for _, p := range polys {
		a := Area{Outer: toLonLat(f, p.Outer)}
		for _, h := range p.Holes {
			a.Holes = append(a.Holes, toLonLat(f, h))
		}
		s.Boundary = append(s.Boundary, a)
	}
	return s
}

func toLonLat(f grid.Frame, r grid.Ring) []grid.LonLat {
	out := make([]grid.LonLat, len(r))
	for i, q := range r {
		out[i] = f.ToLonLat(q)
	}
	return out
}
