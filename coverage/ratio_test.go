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

func one(finds int, effort float64) []coverage.Haul { return []coverage.Haul{{finds, effort}} }

// chances of every split of n finds, by exact binomial coefficients' logs.
func chances(n int, share float64) []float64 {
	out := make([]float64, n+1)
	for k := range out {
		out[k] = binomialUpTo(k, n, share) - binomialUpTo(k-1, n, share)
	}
	return out
}

// The p value by adding up every split of the finds, the limits by the two tails
// at the limits.
func TestRatioTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k, m := rapid.IntRange(0, 60).Draw(t, "here"), rapid.IntRange(0, 60).Draw(t, "rest")
		e, f := rapid.Float64Range(0.1, 10).Draw(t, "effort"), rapid.Float64Range(0.1, 10).Draw(t, "effort of the rest")
		n := k + m
		r := coverage.RatioOf(one(k, e), one(m, f), 0.95)
		want, ps := 0.0, chances(n, e/(e+f))
		for _, p := range ps {
			if p <= ps[k]*(1+1e-6) {
				want += p
			}
		}
		require.InDelta(t, want, r.P, 1e-8)

		lo, hi := coverage.ClopperPearson(k, n, 0.95)
		require.InDelta(t, lo/(1-lo)*f/e, r.Lo, 1e-9*(1+r.Lo))
		if m > 0 {
			require.InEpsilon(t, hi/(1-hi)*f/e, r.Hi, 1e-8)
		} else {
			require.True(t, math.IsInf(r.Hi, 1))
		}
	})
}

// Worked by hand: 3 of 3 finds here on as much effort as the rest, p 2/8; 5 of 6,
// p (1+6+6+1)/64; with a third of the effort of the rest and 4 finds in all, 0 to 4
// here are 81, 108, 54, 12 and 1 in 256.
func TestRatioByHand(t *testing.T) {
	require.InDelta(t, 0.25, coverage.RatioOf(one(3, 1), one(0, 1), 0.95).P, 1e-12)
	require.InDelta(t, 14.0/64, coverage.RatioOf(one(5, 1), one(1, 1), 0.95).P, 1e-12)
	require.InDelta(t, 1, coverage.RatioOf(one(1, 1), one(3, 3), 0.95).P, 1e-12)
	require.InDelta(t, (81.0+54+12+1)/256, coverage.RatioOf(one(0, 1), one(4, 3), 0.95).P, 1e-12)
}

// The two grounds exchanged: p as it was, ratio and limits turned over.
func TestRatioEitherWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "n")
		here, rest := hauls(t, "here", n), hauls(t, "rest", n)
		a, b := coverage.RatioOf(here, rest, 0.95), coverage.RatioOf(rest, here, 0.95)
		require.InDelta(t, a.P, b.P, 1e-9)
		require.InDelta(t, a.Lo, 1/b.Hi, 1e-8*(1+a.Lo))
		require.InDelta(t, b.Lo, 1/a.Hi, 1e-8*(1+b.Lo))
		if a.Value > 0 && b.Value > 0 {
			require.InEpsilon(t, a.Value, 1/b.Value, 1e-9)
		}
		sum := 0.0
		for i := range here {
			sum += coverage.RatioOf(here[i:i+1], rest[i:i+1], 0.95).P
		}
		require.InDelta(t, sum/float64(n), a.P, 1e-12)
	})
}

func TestRatioEdges(t *testing.T) {
	none := coverage.RatioOf(one(0, 1), one(0, 2), 0.95)
	require.True(t, math.IsNaN(none.Value))
	require.Equal(t, [3]float64{0, math.Inf(1), 1}, [3]float64{none.Lo, none.Hi, none.P})

	all := coverage.RatioOf(one(9, 1), one(0, 2), 0.95)
	require.True(t, math.IsInf(all.Value, 1) && math.IsInf(all.Hi, 1))
	require.Greater(t, all.Lo, 1.0)

	for name, r := range map[string]coverage.Ratio{
		"no draws":      coverage.RatioOf(nil, nil, 0.95),
		"no effort":     coverage.RatioOf(one(3, 0), one(4, 1), 0.95),
		"no rest":       coverage.RatioOf(one(3, 1), one(0, math.NaN()), 0.95),
		"level over 1":  coverage.RatioOf(one(3, 1), one(4, 1), 1.5),
		"endless sweep": coverage.RatioOf(one(3, math.Inf(1)), one(4, 1), 0.95),
	} {
		require.True(t, math.IsNaN(r.Value) && math.IsNaN(r.Lo) && math.IsNaN(r.Hi) && math.IsNaN(r.P), name)
	}
	require.Panics(t, func() { coverage.RatioOf(one(1, 1), nil, 0.95) })

	half := coverage.RatioOf([]coverage.Haul{{30, 1}, {30, 0}}, []coverage.Haul{{1, 1}, {1, 1}}, 0.95)
	require.Equal(t, [2]float64{0, math.Inf(1)}, [2]float64{half.Lo, half.Hi})
	require.InDelta(t, 0.5, half.P, 1e-6)

	many := coverage.RatioOf(one(10_000, 1), one(9_500, 1), 0.95)
	require.InDelta(t, 0.00035, many.P, 0.00003) // normal: 500/sqrt(19500) = 3.58
}

