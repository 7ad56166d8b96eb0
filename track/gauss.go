package track

import (
	"math"
	"math/rand/v2"
)

// The state of one axis: where the walker is and how fast, and what the
// receiver adds to it. States that play no part come last and are left out.
const (
	sX     = iota // true position
	sV            // true velocity
	sDrift        // the drift and its rate of change
	sRate
	sRough
	sOffset
	maxStates
)

type (
	vec [maxStates]float64
	mat [maxStates][maxStates]float64
)

// seen says what a fix shows: position + drift + rough part + offset. In a fix
// the receiver itself calls poor, drift and rough part count k-fold.
func seen(k float64) vec { return vec{sX: 1, sDrift: k, sRough: k, sOffset: 1} }

// here says what a tie shows: the position.
var here = vec{sX: 1}

// belief is a normal distribution of the state of one axis.
type belief struct {
	mean vec
	cov  mat
}

// observe takes in that h x state was found to be obs, with variance v, and
// returns how surprising that was: the residual and its variance.
func (b *belief) observe(h *vec, obs, v float64) (residual, variance float64) {
	ph, s := b.narrow(h, v)
	return b.shift(h, &ph, obs, s), s
}

// narrow lessens the covariance by an observation. It returns the covariance of the
// states with what is observed, and the variance of the residual to come. States that
// play no part, or are not seen, are passed over: they would add nothing but zeros.
func (b *belief) narrow(h *vec, v float64) (ph vec, s float64) {
	s = v
	for j, k := range h {
		if k != 0 {
			for i := range ph {
				ph[i] += b.cov[i][j] * k
			}
		}
	}
	for i := range h {
		s += h[i] * ph[i]
	}
	for i, p := range ph {
		if p == 0 {
			continue
		}
		b.cov[i][i] -= p * p / s
		for j := range i {
			less := p * ph[j] / s
			b.cov[i][j] -= less
			b.cov[j][i] -= less
		}
	}
	return ph, s
}

// shift moves the mean by an observation, given what narrow returned.
func (b *belief) shift(h, ph *vec, obs, s float64) (residual float64) {
	for i := range h {
		obs -= h[i] * b.mean[i]
	}
	for i := range ph {
		b.mean[i] += ph[i] / s * obs
	}
	return obs
}

// transition is how the state moves on over a time: f x state + noise of
// covariance q.
type transition struct{ f, q mat }

// diffuse is the variance of a position of which nothing is known.
const diffuse = 1e6

// newTransition is exact for any dt. After a break nothing is known of the
// position and velocity.
func newTransition(dt float64, r Receiver, w Walker, broken bool) *transition {
	t := &transition{}
	f, q := &t.f, &t.q
	speed2, tau := w.SpeedMS*w.SpeedMS, w.TurnS
	if e := math.Exp(-dt / tau); broken {
		q[sX][sX], q[sV][sV] = diffuse, speed2
	} else {
		f[sX][sX], f[sX][sV], f[sV][sV] = 1, tau*(1-e), e
		q[sX][sX] = speed2 * tau * tau * (2*dt/tau - 3 + 4*e - e*e)
		q[sX][sV] = speed2 * tau * (1 - e) * (1 - e)
		q[sV][sX], q[sV][sV] = q[sX][sV], speed2*(1-e*e)
	}
	if r.DriftM > 0 {
		b := betaT / r.DriftS
		e, pd := math.Exp(-b*dt), r.DriftM*r.DriftM
		pr := pd * b * b
		g := [2][2]float64{{e * (1 + b*dt), e * dt}, {-e * b * b * dt, e * (1 - b*dt)}}
		for i := range g {
			for j := range g {
				f[sDrift+i][sDrift+j] = g[i][j]
				q[sDrift+i][sDrift+j] = -g[i][0]*g[j][0]*pd - g[i][1]*g[j][1]*pr
			}
		}
		q[sDrift][sDrift] += pd
		q[sRate][sRate] += pr
	}
	if r.RoughM > 0 {
		e := math.Exp(-dt / RoughS)
		f[sRough][sRough], q[sRough][sRough] = e, r.RoughM*r.RoughM*(1-e*e)
	}
	f[sOffset][sOffset] = 1
	return t
}

// first is the belief before the first fix, which lies at obs.
func first(r Receiver, w Walker, obs float64) belief {
	b := belief{mean: vec{sX: obs}}
	b.cov[sX][sX] = diffuse
	b.cov[sV][sV] = w.SpeedMS * w.SpeedMS
	if r.DriftM > 0 {
		beta := betaT / r.DriftS
		b.cov[sDrift][sDrift] = r.DriftM * r.DriftM
		b.cov[sRate][sRate] = r.DriftM * r.DriftM * beta * beta
	}
	b.cov[sRough][sRough] = r.RoughM * r.RoughM
	b.cov[sOffset][sOffset] = r.OffsetM * r.OffsetM
	return b
}

// predict moves a belief on. After a break the position starts from obs.
func (t *transition) predict(b belief, broken bool, obs float64) belief {
	out := belief{mean: t.f.times(b.mean), cov: timesT(times(t.f, b.cov), t.f)}
	for i := range out.cov {
		for j := range out.cov {
			out.cov[i][j] += t.q[i][j]
		}
	}
	if broken {
		out.mean[sX] = obs
	}
	return out
}

