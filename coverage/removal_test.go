package coverage_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/coverage"
)

// Seber 2002, The Estimation of Animal Abundance, example 7.4, and Cowx 1983,
// Fish. Mgmt 14:75, as in the FSA package's tests; Bohlin and others 1989,
// Hydrobiologia 173:23, example 2, whose SE is from a rounded p; the rows
// without a name computed from the formulas. NaN is not checked.
func TestRemainingPublished(t *testing.T) {
	nan := math.NaN()
	for _, row := range []struct {
		of      string
		catches []int
		n, se   float64
		p       float64
		method  string
	}{
		{"Seber 2002", []int{79, 28}, 122.373, 8.797, 0.6456, coverage.TwoPass},
		{"Cowx 1983", []int{72, 56}, 324, 178.19, 0.2222, coverage.TwoPass},
		{"Cowx 1983, three passes", []int{72, 56, 46}, 353.348, nan, nan, coverage.ManyPass},
		{"Bohlin 1989", []int{244, 86, 43}, 398.430, 8.15, 0.60036, coverage.ManyPass},
		{"", []int{77, 37}, 148.225, 19.012, 0.5195, coverage.TwoPass},
		{"", []int{60, 20}, 90, 6.708, 2.0 / 3, coverage.TwoPass},
		{"", []int{20, 10}, 40, 10.954, 0.5, coverage.TwoPass},
		{"", []int{77, 50, 37}, 243.07, 36.45, 0.3123, coverage.ManyPass},
	} {
		t.Run(fmt.Sprint(row.of, row.catches), func(t *testing.T) {
			r, err := coverage.Remaining(row.catches)
			require.NoError(t, err)
			require.Equal(t, row.method, r.Method)
			require.InDelta(t, row.n, r.N, 0.005)
			if !math.IsNaN(row.se) {
				require.InDelta(t, row.se, r.SE, 0.006)
				require.InDelta(t, row.p, r.P, 6e-5)
			}
		})
	}
}

// The closed form of three passes: Bohlin and others 1989, eqs 11 and 12.
func TestThreePassesInClosedForm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c1 := rapid.IntRange(10, 300).Draw(t, "c1")
		c2 := rapid.IntRange(0, 300).Draw(t, "c2")
		c3 := rapid.IntRange(0, c1-1).Draw(t, "c3")
		r, err := coverage.Remaining([]int{c1, c2, c3})
		require.NoError(t, err)
		a, all := float64(2*c1+c2), float64(c1+c2+c3)
		root := math.Sqrt(max(0, all*all+6*a*all-3*a*a))
		require.InEpsilon(t, (6*a*a-3*a*all-all*all+all*root)/(18*(a-all)), r.N, 1e-6)
		require.InDelta(t, (3*a-all-root)/(2*a), r.P, 1e-7)
	})
}

// Two passes in closed form: Seber and Le Cren 1967, as in Bohlin and others
// 1989, eqs 13 to 16; the bias term from memory.
func TestTwoPassesInClosedForm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.IntRange(10, 500).Draw(t, "c1")
		b := rapid.IntRange(0, a-1).Draw(t, "c2")
		r, err := coverage.Remaining([]int{a, b})
		require.NoError(t, err)
		c1, c2 := float64(a), float64(b)
		require.InEpsilon(t, c1*c1/(c1-c2), r.N, 1e-9)
		require.InDelta(t, c1*c2*math.Sqrt(c1+c2)/((c1-c2)*(c1-c2)), r.SE, 1e-6*(1+r.SE))
		require.InDelta(t, math.Sqrt(c2*(c1+c2)/(c1*c1*c1)), r.PSE, 1e-6)
		p := 1 - c2/c1
		want := r.N - (1-p)*(2-p)/(p*p*p)
		if want < c1+c2-1e-6 {
			require.True(t, math.IsNaN(r.Corrected))
		} else if want > c1+c2+1e-6 {
			require.InEpsilon(t, want, r.Corrected, 1e-6)
		}
	})
}

func TestRemainingRefuses(t *testing.T) {
	for _, row := range []struct {
		name    string
		catches []int
		err     error
	}{
		{"no pass", nil, coverage.ErrOnePass},
		{"one pass", []int{50}, coverage.ErrOnePass},
		{"fewer than none", []int{50, -1}, coverage.ErrBadCatch},
		{"all zeros", []int{0, 0, 0}, coverage.ErrNothingFound},
		{"one find less than needed", []int{8, 1}, coverage.ErrFewFinds},
		{"second more than first", []int{10, 12}, coverage.ErrRising},
		{"third more than first", []int{20, 5, 21}, coverage.ErrRising},
		{"Carle and Strub 1978, example 2", []int{5, 7, 8}, coverage.ErrRising},
		{"level", []int{20, 20}, coverage.ErrNotFalling},
		{"level ends", []int{20, 5, 20}, coverage.ErrNotFalling},
	} {
		t.Run(row.name, func(t *testing.T) {
			r, err := coverage.Remaining(row.catches)
			require.ErrorIs(t, err, row.err)
			require.Zero(t, r)
		})
	}
	_, err := coverage.Remaining([]int{5, 7, 8})
	require.EqualError(t, err, "first pass 5, last pass 8: later passes brought more than earlier ones, so there is no sign yet of finds running out")
}

