package coverage_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/coverage"
)

// The cases of Newcombe 1998, Statistics in Medicine 17:857, table I (case list
// from memory), and two more; values computed from the formula.
func TestWilson(t *testing.T) {
	for _, row := range []struct {
		x, n   int
		lo, hi float64
	}{
		{81, 263, 0.2553, 0.3662},
		{15, 148, 0.0624, 0.1605},
		{0, 20, 0, 0.1611},
		{1, 29, 0.0061, 0.1718},
		{10, 10, 0.7225, 1},
		{5, 10, 0.2366, 0.7634},
		{0, 0, 0, 1},
	} {
		t.Run(fmt.Sprintf("%d of %d", row.x, row.n), func(t *testing.T) {
			lo, hi := coverage.Wilson(row.x, row.n, 0.95)
			require.InDelta(t, row.lo, lo, 5e-5)
			require.InDelta(t, row.hi, hi, 5e-5)
		})
	}
	for _, bad := range [][3]float64{{3, 2, 0.95}, {-1, 2, 0.95}, {1, 2, 0}, {1, 2, 1}, {1, 2, math.NaN()}} {
		lo, hi := coverage.Wilson(int(bad[0]), int(bad[1]), bad[2])
		require.True(t, math.IsNaN(lo) && math.IsNaN(hi), "%v", bad)
	}
}

// The limits are where the share seen is z standard errors off.
func TestWilsonDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 500).Draw(t, "n")
		x := rapid.IntRange(0, n).Draw(t, "x")
		level := rapid.Float64Range(0.5, 0.999).Draw(t, "level")
		lo, hi := coverage.Wilson(x, n, level)
		z, seen := math.Sqrt2*math.Erfinv(level), float64(x)/float64(n)
		for _, p := range []float64{lo, hi} {
			require.InDelta(t, z*z*p*(1-p)/float64(n), (seen-p)*(seen-p), 1e-12)
		}
		require.True(t, lo <= seen && seen <= hi && lo >= 0 && hi <= 1)
	})
}

// With one haul the limits are Garwood's over the effort; TestGarwoodTable and
// TestGarwoodPublished hold those.
func TestRateOfOneHaul(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := coverage.Haul{Finds: rapid.IntRange(0, 400).Draw(t, "finds"), Effort: rapid.Float64Range(0.01, 1000).Draw(t, "effort")}
		level := rapid.Float64Range(0.5, 0.99).Draw(t, "level")
		r := coverage.RateOf([]coverage.Haul{h}, level)
		lo, hi := coverage.Garwood(h.Finds, level)
		require.InDelta(t, float64(h.Finds)/h.Effort, r.Value, 1e-12*r.Value)
		require.InDelta(t, lo/h.Effort, r.Lo, 1e-9*r.Hi)
		require.InDelta(t, hi/h.Effort, r.Hi, 1e-9*r.Hi)
	})
	// No find in 10 hours, one-sided 95 %: 0.3 an hour, the rule of three (elementary, from memory).
	require.InDelta(t, 0.3, coverage.RateOf([]coverage.Haul{{Finds: 0, Effort: 10}}, 0.90).Hi, 0.001)
}

// Twice the effort with nothing new found halves the rate and its limits.
func TestRateHalves(t *testing.T) {
	a := coverage.RateOf([]coverage.Haul{{7, 3}, {9, 3}}, 0.95)
	b := coverage.RateOf([]coverage.Haul{{7, 6}, {9, 6}}, 0.95)
	require.InDelta(t, a.Value/2, b.Value, 1e-12)
	require.InDelta(t, a.Lo/2, b.Lo, 1e-9)
	require.InDelta(t, a.Hi/2, b.Hi, 1e-9)
}

// poissonUpTo is P(X <= k), summed term by term.
func poissonUpTo(k int, mean float64) float64 {
	sum := 0.0
	for i := 0; i <= k; i++ {
		a, _ := math.Lgamma(float64(i + 1))
		sum += math.Exp(float64(i)*math.Log(mean) - mean - a)
	}
	return sum
}

func hauls(t *rapid.T, name string, n int) []coverage.Haul {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) coverage.Haul {
		return coverage.Haul{Finds: rapid.IntRange(0, 30).Draw(t, "finds"), Effort: rapid.Float64Range(0.5, 20).Draw(t, "effort")}
	}), n, n).Draw(t, name)
}

