package site

import (
	"fmt"
	"math"
	"slices"

	"github.com/golang/geo/s1"
	"github.com/golang/geo/s2"

	"untrod/grid"
	"untrod/track"
)

// Near tells whether positions lie near a site. Safe for concurrent use.
type Near struct {
	reachM float64
	frame  grid.Frame
	areas  []nearArea
}

type nearArea struct {
	rings []grid.Ring
	box   grid.Bounds // out to reachM
	cover s2.Rect     // of all that lies in box
}

const (
	maxNearM = 100_000
	// sharpestM is the least radius of curvature of WGS 84, a(1-e^2), to a metre
	// less: no place is farther off on the unit sphere than its distance over this.
	sharpestM = 6_335_438
	coverSlop = 1.01 // the frame's own stretch at maxNearM is under 0.0002
)

// Near returns the test for positions at most reachM metres from the site's boundary
// areas, or inside one. Lengths are those of the site's frame, in which edges are
// straight. Keep-outs and landmarks do not count. A box of longitudes and latitudes
// around each area turns away what is far off before it is projected; it decides
// nothing else.
//
// It is an error when reachM is outside [0, 100 km] or no number, or when the site
// has no frame; those are the errors of [Site.Frame].
func (s *Site) Near(reachM float64) (*Near, error) {
	if !(reachM >= 0 && reachM <= maxNearM) {
		return nil, fmt.Errorf("reach of %v m outside [0, %d]", reachM, maxNearM)
	}
	f, err := s.Frame()
	if err != nil {
		return nil, err
	}
	n := &Near{reachM: reachM, frame: f}
	for _, p := range s.Local(f).Boundary {
		a := nearArea{rings: append([]grid.Ring{p.Outer}, p.Holes...), box: grid.EmptyBounds()}
		for _, q := range p.Outer {
			a.box = a.box.Add(q)
		}
		a.box = a.box.Pad(reachM)
		a.cover = coverOf(f, a.box)
		n.areas = append(n.areas, a)
	}
	return n, nil
}

// coverOf covers a box of the frame: the longitudes and latitudes of the circle
// around it, which may cross the antimeridian or hold a pole.
func coverOf(f grid.Frame, box grid.Bounds) s2.Rect {
	mid := f.ToLonLat(grid.XY{X: (box.Min.X + box.Max.X) / 2, Y: (box.Min.Y + box.Max.Y) / 2})
	radiusM := (math.Hypot(box.Width(), box.Height())/2 + 1) * coverSlop
	centre := s2.PointFromLatLng(s2.LatLngFromDegrees(mid.Lat, mid.Lon))
	return s2.CapFromCenterAngle(centre, s1.Angle(radiusM/sharpestM)).RectBound()
}

// Touches reports whether p is at most the reach from the site. Positions that are
// not [grid.LonLat.Valid] are not. Far off it takes some nanoseconds for each area,
// else O(vertices).
func (n *Near) Touches(p grid.LonLat) bool {
	if !p.Valid() {
		return false
	}
	at := s2.LatLngFromDegrees(p.Lat, p.Lon)
	for i := range n.areas {
		if a := &n.areas[i]; a.cover.ContainsLatLng(at) && a.near(n.frame.ToXY(p), n.reachM) {
			return true
		}
	}
	return false
}

// AnyOf reports whether any fix of the logs' tracks touches or, of a log without
// fixes, any waypoint. Routes do not count. It stops at the first.
func (n *Near) AnyOf(logs []*track.Log) bool {
	for _, l := range logs {
		if l.Fixes() == 0 && slices.ContainsFunc(l.Waypoints, func(w track.Waypoint) bool { return n.Touches(w.Pos) }) {
			return true
		}
		for _, t := range l.Tracks {
			for _, s := range t.Segments {
				for i := range s {
					if n.Touches(s[i].Pos) {
						return true
					}
				}
			}
		}
	}
	return false
}

// near reports whether q is inside the area, by the even-odd rule, or at most
// reachM from one of its edges.
func (a *nearArea) near(q grid.XY, reachM float64) bool {
	if !(q.X >= a.box.Min.X && q.X <= a.box.Max.X && q.Y >= a.box.Min.Y && q.Y <= a.box.Max.Y) {
		return false
	}
	inside := false
	for _, r := range a.rings {
		for i, c := range r {
			b := r[(i+len(r)-1)%len(r)]
			if q.FromSegment(b, c) <= reachM {
				return true
			}
			if (b.Y > q.Y) != (c.Y > q.Y) && q.X < b.X+(q.Y-b.Y)/(c.Y-b.Y)*(c.X-b.X) {
				inside = !inside
			}
		}
	}
	return inside
}
