package coverage

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
)

// Removal is an estimate of how many finds a piece of ground held before its
// first pass, from what each pass over it brought. It takes every pass to have
// covered the same ground with the same effort, and every find to have had the
// same chance in each. Easy finds go first, so in truth it is a low figure:
// Peterson, Thurow and Guzevich 2004, Trans. Am. Fish. Soc. 133:462, found such
// estimates 88 % short where the chance fell from pass to pass.
type Removal struct {
	Passes, Found int
	N, SE         float64 // held before the first pass, and its standard error
	Lo, Hi        float64 // 95 % limits of N, whole finds; Hi is +Inf when no number is too many
	P, PSE        float64 // chance that one pass takes a find still there, and its standard error
	Corrected     float64 // two passes: N less its leading bias; else, and where that would be below Found, NaN
	First         float64 // p value of "the first pass took finds as the later ones did"; NaN under three passes
	Rough         bool    // N is under 200 with two passes, under 50 with more: SE is doubtful (Bohlin and others 1989, p. 24)
	Method        string
}

// What a Removal's Method says.
const (
	TwoPass    = "Seber and Le Cren 1967"
	ManyPass   = "Moran 1951, Zippin 1956"
	CarleStrub = "Carle and Strub 1978"
)

// Why nothing can be said of what is left; Remaining's and EvenEffort's errors
// wrap one of them.
var (
	ErrOnePass      = errors.New("at least two passes over the same ground are needed")
	ErrBadCatch     = errors.New("a pass cannot bring fewer than no finds")
	ErrNothingFound = errors.New("no pass found anything, which does not tell what is there")
	ErrFewFinds     = errors.New("too few finds to tell what is left")
	ErrRising       = errors.New("later passes brought more than earlier ones, so there is no sign yet of finds running out")
	ErrNotFalling   = errors.New("finds do not fall from pass to pass, so there is no sign yet of them running out")
	ErrUneven       = errors.New("the passes were not alike in effort, so fewer finds may only mean less searching")
)

// FewestFinds is how many finds all passes together must have brought (common
// practice, no source). Few finds make for wide limits all the same.
const FewestFinds = 10

// Remaining estimates what a piece of ground held from the finds of each pass
// over it, first pass first; what is left is N - Found.
//
// Two passes: Seber and Le Cren 1967, J. Anim. Ecol. 36:631. More: maximum
// likelihood after Moran 1951, Biometrika 38:307, and Zippin 1956, Biometrics
// 12:163; where that has no finite answer though the last pass brought less than
// the first, Carle and Strub 1978, Biometrics 34:621, with weights 1 and 1.
// Limits: the whole N whose profile log-likelihood is within 1.92 of the best, as
// Schnute 1983, Can. J. Fish. Aquat. Sci. 40:2153, who has First too; within 3.32
// under 50 finds, so that they hold the truth as often as they say.
//
// The error wraps ErrOnePass, ErrBadCatch, ErrNothingFound, ErrFewFinds,
// ErrRising or ErrNotFalling. Ask EvenEffort first. O(finds x log N).
func Remaining(catches []int) (Removal, error) {
	d := depletion(catches)
	if err := d.refusal(); err != nil {
		return Removal{}, err
	}
	r := d.estimate()
	r.Passes, r.Found = len(d), d.total()
	r.Lo, r.Hi = d.limits()
	r.First = d.firstAlike()
	r.Rough = r.N < 200 && len(d) == 2 || r.N < 50
	return r, nil
}

// MaxEffortRatio is how far the largest effort of a pass may exceed the smallest.
// At 1.25, and a chance of one half a pass, two passes already give 13 % too few
// finds when the second was the shorter and 19 % too many when it was the longer.
const MaxEffortRatio = 1.25

// EvenEffort is nil when passes were alike enough in effort (seconds, or square
// metres swept, any unit) for Remaining to mean something; otherwise the error
// wraps ErrUneven. Effort unknown (NaN), 0 or less is not alike.
func EvenEffort(effort []float64) error {
	if len(effort) == 0 {
		return nil
	}
	least, most := slices.Min(effort), slices.Max(effort) // NaN if any is
	if least > 0 && most <= MaxEffortRatio*least {
		return nil
	}
	return fmt.Errorf("efforts from %.4g to %.4g, more than %g times apart: %w", least, most, MaxEffortRatio, ErrUneven)
}

// depletion is the finds of each pass.
type depletion []int

