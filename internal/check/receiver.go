package check

import (
	"math"
	"math/rand/v2"

	"untrod/grid"
	"untrod/track"
)

// Receiver is a model of position error. Per axis it is a steady offset for the
// whole visit, plus a slow drift (a critically damped second-order Gauss-Markov
// process, whose autocorrelation is (1 + b t) exp(-b t)), plus a small white part.
type Receiver struct {
	OffsetM   float64 // standard deviation over visits, per axis
	DriftM    float64 // standard deviation of the drift, per axis
	DriftS    float64 // time after which the drift's autocorrelation is 1/e
	WhiteM    float64 // standard deviation of the white part, per axis
	HDOP      float64 // what it reports
	EveryS    int     // seconds between fixes; 0 means 1
	MoveM     float64 // log only after so many metres, or 25 s; 0 logs every fix
	PinAtRest bool    // repeat one position after 5 s at rest, as phones do

	RoughM float64 // standard deviation of a first-order Gauss-Markov part, per axis
	RoughS float64 // time after which that part's autocorrelation is 1/e

	WanderMS float64 // standard deviation of a random walk after one second, per axis
	ResetS   float64 // mean time after which the random walk starts again from 0

	JumpMinM, JumpMaxM float64 // how far jumps lie; 0 means 20 to 80

	SilencesPerHour float64 // no fix at all for 40 to 120 s
	JumpsPerHour    float64 // 1 to 3 fixes that lie 20 to 80 m away
}

// Receivers whose error per axis totals 1.6, 3.9 and 5.8 m root mean square:
// consumer receivers in the open, and phones under leaves (Tomastik et al.
// 2017, Forestry 90:187: 1.9 to 2.4 m and 5.0 to 11.5 m radial).
var (
	OpenSky     = Receiver{OffsetM: 0.906, DriftM: 1.318, DriftS: 120, WhiteM: 0.05, HDOP: 0.9}
	LightCanopy = Receiver{OffsetM: 2.209, DriftM: 3.213, DriftS: 120, WhiteM: 0.10, HDOP: 1.4}
	DenseCanopy = Receiver{OffsetM: 3.285, DriftM: 4.778, DriftS: 120, WhiteM: 0.15, HDOP: 2.6}
)

// betaT is b T at which (1 + b T) exp(-b T) = 1/e.
const betaT = 2.146193

// drift is one axis of the second-order Gauss-Markov process, stepped exactly.
type drift struct {
	x, v          float64
	f             [2][2]float64 // transition over one second
	l11, l21, l22 float64       // Cholesky factor of the noise added per second
}

func newDrift(sd, oneOverES float64, rng *rand.Rand) drift {
	if sd == 0 {
		return drift{}
	}
	b := betaT / oneOverES
	e := math.Exp(-b)
	d := drift{x: sd * rng.NormFloat64(), v: sd * b * rng.NormFloat64()}
	d.f = [2][2]float64{{e * (1 + b), e}, {-e * b * b, e * (1 - b)}}
	px, pv := sd*sd, sd*sd*b*b // stationary variances; the two are uncorrelated
	qxx := px - d.f[0][0]*d.f[0][0]*px - d.f[0][1]*d.f[0][1]*pv
	qxv := -d.f[0][0]*d.f[1][0]*px - d.f[0][1]*d.f[1][1]*pv
	qvv := pv - d.f[1][0]*d.f[1][0]*px - d.f[1][1]*d.f[1][1]*pv
	d.l11 = math.Sqrt(math.Max(qxx, 0))
	if d.l11 > 0 {
		d.l21 = qxv / d.l11
	}
	d.l22 = math.Sqrt(math.Max(qvv-d.l21*d.l21, 0))
	return d
}

func (d *drift) step(rng *rand.Rand) {
	n1, n2 := rng.NormFloat64(), rng.NormFloat64()
	d.x, d.v = d.f[0][0]*d.x+d.f[0][1]*d.v+d.l11*n1, d.f[1][0]*d.x+d.f[1][1]*d.v+d.l21*n1+d.l22*n2
}

