package coverage

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/mathext"
)

// Ratio is how many times the rate of the rest some ground has, with limits and
// the p value of "both have the same".
type Ratio struct{ Value, Lo, Hi, P float64 }

// RatioOf compares the rates of finds of two grounds; here[i] and rest[i] are of
// the same draw. Exact conditional method (Przyborowski and Wilenski 1940,
// Biometrika 31:313): of all finds, those here are binomial, with the chance that
// the ratio and the two efforts give. With one draw the limits are those of
// ClopperPearson; over draws they are made as RateOf's.
//
// P is exact and two-sided: the chance, at equal rates, of every split of the
// finds no likelier than the one seen (Freeman and Halton 1951, Biometrika 38:141,
// from memory); over draws the mean of theirs. It can fall just under 0.05 where
// the limits just hold 1, for those leave half of 1 - level on either side. Of
// 100 sites that are alike all over it calls 3 to 5 unlike at 0.05, and 2 or 3
// where there are only 10 to 30 finds; twice the smaller tail would call 1 to 4.
//
// Draws blur what differs: finds 3 m off and drawn again by 3 m, about a ground
// 20 m in radius, bring a ratio of 3 down to 2.3, and even ground is then called
// uneven less often. So a difference found in spite of them is not made by them.
//
// Effort must be one that brings finds in proportion on even ground. Square
// metres swept at least once are; hours are not where ground was searched again,
// which brings less each time.
//
// Value is +Inf when all finds are here and NaN when there are none. A draw that
// does not tell of both grounds fits every ratio, P 1; all are NaN when none
// tells, or the level is outside (0, 1). It panics when here and rest differ in
// length. O(draws x log finds).
func RatioOf(here, rest []Haul, level float64) Ratio {
	ds := pair(here, rest)
	value, even := ds.value()
	if math.IsNaN(even) || !(level > 0 && level < 1) {
		return Ratio{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
	}
	r := Ratio{Value: value}
	r.Lo, r.Hi = invert(ds.tails, (1-level)/2, even)
	for _, d := range ds {
		r.P += d.p() / float64(len(ds))
	}
	return r
}

// division is how the finds of one draw fall to here and to the rest.
type division struct{ here, rest Haul }

type divisions []division

func pair(here, rest []Haul) divisions {
	if len(here) != len(rest) {
		panic("coverage: draws of two grounds differ in number")
	}
	ds := make(divisions, len(here))
	for i := range here {
		ds[i] = division{here[i], rest[i]}
	}
	return ds
}

func (d division) tells() bool { return d.here.tells() && d.rest.tells() }

// value is the ratio over all draws that tell, and the one at which each ground
// would bring as many; NaN when none tells.
func (ds divisions) value() (ratio, even float64) {
	var here, rest Haul
	var finds, others float64
	for _, d := range ds {
		if d.tells() {
			finds, others = finds+float64(d.here.Finds), others+float64(d.rest.Finds)
			here.Effort, rest.Effort = here.Effort+d.here.Effort, rest.Effort+d.rest.Effort
		}
	}
	even = rest.Effort / here.Effort
	return finds / others * even, even
}

func (ds divisions) tails(ratio float64) (more, fewer float64) {
	for _, d := range ds {
		m, f := d.tails(ratio)
		more, fewer = more+m, fewer+f
	}
	return more / float64(len(ds)), fewer / float64(len(ds))
}

// tails are the chances of as many finds here or more, and of as few or fewer.
func (d division) tails(ratio float64) (more, fewer float64) {
	if !d.tells() {
		return 1, 1
	}
	x, n := d.here.Finds, d.here.Finds+d.rest.Finds
	p, q := d.shares(ratio)
	return atLeast(x, n, p), atLeast(n-x, n, q)
}

// shares are the chances that a find is here and that it is in the rest.
func (d division) shares(ratio float64) (here, rest float64) {
	here, rest = ratio*d.here.Effort, d.rest.Effort
	return here / (here + rest), rest / (here + rest)
}

// atLeast is the chance of x or more successes in n trials.
func atLeast(x, n int, p float64) float64 {
	switch {
	case x <= 0:
		return 1
	case x > n:
		return 0
	}
	return mathext.RegIncBeta(float64(x), float64(n-x+1), p)
}

// p adds up the tail that was seen and, of the other one, what is no likelier.
func (d division) p() float64 {
	if !d.tells() {
		return 1
	}
	x, n := d.here.Finds, d.here.Finds+d.rest.Finds
	p, q := d.shares(1)
	if float64(x) > float64(n)*p { // the same seen from the other ground
		x, p, q = n-x, q, p
	}
	// From the mean on chances only fall. The ten-millionth makes up for rounding.
	log := func(k int) float64 { return logBinomial(k, n, p, q) }
	seen, from := log(x)+1e-7, int(math.Ceil(float64(n)*p))
	if x >= from {
		return 1
	}
	far := from + sort.Search(n+1-from, func(k int) bool { return log(from+k) <= seen })
	return min(1, atLeast(n-x, n, q)+atLeast(far, n, p))
}

// logBinomial is the log of the chance of k successes in n trials, times n + 1.
func logBinomial(k, n int, p, q float64) float64 {
	return -mathext.Lbeta(float64(k+1), float64(n-k+1)) + float64(k)*math.Log(p) + float64(n-k)*math.Log(q)
}
