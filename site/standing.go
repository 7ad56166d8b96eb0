package site

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"untrod/grid"
	"untrod/track"
)

// NearStopS is how long before a stop began or after it ended a find logged still
// belongs to it: people write things down late. Common practice, no source.
const NearStopS = 120

// Whereabouts tells where walkers were at a moment, by the logs of their visits.
type Whereabouts struct{ visits []visitPath }

type visitPath struct {
	session int64
	frame   grid.Frame
	paths   []track.Path // with times, in order of them
	stops   []stop
}

// stop is a standing leg.
type stop struct {
	from, to track.Instant
	at       grid.XY
}

// Add adds a visit's walk, which is in the metres of f. Paths without times tell
// nothing.
func (w *Whereabouts) Add(session int64, f grid.Frame, walk track.Walk) {
	v := visitPath{session: session, frame: f}
	for _, p := range walk.Paths {
		if !p.Timed || len(p.Points) == 0 {
			continue
		}
		v.paths = append(v.paths, p)
		for _, l := range p.Legs {
			if line := p.Line(l); l.Kind == track.Standing && len(line) > 0 {
				v.stops = append(v.stops, stop{line[0].T, line[len(line)-1].T, meanOf(line)})
			}
		}
	}
	slices.SortFunc(v.paths, func(a, b track.Path) int { return cmp.Compare(last(a), last(b)) }) // a clock may be set back
	slices.SortFunc(v.stops, func(a, b stop) int { return cmp.Compare(a.to, b.to) })
	w.visits = append(w.visits, v)
}

func last(p track.Path) track.Instant { return p.Points[len(p.Points)-1].T }

func meanOf(line []track.Point) grid.XY {
	var m grid.XY
	for _, p := range line {
		m.X, m.Y = m.X+p.X, m.Y+p.Y
	}
	return grid.XY{X: m.X / float64(len(line)), Y: m.Y / float64(len(line))}
}

// Stood is where a walker was at a moment. Its uncertainty is that of the
// receiver.
type Stood struct {
	Session int64
	Pos     grid.LonLat
	// AwayS is 0 within a stop, else the seconds from the stop that is meant; NaN
	// where none is near and Pos is where the log had the walker on the move.
	AwayS float64
	// Others counts other visits of that moment that say a place over 25 m off:
	// several people were there.
	Others int
}

const otherPlaceM = 25

// At returns where a walker was at t: at the mean of the log over the standing leg
// that holds t, its ends included; or else of the one nearest in time within
// [NearStopS]; or else on the logged line at t. session confines it to one visit, 0
// does not; of several visits the surest of these three counts, then the one added
// first. It is not ok when no visit holds t nor has a stop near. O(visits x log fixes).
func (w *Whereabouts) At(t track.Instant, session int64) (s Stood, ok bool) {
	var all []Stood
	best := 0
	for i := range w.visits {
		v := &w.visits[i]
		if session != 0 && v.session != session {
			continue
		}
		if one, found := v.at(t); found {
			all = append(all, one)
			if surer(one.AwayS, all[best].AwayS) {
				best = len(all) - 1
			}
		}
	}
	if len(all) == 0 {
		return Stood{}, false
	}
	s = all[best]
	for _, o := range all {
		if apartM(s.Pos, o.Pos) > otherPlaceM {
			s.Others++
		}
	}
	return s, true
}

// surer reports whether a moment a seconds from a stop tells more than one b.
func surer(a, b float64) bool { return !math.IsNaN(a) && (math.IsNaN(b) || a < b) }

func (v *visitPath) at(t track.Instant) (Stood, bool) {
	near, away := -1, float64(NearStopS)
	k := sort.Search(len(v.stops), func(i int) bool { return v.stops[i].to >= t })
	for i := max(0, k-1); i <= k && i < len(v.stops); i++ {
		if d := v.stops[i].away(t); d <= away && (near < 0 || d < away) {
			near, away = i, d
		}
	}
	if near >= 0 {
		return Stood{v.session, v.place(v.stops[near].at), away, 0}, true
	}
	at, ok := v.onLine(t)
	return Stood{v.session, v.place(at), math.NaN(), 0}, ok
}

// place is q in degrees, to a millimetre.
func (v *visitPath) place(q grid.XY) grid.LonLat {
	const parts = 1e8 // of a degree
	p := v.frame.ToLonLat(q)
	return grid.LonLat{Lon: math.Round(p.Lon*parts) / parts, Lat: math.Round(p.Lat*parts) / parts}
}

// away is how many seconds t is from the stop, 0 within it.
func (s stop) away(t track.Instant) float64 {
	switch {
	case t < s.from:
		return s.from.Sub(t)
	case t > s.to:
		return t.Sub(s.to)
	}
	return 0
}

// onLine is where the log has the walker at t, on the straight line between fixes.
func (v *visitPath) onLine(t track.Instant) (grid.XY, bool) {
	k := sort.Search(len(v.paths), func(i int) bool { return last(v.paths[i]) >= t })
	if k == len(v.paths) || v.paths[k].Points[0].T > t {
		return grid.XY{}, false
	}
	ps := v.paths[k].Points
	i := sort.Search(len(ps), func(i int) bool { return ps[i].T >= t })
	if i == 0 || ps[i].T == t {
		return ps[i].XY, true
	}
	a, b := ps[i-1], ps[i]
	f := t.Sub(a.T) / b.T.Sub(a.T)
	return grid.XY{X: a.X + f*(b.X-a.X), Y: a.Y + f*(b.Y-a.Y)}, true
}

// apartM is the distance of two places; +Inf where no frame holds both.
func apartM(a, b grid.LonLat) float64 {
	f, err := grid.NewFrame(a)
	if err != nil {
		return math.Inf(1)
	}
	q := f.ToXY(b)
	return math.Hypot(q.X, q.Y)
}
