package coverage

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Printed figures of Carle and Strub 1978, Biometrics 34:621, examples 1 and 2,
// and of Cowx 1983, Fish. Mgmt 14:77; the last three rows computed from the
// formula. A negative SE is not checked.
func TestCarleStrubPublished(t *testing.T) {
	for _, row := range []struct {
		d        depletion
		n, p, se float64
	}{
		{depletion{38, 26, 12}, 91, 0.444, 9.7},
		{depletion{5, 7, 8}, 44, 0.174, -1},
		{depletion{72, 56, 46, 30, 24}, 298, 0.250, -1},
		{depletion{8, 23, 17, 8, 6}, 95, 0.187, -1},
		{depletion{77, 50, 37}, 233, 0.3313, 31.36},
		{depletion{20, 10, 5}, 38, math.NaN(), -1},
		{depletion{30, 0, 0}, 30, 1, 0},
	} {
		t.Run(fmt.Sprint(row.d), func(t *testing.T) {
			r := row.d.carleStrub()
			require.Equal(t, row.n, r.N)
			if !math.IsNaN(row.p) {
				require.InDelta(t, row.p, r.P, 5e-4)
			}
			if row.se >= 0 {
				require.InDelta(t, row.se, r.SE, 0.03)
			}
		})
	}
}

// The likelihood must have no best N where finds rise: Carle and Strub 1978,
// example 2.
func TestNoBestWhereFindsRise(t *testing.T) {
	for _, d := range []depletion{{5, 7, 8}, {10, 12}} {
		require.False(t, d.falls(), "%v", d)
		left, logL := d.best()
		require.Greater(t, left, 1000*d.total(), "%v", d)
		require.Equal(t, d.endless(), logL, "%v", d)
	}
}

func depletions(t *rapid.T) depletion {
	return rapid.SliceOfN(rapid.IntRange(0, 40), 2, 5).Filter(func(c []int) bool { return depletion(c).total() > 0 }).Draw(t, "catches")
}

// logLikelihoodTwin is the multinomial chance of the catches with every factorial
// written out, less the terms that hold no n.
func logLikelihoodTwin(d depletion, n int, p float64) float64 {
	sum, there := 0.0, n
	for _, c := range d {
		a, _ := math.Lgamma(float64(there + 1))
		b, _ := math.Lgamma(float64(there - c + 1))
		sum += a - b
		if c > 0 {
			sum += float64(c) * math.Log(p)
		}
		if there > c {
			sum += float64(there-c) * math.Log1p(-p)
		}
		there -= c
	}
	return sum
}

func TestLogLikelihoodTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := depletions(t)
		n := d.total() + rapid.IntRange(0, 500).Draw(t, "left")
		p := float64(d.total()) / float64(len(d)*n-d.ahead())
		got := d.logLikelihood(n)
		require.InDelta(t, logLikelihoodTwin(d, n, p), got, 1e-8)
		for _, other := range []float64{0.99 * p, p + 0.01*(1-p)} { // p is the best for n
			if other < 1 {
				require.LessOrEqual(t, logLikelihoodTwin(d, n, other), got+1e-9)
			}
		}
	})
}

// Every N from the total on is tried in turn.
func TestRemovalTwins(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := depletions(t)
		const most = 800
		total := d.total()
		at, best := 0, math.Inf(-1)
		for n := total; n < total+most; n++ {
			if l := d.logLikelihood(n); l > best+1e-12 {
				at, best = n, l
			}
		}
		left, logL := d.best()
		if left < most-1 {
			require.Equal(t, at, total+left)
			require.InDelta(t, max(best, d.endless()), logL, 1e-9)
		}
		lo, hi := d.limits()
		within := 1.920729410347062
		if total < 50 {
			within = 3.3174483005106066
		}
		for n := total; n < total+most; n++ {
			in := logL-d.logLikelihood(n) <= within
			require.Equal(t, in, lo <= float64(n) && float64(n) <= hi, "n %d of %v to %v", n, lo, hi)
		}
		n := total
		for !carleStrubHolds(d, n) {
			n++
		}
		require.Equal(t, float64(n), d.carleStrub().N)
	})
}

// carleStrubHolds tests Carle and Strub's posterior itself: n + 1 is no likelier
// than n under a flat p and a flat N, each the sum over a find more.
func carleStrubHolds(d depletion, n int) bool {
	posterior := func(n int) float64 { // N!/(N-T)! x Beta(T + 1, kN - X - T + 1)
		total, missed := d.total(), len(d)*n-d.ahead()-d.total()
		a, _ := math.Lgamma(float64(n + 1))
		b, _ := math.Lgamma(float64(n - total + 1))
		c, _ := math.Lgamma(float64(missed + 1))
		e, _ := math.Lgamma(float64(missed + total + 2))
		return a - b + c - e
	}
	return posterior(n+1) <= posterior(n)+1e-11
}

// Schnute 1983, Can. J. Fish. Aquat. Sci. 40:2153, sample 1: chi-squared 4.74.
func TestFirstPassUnlikeTheRest(t *testing.T) {
	d := depletion{45, 11, 18, 8}
	require.InDelta(t, math.Erfc(math.Sqrt(4.74/2)), d.firstAlike(), 2e-4)
	best := math.Inf(-1)
	for n := d.total(); n < 4000; n++ {
		best = max(best, d[:1].logLikelihood(n)+d[1:].logLikelihood(n-d[0]))
	}
	_, alike := d.best()
	require.InDelta(t, 4.74, 2*(best-alike), 0.005)
	require.InDelta(t, 1, depletion{30, 0, 0}.firstAlike(), 1e-12)
	require.True(t, math.IsNaN(depletion{30, 10}.firstAlike()))
}
