package track

import (
	"math"
	"slices"

	"untrod/grid"
)

// LaneBlock is a block of parallel lanes found in a log. It only suggests that
// they were walked to a line; ask before taking it for laid out.
type LaneBlock struct {
	Lanes        int
	SpacingM     float64 // mean distance between neighbouring lanes
	SpacingSdM   float64 // its standard error
	DirectionDeg float64 // of the lanes, clockwise from the frame's north, [0, 180)
	// Corners are those of the block, counter-clockwise, half a spacing outside
	// the first and the last lane; where the receiver put them, in metres.
	Corners  [4]grid.XY
	From, To Instant // NoTime for paths without times
}

// What makes stretches a block of lanes.
const (
	leastLanes  = 4
	axisOff     = 25 * rad // how far a straight lane lies from the axis of those before
	bentOff     = 40 * rad // and one that a stop bent in the log
	leastSpaceM = 0.3      // closer, it is one line walked again and again
	mostSpaceM  = 6        // farther apart, no ground is searched between lanes
	spacingT    = 2        // least spacing, in its own standard errors
	// Neighbouring lanes share their drift, so the standard error of least squares is
	// too small, in simulated walks by a factor of 2.0 to 2.2 under any sky.
	sharedDrift  = 2.1
	mostWay      = 1.3      // way walked by length of lanes
	mostScatter  = 12 * rad // of the lanes round their axis, root mean square
	shortScatter = 2 * rad  // and of a block of n lanes, n degrees more than this
)

// FindLaneBlocks returns the blocks of parallel lanes, walked to and fro, in the
// searching legs of a walk, in order of time.
//
// A block is at least four straight stretches of 8 m or more, each walked the
// other way than the one before and near its end. From these the axis is known;
// the lanes are then all the way from one turning back along it to the next, so
// that a stop, at which the log of a resting receiver runs off, does not part the
// block. They must be of like length (half to 1.6 times the usual), walked
// straight (mostWay), parallel (mostScatter, stricter for few lanes, which may be
// so by chance), and lie in order: the straight line through their places across
// the axis must rise by leastSpaceM to mostSpaceM a lane, spacingT times surer than
// its standard error. Its slope is the spacing: single lanes wander by metres in
// the log, the mean over a wide block by centimetres to decimetres. The direction
// is the mean of the lanes', weighted by their lengths.
//
// How often blocks are found, missed and imagined: docs/accuracy.md. Time
// O(points x bends) at worst, usually O(points log points).
func FindLaneBlocks(w Walk) []LaneBlock {
	var out []LaneBlock
	for _, trail := range trails(w) {
		done := 0 // points of the trail already in a block
		for _, run := range runs(trail) {
			for _, seed := range seeds(run) {
				if seed[0].from < done {
					continue
				}
				lanes := regrow(trail, done, seed)
				if b, ok := blockOf(lanes, trail); ok {
					out = append(out, b)
					done = lanes[len(lanes)-1].to
				}
			}
		}
	}
	return out
}

// seeds returns the parts of a run whose stretches go to and fro along one axis.
func seeds(run []stretch) [][]stretch {
	var out [][]stretch
	from := 0
	for i := 1; i <= len(run); i++ {
		if i < len(run) && turn(run[i-1].dir, run[i].dir) > math.Pi/2 && skew(axisOf(run[from:i]), run[i].dir) <= axisOff {
			continue
		}
		if i-from >= leastLanes {
			out = append(out, run[from:i])
		}
		from = i
	}
	return out
}

// regrow finds the lanes of the block a seed is of, among the points of the trail
// from done on.
func regrow(trail []trailPoint, done int, seed []stretch) []stretch {
	axis, lengths := axisOf(seed), make([]float64, len(seed))
	for i, s := range seed {
		lengths[i] = s.lengthM
	}
	usual := median(lengths)
	var lanes []stretch
	for _, s := range swings(trail, done, axis, usual/2) {
		switch {
		case s.lengthM >= usual/2 && s.lengthM <= 1.6*usual && skew(s.dir, axis) <= bentOff:
			lanes = append(lanes, s)
		case len(lanes) > 0 && lanes[len(lanes)-1].to > seed[0].from:
			return lanes
		default:
			lanes = nil
		}
	}
	return lanes
}

