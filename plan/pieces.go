package plan

import (
	"cmp"
	"math"
	"slices"

	"untrod/grid"
)

// pieceOf is a polygon ready to be cut: outer ring counter-clockwise, holes
// clockwise, no vertex repeated; false without ground.
func pieceOf(poly grid.Polygon) (rings []grid.Ring, ok bool) {
	for i, r := range append([]grid.Ring{poly.Outer}, poly.Holes...) {
		r = tidied(r)
		a := r.Area()
		if a == 0 || math.IsNaN(a) {
			if i == 0 {
				return nil, false
			}
			continue
		}
		if (a > 0) != (i == 0) {
			slices.Reverse(r)
		}
		rings = append(rings, r)
	}
	return rings, true
}

// maxCuts is how often in a row a piece is cut.
const maxCuts = 10

// grow lays lanes over a polygon, whole or cut by chords into pieces of their own
// direction, whichever costs less. Each cut is the best of those tried; whether it
// was worth while shows only when its parts have been cut in turn, so the tree is
// grown first and pruned on the way back.
func (p *planner) grow(rings []grid.Ring, depth int) []piece {
	whole := piece{rings, p.settle(rings, directions)}
	if depth == 0 || p.goodEnough(whole) {
		return []piece{whole}
	}
	var parts []piece
	for _, r := range p.cut(whole) {
		parts = append(parts, p.grow(r, depth-1)...)
	}
	if len(parts) == 0 || costOf(parts) >= whole.best.costM {
		return []piece{whole}
	}
	return parts
}

func costOf(parts []piece) (sum float64) {
	for _, q := range parts {
		sum += q.best.costM
	}
	return sum
}

// goodEnough reports whether cutting can save little or nothing, since few of the lanes
// are off the ground: two parts have a turn each, and their lanes are no shorter than
// the ground over the spacing; or there are at most twice as many lanes as on a
// rectangle of the same area and outline.
func (p *planner) goodEnough(q piece) bool {
	area, rim := 0.0, 0.0
	for _, r := range q.rings {
		area += r.Area()
		for i, a := range r {
			rim += between(a, r[(i+1)%len(r)])
		}
	}
	return q.best.offM == 0 && (q.best.costM <= area/p.spacingM+2*p.turnM ||
		float64(q.best.lanes) <= 1+4*area/rim/p.spacingM)
}

// cut parts a piece by the chord whose parts cost least together, or returns nil
// when there is none.
func (p *planner) cut(q piece) (best [][]grid.Ring) {
	cheapest := math.Inf(1)
	for _, c := range p.chords(q) {
		parts := parted(q.rings, c)
		cost := 0.0
		for _, r := range parts {
			cost += p.settle(r, 1).costM
		}
		if len(parts) == 1 {
			cost = q.best.costM * (1 + 1e-6*c.longM) // the same ground: only to let the next cut in
		}
		if len(parts) > 0 && cost < cheapest {
			cheapest, best = cost, parts
		}
	}
	return best
}

// chords are the cuts worth trying: from the bottoms of the deepest pockets and from
// the ends of the largest holes, along and across the lanes, and the shortest of 8
// directions.
func (p *planner) chords(q piece) (out []chord) {
	ax := q.best.axis
	for _, c := range append(p.pockets(q.rings[0]), holeEnds(q.rings, ax)...) {
		for _, d := range []grid.XY{{X: ax.sin, Y: ax.cos}, {X: ax.cos, Y: -ax.sin}} {
			for _, d := range []grid.XY{d, {X: -d.X, Y: -d.Y}} {
				if s, ok := shot(q.rings, c, d); ok {
					out = append(out, s)
				}
			}
		}
		if s, ok := shortest(q.rings, c); ok {
			out = append(out, s)
		}
	}
	return out
}

func shortest(rings []grid.Ring, c corner) (best chord, ok bool) {
	best.longM = math.Inf(1)
	for i := range 8 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 4)
		if s, hit := shot(rings, c, grid.XY{X: sin, Y: cos}); hit && s.longM < best.longM {
			best, ok = s, true
		}
	}
	return best, ok
}

