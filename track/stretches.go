package track

import (
	"math"
	"slices"

	"untrod/grid"
)

// Of the straight stretches that lanes are made of.
const (
	spellS     = 10            // a stop is made of spells of this length
	stillMS    = 0.15          // in which the pace is below this
	shortWalkS = 20            // a longer walk with the coil not in use parts a trail
	bendM      = 2.5           // a trail that keeps within this of a chord is straight
	stretchM   = 8             // shortest stretch
	kink       = 30 * rad      // stretches that bend less at their joint are one
	joinM      = 8             // longest way between two stretches that belong together
	turnM      = 1.5           // left out at both ends of a stretch: turns are round
	strideM    = 2             // pieces in which the way of a stretch is measured
	rad        = math.Pi / 180 // radians in a degree
)

// trailPoint is a place of a searching walk: as logged, and on the way, which
// leaves out the displacement of stops, when only the receiver moved.
type trailPoint struct {
	logged, way grid.XY
	t           Instant
}

// trails returns the searching legs of a walk, joined across stops, silences and
// short breaks.
func trails(w Walk) [][]trailPoint {
	var out [][]trailPoint
	var now []trailPoint
	for _, p := range w.Paths {
		for _, l := range p.Legs {
			switch {
			case l.Kind == Searching || l.Kind == Standing:
				now = extend(now, p.Line(l))
			case l.Kind == Walking && p.Timed && seconds(l, p.Points) > shortWalkS:
				out, now = append(out, now), nil
			}
		}
	}
	return slices.DeleteFunc(append(out, now), func(t []trailPoint) bool { return len(t) < 2 })
}

// extend goes on with a trail in spells of spellS, of which the still ones add
// nothing to the way.
func extend(trail []trailPoint, line []Point) []trailPoint {
	if len(trail) == 0 {
		trail = append(trail, trailPoint{line[0].XY, line[0].XY, line[0].T})
	}
	last := trail[len(trail)-1]
	shift := less(last.way, last.logged)
	for i := 0; i < len(line)-1; {
		j := i + 1
		for j+1 < len(line) && line[j].T.Sub(line[i].T) < spellS {
			j++
		}
		d := less(line[i].XY, line[j].XY)
		if math.Hypot(d.X, d.Y) < stillMS*line[j].T.Sub(line[i].T) {
			shift.X, shift.Y = shift.X+d.X, shift.Y+d.Y
			i = j
		}
		for ; i < j; i++ {
			q := line[i+1]
			trail = append(trail, trailPoint{q.XY, grid.XY{X: q.X + shift.X, Y: q.Y + shift.Y}, q.T})
		}
	}
	return trail
}

func less(a, b grid.XY) grid.XY { return grid.XY{X: a.X - b.X, Y: a.Y - b.Y} }

// stretch is a part of a trail that leads straight from one point to another, or
// nearly so.
type stretch struct {
	from, to int
	dir      float64 // in which it was walked, radians from X towards Y
	lengthM  float64 // between its ends
	wayM     float64 // walked
	mid      grid.XY // mean of the logged positions
}

// stretchOf measures the part of a trail between two points. Direction and middle
// are those of the line of least squares, turns left out.
func stretchOf(trail []trailPoint, from, to int) stretch {
	a, b := trail[from].way, trail[to].way
	s := stretch{from: from, to: to, lengthM: away(a, b)}
	at := a
	var inner []trailPoint
	for _, q := range trail[from : to+1] {
		if d := away(at, q.way); d >= strideM {
			s.wayM, at = s.wayM+d, q.way
		}
		if away(a, q.way) >= turnM && away(b, q.way) >= turnM {
			inner = append(inner, q)
		}
	}
	s.wayM += away(at, b)
	if len(inner) < 2 {
		inner = []trailPoint{trail[from], trail[to]}
	}
	s.fit(inner, math.Atan2(b.Y-a.Y, b.X-a.X))
	return s
}

