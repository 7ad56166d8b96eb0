package plan

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/coverage"
	"untrod/grid"
)

// block is a gap of side by side cells of 1 m, with a square hole in its middle.
func block(side, hole int) (grid.Spec, coverage.Gap) {
	ring := func(lo, hi float64) grid.Ring {
		return grid.Ring{{X: lo, Y: lo}, {X: hi, Y: lo}, {X: hi, Y: hi}, {X: lo, Y: hi}}
	}
	lo, hi := (side-hole)/2, (side+hole)/2
	g := coverage.Gap{ID: 1, AreaM2: float64(side*side - hole*hole), WidestM: float64(side) / 2}
	g.Outline = []grid.Polygon{{Outer: ring(0, float64(side)), Holes: []grid.Ring{ring(float64(lo), float64(hi))}}}
	for row := range side {
		if lo <= row && row < hi {
			g.Cells = append(g.Cells, grid.Run{Row: row, Lo: 0, Hi: lo}, grid.Run{Row: row, Lo: hi, Hi: side})
		} else {
			g.Cells = append(g.Cells, grid.Run{Row: row, Lo: 0, Hi: side})
		}
	}
	return grid.Spec{CellM: 1, Cols: side, Rows: side}, g
}

// TestNarrowedGap holds that a narrowed gap is part of the gap, nearly as large as it
// may be, about the place nearest to the start, and that outline and cells agree.
func TestNarrowedGap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		side := rapid.IntRange(40, 200).Draw(t, "side")
		s, g := block(side, 2*rapid.IntRange(0, side/4).Draw(t, "hole"))
		start := grid.XY{X: rapid.Float64Range(-100, 300).Draw(t, "x"), Y: rapid.Float64Range(-100, 300).Draw(t, "y")}
		most := rapid.Float64Range(50, g.AreaM2).Draw(t, "most")
		n := narrow(s, g, start, most)

		all := map[grid.Cell]bool{}
		each(g.Cells, func(c grid.Cell) { all[c] = true })
		each(n.Cells, func(c grid.Cell) {
			require.True(t, all[c], c)
			delete(all, c)
		})
		for c := range all {
			require.GreaterOrEqual(t, between(s.Centre(c), start)+1e-9, between(n.CentreXY, start))
		}
		require.LessOrEqual(t, n.AreaM2, most)
		require.GreaterOrEqual(t, n.AreaM2, min(most, g.AreaM2)/2-8*float64(side), "as much as a square allows")
		require.InDelta(t, n.AreaM2, areaOf(n.Outline), 1e-6)
	})
}

func each(runs []grid.Run, f func(grid.Cell)) {
	for _, r := range runs {
		for c := r.Lo; c < r.Hi; c++ {
			f(grid.Cell{Col: c, Row: r.Row})
		}
	}
}

func areaOf(ps []grid.Polygon) (m2 float64) {
	for _, p := range ps {
		m2 += shoelace(p.Outer)
		for _, h := range p.Holes {
			m2 -= shoelace(h)
		}
	}
	return m2
}

func shoelace(r grid.Ring) (m2 float64) {
	for i, p := range r {
		q := r[(i+1)%len(r)]
		m2 += (p.X*q.Y - q.X*p.Y) / 2
	}
	return max(m2, -m2)
}

// TestWithinReach: a gap that visits can search stays as it is.
func TestWithinReach(t *testing.T) {
	s, g := block(120, 0)
	r := &coverage.Result{Spec: s, Gaps: []coverage.Gap{g}, Settings: coverage.Settings{SwathM: 1.5}}
	set := Settings{SearchMS: 0.4, DigShare: 0.2}
	for _, c := range []struct {
		hours float64
		cut   bool
	}{{1, true}, {1.9, true}, {2.1, false}} { // 4 x 0.5 m2/s: 14,400 m2 in 2 h
		out, notes := withinReach(r, set, c.hours*3600)
		require.Equal(t, c.cut, len(notes) == 1, c.hours)
		require.Equal(t, c.cut, out.Gaps[0].AreaM2 < g.AreaM2, c.hours)
	}
	require.Equal(t, g.AreaM2, r.Gaps[0].AreaM2)
}
