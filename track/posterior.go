package track

import (
	"math"
	"math/rand/v2"

	"untrod/grid"
)

// Posterior is what a log tells of the true path of one session: the path most
// likely, and how far and in what way the true one may differ.
//
// The log is the true path plus error already. Adding error to it once more would
// draw paths longer than any that was walked; so the walk itself has a model, a
// slow walk, and the log is what both together gave. Drawn paths differ from the
// log by a whole history of error, so that neighbouring lanes keep what error they
// share.
//
// Both models are Gaussian processes in time, so that a Kalman filter and
// backward sampling are exact (Carter and Kohn 1994, Biometrika 81:541;
// Fruhwirth-Schnatter 1994, J. Time Ser. Anal. 15:183). Safe for concurrent draws.
type Posterior struct {
	Receiver Receiver // as used: the rough part fitted
	Walker   Walker   // as used: TurnS fitted

	knots  []knot
	lines  []knotLine
	back   [2][]*backward // of each axis: knot k given knot k+1; knots alike share one
	last   [2]mat         // Cholesky factor of the last knot's covariance
	states int            // how many states play a part
	tied   bool           // the offset is among them
	offset grid.XY        // mean of the offset: how far ties moved the session
}

// knot is a moment at which paths are drawn: one or a few fixes of one leg, or
// none where fixes are far between.
type knot struct {
	t        float64 // seconds since the session's first
	obs      grid.XY // mean of its fixes
	n        int     // how many
	poor     float64 // how many times worse than usual the receiver called them
	broken   bool    // the first of its path: nothing is known of the way here
	ties     []Tie
	mean     grid.XY // most likely true position
	velocity grid.XY
}

// knotLine is a searching leg: knots [from, to).
type knotLine struct{ from, to int }

// A knot takes in the fixes of knotS seconds, in which a searcher's swath hardly
// bends; none is further than fillS from the next.
const (
	knotS = 2.0
	fillS = 5.0
)

// NewPosterior conditions a walk on its log. The rough part of the error and how
// sharply the walker turns are found from the log itself ([FitRough]); ties are
// moments at which the true position is known.
func NewPosterior(w Walk, r Receiver, ties []Tie) *Posterior {
	r, prior := FitRough(w, r)
	p := &Posterior{Receiver: r, Walker: prior, tied: len(ties) > 0, states: sRate + 1}
	if r.RoughM > 0 {
		p.states = sRough + 1
	}
	if p.tied {
		p.states = maxStates
	}
	p.knots, p.lines = layKnots(w, knotS)
	if len(p.knots) > 0 {
		p.place(w, ties)
		p.condition()
	}
	return p
}

// place puts each tie at the knot nearest in time.
func (p *Posterior) place(w Walk, ties []Tie) {
	t0 := firstTime(w)
	for _, tie := range ties {
		if !tie.T.Known() || !t0.Known() {
			continue
		}
		best, at := math.Inf(1), 0
		for k := range p.knots {
			if d := math.Abs(p.knots[k].t - tie.T.Sub(t0)); d < best {
				best, at = d, k
			}
		}
		p.knots[at].ties = append(p.knots[at].ties, tie)
	}
}

// condition runs the filter forward, keeps what backward sampling needs, and
// smooths the means.
func (p *Posterior) condition() {
	n := len(p.knots)
	r := p.Receiver
	if !p.tied { // nothing in the log tells the offset: each draw has its own
		r.OffsetM = 0
	}
	steps := newStepper(r, p.Walker)
	means, ahead := make([][2]vec, n), make([][2]vec, n) // filtered, and predicted from the knot before
	var b [2]belief
	for k := range p.knots {
		kn := &p.knots[k]
		obs := [2]float64{kn.obs.X, kn.obs.Y}
		for a := range b {
			if k == 0 {
				b[a] = first(r, p.Walker, obs[a])
			} else {
				var s *backward
				b[a], s = steps.next(b[a], kn.t-p.knots[k-1].t, kn.broken, obs[a])
				p.back[a] = append(p.back[a], s)
			}
			ahead[k][a] = b[a].mean
			p.take(&b[a], kn, a)
			means[k][a] = b[a].mean
		}
	}
	for a := range b {
		p.last[a] = cholesky(b[a].cov)
	}
	if p.tied {
		p.offset = grid.XY{X: b[0].mean[sOffset], Y: b[1].mean[sOffset]}
	}
	p.smooth(means, ahead)
}

// take observes what a knot shows of one axis.
func (p *Posterior) take(b *belief, kn *knot, axis int) {
	coord := func(q grid.XY) float64 { return [2]float64{q.X, q.Y}[axis] }
	if kn.n > 0 {
		h := seen(kn.poor)
		b.observe(&h, coord(kn.obs), p.Receiver.white(kn.n))
	}
	for _, t := range kn.ties {
		b.observe(&here, coord(t.True), t.SdM*t.SdM)
	}
}

// white is the variance of the mean of n fixes' white part; a thousandth of a
// metre keeps the filter well conditioned.
func (r Receiver) white(n int) float64 { return r.WhiteM*r.WhiteM/float64(n) + 1e-6 }

