package track

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
)

// plainWalk is one searching path through the given points.
func plainWalk(everyS float64, pts ...grid.XY) Walk {
	p := Path{Timed: true, Legs: []Leg{{Kind: Searching, To: len(pts)}}}
	for i, q := range pts {
		p.Points = append(p.Points, Point{XY: q, T: Instant(1000 * everyS * float64(i)), AccM: nan32, HDOP: nan32})
	}
	return Walk{Paths: []Path{p}, Fixes: len(pts)}
}

// dense conditions one axis the plain way: all times at once, by the covariances
// of the walk and of the error. It returns the mean and the covariance of the
// true positions.
func dense(times, obs []float64, r Receiver, w Walker) (mean []float64, cov [][]float64) {
	n := len(times)
	walk, seen := square(n), square(n)
	for i := range n {
		for j := range n {
			s, t := math.Min(times[i], times[j]), math.Max(times[i], times[j])
			s, t = s-times[0], t-times[0]
			e := func(x float64) float64 { return math.Exp(-x / w.TurnS) }
			k := w.SpeedMS * w.TurnS
			walk[i][j] = diffuse + k*k*(2*s/w.TurnS-1+e(s)+e(t)-e(t-s))
			b := betaT / r.DriftS * (t - s)
			seen[i][j] = walk[i][j] + r.OffsetM*r.OffsetM + r.DriftM*r.DriftM*(1+b)*math.Exp(-b) +
				r.RoughM*r.RoughM*math.Exp(-(t-s)/RoughS)
		}
		seen[i][i] += r.white(1)
	}
	y := make([]float64, n)
	for i := range y {
		y[i] = obs[i] - obs[0]
	}
	inv := inverse(seen)
	gain := product(walk, inv)
	back := product(gain, walk)
	mean, cov = make([]float64, n), square(n)
	for i := range n {
		mean[i] = obs[0]
		for j := range n {
			mean[i] += gain[i][j] * y[j]
			cov[i][j] = walk[i][j] - back[i][j]
		}
	}
	return mean, cov
}

func square(n int) [][]float64 {
	m := make([][]float64, n)
	for i := range m {
		m[i] = make([]float64, n)
	}
	return m
}

func product(a, b [][]float64) [][]float64 {
	out := square(len(a))
	for i := range a {
		for j := range a {
			for k := range a {
				out[i][j] += a[i][k] * b[k][j]
			}
		}
	}
	return out
}

// inverse by elimination with pivots.
func inverse(a [][]float64) [][]float64 {
	n := len(a)
	m, out := square(n), square(n)
	for i := range a {
		copy(m[i], a[i])
		out[i][i] = 1
	}
	for c := range n {
		p := c
		for r := c; r < n; r++ {
			if math.Abs(m[r][c]) > math.Abs(m[p][c]) {
				p = r
			}
		}
		m[c], m[p], out[c], out[p] = m[p], m[c], out[p], out[c]
		for r := range n {
			f := m[r][c] / m[c][c]
			if r == c {
				f = 1 - 1/m[c][c]
			}
			for k := range n {
				m[r][k], out[r][k] = m[r][k]-f*m[c][k], out[r][k]-f*out[c][k]
			}
		}
	}
	return out
}

