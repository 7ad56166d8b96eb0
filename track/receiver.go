package track

import (
	"fmt"
	"math"
)

// Receiver is a model of position error: per axis, a steady offset that stays
// through a session, a slow smooth drift (second-order critically damped
// Gauss-Markov, autocorrelation (1 + b t) exp(-b t)), a rough part that comes and
// goes within a minute (first-order Gauss-Markov), and a white part. Standard
// deviations in metres per axis; both axes alike and independent. The zero
// value is a perfect receiver.
type Receiver struct {
	OffsetM float64
	DriftM  float64
	DriftS  float64 // seconds after which the drift's autocorrelation is 1/e
	RoughM  float64 // found from each session's own log, see [FitRough]
	WhiteM  float64
}

// RoughS is the time, in seconds, after which the rough part's autocorrelation
// is 1/e.
const RoughS = 60

// Perfect reports whether r has no error at all.
func (r Receiver) Perfect() bool { return r.TotalM() == 0 }

// TotalM is the standard deviation of the error, per axis.
func (r Receiver) TotalM() float64 {
	return math.Sqrt(r.OffsetM*r.OffsetM + r.DriftM*r.DriftM + r.RoughM*r.RoughM + r.WhiteM*r.WhiteM)
}

// Canopies are the kinds of sky that [Canopy] knows, best first.
var Canopies = []string{"none", "open", "light", "dense"}

// Error per axis under each kind of sky, metres root mean square. From radial
// errors of phones, Tomastik et al. 2017, Forestry 90:187 (1.90 to 2.36 m in the
// open; under leaves 4.96 to 11.45 m), divided by the square root of 2.
var canopyM = map[string]float64{"none": 0, "open": 1.6, "light": 3.9, "dense": 5.8}

// Canopy returns the receiver under a kind of sky: "none" (a perfect one),
// "open", "light" or "dense".
func Canopy(name string) (Receiver, error) {
	total, ok := canopyM[name]
	if !ok {
		return Receiver{}, fmt.Errorf("canopy %q: must be none, open, light or dense", name)
	}
	return ReceiverOf(total), nil
}

// How an error is split into a steady and a drifting part, and how slowly it
// drifts: common practice, no source; records of receivers at rest show both parts
// (see docs/accuracy.md).
const (
	offsetShare, driftShare = 0.55, 0.8
	driftS                  = 120
	whiteM                  = 0.1
)

// ReceiverOf returns the receiver whose error is totalM per axis, offset and
// drift as 0.55 to 0.8.
func ReceiverOf(totalM float64) Receiver {
	if totalM == 0 {
		return Receiver{}
	}
	k := totalM / math.Hypot(offsetShare, driftShare)
	return Receiver{
		OffsetM: offsetShare * k, DriftM: driftShare * k, DriftS: driftS,
		WhiteM: math.Min(whiteM, totalM/4),
	}
}

// AccuracyKinds are the measures of a horizontal accuracy that SigmaOf knows.
var AccuracyKinds = []string{"95", "68", "50", "rms"}

// SigmaOf returns the standard deviation per axis of a circular normal error
// whose radius is given in one of four measures: holding 95, 68 or 50 percent of
// fixes, or the root mean square. Rayleigh quantiles sqrt(-2 ln(1-p)): 2.4477,
// 1.5096, 1.1774 and, for the root mean square, sqrt 2.
func SigmaOf(radiusM float64, measure string) (float64, error) {
	if measure == "rms" {
		return radiusM / math.Sqrt2, nil
	}
	p, ok := map[string]float64{"95": 0.95, "68": 0.68, "50": 0.5}[measure]
	if !ok {
		return 0, fmt.Errorf("accuracy as %q: must be 95, 68, 50 or rms", measure)
	}
	return radiusM / math.Sqrt(-2*math.Log1p(-p)), nil
}

// betaT is b T at which (1 + b T) exp(-b T) = 1/e.
const betaT = 2.1461932206205825

// Walker is what is known of a slow walk beforehand: the velocity of each axis
// wanders about 0 (Ornstein-Uhlenbeck).
type Walker struct {
	SpeedMS float64 // standard deviation of the velocity, per axis
	TurnS   float64 // seconds after which its autocorrelation is 1/e
}

// searcher is a person who weaves at 0.2 to 0.6 m/s.
const searcherMS = 0.35
