package coverage_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/coverage"
)

// slowShare moves the coil in small steps of time and marks, on each of the lines
// along the march at offsets us, the cells whose centres are inside the footprint
// at any moment. It returns the shares of the middle two sweeps.
func slowShare(c coverage.Coil, us []float64, paceMS, depthM float64) []float64 {
	const steps, cells = 4000, 4000 // in time a sweep, along the march in two sweeps
	along := c.FootprintM(depthM) / 2
	across := max(0, c.SizeM-depthM) / 2
	period := 2 * paceMS * c.SweepS
	marks := make([][]int, len(us)) // +1 where a chord begins, -1 after it ends
	for i := range marks {
		marks[i] = make([]int, cells+1)
	}
	sweeps := int(2*along/period)*2 + 6
	for i := -sweeps * steps; i <= (sweeps+2)*steps; i++ {
		t := float64(i) / steps // in sweeps; the turns are at whole numbers
		turn := math.Mod(math.Abs(t), 2)
		x := c.SwingM * (1 - math.Abs(1-turn) - 0.5)
		y := paceMS * c.SweepS * t
		for j, u := range us {
			d := (u - x) / across
			if math.Abs(d) > 1 {
				continue
			}
			half := along * math.Sqrt(1-d*d)
			first := max(0, int(math.Ceil((y-half)/period*cells-0.5)))
			last := min(cells-1, int(math.Floor((y+half)/period*cells-0.5)))
			if first <= last {
				marks[j][first]++
				marks[j][last+1]--
			}
		}
	}
	shares := make([]float64, len(us))
	for j := range us {
		open, in := 0, 0
		for _, m := range marks[j][:cells] {
			if open += m; open > 0 {
				in++
			}
		}
		shares[j] = float64(in) / cells
	}
	return shares
}

func TestSweptShareEqualsMovingCoil(t *testing.T) {
	const tolerance = 0.002 // steps and cells of slowShare, most where the edge is steep
	worst := 0.0
	for _, c := range []coverage.Coil{
		{SizeM: 0.25, SwingM: 1.5, SweepS: 1.5},
		{SizeM: 0.28, SwingM: 1.2, SweepS: 1.2, Shape: coverage.DoubleD},
		{SizeM: 0.15, SwingM: 0.8, SweepS: 0.6},
		{SizeM: 0.4, SwingM: 0.3, SweepS: 0.5},
		{SizeM: 1, SwingM: 0.3, SweepS: 1, Shape: coverage.DoubleD},
	} {
		for _, pace := range []float64{0.05, 0.12, 0.3, 0.7, 1.5} {
			for _, depth := range []float64{0, 0.1} {
				name := fmt.Sprintf("%v %.2f swing %.1f pace %.2f depth %.1f", c.Shape, c.SizeM, c.SwingM, pace, depth)
				t.Run(name, func(t *testing.T) {
					var us []float64
					for i := range 31 {
						us = append(us, (float64(i)/15-1)*0.4999*(c.SwingM+c.SizeM))
					}
					for i, want := range slowShare(c, us, pace, depth) {
						got := c.SweptShare(us[i], pace, depth)
						require.InDelta(t, want, got, tolerance, "offset %g", us[i])
						worst = max(worst, math.Abs(want-got))
					}
				})
			}
		}
	}
	t.Logf("largest difference %.5f", worst)
}

func drawCoil(t *rapid.T) coverage.Coil {
	return coverage.Coil{
		SizeM:  rapid.Float64Range(0.05, 2).Draw(t, "size"),
		SwingM: rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0.001, 3)).Draw(t, "swing"),
		SweepS: rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0.01, 4)).Draw(t, "sweep"),
		Shape:  rapid.SampledFrom([]coverage.CoilShape{coverage.Concentric, coverage.DoubleD}).Draw(t, "shape"),
	}
}

