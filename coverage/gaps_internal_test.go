package coverage

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
)

// paint is a 0.1 m mask of so many cells, set where in says so.
func paint(cols, rows int, in func(c, r int) bool) *grid.Mask {
	m := grid.NewMask(grid.Spec{CellM: 0.1, Cols: cols, Rows: rows})
	for r := range rows {
		for c := range cols {
			if in(c, r) {
				m.Set(grid.Cell{Col: c, Row: r})
			}
		}
	}
	return m
}

func box(c, r, c0, r0, c1, r1 int) bool { return c >= c0 && c < c1 && r >= r0 && r < r1 }

func TestGapsClosedForm(t *testing.T) {
	type want struct{ areaM2, widestM, x, y float64 }
	for _, c := range []struct {
		name    string
		in      func(c, r int) bool
		gaps    []want
		slivers Slivers
	}{
		{"a square 3 m wide", func(c, r int) bool { return box(c, r, 40, 50, 70, 80) },
			[]want{{9, 3, 5.5, 6.5}}, Slivers{}},
		{"a strip one swath wide", func(c, r int) bool { return box(c, r, 10, 50, 110, 65) },
			[]want{{15, 1.5, 6, 5.75}}, Slivers{}},
		{"a strip one cell too narrow", func(c, r int) bool { return box(c, r, 10, 50, 110, 64) },
			nil, Slivers{1, 14}},
		{"too small", func(c, r int) bool { return box(c, r, 10, 50, 25, 60) },
			nil, Slivers{1, 1.5}},
		{"two rooms joined by a thread", func(c, r int) bool {
			return box(c, r, 10, 10, 40, 40) || box(c, r, 80, 10, 105, 40) || box(c, r, 40, 20, 80, 24)
		}, []want{{9, 3, 2.5, 2.5}, {7.5, 2.5, 9.25, 2.5}}, Slivers{1, 1.6}},
		{"two rooms joined by a passage", func(c, r int) bool {
			return box(c, r, 10, 10, 40, 40) || box(c, r, 80, 10, 105, 40) || box(c, r, 40, 20, 80, 30)
		}, []want{{20.5, 3, 2.5, 2.5}}, Slivers{}},
		{"nothing", func(c, r int) bool { return false }, nil, Slivers{}},
		{"all", func(c, r int) bool { return true }, []want{{144, 12, 6, 6}}, Slivers{}},
	} {
		gaps, slivers := findGaps(paint(120, 120, c.in), 1.5, 2)
		require.Len(t, gaps, len(c.gaps), c.name)
		area := 0.0
		for i, w := range c.gaps {
			g := gaps[i]
			require.Equal(t, i+1, g.ID, c.name)
			// Where a thread begins, a gap may hold up to a swath's end of it.
			require.InDelta(t, w.areaM2, g.AreaM2, 0.25, c.name)
			require.InDelta(t, w.widestM, g.WidestM, 0.051, c.name)
			require.InDelta(t, w.x, g.CentreXY.X, 0.1, c.name)
			require.InDelta(t, w.y, g.CentreXY.Y, 0.1, c.name)
			area += w.areaM2 - g.AreaM2
		}
		require.InDelta(t, c.slivers.AreaM2+area, slivers.AreaM2, 1e-9, c.name)
		require.Equal(t, c.slivers.Count, slivers.Count, c.name)
	}
}

func TestGapsAndSliversAreTheUnsweptGround(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	for i := range 20 {
		unswept := paint(200, 180, func(c, r int) bool { return true })
		for range 5 * i {
			swept := grid.NewMask(unswept.Spec())
			swept.FillCapsule(grid.XY{X: rng.Float64() * 20, Y: rng.Float64() * 18},
				grid.XY{X: rng.Float64() * 20, Y: rng.Float64() * 18}, 0.75)
			unswept.AndNot(swept)
		}
		gaps, slivers := findGaps(unswept, 1.5, 2)
		again := grid.NewMask(unswept.Spec())
		n := 0
		for _, g := range gaps {
			inside := false
			own := grid.NewMask(unswept.Spec())
			for _, r := range g.Cells {
				again.SetSpan(r.Row, r.Lo, r.Hi)
				own.SetSpan(r.Row, r.Lo, r.Hi)
				n += r.Hi - r.Lo
			}
			c, _ := unswept.Spec().CellAt(g.CentreXY)
			inside = own.Has(c)
			require.True(t, inside, "the centre lies in its gap")
			_, pieces := own.Runs().Components(true)
			require.Equal(t, 1, pieces, "a gap is one piece")
			require.GreaterOrEqual(t, g.WidestM, 1.5)
			require.GreaterOrEqual(t, g.AreaM2, 2.0)
			circle := grid.NewMask(unswept.Spec())
			circle.FillCapsule(g.CentreXY, g.CentreXY, g.WidestM/2-0.05)
			circle.AndNot(unswept)
			require.Zero(t, circle.Count(), "the widest circle is all unswept")
		}
		require.Equal(t, n, again.Count(), "gaps do not overlap")
		again.AndNot(unswept)
		require.Zero(t, again.Count(), "gaps are unswept ground")
		require.InDelta(t, unswept.AreaM2(), float64(n)*0.01+slivers.AreaM2, 1e-6)
		for i := 1; i < len(gaps); i++ {
			require.GreaterOrEqual(t, gaps[i-1].AreaM2, gaps[i].AreaM2)
		}
	}
}

func TestOutlineKeepsTheArea(t *testing.T) {
	m := paint(120, 120, func(c, r int) bool {
		d := math.Hypot(float64(c)-60, float64(r)-60)
		return d < 50 && d > 20
	})
	gaps, _ := findGaps(m, 1.5, 2)
	require.Len(t, gaps, 1)
	area := 0.0
	for _, p := range gaps[0].Outline {
		area += p.Area()
		require.NoError(t, p.Validate())
	}
	require.InEpsilon(t, math.Pi*(25-4), area, 0.02)
}

func TestGapsOnWiderCells(t *testing.T) {
	m := paint(240, 240, func(c, r int) bool {
		return box(c, r, 20, 20, 100, 80) || box(c, r, 130, 25, 175, 190) || box(c, r, 100, 40, 130, 44)
	})
	exact := gapsOf(m.Runs(), 1, 1.5, 2)
	require.Len(t, exact, 2)
	for _, k := range []int{2, 3, 4} {
		gaps := gapsOf(m.Runs(), k, 1.5, 2)
		require.Len(t, gaps, 2, "%d", k)
		for i, g := range gaps {
			n := 0
			own := grid.NewMask(m.Spec())
			for _, r := range g.Cells {
				n += r.Hi - r.Lo
				own.SetSpan(r.Row, r.Lo, r.Hi)
			}
			require.InDelta(t, g.AreaM2, float64(n)*0.01, 1e-9)
			require.Equal(t, n, own.CountAnd(m), "gaps are unswept ground")
			require.InDelta(t, exact[i].WidestM, g.WidestM, 0.2*float64(k))
			require.InEpsilon(t, exact[i].AreaM2, g.AreaM2, 0.15)
		}
	}
}