func (p *Posterior) smooth(means, ahead [][2]vec) {
	n := len(p.knots)
	s := means[n-1]
	for k := n - 1; k >= 0; k-- {
		if k < n-1 {
			for a := range s {
				d := s[a]
				for i := range d {
					d[i] -= ahead[k+1][a][i]
				}
				d = p.back[a][k].gain.times(d)
				for i := range d {
					s[a][i] = means[k][a][i] + d[i]
				}
			}
		}
		p.knots[k].mean = grid.XY{X: s[0][sX], Y: s[1][sX]}
		p.knots[k].velocity = grid.XY{X: s[0][sV], Y: s[1][sV]}
	}
}

// stepper makes the steps of a filter, those of a steady log only once.
type stepper struct {
	r     Receiver
	w     Walker
	known []knownStep
}

type knownStep struct {
	dt     float64
	broken bool
	cov    mat // before
	t      *transition
	back   *backward
}

func newStepper(r Receiver, w Walker) *stepper { return &stepper{r: r, w: w} }

// next moves a belief on by dt, and returns the step back with it.
func (s *stepper) next(b belief, dt float64, broken bool, obs float64) (belief, *backward) {
	var t *transition
	for i := range s.known {
		k := &s.known[i]
		if k.dt != dt || k.broken != broken {
			continue
		}
		t = k.t
		if alike(&b.cov, &k.cov) {
			return t.predict(b, broken, obs), k.back
		}
	}
	if t == nil {
		t = newTransition(dt, s.r, s.w, broken)
	}
	out := t.predict(b, broken, obs)
	back := newBackward(b.cov, t, out.cov)
	if len(s.known) >= 8 {
		s.known = s.known[1:] // the oldest is the least likely to come again
	}
	s.known = append(s.known, knownStep{dt, broken, b.cov, t, back})
	return out, back
}

// TieM is how far ties to marks moved the session, in metres; 0 without ties.
func (p *Posterior) TieM() float64 { return math.Hypot(p.offset.X, p.offset.Y) }

// Draw calls line for each searching leg of one possible true walk, in order. The
// slice is used again. Points are at most 2 s apart where the log is; d.Times tells
// when they were passed.
func (p *Posterior) Draw(rng *rand.Rand, d *Drawing, line func([]grid.XY)) {
	d.start(p)
	d.deviate(p, rng, true)
	d.lines(p, line)
}

// DrawAgain adds the error of two more receivers to a walk drawn: one that makes
// a log of it, and the difference of a walk drawn from that log. The walk is folded
// before, in place.
func (p *Posterior) DrawAgain(rng *rand.Rand, d *Drawing, fold, line func([]grid.XY)) {
	d.start(p)
	d.deviate(p, rng, true)
	fold(d.at)
	d.deviate(p, rng, false)
	d.deviate(p, rng, false)
	d.lines(p, line)
}

// Drawing is memory for draws, used again from one to the next. Not safe for
// concurrent use; each goroutine has its own.
type Drawing struct {
	at, velocity []grid.XY
	line         []grid.XY
	times        []float64
}

// Times is when the points of the line just handed out were passed, in seconds
// from the session's first fix. It is used again, as the line is. Of a log without
// times they are those of an even 0.4 m/s.
func (d *Drawing) Times() []float64 { return d.times }

func (d *Drawing) start(p *Posterior) {
	d.at, d.velocity = d.at[:0], d.velocity[:0]
	for i := range p.knots {
		d.at = append(d.at, p.knots[i].mean)
		d.velocity = append(d.velocity, p.knots[i].velocity)
	}
}

// deviate adds one draw of how the true walk differs from the most likely one;
// with bends, also of how it runs between knots.
func (d *Drawing) deviate(p *Posterior, rng *rand.Rand, bends bool) {
	n := len(d.at)
	if n == 0 {
		return
	}
	var off grid.XY
	if !p.tied {
		off = grid.XY{X: p.Receiver.OffsetM * rng.NormFloat64(), Y: p.Receiver.OffsetM * rng.NormFloat64()}
	}
	x, y := p.last[0].sample(rng), p.last[1].sample(rng)
	for k := n - 1; ; k-- {
		d.at[k].X += x[sX] + off.X
		d.at[k].Y += y[sX] + off.Y
		if bends {
			d.velocity[k].X += x[sV]
			d.velocity[k].Y += y[sV]
		}
		if k == 0 {
			return
		}
		p.back[0][k-1].draw(&x, p.states, rng)
		p.back[1][k-1].draw(&y, p.states, rng)
	}
}

// lines hands out the searching legs, with a point between knots where the walk
// bends: the middle of the cubic through both ends with their velocities.
func (d *Drawing) lines(p *Posterior, line func([]grid.XY)) {
	for _, l := range p.lines {
		d.line, d.times = append(d.line[:0], d.at[l.from]), append(d.times[:0], p.knots[l.from].t)
		for k := l.from + 1; k < l.to; k++ {
			a, b, t, dt := d.at[k-1], d.at[k], p.knots[k].t, p.knots[k].t-p.knots[k-1].t
			bend := grid.XY{
				X: (d.velocity[k-1].X - d.velocity[k].X) * dt / 8,
				Y: (d.velocity[k-1].Y - d.velocity[k].Y) * dt / 8,
			}
			if math.Abs(bend.X)+math.Abs(bend.Y) > 0.03 && dt <= fillS {
				d.line = append(d.line, grid.XY{X: (a.X+b.X)/2 + bend.X, Y: (a.Y+b.Y)/2 + bend.Y})
				d.times = append(d.times, t-dt/2)
			}
			d.line, d.times = append(d.line, b), append(d.times, t)
		}
		line(d.line)
	}
}