func TestSweptShareProperties(t *testing.T) {
	const rounding = 1e-12
	rapid.Check(t, func(t *rapid.T) {
		c := drawCoil(t)
		u := rapid.Float64Range(-3, 3).Draw(t, "offset")
		pace := rapid.Float64Range(0, 3).Draw(t, "pace")
		depth := rapid.Float64Range(0, 1).Draw(t, "depth")
		more := rapid.Float64Range(0, 1).Draw(t, "more")
		share := c.SweptShare(u, pace, depth)
		require.GreaterOrEqual(t, share, 0.0)
		require.LessOrEqual(t, share, 1.0)
		require.Equal(t, share, c.SweptShare(-u, pace, depth), "either side")
		require.LessOrEqual(t, c.SweptShare(u, pace+more, depth), share+rounding, "faster")
		require.LessOrEqual(t, c.SweptShare(u, pace, depth+more), share+rounding, "deeper")
		if math.Abs(u) > (c.SwingM+c.SizeM)/2 {
			require.Zero(t, share)
		}
		blade := coverage.Coil{SizeM: c.SizeM, SwingM: c.SwingM, SweepS: c.SweepS, Shape: coverage.DoubleD}
		require.LessOrEqual(t, share, blade.SweptShare(u, pace, depth)+rounding, "a blade is the longer")
	})
}

func TestFastestPaceIsTheEdge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCoil(t)
		depth := rapid.Float64Range(0, 0.5).Draw(t, "depth")
		pace := c.FastestPace(depth)
		if c.FootprintM(depth) == 0 {
			require.Zero(t, pace)
			return
		}
		if math.IsInf(pace, 1) {
			pace = 100
		} else if pace < 20 {
			require.Less(t, c.SweptShare(c.SwingM/2, pace*1.001, depth), 1.0, "at the turn, faster")
		}
		for i := range 21 {
			require.InDelta(t, 1, c.SweptShare(c.SwingM/2*(float64(i)/20), pace, depth), 1e-9, "offset %d/20 of half the swing", i)
		}
	})
}

// The rule pace = (1 - overlap) x size / sweep time, from geometry: size 0.25 m,
// swing 1.5 m at 1 m/s, gives 0.0833 m/s at overlap 1/2 and 0.125 m/s at 1/4.
func TestFastestPaceAgainstOverlapRule(t *testing.T) {
	c := coverage.Coil{SizeM: 0.25, SwingM: 1.5}
	rule := func(overlap float64) float64 { return (1 - overlap) * c.SizeM / 1.5 }
	require.InDelta(t, 0.0833, rule(0.5), 5e-5)
	require.InDelta(t, 0.125, rule(0.25), 1e-12)

	slant := 1 / math.Sqrt(1-math.Pow(0.125/1.5, 2))
	require.InDelta(t, rule(0.5)*slant, c.FastestPace(0), 1e-12)
	require.InDelta(t, 1.0035, slant, 5e-5)

	// At an overlap of 1/4 the middle is whole and the turns are not. By hand:
	// a = 0.1875, k = 0.125, h = 0.125 sqrt(1 + k^2); swept when k x + h >= a at a
	// distance x from the turn.
	k, a := 0.125, 0.1875
	h := 0.125 * math.Sqrt(1+k*k)
	whole := (a - h) / k
	require.InDelta(t, 1, c.SweptShare(0, rule(0.25), 0), 1e-12)
	require.InDelta(t, 1, c.SweptShare(0.75-whole-1e-9, rule(0.25), 0), 1e-12)
	require.Less(t, c.SweptShare(0.75-whole+1e-3, rule(0.25), 0), 1.0)
	require.InDelta(t, h/a, c.SweptShare(0.75, rule(0.25), 0), 1e-12)
}