// How often even ground is called uneven at 0.05, exactly: over all Poisson counts
// with a mean of finds of which a share falls to the ground compared.
func size(finds, share float64) float64 {
	most, out := int(finds+7*math.Sqrt(finds)+10), 0.0
	for n := range most {
		chance := poissonUpTo(n, finds) - poissonUpTo(n-1, finds)
		if chance < 1e-7 {
			continue
		}
		for k, p := range chances(n, share) {
			if p > 1e-9 && coverage.RatioOf(one(k, share), one(n-k, 1-share), 0.95).P <= 0.05 {
				out += chance * p
			}
		}
	}
	return out
}

func TestRatioSize(t *testing.T) {
	for _, row := range []struct{ finds, share, from float64 }{
		{10, 0.2, 0.02}, {20, 0.2, 0.03}, {50, 0.1, 0.03}, {50, 0.2, 0.04},
	} {
		got := size(row.finds, row.share)
		t.Logf("%g finds, %g of the effort: %.2f %%", row.finds, row.share, 100*got)
		require.True(t, got >= row.from && got <= 0.05, "%v", got)
	}
}

// scene is a site of 100 x 100 m with a landmark in the middle. Within 20 m of it
// 90 % of the ground was swept, elsewhere 40 %.
type scene struct {
	rng     *rand.Rand
	density float64 // times as many finds within 20 m as elsewhere
	errM    float64 // of a find's place, per axis
	drawM   float64 // scatter of the draws about the place noted
}

func (s scene) near(x, y float64) bool { return math.Hypot(x-50, y-50) < 20 }

// compare scatters some 150 finds, digs those that were swept, and asks for the
// ratio of finds per swept ground, over draws of where the finds were.
func (s scene) compare(draws int) coverage.Ratio {
	type place struct{ x, y float64 }
	var dug []place
	for range poisson(s.rng, 150*s.density) {
		p := place{100 * s.rng.Float64(), 100 * s.rng.Float64()}
		near := s.near(p.x, p.y)
		if (near || s.rng.Float64()*s.density < 1) && s.rng.Float64() < map[bool]float64{true: 0.9, false: 0.4}[near] {
			dug = append(dug, place{p.x + s.errM*s.rng.NormFloat64(), p.y + s.errM*s.rng.NormFloat64()})
		}
	}
	zone := math.Pi * 400
	here, rest := make([]coverage.Haul, draws), make([]coverage.Haul, draws)
	for i := range here {
		here[i].Effort, rest[i].Effort = 0.9*zone, 0.4*(10000-zone)
		for _, p := range dug {
			if s.near(p.x+s.drawM*s.rng.NormFloat64(), p.y+s.drawM*s.rng.NormFloat64()) {
				here[i].Finds++
			} else {
				rest[i].Finds++
			}
		}
	}
	return coverage.RatioOf(here, rest, 0.95)
}

func poisson(rng *rand.Rand, mean float64) int {
	for k, left := 0, mean; ; k++ {
		if left -= rng.ExpFloat64(); left < 0 {
			return k
		}
	}
}

// Finds scattered evenly and effort uneven: 3 to 7 % of sites are called uneven at
// 5 %, even though 2.25 times as many finds a square metre came up near the
// landmark. Finds three times as dense there: nearly every site is. UNTROD_STUDY
// sets the number of sites of each kind.
func TestRatioOnKnownGround(t *testing.T) {
	sites := 500
	_, _ = fmt.Sscan(os.Getenv("UNTROD_STUDY"), &sites)
	for _, row := range []struct {
		name          string
		density, errM float64
		drawM         float64
		draws         int
		from, to      float64
	}{
		{"even, places known", 1, 0, 0, 1, 0.03, 0.07},
		{"even, places 3 m off", 1, 3, 3, 8, 0, 0.07},
		{"even, places 3 m off, taken as noted", 1, 3, 0, 1, 0, 0.07},
		{"3 times as dense, places known", 3, 0, 0, 1, 0.9, 1},
		{"3 times as dense, places 3 m off", 3, 3, 3, 8, 0.8, 1},
		{"3 times as dense, places 3 m off, taken as noted", 3, 3, 0, 1, 0.8, 1},
		{"2 times as dense, places known", 2, 0, 0, 1, 0.3, 1},
	} {
		s := scene{rand.New(rand.NewPCG(6, 2)), row.density, row.errM, row.drawM}
		called, held, log := 0, 0, 0.0
		for range sites {
			r := s.compare(row.draws)
			if r.P <= 0.05 {
				called++
			}
			if r.Lo <= row.density && row.density <= r.Hi {
				held++
			}
			log += math.Log(r.Value)
		}
		share := float64(called) / float64(sites)
		t.Logf("%s: called uneven %.1f %%, limits held the truth %.1f %%, ratio %.2f",
			row.name, 100*share, 100*float64(held)/float64(sites), math.Exp(log/float64(sites)))
		require.True(t, share >= row.from && share <= row.to, "%s: %v", row.name, share)
	}
}