// The limits over draws are where the mean tail is half of 1 - level.
func TestRateOfDrawsDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draws := hauls(t, "draws", rapid.IntRange(1, 6).Draw(t, "n"))
		r := coverage.RateOf(draws, 0.9)
		mean := func(tail func(h coverage.Haul) float64) float64 {
			sum := 0.0
			for _, h := range draws {
				sum += tail(h) / float64(len(draws))
			}
			return sum
		}
		require.InDelta(t, 0.05, mean(func(h coverage.Haul) float64 { return poissonUpTo(h.Finds, r.Hi*h.Effort) }), 1e-9)
		if r.Lo > 0 {
			require.InDelta(t, 0.05, mean(func(h coverage.Haul) float64 { return 1 - poissonUpTo(h.Finds-1, r.Lo*h.Effort) }), 1e-9)
		} else { // a draw with no find fits every rate, however small
			require.Contains(t, findsOf(draws), 0)
		}
		require.True(t, r.Lo <= r.Value && r.Value <= r.Hi, "%+v", r)
	})
}

func findsOf(draws []coverage.Haul) (out []int) {
	for _, h := range draws {
		out = append(out, h.Finds)
	}
	return out
}

// A find that half the draws put here counts as half; draws that differ give
// wider limits than draws that agree.
func TestSplitFind(t *testing.T) {
	split := coverage.RateOf([]coverage.Haul{{4, 1}, {5, 1}}, 0.95)
	require.InDelta(t, 4.5, split.Value, 1e-12)
	require.True(t, split.Lo > coverage.RateOf([]coverage.Haul{{4, 1}}, 0.95).Lo)
	require.True(t, split.Hi < coverage.RateOf([]coverage.Haul{{5, 1}}, 0.95).Hi)
	agree, differ := coverage.RateOf([]coverage.Haul{{10, 1}, {10, 1}}, 0.95), coverage.RateOf([]coverage.Haul{{2, 1}, {18, 1}}, 0.95)
	require.Less(t, differ.Lo, agree.Lo)
	require.Greater(t, differ.Hi, agree.Hi)
}

func TestRateUndefined(t *testing.T) {
	nan := math.NaN()
	for name, r := range map[string]coverage.Rate{
		"no draws":        coverage.RateOf(nil, 0.95),
		"no effort":       coverage.RateOf([]coverage.Haul{{3, 0}}, 0.95),
		"unknown effort":  coverage.RateOf([]coverage.Haul{{3, nan}}, 0.95),
		"fewer than none": coverage.RateOf([]coverage.Haul{{-1, 2}}, 0.95),
		"level 1":         coverage.RateOf([]coverage.Haul{{3, 1}}, 1),
		"level NaN":       coverage.RateOf([]coverage.Haul{{3, 1}}, nan),
	} {
		require.True(t, math.IsNaN(r.Value) && math.IsNaN(r.Lo) && math.IsNaN(r.Hi), name)
	}
	r := coverage.RateOf([]coverage.Haul{{10, 1}, {10, 0}}, 0.95) // one draw of two tells nothing
	require.Equal(t, coverage.Rate{Value: 10, Lo: 0, Hi: math.Inf(1)}, r)
}

// Holm 1979, Scand. J. Stat. 6:65; worked by hand: 4 x 0.005, then the largest so
// far of 3 x 0.01, 2 x 0.03 and 0.04.
func TestHolm(t *testing.T) {
	nan := math.NaN()
	for _, row := range []struct {
		name     string
		ps, want []float64
	}{
		{"four", []float64{0.01, 0.04, 0.03, 0.005}, []float64{0.03, 0.06, 0.06, 0.02}},
		{"one", []float64{0.04}, []float64{0.04}},
		{"never above 1", []float64{0.9, 0.6}, []float64{1, 1}},
		{"equal", []float64{0.01, 0.01}, []float64{0.02, 0.02}},
		{"none", nil, nil},
		{"missing", []float64{nan, 0.02, 0.01}, []float64{nan, 0.02, 0.02}},
	} {
		t.Run(row.name, func(t *testing.T) {
			got := coverage.Holm(row.ps)
			require.Len(t, got, len(row.want))
			for i := range got {
				if math.IsNaN(row.want[i]) {
					require.True(t, math.IsNaN(got[i]))
				} else {
					require.InDelta(t, row.want[i], got[i], 1e-12)
				}
			}
		})
	}
}

// Holm's procedure as he tells it: from the smallest, reject while p is at most
// level / tests left.
func TestHolmStepDown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ps := rapid.SliceOfN(rapid.Float64Range(0, 0.1), 1, 8).Draw(t, "ps")
		level := rapid.Float64Range(0.01, 0.2).Draw(t, "level")
		adjusted := coverage.Holm(ps)
		rejected := make([]bool, len(ps))
		for left := len(ps); left > 0; left-- {
			at := -1
			for i, p := range ps {
				if !rejected[i] && (at < 0 || p < ps[at]) {
					at = i
				}
			}
			if float64(left)*ps[at] > level {
				break
			}
			rejected[at] = true
		}
		for i := range ps {
			require.Equal(t, rejected[i], adjusted[i] <= level, "%v -> %v at %v", ps, adjusted, level)
		}
	})
}