// rough is one axis of a first-order Gauss-Markov process and a random walk.
type rough struct {
	x, wander       float64
	keep, sd, step1 float64
}

func newRough(r Receiver, rng *rand.Rand) rough {
	o := rough{step1: r.WanderMS}
	if r.RoughM > 0 {
		o.keep = math.Exp(-1 / r.RoughS)
		o.sd = r.RoughM * math.Sqrt(1-o.keep*o.keep)
		o.x = r.RoughM * rng.NormFloat64()
	}
	return o
}

func (o *rough) step(rng *rand.Rand) float64 {
	if o.sd > 0 {
		o.x = o.keep*o.x + o.sd*rng.NormFloat64()
	}
	if o.step1 > 0 {
		o.wander += o.step1 * rng.NormFloat64()
	}
	return o.x + o.wander
}

// Log gives the fixes a receiver makes of a visit.
func (r Receiver) Log(v Visit, rng *rand.Rand) []track.Point {
	seen := r.positions(v.True, rng)
	muted := r.silences(len(seen), rng)
	every := max(1, r.EveryS)
	var out []track.Point
	last := math.MinInt
	for i, q := range seen {
		if i%every != 0 || muted[i] {
			continue
		}
		if r.MoveM > 0 && len(out) > 0 && i-last < 25 && distance(q, out[len(out)-1].XY) < r.MoveM {
			continue
		}
		last = i
		out = append(out, track.Point{
			XY: q, T: v.Start + track.Instant(1000*i),
			AccM: float32(math.NaN()), HDOP: float32(math.Round(10*r.HDOP*(1+0.1*rng.Float64())) / 10),
		})
	}
	return out
}

// positions is what the receiver would show each second.
func (r Receiver) positions(truth []Second, rng *rand.Rand) []grid.XY {
	ox, oy := r.OffsetM*rng.NormFloat64(), r.OffsetM*rng.NormFloat64()
	dx, dy := newDrift(r.DriftM, r.DriftS, rng), newDrift(r.DriftM, r.DriftS, rng)
	out := make([]grid.XY, len(truth))
	rest, away := 0, 0
	rx, ry := newRough(r, rng), newRough(r, rng)
	var jump grid.XY
	for i, s := range truth {
		dx.step(rng)
		dy.step(rng)
		q := grid.XY{
			X: s.X + ox + dx.x + rx.step(rng) + r.WhiteM*rng.NormFloat64(),
			Y: s.Y + oy + dy.x + ry.step(rng) + r.WhiteM*rng.NormFloat64(),
		}
		if r.ResetS > 0 && rng.Float64() < 1/r.ResetS {
			rx.wander, ry.wander = 0, 0
		}
		if rest++; s.Kind != track.Standing {
			rest = 0
		}
		if r.PinAtRest && rest > 5 {
			q = out[i-1]
		}
		if away == 0 && r.JumpsPerHour > 0 && rng.Float64() < r.JumpsPerHour/3600 {
			away = 1 + rng.IntN(3)
			sin, cos := math.Sincos(2 * math.Pi * rng.Float64())
			d := 20 + 60*rng.Float64()
			if r.JumpMaxM > 0 {
				d = r.JumpMinM + (r.JumpMaxM-r.JumpMinM)*rng.Float64()
			}
			jump = grid.XY{X: d * cos, Y: d * sin}
		}
		out[i] = q
		if away > 0 && rest <= 5 {
			away--
			out[i] = grid.XY{X: q.X + jump.X, Y: q.Y + jump.Y}
		}
	}
	return out
}

// silences marks the seconds in which the receiver logs nothing.
func (r Receiver) silences(n int, rng *rand.Rand) []bool {
	muted := make([]bool, n)
	for i := 0; i < n && r.SilencesPerHour > 0; i++ {
		if rng.Float64() < r.SilencesPerHour/3600 {
			for end := i + 40 + rng.IntN(81); i < min(end, n); i++ {
				muted[i] = true
			}
		}
	}
	return muted
}