func TestPosteriorEqualsDenseConditioning(t *testing.T) {
	for name, r := range map[string]Receiver{
		"drift alone":     {DriftM: 1.3, DriftS: 120, WhiteM: 0.1},
		"drift and rough": {DriftM: 1.3, DriftS: 120, RoughM: 0.8, WhiteM: 0.1},
	} {
		rng := rand.New(rand.NewPCG(8, 8))
		var pts []grid.XY
		var times, obs []float64
		q := grid.XY{X: 40, Y: -10}
		for i := range 9 {
			q = grid.XY{X: q.X + 2*rng.NormFloat64(), Y: q.Y + 2*rng.NormFloat64()}
			pts, times, obs = append(pts, q), append(times, 4*float64(i)), append(obs, q.X)
		}
		prior := Walker{SpeedMS: searcherMS, TurnS: 10}
		p := &Posterior{Receiver: r, Walker: prior, states: sRough + 1}
		p.knots, p.lines = layKnots(plainWalk(4, pts...), knotS)
		p.condition()

		mean, cov := dense(times, obs, r, prior)
		for k := range p.knots {
			require.InDelta(t, mean[k], p.knots[k].mean.X, 2e-3, "%s: mean at knot %d", name, k)
		}
		const n = 40_000
		sum := square(len(times))
		var d Drawing
		for range n {
			d.start(p)
			d.deviate(p, rng, true)
			for i := range times {
				for j := range times {
					sum[i][j] += (d.at[i].X - mean[i]) * (d.at[j].X - mean[j]) / n
				}
			}
		}
		for i := range times {
			for j := range times {
				require.InDelta(t, cov[i][j], sum[i][j], 0.03*(1+cov[i][i]), "%s: covariance %d %d", name, i, j)
			}
		}
	}
}

func TestOffsetAloneMovesTheWholeWalk(t *testing.T) {
	var pts []grid.XY
	for i := range 200 {
		pts = append(pts, grid.XY{X: 0.8 * float64(i)})
	}
	p := &Posterior{Receiver: Receiver{OffsetM: 1, DriftS: driftS}, Walker: Walker{SpeedMS: 0.35, TurnS: 10}, states: sRate + 1}
	p.knots, p.lines = layKnots(plainWalk(2, pts...), knotS)
	p.condition()
	rng := rand.New(rand.NewPCG(3, 3))
	var d Drawing
	sum, sq := 0.0, 0.0
	const n = 4000
	for range n {
		p.Draw(rng, &d, func(line []grid.XY) {
			first, last := line[0].Y, line[len(line)-1].Y
			require.InDelta(t, first, last, 0.05, "neighbouring ground keeps the error it shares")
			sum, sq = sum+first, sq+first*first
		})
	}
	require.InDelta(t, 0, sum/n, 0.06)
	require.InDelta(t, 1, math.Sqrt(sq/n), 0.05)
}

func TestTieMovesTheSession(t *testing.T) {
	var pts []grid.XY
	for i := range 300 {
		pts = append(pts, grid.XY{X: 0.5 * float64(i), Y: 5}) // truly at y = 0 all along
	}
	r := ReceiverOf(3.9)
	tie := Tie{T: 300_000, True: grid.XY{X: 75, Y: 0}, SdM: 0.5, Mark: "stone"}
	free, tied := NewPosterior(plainWalk(2, pts...), r, nil), NewPosterior(plainWalk(2, pts...), r, []Tie{tie})
	require.Zero(t, free.TieM())
	require.Greater(t, tied.TieM(), 1.0)
	at := 0
	for k := range tied.knots {
		if math.Abs(tied.knots[k].t-300) < math.Abs(tied.knots[at].t-300) {
			at = k
		}
	}
	require.InDelta(t, 0, tied.knots[at].mean.Y, 0.3, "at the mark the walker is where the mark is")
	require.InDelta(t, 5, free.knots[at].mean.Y, 0.5)
	require.Less(t, tied.knots[0].mean.Y, 4.0, "and the whole session is moved")
}

func TestFitRoughFindsTheRoughness(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	for _, size := range []float64{0, 1.6} {
		var pts []grid.XY
		var q, v, e grid.XY
		keep := math.Exp(-1.0 / RoughS)
		step := func(rough *float64) { *rough = *rough*keep + size*math.Sqrt(1-keep*keep)*rng.NormFloat64() }
		for range 1500 {
			v = grid.XY{X: 0.9*v.X + 0.15*rng.NormFloat64(), Y: 0.9*v.Y + 0.15*rng.NormFloat64()}
			q = grid.XY{X: q.X + v.X, Y: q.Y + v.Y}
			step(&e.X)
			step(&e.Y)
			pts = append(pts, grid.XY{X: q.X + e.X + 0.05*rng.NormFloat64(), Y: q.Y + e.Y + 0.05*rng.NormFloat64()})
		}
		r, _ := FitRough(plainWalk(1, pts...), ReceiverOf(1.6))
		require.InDelta(t, size, r.RoughM, 0.8, "size %g", size)
	}
}

