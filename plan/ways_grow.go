package plan

import (
	"fmt"
	"math"
	"slices"

	"github.com/peterstace/simplefeatures/geom"

	"untrod/grid"
)

// In shares of padM: how far a corner may stick out before it is cut off, and how deep
// a dent of an outline may be and be filled.
const (
	mitreLimit = 2
	dent       = 0.2
)

// grow returns the ground within padM of a keep-out as polygons that do not overlap.
func grow(keepouts []grid.Polygon, padM float64) (geom.Geometry, error) {
	if !(padM >= 0) || math.IsInf(padM, 1) {
		return geom.Geometry{}, fmt.Errorf("margin of %g m is not 0 or more", padM)
	}
	var all []geom.Geometry
	for i, k := range keepouts {
		for _, r := range append([]grid.Ring{k.Outer}, k.Holes...) {
			if slices.ContainsFunc(r, func(p grid.XY) bool { return !finite(p) }) {
				return geom.Geometry{}, fmt.Errorf("keep-out %d: a corner is not finite", i)
			}
		}
		if k.Outer.Area() != 0 {
			all = append(all, polygonOf(k).AsGeometry())
		}
	}
	if len(all) == 0 {
		return geom.Geometry{}, nil
	}
	// A buffer of 0 is the union.
	g, err := geom.Buffer(geom.NewGeometryCollection(all).AsGeometry(), padM,
		geom.BufferJoinStyleMitre(mitreLimit), geom.BufferSimplifyFactor(dent))
	if err != nil {
		return geom.Geometry{}, fmt.Errorf("growing keep-outs by %g m: %w", padM, err)
	}
	return g, nil
}

func polygonOf(p grid.Polygon) geom.Polygon {
	var rings []geom.LineString
	for _, r := range append([]grid.Ring{p.Outer}, p.Holes...) {
		if r.Area() == 0 {
			continue
		}
		var xy []float64
		for _, v := range append(slices.Clip(r), r[0]) {
			xy = append(xy, v.X, v.Y)
		}
		rings = append(rings, geom.NewLineStringXY(xy...))
	}
	return geom.NewPolygon(rings)
}

// wayRing is one ring of a grown keep-out, with the keep-out on its left: an outer
// ring runs counter-clockwise, a hole clockwise.
type wayRing struct {
	pts    grid.Ring
	hole   bool
	box    grid.Bounds
	region int // of the free ground on its right
}

// ringsOf takes the rings from g. Region 0 is the ground outside all; each hole is a
// region of its own.
func ringsOf(g geom.Geometry) []wayRing {
	var rings []wayRing
	for _, part := range g.Dump() {
		p, ok := part.AsPolygon()
		if !ok || p.IsEmpty() {
			continue
		}
		for k, line := range p.DumpRings() {
			if r := newWayRing(line, k > 0); len(r.pts) >= 3 {
				rings = append(rings, r)
			}
		}
	}
	for i := range rings {
		if rings[i].hole {
			rings[i].region = i + 1
		}
	}
	for i := range rings {
		if !rings[i].hole {
			rings[i].region = regionAround(rings, rings[i].pts)
		}
	}
	return rings
}

func newWayRing(line geom.LineString, hole bool) wayRing {
	seq, r := line.Coordinates(), wayRing{hole: hole, box: grid.EmptyBounds()}
	for i := range seq.Length() - 1 {
		p := seq.GetXY(i)
		v := grid.XY{X: p.X, Y: p.Y}
		if len(r.pts) == 0 || v != r.pts[len(r.pts)-1] {
			r.pts = append(r.pts, v)
			r.box = r.box.Add(v)
		}
	}
	if (r.pts.Area() < 0) != hole {
		slices.Reverse(r.pts)
	}
	return r
}

// regionAround is the region that most of pts lie in.
func regionAround(rings []wayRing, pts grid.Ring) int {
	best, area := 0, math.Inf(1)
	for i := range rings {
		r := &rings[i]
		if a := math.Abs(r.pts.Area()); r.hole && a < area {
			n := 0
			for _, p := range pts {
				if r.holds(p) {
					n++
				}
			}
			if 2*n > len(pts) {
				best, area = r.region, a
			}
		}
	}
	return best
}

// regionOf is the free ground that p lies in.
func (w *Ways) regionOf(p grid.XY) int { return regionAround(w.rings, grid.Ring{p}) }

// solid reports whether p lies in a grown keep-out.
func (w *Ways) solid(p grid.XY) bool {
	in := false
	for i := range w.rings {
		in = in != w.rings[i].holds(p)
	}
	return in
}

func (r *wayRing) holds(p grid.XY) bool { return inBox(r.box, p) && inRing(r.pts, p) }

// exit is the place on side i nearest to p, and clearM outside.
func (r *wayRing) exit(i int, p grid.XY) grid.XY {
	n := len(r.pts)
	a, b := r.pts[i], r.pts[(i+1)%n]
	q, share := nearestOn(a, b, p)
	switch {
	case share <= 0:
		return cleared(r.pts[(i+n-1)%n], a, b)
	case share >= 1:
		return cleared(a, b, r.pts[(i+2)%n])
	}
	d := dist(a, b)
	return q.Plus(grid.XY{X: clearM * (b.Y - a.Y) / d, Y: -clearM * (b.X - a.X) / d})
}

// wayKeepout is a keep-out as it was given.
type wayKeepout struct {
	box   grid.Bounds
	sides []wayEdge
}

func newWayKeepout(p grid.Polygon) wayKeepout {
	k := wayKeepout{box: grid.EmptyBounds()}
	for _, r := range append([]grid.Ring{p.Outer}, p.Holes...) {
		for i, v := range r {
			k.box = k.box.Add(v)
			k.sides = append(k.sides, wayEdge{v, r[(i+1)%len(r)]})
		}
	}
	return k
}

// holds reports whether p lies inside the keep-out, more than clearM from its sides.
func (k *wayKeepout) holds(p grid.XY) bool {
	if !inBox(k.box, p) {
		return false
	}
	in := false
	for _, e := range k.sides {
		if q, _ := nearestOn(e.a, e.b, p); dist(p, q) <= clearM {
			return false
		}
		in = in != e.right(p)
	}
	return in
}
