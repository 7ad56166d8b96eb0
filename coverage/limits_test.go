package coverage_test

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/coverage"
)

// The cases of Newcombe 1998, Statistics in Medicine 17:857, table I (case list
// from memory), and three more; values computed from the beta quantiles.
func TestClopperPearson(t *testing.T) {
	for _, row := range []struct {
		x, n   int
		lo, hi float64
	}{
		{81, 263, 0.2527, 0.3676},
		{15, 148, 0.0578, 0.1617},
		{0, 20, 0, 0.1684},
		{1, 29, 0.0009, 0.1776},
		{10, 10, 0.6915, 1},
		{5, 10, 0.1871, 0.8129},
		{0, 0, 0, 1},
	} {
		t.Run(fmt.Sprintf("%d of %d", row.x, row.n), func(t *testing.T) {
			lo, hi := coverage.ClopperPearson(row.x, row.n, 0.95)
			require.InDelta(t, row.lo, lo, 5e-5)
			require.InDelta(t, row.hi, hi, 5e-5)
		})
	}
}

// With no success the exact limit is 1 - (alpha/2)^(1/n); one-sided at 95 % that
// is near 3/n, the rule of three (elementary, from memory).
func TestClopperPearsonNoneFound(t *testing.T) {
	for _, n := range []int{1, 2, 10, 100, 1000, 1_000_000} {
		_, hi := coverage.ClopperPearson(0, n, 0.95)
		require.InEpsilon(t, -math.Expm1(math.Log(0.025)/float64(n)), hi, 1e-9, "n %d", n)
		lo, _ := coverage.ClopperPearson(n, n, 0.95)
		require.InDelta(t, 1, lo+hi, 1e-12, "n %d", n)
	}
	_, hi := coverage.ClopperPearson(0, 1000, 0.90) // one-sided 95 %
	require.InEpsilon(t, 3.0/1000, hi, 0.003)
}

// binomialUpTo is P(X <= x), summed term by term.
func binomialUpTo(x, n int, p float64) float64 {
	sum := 0.0
	for i := 0; i <= x; i++ {
		a, _ := math.Lgamma(float64(n + 1))
		b, _ := math.Lgamma(float64(i + 1))
		c, _ := math.Lgamma(float64(n - i + 1))
		sum += math.Exp(a - b - c + float64(i)*math.Log(p) + float64(n-i)*math.Log1p(-p))
	}
	return sum
}

// The limits are where as many successes, or as few, have half of 1 - level left.
func TestClopperPearsonDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 400).Draw(t, "n")
		x := rapid.IntRange(0, n).Draw(t, "x")
		level := rapid.Float64Range(0.5, 0.999).Draw(t, "level")
		lo, hi := coverage.ClopperPearson(x, n, level)
		if x > 0 {
			require.InDelta(t, (1-level)/2, 1-binomialUpTo(x-1, n, lo), 1e-9)
		}
		if x < n {
			require.InDelta(t, (1-level)/2, binomialUpTo(x, n, hi), 1e-9)
		}
		require.LessOrEqual(t, lo, float64(x)/float64(n))
		require.GreaterOrEqual(t, hi, float64(x)/float64(n))
	})
}

// GraphPad, "How QuickCalcs computes the confidence interval of a count", k 25;
// epitools, pois.exact and pois.daly, k 0.
func TestGarwoodPublished(t *testing.T) {
	for _, row := range []struct {
		k                 int
		level, lo, hi, by float64
	}{
		{25, 0.90, 17.38, 34.92, 0.005},
		{25, 0.95, 16.18, 36.90, 0.005},
		{25, 0.99, 14.00, 41.00, 0.005},
		{0, 0.95, 0, 3.689, 0.0005},
		{0, 0.90, 0, 2.996, 0.0005}, // one-sided 95 %, -ln 0.05
		{10, 0.95, 4.80, 18.39, 0.005},
	} {
		t.Run(fmt.Sprintf("%d at %g", row.k, row.level), func(t *testing.T) {
			lo, hi := coverage.Garwood(row.k, row.level)
			require.InDelta(t, row.lo, lo, row.by)
			require.InDelta(t, row.hi, hi, row.by)
		})
	}
}

// Computed with R 4.2, qchisq.
func TestGarwoodTable(t *testing.T) {
	f, err := os.Open("../../shared/data/poisson_garwood95.tsv")
	if err != nil {
		t.Skip("needs the shared data folder beside the repository: ", err)
	}
	defer f.Close()
	rows := 0
	for s := bufio.NewScanner(f); s.Scan(); {
		var k int
		var wantLo, wantHi float64
		if n, _ := fmt.Sscan(s.Text(), &k, &wantLo, &wantHi); n != 3 {
			continue // comment
		}
		rows++
		lo, hi := coverage.Garwood(k, 0.95)
		require.InDelta(t, wantLo, lo, 6e-7, "k %d", k)
		require.InDelta(t, wantHi, hi, 6e-7, "k %d", k)
	}
	require.Equal(t, 33, rows)
}

func TestLimitsOutsideTheirRange(t *testing.T) {
	for name, limits := range map[string]func() (float64, float64){
		"more than all":   func() (float64, float64) { return coverage.ClopperPearson(3, 2, 0.95) },
		"fewer than none": func() (float64, float64) { return coverage.ClopperPearson(-1, 2, 0.95) },
		"level 0":         func() (float64, float64) { return coverage.ClopperPearson(1, 2, 0) },
		"level 1":         func() (float64, float64) { return coverage.Garwood(1, 1) },
		"level NaN":       func() (float64, float64) { return coverage.Garwood(1, math.NaN()) },
		"negative count":  func() (float64, float64) { return coverage.Garwood(-1, 0.95) },
	} {
		t.Run(name, func(t *testing.T) {
			lo, hi := limits()
			require.True(t, math.IsNaN(lo) && math.IsNaN(hi))
		})
	}
}
