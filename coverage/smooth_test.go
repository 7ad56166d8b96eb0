package coverage_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/coverage"
	"untrod/grid"
)

// smoothTwin sums over every pair of cells.
func smoothTwin(f *grid.Field, over *grid.Mask, sdM float64, at grid.Cell) float64 {
	value, mass := 0.0, 0.0
	over.Cells(func(c grid.Cell) {
		dx, dy := float64(c.Col-at.Col)*f.Spec().CellM, float64(c.Row-at.Row)*f.Spec().CellM
		if math.Abs(dx) <= 3*sdM && math.Abs(dy) <= 3*sdM {
			w := 1.0
			if sdM > 0 {
				w = math.Exp(-(dx*dx + dy*dy) / (2 * sdM * sdM))
			}
			value, mass = value+w*float64(f.At(c)), mass+w
		}
	})
	return value / mass
}

// ragged is a set with a wide body, a hole, a thin arm and a far island.
func ragged(rng *rand.Rand, cellM float64) *grid.Mask {
	m := grid.NewMask(grid.Spec{CellM: cellM, Cols: 150, Rows: 110})
	m.FillCapsule(grid.XY{X: 25 * cellM, Y: 30 * cellM}, grid.XY{X: 60 * cellM, Y: 50 * cellM}, 20*cellM)
	m.FillCapsule(grid.XY{X: 60 * cellM, Y: 50 * cellM}, grid.XY{X: 120 * cellM, Y: 50 * cellM}, 1.5*cellM)
	m.FillCapsule(grid.XY{X: 140 * cellM, Y: 100 * cellM}, grid.XY{X: 148 * cellM, Y: 108 * cellM}, 4*cellM)
	for range 300 {
		row, col := rng.IntN(110), rng.IntN(150)
		m.ClearSpan(row, col, col+1+rng.IntN(3))
	}
	return m
}

func TestSmoothTwin(t *testing.T) {
	for _, sdM := range []float64{0, 0.1, 0.25, 0.5, 1.3, 2, 40} {
		t.Run(fmt.Sprint(sdM), func(t *testing.T) {
			rng := rand.New(rand.NewPCG(1, 9))
			over := ragged(rng, 0.5)
			f := grid.NewField(over.Spec())
			for range 4000 { // some of it outside the set, which must not count
				f.Set(grid.Cell{Col: rng.IntN(150), Row: rng.IntN(110)}, float32(rng.ExpFloat64()))
			}
			got, i := coverage.Smooth(f, over, sdM), 0
			over.Cells(func(c grid.Cell) {
				if i++; i%17 == 0 {
					want := smoothTwin(f, over, sdM, c)
					require.InDelta(t, want, float64(got.At(c)), 1e-6*(1+want), "%v", c)
				}
			})
			require.Greater(t, i, 2000)
		})
	}
}

// An even field stays even up to the rim, holes and islands too; outside the set
// nothing is said.
func TestSmoothKeepsEvenGroundEven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		over := ragged(rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2)), 0.5)
		value := float32(rapid.Float64Range(0.001, 1000).Draw(t, "value"))
		f := grid.NewField(over.Spec())
		over.Cells(func(c grid.Cell) { f.Set(c, value) })
		sdM := rapid.Float64Range(0, 5).Draw(t, "sd")
		got := coverage.Smooth(f, over, sdM)
		over.Cells(func(c grid.Cell) {
			require.InEpsilon(t, value, got.At(c), 2e-7, "%v", c)
			got.Set(c, 0)
		})
		require.Zero(t, got.Sum())
	})
}

// Far from any rim the sum stays, and the spread is the Gaussian's.
func TestSmoothOfOnePoint(t *testing.T) {
	spec := grid.Spec{CellM: 0.5, Cols: 101, Rows: 101}
	over, f := grid.NewMask(spec), grid.NewField(spec)
	for row := range spec.Rows {
		over.SetSpan(row, 0, spec.Cols)
	}
	f.Set(grid.Cell{Col: 50, Row: 50}, 8)
	got := coverage.Smooth(f, over, 2)
	require.InEpsilon(t, 8, got.Sum(), 1e-5)
	require.InEpsilon(t, 8*0.25/(2*math.Pi*4), got.At(grid.Cell{Col: 50, Row: 50}), 0.006) // cut off at 3 sd: 0.27 % twice
	require.InEpsilon(t, math.Exp(-0.5), float64(got.At(grid.Cell{Col: 54, Row: 50})/got.At(grid.Cell{Col: 50, Row: 50})), 1e-5)
	require.Zero(t, got.At(grid.Cell{Col: 63, Row: 50}))
}

// Finds in proportion to effort give one rate everywhere effort reaches.
func TestPerEffort(t *testing.T) {
	over := ragged(rand.New(rand.NewPCG(3, 3)), 0.5)
	finds, effort := grid.NewField(over.Spec()), grid.NewField(over.Spec())
	over.Cells(func(c grid.Cell) {
		if c.Col < 100 { // the island was never searched
			e := float32(1 + c.Col%7)
			effort.Set(c, e)
			finds.Set(c, e/4)
		}
	})
	got := coverage.PerEffort(finds, effort, over, 1)
	missing := 0
	over.Cells(func(c grid.Cell) {
		switch v := float64(got.At(c)); {
		case math.IsNaN(v):
			missing++
			require.Greater(t, c.Col, 100)
		default:
			require.InEpsilon(t, 0.25, v, 1e-6)
			require.Less(t, c.Col, 106)
		}
	})
	require.Greater(t, missing, 50)
}

func TestSmoothRefuses(t *testing.T) {
	spec := grid.Spec{CellM: 1, Cols: 5, Rows: 5}
	for _, sdM := range []float64{-1, math.NaN(), math.Inf(1)} {
		require.Panics(t, func() { coverage.Smooth(grid.NewField(spec), grid.NewMask(spec), sdM) })
	}
	other := grid.Spec{CellM: 2, Cols: 5, Rows: 5}
	require.Panics(t, func() { coverage.Smooth(grid.NewField(spec), grid.NewMask(other), 1) })
	require.Zero(t, coverage.Smooth(grid.NewField(spec), grid.NewMask(spec), 1).Sum()) // no ground
	require.NotPanics(t, func() { coverage.Smooth(grid.NewField(spec), grid.NewMask(spec), 1e300) })
}

// A hectare at 0.5 m, sd 5 m: 10 cells.
func BenchmarkSmooth(b *testing.B) {
	spec := grid.Spec{CellM: 0.5, Cols: 200, Rows: 200}
	over, f := grid.NewMask(spec), grid.NewField(spec)
	for row := range spec.Rows {
		over.SetSpan(row, 0, spec.Cols)
		f.Set(grid.Cell{Col: row, Row: row}, 1)
	}
	b.ReportAllocs()
	for b.Loop() {
		coverage.Smooth(f, over, 5)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(spec.Cols*spec.Rows), "ns/cell")
}
