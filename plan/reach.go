package plan

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"

	"untrod/coverage"
	"untrod/grid"
)

// withinReach is r with every gap that is larger than what can be searched in timesOver
// of the longest budget narrowed to a square of that much of its ground, about its
// place nearest to the start: lanes over kilometres serve nobody and take minutes to
// lay. It tells of each. r itself when there is none.
func withinReach(r *coverage.Result, set Settings, longestS float64) (*coverage.Result, []string) {
	mostM2 := timesOver * longestS * set.m2PerS(r.Settings.SwathM)
	var notes []string
	out := *r
	for i, g := range r.Gaps {
		if g.AreaM2 <= mostM2 {
			continue
		}
		if notes == nil {
			out.Gaps = slices.Clone(r.Gaps)
		}
		out.Gaps[i] = narrow(r.Spec, g, set.Start, mostM2)
		notes = append(notes, fmt.Sprintf("gap %d is more than many visits can search: planned for is the %.0f ha of it nearest to the start", g.ID, math.Max(1, out.Gaps[i].AreaM2/10_000)))
	}
	return &out, notes
}

// m2PerS is the ground searched in a second, digging and all.
func (s Settings) m2PerS(swathM float64) float64 {
	return s.SearchMS * (swathM - s.OverlapM) / (1 + s.DigShare)
}

// narrow cuts a gap down to a square window of at most mostM2 of its ground.
func narrow(s grid.Spec, g coverage.Gap, start grid.XY, mostM2 float64) coverage.Gap {
	at, most := nearestCell(s, g.Cells, start), int(mostM2/s.CellAreaM2())
	lo, hi := 0, s.Cols+s.Rows
	for lo+1 < hi { // lo cells either way are little enough
		if half := (lo + hi) / 2; cellsOf(window(g.Cells, at, half)) <= most {
			lo = half
		} else {
			hi = half
		}
	}
	out := g
	out.Cells = window(g.Cells, at, lo)
	out.AreaM2 = float64(cellsOf(out.Cells)) * s.CellAreaM2()
	out.UntroddenM2 = math.Min(g.UntroddenM2, out.AreaM2)
	out.CentreXY = s.Centre(at)
	half := (float64(lo) + 0.5) * s.CellM
	out.WidestM = math.Min(g.WidestM, 2*half)
	out.Outline = clipped(g.Outline, orb.Bound{
		Min: orb.Point{out.CentreXY.X - half, out.CentreXY.Y - half}, Max: orb.Point{out.CentreXY.X + half, out.CentreXY.Y + half},
	})
	return out
}

func nearestCell(s grid.Spec, runs []grid.Run, p grid.XY) (best grid.Cell) {
	least := math.Inf(1)
	for _, r := range runs {
		c, _ := s.CellAt(p)
		c = grid.Cell{Col: min(max(c.Col, r.Lo), r.Hi-1), Row: r.Row}
		if m := between(s.Centre(c), p); m < least {
			best, least = c, m
		}
	}
	return best
}

// window is the part of runs that lies at most half cells from the cell at, east and
// north.
func window(runs []grid.Run, at grid.Cell, half int) (out []grid.Run) {
	for _, r := range runs {
		r.Lo, r.Hi = max(r.Lo, at.Col-half), min(r.Hi, at.Col+half+1)
		if r.Lo < r.Hi && at.Row-half <= r.Row && r.Row <= at.Row+half {
			out = append(out, r)
		}
	}
	return out
}

func cellsOf(runs []grid.Run) (n int) {
	for _, r := range runs {
		n += r.Hi - r.Lo
	}
	return n
}

func clipped(ps []grid.Polygon, b orb.Bound) (out []grid.Polygon) {
	for _, p := range ps {
		rings := clip.Polygon(b, orbPolygon(p))
		if len(rings) == 0 {
			continue
		}
		q := grid.Polygon{Outer: ringOf(rings[0])}
		for _, hole := range rings[1:] {
			q.Holes = append(q.Holes, ringOf(hole))
		}
		out = append(out, q)
	}
	return out
}

// orbPolygon is p as orb has it: rings repeat their first point.
func orbPolygon(p grid.Polygon) (out orb.Polygon) {
	for _, ring := range append([]grid.Ring{p.Outer}, p.Holes...) {
		var r orb.Ring
		for _, q := range ring {
			r = append(r, orb.Point{q.X, q.Y})
		}
		out = append(out, append(r, r[0]))
	}
	return out
}

func ringOf(r orb.Ring) (out grid.Ring) {
	for _, p := range r[:len(r)-1] {
		out = append(out, grid.XY{X: p[0], Y: p[1]})
	}
	return out
}
