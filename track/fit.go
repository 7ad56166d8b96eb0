package track

import "math"

// What FitRough chooses from. Sizes double, and so halve the interval in which
// the best one lies; finer steps move the result by less than its spread.
var (
	roughSizes = []float64{0, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.4}
	turnTimes  = []float64{3, 10, 30}
)

// fitKnots is how many seconds of a log FitRough looks at.
const fitKnots = 1500

// FitRough finds, from a session's own log, how large the rough part of the
// receiver's error is and how sharply the walker turns: whatever makes the log
// most likely (maximum likelihood by the filter's own residuals). A rough error
// looks like a walker who could not walk so; taken for walking it would widen the
// swath. The steady and the drifting part cannot be found so: they look like
// walking. A perfect receiver stays one.
func FitRough(w Walk, r Receiver) (Receiver, Walker) {
	best, walker := r, Walker{SpeedMS: searcherMS, TurnS: 10}
	knots, _ := layKnots(w, 0.9)
	if r.Perfect() || len(knots) < 60 {
		return best, walker
	}
	knots = knots[:min(len(knots), fitKnots)]
	top := math.Inf(-1)
	for _, turn := range turnTimes {
		for _, size := range roughSizes {
			if size > r.TotalM() {
				break // no part of the error is larger than the whole
			}
			c, v := r, Walker{SpeedMS: searcherMS, TurnS: turn}
			c.RoughM = size
			if l := logLikelihood(knots, c, v); l > top {
				top, best, walker = l, c, v
			}
		}
	}
	return best, walker
}

// logLikelihood is the logarithm of the likelihood of the knots' fixes, up to a
// constant.
func logLikelihood(knots []knot, r Receiver, w Walker) float64 {
	var x, y belief // y without a covariance: the axes are alike
	var t *transition
	sum, lastDt := 0.0, math.NaN()
	for k := range knots {
		kn := &knots[k]
		if k == 0 {
			x, y = first(r, w, kn.obs.X), first(r, w, kn.obs.Y)
		} else {
			dt := kn.t - knots[k-1].t
			if kn.broken || dt != lastDt {
				t, lastDt = newTransition(dt, r, w, kn.broken), dt
				if kn.broken {
					lastDt = math.NaN()
				}
			}
			y = belief{mean: t.f.times(y.mean)}
			x = t.predict(x, kn.broken, kn.obs.X)
			if kn.broken {
				y.mean[sX] = kn.obs.Y
			}
		}
		if kn.n == 0 {
			continue
		}
		h := seen(kn.poor)
		ph, v := x.narrow(&h, r.white(kn.n))
		rx, ry := x.shift(&h, &ph, kn.obs.X, v), y.shift(&h, &ph, kn.obs.Y, v)
		if k > 0 && !kn.broken {
			sum -= math.Log(v) + (rx*rx+ry*ry)/(2*v)
		}
	}
	return sum
}
