package check

import (
	"math"
	"math/rand/v2"
	"slices"

	"untrod/grid"
	"untrod/track"
)

// How the simulated walker moves.
const (
	headingSD   = 0.35 // rad, weaving about the way to the next point
	headingTauS = 4
	paceSD      = 0.2 // share of the mean pace
	paceTauS    = 15
	stallS      = 12  // with no headway this long, the next point is tried
	swayM       = 0.2 // per axis, moving about while digging
	swayTauS    = 15
	spacingM    = 2.5 // between the points of a lane or ring
	stopForS    = 60
)

type walker struct {
	set     WalkSettings
	rng     *rand.Rand
	pos     grid.XY
	weave   float64 // present deviation of the heading, rad
	pace    float64 // present deviation of the pace, share
	trodden map[[2]int]int
	true    []Second
	stops   []int // in the middle of each of the stops on the walk in
}

// visit walks in, searches until it is time to go, and walks out.
func (w *walker) visit() {
	plan := w.plan()
	for _, p := range w.set.Stops {
		w.goTo(p, track.Walking)
		w.stay(p, stopForS)
		w.stops = append(w.stops, len(w.true)-stopForS/2)
	}
	kind := track.Walking
	for i := 0; !w.timeToGo(); i++ {
		if w.set.Style == Winding {
			plan = append(plan, w.leastTrodden())
		}
		if i == len(plan) {
			break
		}
		w.goTo(plan[i], kind)
		kind = track.Searching
	}
	w.goTo(w.set.Gate, track.Walking)
}

func (w *walker) timeToGo() bool {
	home := 1.2 * distance(w.pos, w.set.Gate) / w.set.WalkMS
	return float64(len(w.true))+home >= float64(w.set.Seconds)
}

// goTo steps towards p until it is within reach or no headway is made. A
// searching walker stops to dig now and then, and turns back when time is up.
func (w *walker) goTo(p grid.XY, kind track.Kind) {
	best, stalled := math.Inf(1), 0
	reach := w.speed(kind)
	for distance(w.pos, p) > reach && stalled < stallS {
		if kind == track.Searching && w.timeToGo() {
			return
		}
		w.step(p, kind)
		stalled++
		if d := distance(w.pos, p); d < best-0.05 {
			best, stalled = d, 0
		}
		if kind == track.Searching && w.rng.Float64() < w.set.DigsPerHour/3600 {
			w.dig()
		}
	}
}

func (w *walker) speed(kind track.Kind) float64 {
	if kind == track.Walking {
		return w.set.WalkMS
	}
	return w.set.SearchMS
}

// step moves one second towards p, turning aside from what is in the way.
func (w *walker) step(p grid.XY, kind track.Kind) {
	w.weave = w.ou(w.weave, headingSD, headingTauS)
	w.pace = w.ou(w.pace, paceSD, paceTauS)
	v := w.speed(kind) * math.Max(0.3, 1+w.pace)
	to := math.Atan2(p.Y-w.pos.Y, p.X-w.pos.X)
	if kind == track.Searching {
		to += w.weave
	}
	side := math.Copysign(1, w.weave)
	for turn := 0.0; turn < math.Pi; turn += 0.3 {
		for _, a := range [2]float64{to + side*turn, to - side*turn} {
			sin, cos := math.Sincos(a)
			if q := (grid.XY{X: w.pos.X + v*cos, Y: w.pos.Y + v*sin}); w.free(q, kind) {
				w.stand(q, kind)
				return
			}
		}
	}
	w.stand(w.pos, kind) // hemmed in: the caller sees the stall
}

// stand records one second that ends at q.
func (w *walker) stand(q grid.XY, kind track.Kind) {
	w.pos = q
	w.true = append(w.true, Second{q, kind})
	if kind == track.Searching {
		w.trodden[patchCell(q)]++
	}
}

func (w *walker) dig() {
	s := w.set
	w.stay(w.pos, int(s.DigMinS+w.rng.Float64()*(s.DigMaxS-s.DigMinS)))
}

// stay stands at p for so many seconds, moving about a little.
func (w *walker) stay(p grid.XY, seconds int) {
	var x, y float64
	for range seconds {
		x, y = w.ou(x, swayM, swayTauS), w.ou(y, swayM, swayTauS)
		w.stand(grid.XY{X: p.X + x, Y: p.Y + y}, track.Standing)
	}
	w.pos = p
}

// ou steps an Ornstein-Uhlenbeck process by one second.
func (w *walker) ou(x, sd, tauS float64) float64 {
	k := math.Exp(-1 / tauS)
	return k*x + sd*math.Sqrt(1-k*k)*w.rng.NormFloat64()
}

// free reports whether a walker may be at q. Keep-outs bind always, the
// boundary only while searching.
func (w *walker) free(q grid.XY, kind track.Kind) bool {
	for _, k := range w.set.Keepouts {
		if inside(k, q) {
			return false
		}
	}
	if kind == track.Walking || len(w.set.Boundary) == 0 {
		return true
	}
	for _, b := range w.set.Boundary {
		if inside(b, q) {
			return true
		}
	}
	return false
}

// plan is the points of a lane or spiral walk that are free; nil for a winding one.
func (w *walker) plan() []grid.XY {
	var ps []grid.XY
	switch w.set.Style {
	case Lanes:
		ps = lanes(w.set.Patch, w.set.LaneM)
	case Spiral:
		ps = spiral(w.set.Patch, w.set.LaneM)
	}
	return slices.DeleteFunc(ps, func(q grid.XY) bool { return !w.free(q, track.Searching) })
}

// leastTrodden picks, of a dozen free points of the patch, the one whose
// surroundings have been searched least for its distance.
func (w *walker) leastTrodden() grid.XY {
	b := w.set.Patch
	pick, least := w.pos, math.Inf(1)
	for range 12 {
		q := grid.XY{X: b.Min.X + w.rng.Float64()*b.Width(), Y: b.Min.Y + w.rng.Float64()*b.Height()}
		if !w.free(q, track.Searching) {
			continue
		}
		c, n := patchCell(q), 0
		for dx := -1; dx <= 1; dx++ {
			for dy := -1; dy <= 1; dy++ {
				n += w.trodden[[2]int{c[0] + dx, c[1] + dy}]
			}
		}
		edge := min(q.X-b.Min.X, b.Max.X-q.X, q.Y-b.Min.Y, b.Max.Y-q.Y)
		share := 0.5 + math.Min(0.5, edge/9) // part of the 9 m square round q that is in the patch
		if cost := float64(n)/share + distance(q, w.pos); cost < least {
			pick, least = q, cost
		}
	}
	return pick
}

func patchCell(q grid.XY) [2]int { return [2]int{int(math.Floor(q.X / 3)), int(math.Floor(q.Y / 3))} }
