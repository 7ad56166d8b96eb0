package track

import (
	"math"
	"strings"

	"untrod/grid"
)

// MarkAt is a mark in a frame's metres: a place known well enough to check a
// receiver against.
type MarkAt struct {
	Name string
	XY   grid.XY
}

// Tie is one place where the walker's true position is known besides the
// receiver's: Logged less True is a measured error of the receiver.
type Tie struct {
	T            Instant
	Logged, True grid.XY
	SdM          float64 // how far from True the walker may have stood: standard deviation per axis
	Mark         string  // name of the mark
}

// TieSettings say what counts as having been at a mark. [DefaultTies] gives the
// defaults.
type TieSettings struct {
	// ReachM is how far from a mark a receiver may put a walker who stands at it.
	// Default 3 standard deviations of its error per axis, at least 6 m.
	ReachM float64
	// MinStandS, default 20 s, is the shortest stop that counts.
	MinStandS float64
	// NamedSdM, default 0.5 m, is how close to a mark a walker logs a waypoint of
	// its name.
	NamedSdM float64
	// NamedReachM, default the larger of 50 m and twice ReachM, is how far from
	// the mark such a waypoint may lie; beyond, the name is taken for another place.
	NamedReachM float64
}

// DefaultTies returns the defaults for a receiver whose error has the standard
// deviation errM on each axis, in metres.
func DefaultTies(errM float64) TieSettings {
	reach := math.Max(6, 3*errM)
	return TieSettings{ReachM: reach, MinStandS: 20, NamedSdM: 0.5, NamedReachM: math.Max(50, 2*reach)}
}

// FindTies returns the moments at which the walker was at one of the marks, in
// order of the walk. All positions are in one frame's metres.
//
// A waypoint logged during the walk that bears a mark's name, whatever the case
// of its letters and spaces round it, is strong evidence: spread NamedSdM. Where
// several marks have the name, the nearest is meant.
//
// A standing leg of MinStandS or more, or any other waypoint, is weak evidence
// when it lies within ReachM of exactly one mark: a target dug near a mark is not
// a mark re-occupied. Its spread is ReachM, which pulls a log of that receiver by
// no more than a tenth of the way to the mark, so that where all such stops are digs
// positions are hardly the worse for it. Near several marks it says nothing.
//
// Logged is the mean of the log over the standing leg; for a waypoint outside
// standing legs, the log at its moment. Waypoints without time, or not within a
// path, are passed over, and so are their own positions: receivers average them in
// ways of their own. A leg gives one tie, the strongest; paths without times give
// none. O(points + legs x (marks + waypoints)).
func FindTies(w Walk, marks []MarkAt, waypoints []Waypoint, set TieSettings) []Tie {
	var ties []Tie
	if len(marks) == 0 {
		return nil
	}
	for _, p := range w.Paths {
		if !p.Timed {
			continue
		}
		for _, s := range p.stops(waypoints, set.MinStandS) {
			if tie, ok := s.tie(marks, set); ok {
				ties = append(ties, tie)
			}
		}
	}
	return ties
}

// stop is a moment that may tell where the walker truly was.
type stop struct {
	t      Instant
	logged grid.XY
	names  []string // of the waypoints logged
	counts bool     // as evidence without a name: it is long, or a waypoint was logged
}

// stops returns the standing legs of a path, and the waypoints logged elsewhere
// on it. A waypoint is of the leg that leads up to its moment.
func (p Path) stops(waypoints []Waypoint, minS float64) []stop {
	var out []stop
	for _, l := range p.Legs {
		line := p.Line(l)
		from, to := line[0].T, line[len(line)-1].T
		stand := stop{t: (from + to) / 2, logged: meanOf(line), counts: to.Sub(from) >= minS}
		for _, wp := range waypoints {
			switch {
			case !wp.T.Known() || wp.T <= from || wp.T > to:
			case l.Kind == Standing:
				stand.names, stand.counts = append(stand.names, wp.Name), true
			default:
				out = append(out, stop{wp.T, at(line, wp.T), []string{wp.Name}, true})
			}
		}
		if l.Kind == Standing {
			out = append(out, stand)
		}
	}
	return out
}

// tie decides which mark a stop was at, if any.
func (s stop) tie(marks []MarkAt, set TieSettings) (Tie, bool) {
	if m, ok := s.named(marks, set.NamedReachM); ok {
		return Tie{s.t, s.logged, m.XY, set.NamedSdM, m.Name}, true
	}
	var near []MarkAt
	for _, m := range marks {
		if away(m.XY, s.logged) <= set.ReachM {
			near = append(near, m)
		}
	}
	if len(near) != 1 || !s.counts {
		return Tie{}, false
	}
	return Tie{s.t, s.logged, near[0].XY, set.ReachM, near[0].Name}, true
}

// named is the nearest mark within reach that a waypoint of s is named after.
func (s stop) named(marks []MarkAt, reach float64) (best MarkAt, ok bool) {
	for _, m := range marks {
		for _, name := range s.names {
			name = strings.TrimSpace(name)
			if d := away(m.XY, s.logged); name != "" && d <= reach && strings.EqualFold(name, strings.TrimSpace(m.Name)) {
				best, reach, ok = m, d, true
			}
		}
	}
	return best, ok
}

func away(a, b grid.XY) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }

func meanOf(ps []Point) grid.XY {
	var m grid.XY
	for _, p := range ps {
		m.X, m.Y = m.X+p.X, m.Y+p.Y
	}
	n := float64(len(ps))
	return grid.XY{X: m.X / n, Y: m.Y / n}
}

// at is where a line was at a moment after its first, up to its last.
func at(line []Point, t Instant) grid.XY {
	i := 1
	for line[i].T < t {
		i++
	}
	a, b := line[i-1], line[i]
	f := t.Sub(a.T) / b.T.Sub(a.T)
	return grid.XY{X: a.X + f*(b.X-a.X), Y: a.Y + f*(b.Y-a.Y)}
}
