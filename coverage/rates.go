package coverage

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// Haul is what some ground brought, in one draw of where walker and finds really
// were: whole finds, and the effort that brought them. Effort may be in any unit,
// hours or hundreds of square metres, and is above 0; other hauls tell nothing.
type Haul struct {
	Finds  int
	Effort float64
}

// Rate is finds per unit of effort, with limits.
type Rate struct{ Value, Lo, Hi float64 }

// RateOf is the rate of finds with exact Poisson limits (Garwood 1936, Biometrika
// 28:437) at a level such as 0.95. With one haul these are Garwood divided by the
// effort.
//
// Where position error leaves open which ground a find belongs to, give one haul
// for each draw. Value is then the mean finds over the mean effort, and the
// limits are where the chance of as many finds or more, or as few or fewer, each
// the mean of the draws' chances, is half of 1 - level: a find that half the
// draws put here counts as half, and the limits widen as the draws differ.
//
// A haul that tells nothing fits every rate. NaN when none tells anything, or the
// level is outside (0, 1). O(hauls).
func RateOf(draws []Haul, level float64) Rate {
	finds, effort := sum(draws)
	if !(effort > 0 && level > 0 && level < 1) {
		return Rate{math.NaN(), math.NaN(), math.NaN()}
	}
	r := Rate{Value: finds / effort}
	tails := func(rate float64) (more, fewer float64) {
		for _, h := range draws {
			m, f := h.tails(rate)
			more, fewer = more+m, fewer+f
		}
		return more / float64(len(draws)), fewer / float64(len(draws))
	}
	r.Lo, r.Hi = invert(tails, (1-level)/2, (finds+float64(len(draws)))/effort)
	return r
}

func (h Haul) tells() bool { return h.Effort > 0 && !math.IsInf(h.Effort, 1) && h.Finds >= 0 }

// sum adds up the hauls that tell something.
func sum(draws []Haul) (finds, effort float64) {
	for _, h := range draws {
		if h.tells() {
			finds, effort = finds+float64(h.Finds), effort+h.Effort
		}
	}
	return finds, effort
}

// tails are the chances of as many finds or more, and of as few or fewer.
func (h Haul) tails(rate float64) (more, fewer float64) {
	if !h.tells() {
		return 1, 1
	}
	more = 1
	if h.Finds > 0 {
		more = mathext.GammaIncReg(float64(h.Finds), rate*h.Effort)
	}
	return more, mathext.GammaIncRegComp(float64(h.Finds+1), rate*h.Effort)
}

// invert finds where the rising and the falling tail are at the level tail: 0 and
// +Inf where they never are, within a billion times near either way.
func invert(tails func(x float64) (more, fewer float64), tail, near float64) (lo, hi float64) {
	const span = 21 // ln of a billion, nearly
	least, most := near*math.Exp(-span), near*math.Exp(span)
	hi = math.Inf(1)
	if more, _ := tails(least); more < tail {
		lo = crossing(least, most, func(x float64) bool { more, _ := tails(x); return more >= tail })
	}
	if _, fewer := tails(most); fewer < tail {
		hi = crossing(least, most, func(x float64) bool { _, fewer := tails(x); return fewer < tail })
	}
	return lo, hi
}

// crossing is where past turns true between least and most, by halving ratios.
func crossing(least, most float64, past func(float64) bool) float64 {
	for range 52 {
		if mid := math.Sqrt(least) * math.Sqrt(most); past(mid) {
			most = mid
		} else {
			least = mid
		}
	}
	return math.Sqrt(least) * math.Sqrt(most)
}

// Wilson returns score limits, at a level such as 0.95, for the chance of an event
// that happened x times in n independent trials: shorter than ClopperPearson's,
// and right only on average. With no trials they are 0 and 1. NaN when x is
// outside [0, n] or the level outside (0, 1). Source: Wilson 1927, J. Am. Stat.
// Assoc. 22:209.
func Wilson(x, n int, level float64) (lo, hi float64) {
	switch {
	case x < 0 || x > n || !(level > 0 && level < 1):
		return math.NaN(), math.NaN()
	case n == 0:
		return 0, 1
	}
	z := math.Sqrt2 * math.Erfinv(level)
	hits, misses, all := float64(x), float64(n-x), float64(n)
	half := z * math.Sqrt(hits*misses/all+z*z/4)
	lo, hi = (hits+z*z/2-half)/(all+z*z), (hits+z*z/2+half)/(all+z*z)
	if x == 0 {
		lo = 0 // rounding would leave a trace
	}
	if x == n {
		hi = 1
	}
	return lo, hi
}

// Holm corrects p values of several tests looked at together: the chance that any
// of those under the level is so by luck is then at most the level. NaN stays NaN
// and counts for no test. Source: Holm 1979, Scand. J. Stat. 6:65. O(n log n).
func Holm(ps []float64) []float64 {
	out := slices.Clone(ps)
	var order []int
	for i, p := range ps {
		if !math.IsNaN(p) {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(ps[a], ps[b]) })
	least := 0.0
	for rank, i := range order {
		least = max(least, min(1, float64(len(order)-rank)*ps[i]))
		out[i] = least
	}
	return out
}
