package plan

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
)

func regular(n int, side float64) []grid.XY {
	r := side / 2 / math.Sin(math.Pi/float64(n))
	out := make([]grid.XY, n)
	for i := range out {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		out[i] = grid.XY{X: 7 + r*cos, Y: -3 + r*sin}
	}
	return out
}

func leastWidth(ps []grid.XY) float64 {
	w := math.Inf(1)
	for _, b := range breadths(hullOf(ps)) {
		w = math.Min(w, b.widthM)
	}
	return w
}

// TestLeastWidth: elementary geometry; that a side of the hull always gives it is
// Houle and Toussaint 1988.
func TestLeastWidth(t *testing.T) {
	for _, c := range []struct {
		name string
		ps   []grid.XY
		want float64
	}{
		{"3-4-5 triangle", []grid.XY{{}, {X: 3}, {Y: 4}}, 2.4},
		{"equilateral triangle", regular(3, 1), 0.866025},
		{"pentagon", regular(5, 1), 1.538842},
		{"hexagon", regular(6, 1), 1.732051},
		{"rectangle", []grid.XY{{}, {X: 7}, {X: 7, Y: 2.5}, {Y: 2.5}}, 2.5},
		{"clockwise, with points on its sides", []grid.XY{{}, {Y: 2.5}, {X: 3, Y: 2.5}, {X: 7, Y: 2.5}, {X: 7}, {X: 7}}, 2.5},
		{"line", []grid.XY{{}, {X: 1, Y: 1}, {X: 3, Y: 3}}, 0},
	} {
		t.Run(c.name, func(t *testing.T) { require.InDelta(t, c.want, leastWidth(c.ps), 1e-6) })
	}
	require.Empty(t, breadths(hullOf([]grid.XY{{X: 1}, {X: 1}})))
	require.Empty(t, breadths(hullOf(nil)))
}

// TestWidthsBrute compares the hull and the calipers with every point against every
// side, and the least width with that in many directions, which is never less.
func TestWidthsBrute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		whole := rapid.IntRange(-20, 20)
		ps := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) grid.XY {
			return grid.XY{X: float64(whole.Draw(t, "x")), Y: float64(whole.Draw(t, "y"))}
		}), 1, 30).Draw(t, "points")
		corners := hullOf(ps)
		sides := breadths(corners)
		if len(corners) < 2 {
			require.Empty(t, sides)
			return
		}
		require.Len(t, sides, len(corners))
		for i, a := range corners {
			b, far := corners[(i+1)%len(corners)], 0.0
			for _, q := range ps {
				off := turning(a, b, q) / between(a, b)
				require.GreaterOrEqual(t, off, -1e-9)
				far = math.Max(far, off)
			}
			require.InDelta(t, far, sides[i].widthM, 1e-9)
		}
		least := leastWidth(ps)
		for i := range 90 {
			sin, cos := math.Sincos(float64(i) * math.Pi / 90)
			lo, hi := math.Inf(1), math.Inf(-1)
			for _, q := range ps {
				x := axis{sin, cos}.into(q).X
				lo, hi = math.Min(lo, x), math.Max(hi, x)
			}
			require.LessOrEqual(t, least, hi-lo+1e-9)
		}
		require.InDelta(t, least, narrowest(sides, 3)[0].widthM, 1e-12)
	})
}

func TestAxis(t *testing.T) {
	a := along(grid.XY{}, grid.XY{X: 1, Y: 1})
	require.InDelta(t, 45, a.deg(), 1e-12)
	require.InDelta(t, 45, along(grid.XY{X: 1, Y: 1}, grid.XY{}).deg(), 1e-12)
	q := a.into(grid.XY{X: 2, Y: 2})
	require.InDelta(t, 0, q.X, 1e-12)
	require.InDelta(t, math.Sqrt(8), q.Y, 1e-12)
	require.Positive(t, a.into(grid.XY{X: 1}).X) // to the right
	back := a.back(a.into(grid.XY{X: 3, Y: -5}))
	require.InDelta(t, 3, back.X, 1e-12)
	require.InDelta(t, -5, back.Y, 1e-12)
}