// axisOf is the mean direction of stretches taken as lines either way, weighted
// by their length: radians.
func axisOf(ss []stretch) float64 {
	var x, y float64
	for _, s := range ss {
		sin, cos := math.Sincos(2 * s.dir)
		x, y = x+s.lengthM*cos, y+s.lengthM*sin
	}
	return math.Atan2(y, x) / 2
}

// blockOf makes a block of lanes, when they are one.
func blockOf(lanes []stretch, trail []trailPoint) (LaneBlock, bool) {
	n := float64(len(lanes))
	if n < leastLanes {
		return LaneBlock{}, false
	}
	axis := axisOf(lanes)
	var lengthM, wayM, squares float64
	for _, s := range lanes {
		lengthM, wayM = lengthM+s.lengthM, wayM+s.wayM
		squares += math.Pow(skew(s.dir, axis), 2)
	}
	fit := fitAcross(lanes, axis)
	space := math.Abs(fit.slope)
	switch {
	case wayM > mostWay*lengthM,
		math.Sqrt(squares/n) > min(mostScatter, shortScatter+n*rad),
		space < leastSpaceM, space > mostSpaceM, space < spacingT*fit.slopeSD:
		return LaneBlock{}, false
	}
	lo, hi := extents(lanes, trail, axis)
	return LaneBlock{
		Lanes: len(lanes), SpacingM: space, SpacingSdM: fit.slopeSD, DirectionDeg: bearing(axis),
		Corners: corners(axis, lo, hi, fit.at0-fit.slope/2, fit.at0+fit.slope*(n-0.5)),
		From:    trail[lanes[0].from].t, To: trail[lanes[len(lanes)-1].to].t,
	}, true
}

// trend is the straight line of least squares through values at 0, 1, 2 ...
type trend struct{ at0, slope, slopeSD float64 }

// fitAcross fits the places of lanes across their axis to their numbers.
func fitAcross(lanes []stretch, axis float64) trend {
	n := float64(len(lanes))
	sin, cos := math.Sincos(axis)
	across := func(s stretch) float64 { return s.mid.Y*cos - s.mid.X*sin }
	mid, spread := (n-1)/2, n*(n*n-1)/12
	var mean float64
	var l trend
	for i, s := range lanes {
		mean += across(s) / n
		l.slope += (float64(i) - mid) * across(s) / spread
	}
	l.at0 = mean - l.slope*mid
	squares := 0.0
	for i, s := range lanes {
		squares += math.Pow(across(s)-l.at0-l.slope*float64(i), 2)
	}
	l.slopeSD = sharedDrift * math.Sqrt(squares/(n-2)/spread)
	return l
}

// extents are the medians of where lanes begin and end along their axis.
func extents(lanes []stretch, trail []trailPoint, axis float64) (lo, hi float64) {
	sin, cos := math.Sincos(axis)
	var los, his []float64
	for _, s := range lanes {
		a, b := trail[s.from].logged, trail[s.to].logged
		p, q := a.X*cos+a.Y*sin, b.X*cos+b.Y*sin
		los, his = append(los, min(p, q)), append(his, max(p, q))
	}
	return median(los), median(his)
}

// median sorts xs and returns the middle one, the upper of two.
func median(xs []float64) float64 {
	slices.Sort(xs)
	return xs[len(xs)/2]
}

// corners turns a box along and across an axis back into east and north.
func corners(axis, lo, hi, first, last float64) [4]grid.XY {
	sin, cos := math.Sincos(axis)
	place := func(along, across float64) grid.XY {
		return grid.XY{X: along*cos - across*sin, Y: along*sin + across*cos}
	}
	right, left := min(first, last), max(first, last)
	return [4]grid.XY{place(lo, right), place(hi, right), place(hi, left), place(lo, left)}
}

// bearing turns an axis into degrees clockwise from north, [0, 180).
func bearing(axis float64) float64 { return math.Mod(450-axis/rad, 180) }