// fit sets the direction, of the two along the line that nearer to chord, and the
// middle.
func (s *stretch) fit(ps []trailPoint, chord float64) {
	var m grid.XY
	n := float64(len(ps))
	for _, q := range ps {
		m.X, m.Y = m.X+q.way.X/n, m.Y+q.way.Y/n
		s.mid.X, s.mid.Y = s.mid.X+q.logged.X/n, s.mid.Y+q.logged.Y/n
	}
	var xx, xy, yy float64
	for _, q := range ps {
		d := less(q.way, m)
		xx, xy, yy = xx+d.X*d.X, xy+d.X*d.Y, yy+d.Y*d.Y
	}
	s.dir = math.Atan2(2*xy, xx-yy) / 2
	if math.Cos(s.dir-chord) < 0 {
		s.dir += math.Pi
	}
}

// turn is the angle between two directions, in [0, pi].
func turn(a, b float64) float64 { return math.Abs(math.Remainder(b-a, 2*math.Pi)) }

// skew is the angle between two directions taken as lines either way, in
// [0, pi/2].
func skew(a, b float64) float64 { return turn(2*a, 2*b) / 2 }

// runs returns the straight stretches of a trail, those that follow one another
// closely together.
func runs(trail []trailPoint) [][]stretch {
	var out [][]stretch
	var run []stretch
	gap := 0.0 // way since the last stretch
	bends := bendsOf(trail)
	for i := 1; i < len(bends); i++ {
		s := stretchOf(trail, bends[i-1], bends[i])
		if s.lengthM < stretchM {
			gap += s.lengthM
			continue
		}
		if gap > joinM {
			out, run = append(out, run), nil
		}
		gap = 0
		if n := len(run); n > 0 && turn(run[n-1].dir, s.dir) <= kink {
			run[n-1] = stretchOf(trail, run[n-1].from, s.to)
			continue
		}
		run = append(run, s)
	}
	return append(out, run)
}

// bendsOf returns the points at which a trail bends or turns back, its ends
// included: the vertices left when it is simplified to bendM. Source: Douglas and
// Peucker 1973, "Algorithms for the reduction of the number of points required to
// represent a digitized line", Cartographica 10:112-122; with turning back along
// the chord, which theirs does not see, as another way to leave it.
func bendsOf(trail []trailPoint) []int {
	bends := []int{0}
	ends := []int{len(trail) - 1} // of the chords still to be looked at, nearest last
	for len(ends) > 0 {
		a, b := bends[len(bends)-1], ends[len(ends)-1]
		if at, ok := bend(trail, a, b); ok {
			ends = append(ends, at)
			continue
		}
		bends, ends = append(bends, b), ends[:len(ends)-1]
	}
	return bends
}

// bend is the point between a and b that lies farthest off their chord, or from
// which the trail turns back farthest; ok is false when that is bendM at most.
func bend(trail []trailPoint, a, b int) (at int, ok bool) {
	d := less(trail[b].way, trail[a].way)
	length := math.Hypot(d.X, d.Y)
	worst, most, tip := float64(bendM), 0.0, a
	for i := a + 1; i < b; i++ {
		e := less(trail[i].way, trail[a].way)
		along, off := 0.0, math.Hypot(e.X, e.Y)
		if length > 0 {
			along = (e.X*d.X + e.Y*d.Y) / length
			off = max(math.Abs(e.X*d.Y-e.Y*d.X)/length, -along, along-length)
		}
		if along > most {
			most, tip = along, i
		}
		if off > worst {
			worst, at, ok = off, i, true
		}
		if most-along > worst {
			worst, at, ok = most-along, tip, true
		}
	}
	return at, ok && at > a
}

// swings cuts a trail, from a point on, where it turns back along an axis by more
// than backM.
func swings(trail []trailPoint, from int, axis, backM float64) []stretch {
	sin, cos := math.Sincos(axis)
	along := func(i int) float64 { return trail[i].way.X*cos + trail[i].way.Y*sin }
	var out []stretch
	tip, sign := from, 1.0
	for i := from; i < len(trail); i++ {
		ahead := sign * (along(i) - along(tip))
		if ahead < -backM {
			if tip > from {
				out = append(out, stretchOf(trail, from, tip))
			}
			from, sign = tip, -sign
		}
		if ahead > 0 || ahead < -backM {
			tip = i
		}
	}
	if tip > from {
		out = append(out, stretchOf(trail, from, tip))
	}
	return out
}
