package site

import (
	"cmp"
	"math"
	"slices"

	"untrod/grid"
)

// perDegree parts of a degree make the lattice on which rings are checked: 1e-8
// degree is 1.1 mm, and all that lies within reachM of a datum no nearer the
// pole than 1 degree spans under 5e9 by 6e7 parts, so that products of two
// differences fit 64 bits and every test is exact.
const (
	perDegree = 100_000_000
	fullTurn  = 360 * perDegree
)

// point is a position on the lattice.
type point struct{ x, y int64 }

// lattice numbers longitudes around a middle one, so that no ring near it sees
// the antimeridian.
type lattice struct{ mid int64 }

func latticeOf(f grid.Frame) lattice {
	return lattice{int64(math.Round(f.Datum().Lon * perDegree))}
}

func (l lattice) at(p grid.LonLat) point {
	x := int64(math.Round(p.Lon * perDegree))
	switch {
	case x-l.mid > fullTurn/2:
		x -= fullTurn
	case x-l.mid < -fullTurn/2:
		x += fullTurn
	}
	return point{x, int64(math.Round(p.Lat * perDegree))}
}

// ring returns the lattice points of a ring, neighbours all different.
func (l lattice) ring(ps []grid.LonLat) []point {
	out := make([]point, 0, len(ps))
	for _, p := range ps {
		if q := l.at(p); len(out) == 0 || out[len(out)-1] != q {
			out = append(out, q)
		}
	}
	for len(out) > 1 && out[0] == out[len(out)-1] {
		out = out[:len(out)-1]
	}
	return out
}

func (l lattice) rings(a Area) [][]point {
	out := [][]point{l.ring(a.Outer)}
	for _, h := range a.Holes {
		out = append(out, l.ring(h))
	}
	return out
}

// lonLat returns a place on the lattice, between its points too, in degrees.
func lonLat(x, y float64) grid.LonLat {
	return grid.LonLat{Lon: math.Remainder(x/perDegree, 360), Lat: y / perDegree}
}

// turnOf is positive when a, b, c turn left, 0 when they lie on one line.
func turnOf(a, b, c point) int64 {
	return (b.x-a.x)*(c.y-a.y) - (b.y-a.y)*(c.x-a.x)
}

// compare orders points west to east, then south to north.
func compare(a, b point) int {
	return cmp.Or(cmp.Compare(a.x, b.x), cmp.Compare(a.y, b.y))
}

// edge is one side of a ring, from its vertex i at p to the next at q.
type edge struct {
	p, q    point
	ring, i int
}

func edgesOf(rings [][]point) []edge {
	var out []edge
	for k, r := range rings {
		for i, p := range r {
			out = append(out, edge{p, r[(i+1)%len(r)], k, i})
		}
	}
	return out
}

// follows reports whether one of two edges of a ring starts where the other ends.
func (e edge) follows(f edge) bool { return e.ring == f.ring && (e.p == f.q || e.q == f.p) }

type meeting uint8

const (
	apart   meeting = iota
	touch           // one point, an end of at least one of the two
	cross           // one point, inside both
	overlap         // a stretch
)

// meet says how two edges meet and where: the first common point from the west.
func (e edge) meet(f edge) (meeting, grid.LonLat) {
	f1, f2 := turnOf(e.p, e.q, f.p), turnOf(e.p, e.q, f.q)
	if f1 > 0 && f2 > 0 || f1 < 0 && f2 < 0 {
		return apart, grid.LonLat{}
	}
	e1, e2 := turnOf(f.p, f.q, e.p), turnOf(f.p, f.q, e.q)
	switch {
	case f1 == 0 && f2 == 0:
		return e.meetInLine(f)
	case opposite(f1, f2) && opposite(e1, e2):
		t := float64(e1) / (float64(e1) - float64(e2))
		return cross, lonLat(between(e.p.x, e.q.x, t), between(e.p.y, e.q.y, t))
	}
	for _, end := range []struct {
		turn int64
		p    point
		of   edge
	}{{f1, f.p, e}, {f2, f.q, e}, {e1, e.p, f}, {e2, e.q, f}} {
		if end.turn == 0 && end.of.boxHolds(end.p) {
			return touch, lonLat(float64(end.p.x), float64(end.p.y))
		}
	}
	return apart, grid.LonLat{}
}

// meetInLine is meet for edges on one line.
func (e edge) meetInLine(f edge) (meeting, grid.LonLat) {
	elo, ehi := ordered(e.p, e.q)
	flo, fhi := ordered(f.p, f.q)
	lo, hi := elo, ehi
	if compare(flo, lo) > 0 {
		lo = flo
	}
	if compare(fhi, hi) < 0 {
		hi = fhi
	}
	at := lonLat(float64(lo.x), float64(lo.y))
	switch compare(lo, hi) {
	case -1:
		return overlap, at
	case 0:
		return touch, at
	}
	return apart, grid.LonLat{}
}

func ordered(a, b point) (lo, hi point) {
	if compare(a, b) > 0 {
		return b, a
	}
	return a, b
}

func opposite(a, b int64) bool { return a < 0 && b > 0 || a > 0 && b < 0 }

func between(a, b int64, t float64) float64 { return float64(a) + float64(float64(b-a)*t) }

func (e edge) boxHolds(p point) bool {
	return p.x >= min(e.p.x, e.q.x) && p.x <= max(e.p.x, e.q.x) &&
		p.y >= min(e.p.y, e.q.y) && p.y <= max(e.p.y, e.q.y)
}

// sweep calls visit for every pair of edges whose boxes meet, from the west,
// until it returns false. O(n log n + pairs that overlap east-west).
func sweep(edges []edge, visit func(e, f edge) bool) {
	slices.SortStableFunc(edges, func(a, b edge) int {
		return cmp.Compare(min(a.p.x, a.q.x), min(b.p.x, b.q.x))
	})
	var open []edge
	for _, e := range edges {
		west := min(e.p.x, e.q.x)
		south, north := min(e.p.y, e.q.y), max(e.p.y, e.q.y)
		keep := open[:0]
		for _, f := range open {
			if max(f.p.x, f.q.x) < west {
				continue
			}
			keep = append(keep, f)
			if max(f.p.y, f.q.y) >= south && min(f.p.y, f.q.y) <= north && !visit(f, e) {
				return
			}
		}
		open = append(keep, e)
	}
}

// inRing returns 1 when p lies inside the ring, 0 on it, -1 outside.
func inRing(ring []point, p point) int {
	in := -1
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		turn := turnOf(a, b, p)
		if turn == 0 && (edge{p: a, q: b}).boxHolds(p) {
			return 0
		}
		if (a.y > p.y) != (b.y > p.y) && (turn > 0) == (b.y > a.y) { // east of p
			in = -in
		}
	}
	return in
}

// inArea is inRing for an outer ring less its holes.
func inArea(rings [][]point, p point) int {
	in := inRing(rings[0], p)
	for _, h := range rings[1:] {
		in = min(in, -inRing(h, p))
	}
	return in
}