// maxCorners is how many pockets and how many holes are tried.
const maxCorners = 2

// pockets returns the deepest vertices of the outer ring's pockets, the stretches
// between corners of its hull, deepest first; those under a quarter swath deep are
// passed over.
func (p *planner) pockets(r grid.Ring) []corner {
	type pocket struct {
		at   int
		deep float64
	}
	var all []pocket
	on := hull(r)
	slices.Sort(on)
	for i, from := range on {
		to := on[(i+1)%len(on)]
		best := pocket{-1, p.radiusM / 2}
		for k := (from + 1) % len(r); k != to; k = (k + 1) % len(r) {
			if d := between(r[k], closestOn(r[from], r[to], r[k])); d > best.deep {
				best = pocket{k, d}
			}
		}
		if best.at >= 0 {
			all = append(all, best)
		}
	}
	slices.SortStableFunc(all, func(a, b pocket) int { return cmp.Compare(b.deep, a.deep) })
	var out []corner
	for _, k := range all[:min(maxCorners, len(all))] {
		out = append(out, corner{0, k.at})
	}
	return out
}

// holeEnds returns the vertices of the largest holes farthest to either side across
// an axis: where the connectivity of lanes along it changes.
func holeEnds(rings []grid.Ring, ax axis) (out []corner) {
	order := make([]int, 0, len(rings))
	for i := 1; i < len(rings); i++ {
		order = append(order, i)
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(rings[i].Area(), rings[j].Area()) })
	for _, i := range order[:min(maxCorners, len(order))] {
		lo, hi := 0, 0
		for k, q := range rings[i] {
			if ax.into(q).X < ax.into(rings[i][lo]).X {
				lo = k
			}
			if ax.into(q).X > ax.into(rings[i][hi]).X {
				hi = k
			}
		}
		out = append(out, corner{i, lo}, corner{i, hi})
	}
	return out
}

// union is two pieces that would cost less as one, by their places in a list.
type union struct {
	i, j  int
	whole piece
	gain  float64
}

// merge joins pieces that lie close together as long as that saves something, the
// two that save most first.
func (p *planner) merge(list []piece) []piece {
	var boxes []grid.Bounds
	var open []union
	for j := 0; j < len(list); j++ { // the list grows by what is joined
		boxes = append(boxes, bounds(list[j].rings))
		for i := range j {
			if list[i].rings != nil && near(boxes[i].Pad(p.turnM), boxes[j]) {
				if u := p.union(list, i, j); u.gain > 1e-9 {
					open = append(open, u)
				}
			}
		}
		if j+1 < len(list) || len(open) == 0 {
			continue
		}
		best := slices.MaxFunc(open, func(a, b union) int { return cmp.Compare(a.gain, b.gain) })
		list = append(list, best.whole)
		list[best.i], list[best.j] = piece{}, piece{}
		open = slices.DeleteFunc(open, func(u union) bool { return list[u.i].rings == nil || list[u.j].rings == nil })
	}
	return slices.DeleteFunc(list, func(q piece) bool { return q.rings == nil })
}

func (p *planner) union(list []piece, i, j int) union {
	a, b := list[i], list[j]
	u := union{i: i, j: j, whole: piece{rings: slices.Concat(a.rings, b.rings)}}
	u.whole.best = p.settle(u.whole.rings, directions)
	u.gain = a.best.costM + b.best.costM - u.whole.best.costM
	return u
}

func bounds(rings []grid.Ring) grid.Bounds {
	b := grid.EmptyBounds()
	for _, r := range rings {
		for _, q := range r {
			b = b.Add(q)
		}
	}
	return b
}

// near reports whether two boxes share a point.
func near(a, b grid.Bounds) bool {
	return a.Min.X <= b.Max.X && b.Min.X <= a.Max.X && a.Min.Y <= b.Max.Y && b.Min.Y <= a.Max.Y
}
