package plan

import (
	"math"

	"untrod/grid"
)

// planner holds what every layout of one plan of lanes shares, in metres.
type planner struct {
	radiusM  float64 // half the swath
	spacingM float64
	turnM    float64 // what a turn costs, as lane
}

// piece is ground to be covered by lanes of one direction: odd-even rings, outer ones
// counter-clockwise and holes clockwise.
type piece struct {
	rings []grid.Ring
	best  layout
}

// layout is lanes of one direction over a piece.
type layout struct {
	strips
	cover [][]span
	lanes int
	costM float64
	offM  float64 // of the lanes' length, what costs extra for being off the ground
}

// lay covers a piece with lanes along an axis: as few, evenly spread, as are no more
// than a spacing apart, and one where a swath covers the width.
func (p *planner) lay(rings []grid.Ring, ax axis) layout {
	turned := make([]grid.Ring, len(rings))
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, r := range rings {
		turned[i] = make(grid.Ring, len(r))
		for k, q := range r {
			q = ax.into(q)
			turned[i][k] = q
			lo, hi = min(lo, q.X), max(hi, q.X)
		}
	}
	n := 1
	if hi-lo > 2*p.radiusM {
		n = max(1, int(math.Ceil((hi-lo)/p.spacingM-1e-9)))
	}
	l := layout{strips: strips{axis: ax, lo: lo, widthM: (hi - lo) / float64(n), n: n, radiusM: p.radiusM}}
	if l.widthM == 0 {
		l.widthM = 1 // a line has no ground, but must not divide by nothing
	}
	l.cover = l.spans(turned, p.turnM)
	p.cost(&l)
	return l
}

const (
	// Of the length of lanes this share may be off the ground before it costs extra,
	// so that the whole stays under maxOutside.
	freeOutside = 0.2
	outsideCost = 4
	maxOutside  = 0.24
	leastCover  = 0.98
)

// cost counts the lanes of a layout and weighs them: a turn each, their length, and
// extra for much of it off the ground.
func (p *planner) cost(l *layout) {
	var long, inside float64
	for _, spans := range l.cover {
		for _, s := range spans {
			from, to := s.ends(p.radiusM)
			long, inside, l.lanes = long+to-from, inside+s.inside, l.lanes+1
		}
	}
	l.offM = max(0, long-inside-freeOutside*long)
	l.costM = float64(l.lanes)*p.turnM + long + outsideCost*l.offM
}

// directions is how many directions are tried for a piece that is not convex.
const directions = 3

// settle gives a piece its best layout: of a convex one along the side that gives
// the least width, which needs the fewest lanes; of others the cheapest of the few
// directions in which they are narrowest.
func (p *planner) settle(rings []grid.Ring, tries int) layout {
	var all []grid.XY
	for _, r := range rings {
		all = append(all, r...)
	}
	corners := hullOf(all)
	if len(rings) == 1 && len(corners) == len(rings[0]) {
		tries = 1
	}
	best := layout{costM: math.Inf(1)}
	for _, b := range narrowest(breadths(corners), tries) {
		if l := p.lay(rings, b.axis); l.costM < best.costM {
			best = l
		}
	}
	return best
}

func hullOf(ps []grid.XY) (out []grid.XY) {
	for _, k := range hull(ps) {
		out = append(out, ps[k])
	}
	return out
}
