package coverage

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// ClopperPearson returns exact two-sided limits, at a level such as 0.95, for
// the chance of an event that happened x times in n independent trials: lo is 0
// when x is 0, hi is 1 when x is n, and with no trials they are 0 and 1. NaN
// when x is outside [0, n] or the level outside (0, 1). Source: Clopper and
// Pearson 1934, Biometrika 26:404, as quantiles of the beta distribution.
func ClopperPearson(x, n int, level float64) (lo, hi float64) {
	if x < 0 || x > n || !(level > 0 && level < 1) {
		return math.NaN(), math.NaN()
	}
	tail, hits, misses := (1-level)/2, float64(x), float64(n-x)
	lo, hi = 0, 1
	if x > 0 {
		lo = mathext.InvRegIncBeta(hits, misses+1, tail)
	}
	if x < n {
		hi = 1 - mathext.InvRegIncBeta(misses, hits+1, tail)
	}
	return lo, hi
}

// Garwood returns exact two-sided limits, at a level such as 0.95, for the mean
// of a Poisson count of which k were seen: lo is 0 when k is 0. NaN when k is
// negative or the level outside (0, 1). Source: Garwood 1936, Biometrika 28:437,
// half the quantiles of chi-squared with 2k and 2k + 2 degrees of freedom.
func Garwood(k int, level float64) (lo, hi float64) {
	if k < 0 || !(level > 0 && level < 1) {
		return math.NaN(), math.NaN()
	}
	tail := (1 - level) / 2
	if k > 0 {
		lo = mathext.GammaIncRegInv(float64(k), tail)
	}
	return lo, mathext.GammaIncRegCompInv(float64(k+1), tail)
}