// backward gives the deviation of a state from its mean when that of the next
// state is known: gain x next + noise x normal numbers.
type backward struct{ gain, noise mat }

func newBackward(cov mat, t *transition, next mat) *backward {
	g := divide(timesT(cov, t.f), next)
	v, gpg := cov, timesT(times(g, next), g)
	for i := range v {
		for j := range v {
			v[i][j] -= gpg[i][j]
		}
	}
	return &backward{gain: g, noise: cholesky(v)}
}

// draw steps a deviation back; n is the number of states that play a part.
func (b *backward) draw(d *vec, n int, rng *rand.Rand) {
	if n == sRate+1 { // nearly always
		b.drawFour(d, rng)
		return
	}
	var z, out vec
	for i := range n {
		z[i] = jolt(rng)
		g, l, s := &b.gain[i], &b.noise[i], 0.0
		for j := range n {
			s += g[j] * d[j]
		}
		for j := range i + 1 {
			s += l[j] * z[j]
		}
		out[i] = s
	}
	*d = out
}

// drawFour is draw for four states, written out: it is most of the work.
func (b *backward) drawFour(d *vec, rng *rand.Rand) {
	d0, d1, d2, d3 := d[0], d[1], d[2], d[3]
	z0, z1, z2, z3 := jolt(rng), jolt(rng), jolt(rng), jolt(rng)
	g, l := &b.gain[0], &b.noise[0]
	d[0] = g[0]*d0 + g[1]*d1 + g[2]*d2 + g[3]*d3 + l[0]*z0
	g, l = &b.gain[1], &b.noise[1]
	d[1] = g[0]*d0 + g[1]*d1 + g[2]*d2 + g[3]*d3 + l[0]*z0 + l[1]*z1
	g, l = &b.gain[2], &b.noise[2]
	d[2] = g[0]*d0 + g[1]*d1 + g[2]*d2 + g[3]*d3 + l[0]*z0 + l[1]*z1 + l[2]*z2
	g, l = &b.gain[3], &b.noise[3]
	d[3] = g[0]*d0 + g[1]*d1 + g[2]*d2 + g[3]*d3 + l[0]*z0 + l[1]*z1 + l[2]*z2 + l[3]*z3
}

// jolt is a random number of mean 0 and variance 1, nearly normal: the sum of
// four uniform ones. What is drawn is built from hundreds of them, and so is
// normal; it costs half of what a normal number does.
func jolt(rng *rand.Rand) float64 {
	u := rng.Uint64()
	sum := int64(u&0xffff) + int64(u>>16&0xffff) + int64(u>>32&0xffff) + int64(u>>48)
	return float64(sum-2*0xffff) * joltScale
}

// joltScale is one over the standard deviation of four uniform 16-bit numbers,
// sqrt(4 (2^32 - 1) / 12).
var joltScale = 1 / math.Sqrt(4*(1<<32-1)/12.0)

// sample is a draw from the normal distribution whose covariance l factors.
func (l *mat) sample(rng *rand.Rand) (out vec) {
	var z vec
	for i := range out {
		z[i] = rng.NormFloat64()
		for j := range i + 1 {
			out[i] += l[i][j] * z[j]
		}
	}
	return out
}

func (a *mat) times(v vec) (out vec) {
	for i := range a {
		for j, k := range a[i] {
			if k != 0 {
				out[i] += k * v[j]
			}
		}
	}
	return out
}

func times(a, b mat) (out mat) {
	for i := range a {
		for k := range a {
			if a[i][k] != 0 {
				for j := range b {
					out[i][j] += a[i][k] * b[k][j]
				}
			}
		}
	}
	return out
}

// timesT is a b'.
func timesT(a, b mat) (out mat) {
	for j := range b {
		for k, v := range b[j] {
			if v != 0 {
				for i := range a {
					out[i][j] += a[i][k] * v
				}
			}
		}
	}
	return out
}

// divide is a b^-1 for a covariance b; directions without variance give 0.
func divide(a, b mat) (out mat) {
	l := cholesky(b)
	for r := range a {
		y := a[r]
		for i := range y {
			for j := range i {
				y[i] -= l[i][j] * y[j]
			}
			y[i] = over(y[i], l[i][i])
		}
		for i := maxStates - 1; i >= 0; i-- {
			for j := i + 1; j < maxStates; j++ {
				y[i] -= l[j][i] * y[j]
			}
			y[i] = over(y[i], l[i][i])
		}
		out[r] = y
	}
	return out
}

func over(a, b float64) float64 {
	if b == 0 {
		return 0
	}
	return a / b
}

// cholesky factors a covariance; directions without variance get zeros.
func cholesky(a mat) (l mat) {
	for i := range a {
		for j := 0; j <= i; j++ {
			s := a[i][j]
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			if i != j {
				l[i][j] = over(s, l[j][j])
			} else if s > 1e-11*math.Abs(a[i][i]) && s > 1e-14 {
				l[i][i] = math.Sqrt(s)
			}
		}
	}
	return l
}

// alike reports whether two covariances differ by nothing that matters.
func alike(a, b *mat) bool {
	for i := range a {
		for j := range a {
			if math.Abs(a[i][j]-b[i][j]) > 1e-7*(1e-3+math.Abs(a[i][j])) {
				return false
			}
		}
	}
	return true
}