func (d depletion) refusal() error {
	if len(d) < 2 {
		return fmt.Errorf("%d passes: %w", len(d), ErrOnePass)
	}
	if least := slices.Min(d); least < 0 {
		return fmt.Errorf("%d finds in a pass: %w", least, ErrBadCatch)
	}
	first, last, all := d[0], d[len(d)-1], d.total()
	switch {
	case all == 0:
		return ErrNothingFound
	case all < FewestFinds:
		return fmt.Errorf("%d finds in all, fewer than %d: %w", all, FewestFinds, ErrFewFinds)
	case d.falls() || last < first:
		return nil
	case last > first:
		return fmt.Errorf("first pass %d, last pass %d: %w", first, last, ErrRising)
	}
	return fmt.Errorf("first and last pass %d: %w", first, ErrNotFalling)
}

func (d depletion) total() int {
	sum := 0
	for _, c := range d {
		sum += c
	}
	return sum
}

// ahead is the sum of (k-i) x the catch of pass i: X in Carle and Strub.
func (d depletion) ahead() int {
	sum := 0
	for i, c := range d {
		sum += (len(d) - 1 - i) * c
	}
	return sum
}

// falls tells whether the mean pass of a find is before the middle one, without
// which the likelihood has no finite best N (Zippin 1956).
func (d depletion) falls() bool { return 2*d.ahead() > (len(d)-1)*d.total() }

func (d depletion) estimate() Removal {
	if !d.falls() {
		return d.carleStrub()
	}
	r := Removal{Method: ManyPass, Corrected: math.NaN()}
	r.P = d.chance()
	r.N = float64(d.total()) / taken(r.P, len(d))
	r.spread(len(d))
	if len(d) == 2 { // the same figures in closed form: N = c1^2 / (c1 - c2)
		r.Method = TwoPass
		q := 1 - r.P
		if r.Corrected = r.N - q*(1+q)/(r.P*r.P*r.P); r.Corrected < float64(d.total()) {
			r.Corrected = math.NaN()
		}
	}
	return r
}

// taken is 1 - (1-p)^k.
func taken(p float64, k int) float64 { return -math.Expm1(float64(k) * math.Log1p(-p)) }

// chance solves q/p - k q^k/(1 - q^k) = mean number of passes before a find's
// own (Moran and Zippin) for p. The left side is the mean of 0 to k-1 under
// weights q^i, which falls as p grows.
func (d depletion) chance() float64 {
	k := len(d)
	want := float64(k-1) - float64(d.ahead())/float64(d.total())
	lo, hi := 0.0, 1.0
	for hi-lo > 1e-16*hi {
		p := (lo + hi) / 2
		if p == lo || p == hi {
			break
		}
		sum, mean, w := 0.0, 0.0, 1.0
		for i := range k {
			sum, mean, w = sum+w, mean+float64(i)*w, w*(1-p)
		}
		if mean > want*sum {
			lo = p
		} else {
			hi = p
		}
	}
	return hi
}

// spread fills in the standard errors (Zippin 1956; that of P, from memory, is
// with it the inverse of the information).
func (r *Removal) spread(k int) {
	q, kp := 1-r.P, float64(k)*r.P
	got, qk := taken(r.P, k), math.Pow(q, float64(k))
	r.SE, r.PSE = 0, 0
	if q > 0 {
		det := got*got - kp*kp*math.Pow(q, float64(k-1))
		r.SE = math.Sqrt(r.N * got * qk / det)
		r.PSE = r.P * math.Sqrt(q*got/(r.N*det))
	}
}

// carleStrub is the smallest whole N of Carle and Strub's equation 7, weights 1
// and 1; the standard errors are Zippin's at that N and P.
func (d depletion) carleStrub() Removal {
	k, total, ahead := len(d), d.total(), d.ahead()
	past := func(n int) bool {
		ratio := float64(n+1) / float64(n-total+1)
		for i := 1; i <= k; i++ {
			missed := float64(k*n - ahead + k - i)
			ratio *= (missed - float64(total) + 1) / (missed + 2)
		}
		return ratio <= 1+1e-12 // it may be 1 exactly, but for rounding
	}
	n := total + firstWhere(func(left int) bool { return past(total + left) })
	r := Removal{Method: CarleStrub, Corrected: math.NaN(), N: float64(n), P: float64(total) / float64(k*n-ahead)}
	r.spread(k)
	return r
}

// firstWhere is the smallest number from 0 at which ok holds, for an ok that
// holds from there on; mostLeft when it holds nowhere below.
func firstWhere(ok func(int) bool) int {
	top := 1
	for top < mostLeft && !ok(top-1) {
		top *= 2
	}
	return sort.Search(top-1, ok)
}

const mostLeft = 1 << 30
