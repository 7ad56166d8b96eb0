package plan

import (
	"errors"
	"math"

	"untrod/grid"
)

// walker knows the ways and how long they take.
type walker struct {
	ways       *Ways
	set        Settings
	linkM      float64 // longest way between lanes over which the coil stays in use
	start, end gate
}

// gate is where the whole way begins or ends.
type gate struct {
	at   grid.XY
	out  grid.XY // where the keep-out that at lies in is left; at itself when in none
	free bool    // at lies in no keep-out
}

// marginM is how far ways stay off keep-outs: passages of twice that are open. Common
// sense, no source.
const marginM = 0.3

func newWalker(keepouts []grid.Polygon, set Settings, swathM float64) (*walker, error) {
	ways, err := NewWays(keepouts, marginM)
	if err != nil {
		return nil, err
	}
	return &walker{
		ways: ways, set: set, linkM: 2 * swathM,
		start: gateAt(set.Start, keepouts), end: gateAt(set.End, keepouts),
	}, nil
}

// gateAt finds the nearest way out of the keep-outs that p lies in.
func gateAt(p grid.XY, keepouts []grid.Polygon) gate {
	const step = 0.01 // m beyond the outline
	g := gate{p, p, true}
	for range len(keepouts) {
		inside := false
		for _, k := range keepouts {
			if rings := allRings([]grid.Polygon{k}); holds(rings, g.out) {
				q := outlineAt(rings, g.out)
				if m := between(g.out, q); m > 0 {
					q = q.Plus(grid.XY{X: (q.X - g.out.X) / m * step, Y: (q.Y - g.out.Y) / m * step})
				}
				g.out, g.free, inside = q, false, true
			}
		}
		if !inside {
			break
		}
	}
	return g
}

// outlineAt is the point of rings nearest to p.
func outlineAt(rings []grid.Ring, p grid.XY) (at grid.XY) {
	least := math.Inf(1)
	for _, r := range rings {
		for i, a := range r {
			q := closestOn(a, r[(i+1)%len(r)], p)
			if m := between(p, q); m < least {
				at, least = q, m
			}
		}
	}
	return at
}

// errNoWay is when keep-outs part two places.
var errNoWay = errors.New("no way")

// way is a walk with its length and time.
type way struct {
	line       []grid.XY
	longM, inS float64
}

func (w *walker) between(a, b grid.XY) (way, error) {
	line, m, ok := w.ways.Between(a, b)
	if !ok {
		return way{}, errNoWay
	}
	return way{line, m, (m + w.delayM(line)) / w.set.WalkMS}, nil
}

// onward is a way with gates at either end, or none.
func (w *walker) onward(from, to grid.XY, first, last *gate) (way, error) {
	if first != nil {
		from = first.out
	}
	if last != nil {
		to = last.out
	}
	got, err := w.between(from, to)
	if err != nil {
		return got, err
	}
	if first != nil && !first.free {
		got = w.lengthened(append([]grid.XY{first.at}, got.line...))
	}
	if last != nil && !last.free {
		got = w.lengthened(append(got.line[:len(got.line):len(got.line)], last.at))
	}
	return got, nil
}

func (w *walker) lengthened(line []grid.XY) way {
	m := lengthOf(line)
	return way{line, m, (m + w.delayM(line)) / w.set.WalkMS}
}

func lengthOf(line []grid.XY) (m float64) {
	for i := 1; i < len(line); i++ {
		m += between(line[i-1], line[i])
	}
	return m
}

// delayM is the metres more that a line seems long by slow ground.
func (w *walker) delayM(line []grid.XY) (m float64) {
	for _, g := range w.set.Slow {
		rings := allRings([]grid.Polygon{g.Polygon})
		box := bounds(rings)
		for i := 1; i < len(line); i++ {
			l := Lane{line[i-1], line[i]}
			if l.From == l.To || !near(box, grid.EmptyBounds().Add(l.From).Add(l.To)) {
				continue
			}
			for in := held(l, rings); len(in) > 0; in = in[2:] {
				m += (g.Factor - 1) * (in[1] - in[0]) * l.lengthM()
			}
		}
	}
	return m
}
