package coverage

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
)

func TestFenceMirrors(t *testing.T) {
	box := grid.Polygon{Outer: grid.Ring{{X: 0, Y: 0}, {X: 40, Y: 0}, {X: 40, Y: 40}, {X: 0, Y: 40}}}
	for _, c := range []struct {
		inset    float64
		from, to grid.XY
	}{
		{0, grid.XY{X: 5, Y: 5}, grid.XY{X: 5, Y: 5}},       // within: as it is
		{0, grid.XY{X: -3, Y: 20}, grid.XY{X: 3, Y: 20}},    // over the west edge
		{0, grid.XY{X: 44, Y: 7}, grid.XY{X: 36, Y: 7}},     // over the east edge
		{0, grid.XY{X: -12, Y: 20}, grid.XY{X: -12, Y: 20}}, // out of reach: left where it is
		{2, grid.XY{X: -3, Y: 20}, grid.XY{X: 7, Y: 20}},
		{2, grid.XY{X: 1, Y: 20}, grid.XY{X: 3, Y: 20}},
	} {
		got := newFence([]grid.Polygon{box}, c.inset, 8).back(c.from)
		require.InDelta(t, c.to.X, got.X, 0.8, "%v", c.from)
		require.InDelta(t, c.to.Y, got.Y, 0.8, "%v", c.from)
	}
}

// TestFenceKeepsGroundEven: evenly scattered places with error, mirrored, are even
// again. That is why places are mirrored and not left out.
func TestFenceKeepsGroundEven(t *testing.T) {
	box := grid.Polygon{Outer: grid.Ring{{X: 0, Y: 0}, {X: 40, Y: 0}, {X: 40, Y: 40}, {X: 0, Y: 40}}}
	f := newFence([]grid.Polygon{box}, 0, 25)
	rng := rand.New(rand.NewPCG(1, 1))
	rim, n := 0, 200_000
	for range n {
		p := grid.XY{X: 40*rng.Float64() + 4*rng.NormFloat64(), Y: 40*rng.Float64() + 4*rng.NormFloat64()}
		q := f.back(p)
		if q.X < 4 || q.X > 36 || q.Y < 4 || q.Y > 36 {
			rim++
		}
	}
	require.InDelta(t, 1-0.64, float64(rim)/float64(n), 0.02)
}

func TestJudge(t *testing.T) {
	same := func(v float64, n int) []float64 {
		s := make([]float64, n)
		for i := range s {
			s[i] = v
		}
		return s
	}
	c := judge(draws{folded: same(60, 40), plain: same(60, 8), again: same(60, 8)}, 60)
	require.InDelta(t, 60, c.AtLeastPercent, 1e-9)
	require.InDelta(t, 60, c.ExpectedPercent, 1e-9)
	require.InDelta(t, 60, c.Interval90[1], 1e-9)
	for _, v := range []float64{0, 100} {
		c = judge(draws{folded: same(v, 40), plain: same(v, 8), again: same(v, 8)}, v)
		require.Equal(t, [3]float64{v, v, v}, [3]float64{c.AtLeastPercent, c.ExpectedPercent, c.Interval90[1]})
	}
	rng := rand.New(rand.NewPCG(2, 2))
	for range 2000 {
		noisy := func(m, sd float64, n int) []float64 {
			s := make([]float64, n)
			for i := range s {
				s[i] = math.Min(100, math.Max(0, m+sd*rng.NormFloat64()))
			}
			return s
		}
		m, sd := 100*rng.Float64(), 5*rng.Float64()
		few := func() []float64 { return noisy(m+5*rng.NormFloat64(), sd, 10) }
		d := draws{folded: noisy(m, sd, 50), plain: few(), again: few()}
		c := judge(d, m)
		require.True(t, c.AtLeastPercent >= 0 && c.Interval90[1] <= 100)
		require.LessOrEqual(t, c.AtLeastPercent, c.Interval90[1])
		require.LessOrEqual(t, c.AtLeastPercent, m)

		d.swath, d.swathAgain = few()[:5], few()[:5]
		swung := judge(d, m)
		require.True(t, swung.AtLeastPercent >= 0 && swung.Interval90[1] <= 100)
		require.LessOrEqual(t, swung.AtLeastPercent, swung.Interval90[1])
		require.LessOrEqual(t, swung.AtLeastPercent, m)
	}

	// Error scatters the swath by a tenth; the coil's share falls in draws of draws
	// all the same, for their way is longer.
	d := draws{folded: same(30, 40), plain: same(30, 8), again: same(30, 8), swath: same(50, 4), swathAgain: same(55, 4)}
	c = judge(d, 60)
	require.Less(t, c.AtLeastPercent, 30/1.1)
	require.InDelta(t, 100-100*math.Pow(0.7, 1.1), c.ExpectedPercent, 1e-9)
}

// TestStraightTrackChance: a straight track whose receiver has nothing but a
// steady offset. The chance that a place at distance y was swept is
// Phi((y+w/2)/s) - Phi((y-w/2)/s), worked out by hand; its integral across the
// track is w for every s.
func TestStraightTrackChance(t *testing.T) {
	for _, c := range []struct{ w, sd, centre, edge float64 }{
		{1.5, 0.5, 0.866386, 0.498650}, {1.5, 1, 0.546745, 0.433193}, {1.5, 2, 0.292340, 0.273373},
		{1.5, 3, 0.197413, 0.191462}, {2, 1, 0.682689, 0.477250}, {2, 3, 0.261117, 0.247507},
	} {
		phi := func(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }
		chance := func(y float64) float64 { return phi((y+c.w/2)/c.sd) - phi((y-c.w/2)/c.sd) }
		require.InDelta(t, c.centre, chance(0), 1e-6)
		require.InDelta(t, c.edge, chance(c.w/2), 1e-6)

		// The same through brushes and masks: 20,000 offsets.
		spec := grid.SpecFor(grid.Bounds{Min: grid.XY{X: 0, Y: -20}, Max: grid.XY{X: 1, Y: 20}}, 0.1)
		rng, brush := rand.New(rand.NewPCG(4, 4)), grid.NewBrush(0.1, c.w/2)
		counts := make([]int, spec.Rows)
		const n = 20_000
		m := grid.NewMask(spec)
		for range n {
			y := c.sd * rng.NormFloat64()
			m.Clear()
			m.FillLine([]grid.XY{{X: -30, Y: y}, {X: 30, Y: y}}, brush)
			for row := range counts {
				if m.Has(grid.Cell{Col: 5, Row: row}) {
					counts[row]++
				}
			}
		}
		sum := 0.0
		for row, k := range counts {
			y := spec.Centre(grid.Cell{Row: row}).Y
			require.InDelta(t, chance(y), float64(k)/n, 0.02)
			sum += float64(k) / n * 0.1
		}
		require.InDelta(t, c.w, sum, 0.02, "what the error spreads it does not add")
	}
}