// The wedges missed within the swing have area (a - h)^2 / k in a sweep.
func TestMeanShareClosedForm(t *testing.T) {
	c := coverage.Coil{SizeM: 0.3, SwingM: 1.2, SweepS: 1, Shape: coverage.DoubleD}
	const depth = 0.3 // a blade without width: nothing is swept beyond the swing
	for _, pace := range []float64{0.16, 0.25, 0.29} {
		a, q := pace, 0.15
		k := a / c.SwingM
		within := 1 - (a-q)*(a-q)/k/(a*c.SwingM)
		require.InDelta(t, within*1.2/1.5, c.MeanShare(pace, depth), 5e-4, "pace %g", pace)
	}
	disc := coverage.Coil{SizeM: 0.25, SwingM: 1.5, SweepS: 1.5}
	require.InDelta(t, 1, disc.MeanShare(1e-9, 0), 1e-9, "hardly moving")
}

func TestMeanShareIsFineEnough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCoil(t)
		pace := rapid.Float64Range(0, 2).Draw(t, "pace")
		depth := rapid.Float64Range(0, 0.3).Draw(t, "depth")
		half, sum, n := (c.SwingM+c.SizeM)/2, 0.0, 10_000
		for i := range n {
			sum += c.SweptShare(half*(float64(i)+0.5)/float64(n), pace, depth)
		}
		require.InDelta(t, sum/float64(n), c.MeanShare(pace, depth), 1e-3)
	})
}

func TestCoilEdgeCases(t *testing.T) {
	disc := coverage.Coil{SizeM: 0.25, SwingM: 1.5}
	blade := coverage.Coil{SizeM: 0.25, SwingM: 1.5, Shape: coverage.DoubleD}
	held := coverage.Coil{SizeM: 0.25, SweepS: 1}
	for _, row := range []struct {
		name      string
		got, want float64
	}{
		{"disc at the surface", disc.FootprintM(0), 0.25},
		{"disc narrows", disc.FootprintM(0.15), 0.10},
		{"disc gone", disc.FootprintM(0.25), 0},
		{"disc never below nothing", disc.FootprintM(0.5), 0},
		{"blade stays", blade.FootprintM(0.5), 0.25},
		{"too deep for a disc, standing", disc.SweptShare(0, 0, 0.3), 0},
		{"too deep for a disc", disc.FastestPace(0.3), 0},
		{"standing still", disc.SweptShare(0.87, 0, 0), 1},
		{"standing still, out of reach", disc.SweptShare(0.88, 0, 0), 0},
		{"blade of no width, in the swing", blade.SweptShare(0.75, 0.05, 0.3), 1},
		{"blade of no width, beyond", blade.SweptShare(0.76, 0.05, 0.3), 0},
		{"coil held still", held.SweptShare(0.12, 1, 0), 1},
		{"coil held still, beyond", held.SweptShare(0.13, 1, 0), 0},
		{"coil held still, fastest", held.FastestPace(0), math.Inf(1)},
		{"no speed of swing given: 1 m/s", disc.FastestPace(0), coverage.Coil{SizeM: 0.25, SwingM: 1.5, SweepS: 1.5}.FastestPace(0)},
	} {
		t.Run(row.name, func(t *testing.T) {
			if math.IsInf(row.want, 1) {
				require.Equal(t, row.want, row.got)
				return
			}
			require.InDelta(t, row.want, row.got, 1e-12)
		})
	}
	require.True(t, math.IsNaN(disc.SweptShare(0, math.NaN(), 0)), "no pace")
	require.True(t, math.IsNaN(disc.SweptShare(0.8, math.NaN(), 0)), "no pace, at the rim")
	require.Equal(t, "concentric", coverage.Concentric.String())
	require.Equal(t, "double-d", coverage.DoubleD.String())
}

func ExampleCoil_FastestPace() {
	c := coverage.Coil{SizeM: 0.28, SwingM: 1.2}
	fmt.Printf("%.3f m/s at the surface, %.3f m/s at 15 cm\n", c.FastestPace(0), c.FastestPace(0.15))
	// Output: 0.117 m/s at the surface, 0.054 m/s at 15 cm
}
