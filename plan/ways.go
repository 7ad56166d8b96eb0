package plan

import (
	"cmp"
	"slices"

	"untrod/grid"
)

// Ways finds how to walk between two places without crossing keep-outs: straight
// where that is free, else the shortest way round their corners (a visibility
// graph: Lozano-Perez and Wesley 1979, Communications of the ACM 22:560-570, from
// memory). It works things out when they are first asked for and keeps them, so it
// is not for use by several goroutines at once, and its memory grows with the
// places asked about.
type Ways struct {
	raw    []wayKeepout
	rawIn  *edgeGrid // sides of the keep-outs as given
	grown  *edgeGrid // sides of the grown keep-outs
	rings  []wayRing // of the grown keep-outs
	nodes  []wayNode // corners a shortest way may bend at
	places map[grid.XY]*wayPlace
	search waySearch
}

// NewWays gets ready to walk round keepouts, which may overlap, in metres of one
// frame. Each is grown by padM metres, with mitred corners, and what then overlaps
// or touches is one obstacle: a passage narrower than twice padM is closed, a ring
// of keep-outs that touch closes off what it surrounds, and so does a keep-out with
// a hole. Dents of an outline up to a fifth of padM deep are filled. Keep-outs should
// be valid ([grid.Polygon.Validate]); one with fewer than three corners or without
// area is none.
//
// Cost: about 10 microseconds for each vertex. The error names the keep-out, by its
// place in the list, that is not finite, or says that growing failed.
func NewWays(keepouts []grid.Polygon, padM float64) (*Ways, error) {
	grown, err := grow(keepouts, padM)
	if err != nil {
		return nil, err
	}
	w := &Ways{rings: ringsOf(grown), places: map[grid.XY]*wayPlace{}}
	var sides []wayEdge
	for _, k := range keepouts {
		raw := newWayKeepout(k)
		w.raw = append(w.raw, raw)
		sides = append(sides, raw.sides...)
	}
	w.rawIn, w.grown = newEdgeGrid(sides), newEdgeGrid(edgesOf(w.rings))
	w.nodes = nodesOf(w.rings)
	w.search = newWaySearch(len(w.nodes))
	return w, nil
}

// Between returns the shortest walk from a to b as a line that begins at a and ends
// at b, and its length in metres; from b to a it is the same line backwards. No point
// of the line lies inside a keep-out by more than a few micrometres; it keeps 0.99 padM
// metres off them except at a and b. A place nearer to a keep-out than that is left
// and reached by the shortest way out of the margin. Lengths are shortest ways round
// the grown keep-outs, so they obey the triangle inequality to a few micrometres.
//
// ok is false when a or b lies inside a keep-out or is not finite, and when keep-outs
// close one off from the other.
//
// Cost: about a microsecond when the straight line is free and both places were asked
// about before; else up to milliseconds, more for the first question about a place.
func (w *Ways) Between(a, b grid.XY) (line []grid.XY, lengthM float64, ok bool) {
	from, to := w.placeAt(a), w.placeAt(b)
	if !from.ok || !to.ok || from.region != to.region {
		return nil, 0, false
	}
	if a == b {
		return []grid.XY{a, b}, 0, true
	}
	turned := cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) > 0
	if turned {
		a, b, from, to = b, a, to, from
	}
	via, middleM, ok := w.route(from, to)
	if !ok {
		return nil, 0, false
	}
	line = []grid.XY{a}
	if from.outM > leastStep {
		line = append(line, from.at)
	}
	for _, n := range via {
		line = append(line, w.nodes[n].at)
	}
	if to.outM > leastStep {
		line = append(line, to.at)
	}
	line = append(line, b)
	if turned {
		slices.Reverse(line)
	}
	return line, from.outM + middleM + to.outM, true
}

// leastStep is the shortest way out of a margin that the line shows, in metres.
const leastStep = 1e-3

// wayPlace is a place somebody asked about.
type wayPlace struct {
	at     grid.XY // the place, or where it leaves the margin of a keep-out
	outM   float64 // from the place to at
	region int
	ok     bool // not inside a keep-out
	looked bool
	seen   []waySight // the nodes in sight, once looked
}

func (w *Ways) placeAt(p grid.XY) *wayPlace {
	if q := w.places[p]; q != nil {
		return q
	}
	q := &wayPlace{at: p}
	if !finite(p) {
		return q // NaN is no key of a map
	}
	w.places[p] = q
	for i := range w.raw {
		if w.raw[i].holds(p) {
			return q
		}
	}
	q.ok = !w.grown.within(p, 2*clearM) && !w.solid(p) || w.leave(p, q)
	q.region = w.regionOf(q.at)
	return q
}

// leave finds the nearest place outside the margin that p lies in, to be reached
// without crossing a keep-out.
func (w *Ways) leave(p grid.XY, q *wayPlace) bool {
	type exit struct {
		at grid.XY
		d  float64
	}
	var exits []exit
	for _, r := range w.rings {
		for i := range r.pts {
			at := r.exit(i, p)
			exits = append(exits, exit{at, dist(p, at)})
		}
	}
	slices.SortStableFunc(exits, func(a, b exit) int { return cmp.Compare(a.d, b.d) })
	for _, e := range exits {
		start := toward(p, e.at, 3*clearM)
		if !w.solid(e.at) && (e.d <= 3*clearM || !w.rawIn.touched(start, e.at)) {
			q.at, q.outM = e.at, e.d
			return true
		}
	}
	return false
}
