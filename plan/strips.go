package plan

import (
	"math"
	"slices"

	"untrod/grid"
)

// span is the ground of one strip between two gaps of it along the lane, in the
// coordinates of the layout's axis.
type span struct {
	strip  int
	lo, hi float64 // all of its ground along the lane
	// The lane covers the span when it begins at or before first and ends at or after
	// last: the disc of the swath at its end takes care of the rest.
	first, last float64
	inside      float64 // metres of the lane on ground
}

// ends is where the lane of the span begins and ends: as short as covers the span,
// but half a swath where there is room, since a lane wants a direction.
func (s span) ends(radiusM float64) (from, to float64) {
	if s.last-s.first >= radiusM {
		return s.first, s.last
	}
	mid, half := (s.first+s.last)/2, min(radiusM, s.hi-s.lo)/2
	return min(s.first, mid-half), max(s.last, mid+half)
}

// strips is ground cut into strips of equal width along an axis.
type strips struct {
	axis    axis
	lo      float64 // across, where the first begins
	widthM  float64
	n       int
	radiusM float64
}

// side is the beginning of strip i, across; middle is where its lane runs.
func (s strips) side(i int) float64   { return s.lo + float64(i)*s.widthM }
func (s strips) middle(i int) float64 { return s.lo + (float64(i)+0.5)*s.widthM }

// at is the strip that holds a place across.
func (s strips) at(x float64) int {
	return int(max(0, min(math.Floor((x-s.lo)/s.widthM), float64(s.n-1))))
}

// spans returns the spans of rings' ground, odd-even, strip by strip and in order
// along each; ground less than joinM apart along the lane is one span. Each holds the
// whole extent along the lane of its ground anywhere in the strip.
//
// Along the lane, ground in a strip reaches as far as its edges there and its cut at
// one side of the strip do together. O(edges x strips they cross, and sorting).
func (s strips) spans(rings []grid.Ring, joinM float64) [][]span {
	l := s.lists(rings)
	s.each(rings, func(k int, a, b grid.XY) {
		if !s.alongSide(k, a, b) {
			l.cover[k] = append(l.cover[k], s.edge(k, a, b))
		}
		cut(&l.sides[k], a, b, s.side(k)+hairM)
		cut(&l.middles[k], a, b, s.middle(k))
	})
	for k := range l.cover {
		l.cover[k] = merged(pairs(l.cover[k], l.sides[k]), joinM)
		slices.Sort(l.middles[k])
		for i := range l.cover[k] {
			from, to := l.cover[k][i].ends(s.radiusM)
			l.cover[k][i].inside = overlap(l.middles[k], from, to)
		}
	}
	return l.cover
}

// each calls f for every edge and every strip it has a part in, a at or west of b.
func (s strips) each(rings []grid.Ring, f func(k int, a, b grid.XY)) {
	for _, r := range rings {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			if a.X > b.X {
				a, b = b, a
			}
			for k, first := s.at(a.X), s.at(a.X); k < s.n && (k == first || s.side(k) < b.X); k++ {
				f(k, a, b)
			}
		}
	}
}

// lists are what spans are made from, strip by strip: the parts of edges, and where
// edges cross the strip's beginning and middle.
type lists struct {
	cover          [][]span
	sides, middles [][]float64
}

// lists returns empty lists with room for all: layouts are made by the thousand, and
// growing them took most of the time.
func (s strips) lists(rings []grid.Ring) lists {
	count, sum := make([]int, s.n), 0
	s.each(rings, func(k int, _, _ grid.XY) { count[k]++; sum++ })
	l := lists{make([][]span, s.n), make([][]float64, s.n), make([][]float64, s.n)}
	spans, numbers := make([]span, sum+sum/2+s.n), make([]float64, 2*sum)
	for k, n := range count {
		room := n + n/2 + 1
		l.cover[k], spans = spans[:0:room], spans[room:]
		l.sides[k], l.middles[k], numbers = numbers[:0:n], numbers[n:n:2*n], numbers[2*n:]
	}
	return l
}

// hairM is how far an edge may lie off the side of a strip and still run along it.
const hairM = 1e-6

// alongSide reports whether the part of an edge within strip k runs along a side it
// shares with another. That is rim of one of the two only, and the ground there
// counts all the same: by its cut a hair inside, or by other edges.
func (s strips) alongSide(k int, a, b grid.XY) bool {
	return k > 0 && b.X <= s.side(k)+hairM || k < s.n-1 && a.X >= s.side(k+1)-hairM
}

