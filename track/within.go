package track

import (
	"math"

	"untrod/grid"
)

// A rounded copy gives times to the second and places to 1e-5 degrees, of which
// half the diagonal is 0.79 m at the equator.
const (
	roundS    = 1.0
	roundM    = 0.8
	missShare = 0.02 // of a copy's fixes that cleaning may have treated otherwise
	fewFixes  = 20   // of a copy this short all fixes must be the same to exactM
	exactM    = 0.01
	backLoops = 50 // places at which a path without times is tried to begin
)

// Within reports whether the fixes of b are all on the line of a, in one frame's
// metres: at their times, shiftS added, give or take a second; without times,
// one after another along a line with or without them. Places may differ by
// rounding. At most 1 in 50 may be elsewhere, as cleaning may take another fix for a
// jump; a log of fewer than 20 must be the same to the centimetre. A walk without
// points is within none. O(points).
func Within(a, b Walk, shiftS float64) bool {
	reach, n := roundM, 0
	for _, p := range b.Paths {
		n += len(p.Points)
	}
	allowed := int(missShare * float64(n))
	if n < fewFixes {
		reach = exactM
	}
	c := clockedOf(a)
	for _, p := range b.Paths {
		var missed int
		if p.Timed {
			missed = c.missing(p.Points, shiftS, reach, allowed)
		} else {
			missed = missingPlaces(a.Paths, p.Points, reach, allowed)
		}
		if allowed -= missed; allowed < 0 {
			return false
		}
	}
	return n > 0
}

// missing counts the points of ps that are off the line at their time; it stops
// above allowed.
func (c clocked) missing(ps []Point, shiftS, reach float64, allowed int) int {
	missed, shift := 0, Instant(shiftS*1000)
	k, i := 0, 0 // path, and point in it, from which the line may still be met
	for _, p := range ps {
		t := p.T + shift
		for k < len(c.paths) && c.paths[k].Points[len(c.paths[k].Points)-1].T < t-1000*roundS {
			k, i = k+1, 0
		}
		if k == len(c.paths) || !passes(c.paths[k].Points, &i, p.XY, t, reach) {
			if missed++; missed > allowed {
				return missed
			}
		}
	}
	return missed
}

// passes reports whether line is within reach of q at t, give or take roundS. It
// moves i on to the last point before that time.
func passes(line []Point, i *int, q grid.XY, t Instant, reach float64) bool {
	for *i+1 < len(line) && line[*i+1].T < t-1000*roundS {
		*i++
	}
	for j := *i; j < len(line) && line[j].T <= t+1000*roundS; j++ {
		a, b := line[j].XY, line[min(j+1, len(line)-1)].XY
		if awayFromStep(q, a, b) <= reach {
			return true
		}
	}
	return false
}

// missingPlaces counts the points of ps that do not follow one another along the
// paths, from wherever that is fewest; it stops above allowed.
func missingPlaces(paths []Path, ps []Point, reach float64, allowed int) int {
	best, tried := len(ps), 0
	for k := range paths {
		line := paths[k].Points
		for i := 0; i < len(line) && tried < backLoops; i++ {
			if awayFromStep(ps[0].XY, line[i].XY, line[min(i+1, len(line)-1)].XY) > reach {
				continue
			}
			tried++
			if best = min(best, follow(line[i:], ps, reach, min(best, allowed))); best <= allowed {
				return best
			}
			for i+1 < len(line) && awayFromStep(ps[0].XY, line[i+1].XY, line[min(i+2, len(line)-1)].XY) <= reach {
				i++ // the same visit of the place
			}
		}
	}
	return best
}

// follow counts the points of ps that are not met going along line. What is passed
// over on the way to the next must lie near it: within 10 m and twice the step.
func follow(line []Point, ps []Point, reach float64, allowed int) int {
	missed, i := 0, 0
	for n, p := range ps {
		near := 10 + 2*away(p.XY, ps[max(n-1, 0)].XY)
		j := i
		for j < len(line) && awayFromStep(p.XY, line[j].XY, line[min(j+1, len(line)-1)].XY) > reach {
			if away(line[j].XY, p.XY) > near {
				j = len(line)
			}
			j++
		}
		if j < len(line) {
			i = j
		} else if missed++; missed > allowed {
			return missed
		}
	}
	return missed
}

// awayFromStep is the distance of q from the step from a to b.
func awayFromStep(q, a, b grid.XY) float64 {
	d, e := less(b, a), less(q, a)
	f := 0.0
	if l := norm2(d); l > 0 {
		f = max(0, min(1, (e.X*d.X+e.Y*d.Y)/l))
	}
	return math.Hypot(e.X-f*d.X, e.Y-f*d.Y)
}