func TestShortSilenceIsDrawnAsUnknown(t *testing.T) {
	w := plainWalk(2, grid.XY{}, grid.XY{X: 0.8}, grid.XY{X: 1.6})
	for _, q := range []float64{9.6, 10.4, 11.2} { // after 20 s without a fix
		w.Paths[0].Points = append(w.Paths[0].Points, Point{XY: grid.XY{X: q}, T: Instant(4000 + 2500*q), AccM: nan32, HDOP: nan32})
	}
	w.Paths[0].Legs[0].To = 6
	knots, _ := layKnots(w, knotS)
	require.Equal(t, 6+4, len(knots), "a knot at least every 5 s")
	p := &Posterior{Receiver: Receiver{WhiteM: 0.1}, Walker: Walker{SpeedMS: 0.35, TurnS: 10}, states: sRate + 1, knots: knots}
	p.condition()
	rng := rand.New(rand.NewPCG(1, 9))
	var d Drawing
	spread := make([]float64, len(knots))
	for range 2000 {
		d.start(p)
		d.deviate(p, rng, true)
		for k := range spread {
			spread[k] += d.at[k].Y * d.at[k].Y / 2000
		}
	}
	require.Less(t, spread[1], 0.05)
	require.Greater(t, spread[4], 0.2, "in the middle of the silence nobody knows")
}

func TestSigmaOf(t *testing.T) {
	// Rayleigh: R95 2.447747, CEP 1.177410, DRMS 1.414214 sigma (checks: elementary).
	for measure, k := range map[string]float64{"95": 2.447747, "50": 1.177410, "rms": 1.414214, "68": 1.509592} {
		s, err := SigmaOf(4, measure)
		require.NoError(t, err)
		require.InDelta(t, 4/k, s, 1e-5, measure)
	}
	_, err := SigmaOf(4, "99")
	require.ErrorContains(t, err, "95, 68, 50 or rms")
}

func BenchmarkDraw(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	var pts []grid.XY
	q := grid.XY{}
	for range 14_400 {
		q = grid.XY{X: q.X + 0.3*rng.NormFloat64(), Y: q.Y + 0.3*rng.NormFloat64()}
		pts = append(pts, q)
	}
	p := NewPosterior(plainWalk(1, pts...), ReceiverOf(1.6), nil)
	var d Drawing
	for b.Loop() {
		p.Draw(rng, &d, func([]grid.XY) {})
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/14_400, "ns/fix")
}

// TestLogLikelihoodOfBothAxes holds that the likelihood, which takes the axes for alike,
// is that of two filters of their own.
func TestLogLikelihoodOfBothAxes(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	for range 20 {
		knots := make([]knot, 80)
		for k := range knots {
			knots[k] = knot{t: float64(k) + 0.2*rng.Float64(), obs: grid.XY{X: 0.4 * float64(k), Y: 3 * rng.Float64()}, n: rng.IntN(3), poor: 1 + float64(rng.IntN(2)), broken: rng.IntN(20) == 0}
		}
		r := ReceiverOf(2)
		r.RoughM, r.DriftM = float64(rng.IntN(2)), r.DriftM*float64(rng.IntN(2))
		w := Walker{SpeedMS: 0.4, TurnS: 10}
		want := 0.0
		for axis := range 2 {
			of := func(k int) float64 { return [2]float64{knots[k].obs.X, knots[k].obs.Y}[axis] }
			b := first(r, w, of(0))
			for k := range knots {
				kn := &knots[k]
				if k > 0 {
					b = newTransition(kn.t-knots[k-1].t, r, w, kn.broken).predict(b, kn.broken, of(k))
				}
				if kn.n == 0 {
					continue
				}
				h := seen(kn.poor)
				d, v := b.observe(&h, of(k), r.white(kn.n))
				if k > 0 && !kn.broken {
					want -= (math.Log(v) + d*d/v) / 2
				}
			}
		}
		require.InEpsilon(t, want, logLikelihood(knots, r, w), 1e-9)
	}
}