// edge is the span that the part of an edge within strip k takes up.
func (s strips) edge(k int, a, b grid.XY) span {
	lo, mid := s.side(k), s.middle(k)
	out := span{strip: k, lo: math.Inf(1), hi: math.Inf(-1), first: math.Inf(1), last: math.Inf(-1)}
	for _, q := range [2]grid.XY{onEdge(a, b, max(a.X, lo), a), onEdge(a, b, min(b.X, lo+s.widthM), b)} {
		reach := math.Sqrt(max(0, s.radiusM*s.radiusM-(q.X-mid)*(q.X-mid)))
		out.lo, out.hi = min(out.lo, q.Y), max(out.hi, q.Y)
		out.first, out.last = min(out.first, q.Y+reach), max(out.last, q.Y-reach)
	}
	return out
}

// onEdge is the point of the edge from a to b at x, or the end given when that is it.
func onEdge(a, b grid.XY, x float64, end grid.XY) grid.XY {
	if x == end.X {
		return end
	}
	f := (x - a.X) / (b.X - a.X)
	return grid.XY{X: x, Y: a.Y + max(0, min(f, 1))*(b.Y-a.Y)}
}

// cut adds where the edge from a to b, a at or west of b, crosses the line at x.
func cut(to *[]float64, a, b grid.XY, x float64) {
	if a.X <= x && x < b.X {
		*to = append(*to, a.Y+(x-a.X)/(b.X-a.X)*(b.Y-a.Y))
	}
}

// pairs adds the ground on a side of a strip, as spans that ask for no lane.
func pairs(to []span, ys []float64) []span {
	slices.Sort(ys)
	for i := 0; i+1 < len(ys); i += 2 {
		to = append(to, span{lo: ys[i], hi: ys[i+1], first: math.Inf(1), last: math.Inf(-1)})
	}
	return to
}

// ordered is cmp.Compare of numbers, neither of which is NaN.
func ordered(a, b float64) int {
	if a < b {
		return -1
	}
	if a > b {
		return 1
	}
	return 0
}

// merged joins spans that overlap or lie at most joinM apart.
func merged(all []span, joinM float64) []span {
	slices.SortFunc(all, func(a, b span) int { return ordered(a.lo, b.lo) })
	out := all[:0]
	for _, s := range all {
		if n := len(out); n > 0 && s.lo <= out[n-1].hi+joinM {
			o := &out[n-1]
			o.hi, o.strip = max(o.hi, s.hi), max(o.strip, s.strip)
			o.first, o.last = min(o.first, s.first), max(o.last, s.last)
			continue
		}
		out = append(out, s)
	}
	return out
}

// overlap is how much of from..to lies between the first and second, third and
// fourth ... of ys.
func overlap(ys []float64, from, to float64) (sum float64) {
	for i := 0; i+1 < len(ys); i += 2 {
		sum += max(0, min(to, ys[i+1])-max(from, ys[i]))
	}
	return sum
}

// cells is the boustrophedon decomposition of spans: runs of neighbouring strips,
// one span each, that follow one another without a fork. A new cell begins wherever
// the connectivity of the strips changes. Source: H. Choset and P. Pignon (1997),
// Coverage path planning: the boustrophedon cellular decomposition, as told in
// S. M. LaValle (2006), Planning Algorithms, section 7.6; strips in place of a sweep
// line, so that notches narrower than a swath make no cells.
func cells(cover [][]span) (out [][]span) {
	var open [][]span // cells that end in the strip before
	for k := range cover {
		next := make([][]span, len(cover[k]))
		for _, c := range open {
			last := c[len(c)-1]
			if i, ok := onlyTouching(last, cover[k]); ok {
				if _, ok := onlyTouching(cover[k][i], cover[k-1]); ok {
					next[i] = append(c, cover[k][i])
					continue
				}
			}
			out = append(out, c)
		}
		for i := range next {
			if next[i] == nil {
				next[i] = []span{cover[k][i]}
			}
		}
		open = next
	}
	return append(out, open...)
}

// onlyTouching returns which of others overlaps s along the lane, when it is one
// alone.
func onlyTouching(s span, others []span) (at int, ok bool) {
	n := 0
	for i, o := range others {
		if o.lo <= s.hi && s.lo <= o.hi {
			at, n = i, n+1
		}
	}
	return at, n == 1
}