func TestRemainingEdges(t *testing.T) {
	r, err := coverage.Remaining([]int{30, 0, 0}) // nothing after the first pass
	require.NoError(t, err)
	require.Equal(t, [4]float64{30, 0, 1, 30}, [4]float64{r.N, r.SE, r.P, r.Lo})
	require.InDelta(t, 0, r.PSE, 0)
	require.InDelta(t, 30, r.Hi, 1)

	r, err = coverage.Remaining([]int{30, 1})
	require.NoError(t, err)
	require.Equal(t, 31.0, r.Lo)
	require.Greater(t, r.Hi, 31.0) // one more could still be there
	require.Less(t, r.Hi, 36.0)

	r, err = coverage.Remaining([]int{9, 1}) // the fewest
	require.NoError(t, err)
	require.True(t, r.Rough)

	r, err = coverage.Remaining([]int{10, 2, 14, 9}) // last under first, yet no best N
	require.NoError(t, err)
	require.Equal(t, coverage.CarleStrub, r.Method)
	require.True(t, math.IsInf(r.Hi, 1))

	r, err = coverage.Remaining([]int{72, 56}) // a fall that may be chance: likelihood ratio 2.0
	require.NoError(t, err)
	require.True(t, math.IsInf(r.Hi, 1))
	require.False(t, r.Rough)
}

func TestRemainingHoldsTogether(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, err := coverage.Remaining(rapid.SliceOfN(rapid.IntRange(0, 200), 0, 7).Draw(t, "catches"))
		if err != nil {
			return
		}
		require.GreaterOrEqual(t, r.N, float64(r.Found))
		require.GreaterOrEqual(t, r.Lo, float64(r.Found))
		require.LessOrEqual(t, r.Lo, r.N+1)
		require.GreaterOrEqual(t, r.Hi, r.N-1)
		require.True(t, r.P > 0 && r.P <= 1 && r.SE >= 0 && r.PSE >= 0, "%+v", r)
		require.True(t, r.Passes < 3 == math.IsNaN(r.First))
	})
}

func TestEvenEffort(t *testing.T) {
	nan := math.NaN()
	for _, row := range []struct {
		name   string
		effort []float64
		even   bool
	}{
		{"alike", []float64{100, 100, 100}, true},
		{"at the limit", []float64{100, 125}, true},
		{"beyond", []float64{100, 126}, false},
		{"beyond, falling", []float64{60, 40, 20}, false},
		{"none in a pass", []float64{60, 0}, false},
		{"none at all", []float64{0, 0}, false},
		{"unknown", []float64{60, nan}, false},
		{"no passes", nil, true},
	} {
		t.Run(row.name, func(t *testing.T) {
			err := coverage.EvenEffort(row.effort)
			if row.even {
				require.NoError(t, err)
			} else {
				require.ErrorIs(t, err, coverage.ErrUneven)
			}
		})
	}
	require.EqualError(t, coverage.EvenEffort([]float64{60, 20}),
		"efforts from 20 to 60, more than 1.25 times apart: the passes were not alike in effort, so fewer finds may only mean less searching")
}

// What MaxEffortRatio says: two passes, expected catches, chance 1/2 in the first.
func TestUnevenEffortBias(t *testing.T) {
	for effort, want := range map[float64]float64{1 / coverage.MaxEffortRatio: 0.87, coverage.MaxEffortRatio: 1.19} {
		c1 := 0.5
		c2 := 0.5 * (1 - math.Pow(0.5, effort))
		require.InDelta(t, want, c1*c1/(c1-c2), 0.005)
	}
}

// held counts how often the limits hold the truth, and how often Remaining refuses.
func held(n, k int, p float64, sites int) (inside, refused int) {
	rng := rand.New(rand.NewPCG(uint64(n), uint64(k)))
	for range sites {
		left, catches := n, make([]int, k)
		for i := range catches {
			for range left {
				if rng.Float64() < p {
					catches[i]++
				}
			}
			left -= catches[i]
		}
		r, err := coverage.Remaining(catches)
		if err != nil {
			refused++
		} else if r.Lo <= float64(n) && float64(n) <= r.Hi {
			inside++
		}
	}
	return inside, refused
}

// Known truth: 95 % limits hold it in 95 % of the sites that are not refused,
// of which 400 show at least 91 %. UNTROD_STUDY sets the number of sites and shows the table.
func TestRemovalLimitsHoldTheTruth(t *testing.T) {
	sites := 400
	_, _ = fmt.Sscan(os.Getenv("UNTROD_STUDY"), &sites)
	for _, n := range []int{15, 30, 60, 200} {
		for _, k := range []int{2, 3, 4} {
			for _, p := range []float64{0.3, 0.5, 0.7} {
				inside, refused := held(n, k, p, sites)
				share := float64(inside) / float64(sites-refused)
				t.Logf("N %d, %d passes, p %.1f: limits held %.1f %%, refused %.1f %%", n, k, p, 100*share, 100*float64(refused)/float64(sites))
				require.Greater(t, share, 0.91)
			}
		}
	}
}
