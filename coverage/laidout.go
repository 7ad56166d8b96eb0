package coverage

import (
	"math"
	"math/rand/v2"
	"slices"

	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// confirmShare is how much of the time that laid-out lanes take must have been
// searched inside for the log to confirm them.
const confirmShare = 0.7

// LaneWanderM is how far a walker strays from a laid-out lane, to either side:
// standard deviation in metres. No source: that of the simulated walker, who steers
// for a flag every 2.5 m, is 0.29 m, and correlated over 1.5 m.
const LaneWanderM = 0.3

const (
	wanderStepM  = 0.5
	wanderScaleM = 1.5
)

// paceS is the time over which the searching pace is measured, in seconds.
const paceS = 10

// LaidOutLanes returns the lanes of laid-out ground: straight lines spacingM apart
// that run directionDeg clockwise from the frame's north, clipped to p and its
// holes. There are as many as fit the width of p across them, rounded, and at
// least one; together they lie in its middle, so that the outer two are half a
// spacing inside the rim where the width is a whole number of spacings, and
// between a quarter and three quarters where it is not (one lane: anywhere in a
// narrower p). Lanes are in order across, their pieces in order along. An empty
// polygon has none. It panics when spacingM is not above 0.
//
// O(lanes x vertices).
func LaidOutLanes(p grid.Polygon, spacingM, directionDeg float64) [][2]grid.XY {
	if !(spacingM > 0) {
		panic("coverage: spacing of laid-out lanes not above 0")
	}
	sin, cos := math.Sincos(directionDeg * math.Pi / 180)
	t := turned{sin, cos}
	var rings []grid.Ring
	for _, r := range append([]grid.Ring{p.Outer}, p.Holes...) {
		rings = append(rings, t.ring(r))
	}
	if len(rings[0]) == 0 {
		return nil
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range rings[0] {
		lo, hi = math.Min(lo, q.X), math.Max(hi, q.X)
	}
	n := math.Max(1, math.Round((hi-lo)/spacingM))
	first := (lo+hi)/2 - (n-1)/2*spacingM
	var out [][2]grid.XY
	for i := range int(n) {
		x := first + float64(float64(i)*spacingM)
		ys := crossings(rings, x)
		for k := 0; k+1 < len(ys); k += 2 {
			out = append(out, [2]grid.XY{t.back(grid.XY{X: x, Y: ys[k]}), t.back(grid.XY{X: x, Y: ys[k+1]})})
		}
	}
	return out
}

// turned is a frame whose Y runs along a direction, given by its sine and cosine.
type turned struct{ sin, cos float64 }

func (t turned) ring(r grid.Ring) grid.Ring {
	out := make(grid.Ring, len(r))
	for i, q := range r {
		out[i] = grid.XY{
			X: float64(q.X*t.cos) - float64(q.Y*t.sin),
			Y: float64(q.X*t.sin) + float64(q.Y*t.cos),
		}
	}
	return out
}

func (t turned) back(q grid.XY) grid.XY {
	return grid.XY{
		X: float64(q.X*t.cos) + float64(q.Y*t.sin),
		Y: float64(q.Y*t.cos) - float64(q.X*t.sin),
	}
}

// crossings returns where the edges of rings cross the line at x, in order. An edge
// counts when x is at or beyond its west end and before its east end, so there is
// an even number and a lane along an edge is inside on one side only.
func crossings(rings []grid.Ring, x float64) []float64 {
	var ys []float64
	for _, r := range rings {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			if (a.X <= x) != (b.X <= x) {
				ys = append(ys, a.Y+float64((x-a.X)/(b.X-a.X)*(b.Y-a.Y)))
			}
		}
	}
	slices.Sort(ys)
	return ys
}

// LaidOut returns the lanes of laid-out ground as lines to sweep for one session,
// nil when its walk does not confirm them, and the share by which it does; both as
// [Confirmed] says. Whether the ground was declared for this session is not
// looked at. The ends of a lane are on the rim of the ground, so a swath's round
// ends reach beyond it.
func LaidOut(w track.Walk, l site.LocalLaidOut, errM float64) (lanes [][2]grid.XY, share float64) {
	lanes = LaidOutLanes(l.Polygon, l.SpacingM, l.DirectionDeg)
	metres := 0.0
	for _, s := range lanes {
		metres += distance(s[0], s[1])
	}
	share, ok := Confirmed(w, l.Polygon, metres, errM)
	if !ok {
		return nil, share
	}
	return lanes, share
}

// Wander returns the line a walker may have taken along a lane, a point every half
// metre: it leaves the lane sideways by a first-order Gauss-Markov process along it,
// of standard deviation sdM and correlation exp(-d / 1.5 m) over d metres. Nobody
// walks a string line exactly, and swept as drawn, lanes hardly narrower than the
// swath over-claim. One state of rng gives one line.
func Wander(lane [2]grid.XY, sdM float64, rng *rand.Rand) []grid.XY {
	length := distance(lane[0], lane[1])
	if length == 0 {
		return []grid.XY{lane[0]}
	}
	n := int(math.Ceil(length / wanderStepM))
	dx, dy := (lane[1].X-lane[0].X)/length, (lane[1].Y-lane[0].Y)/length
	keep := math.Exp(-length / float64(n) / wanderScaleM)
	fresh := sdM * math.Sqrt(1-keep*keep)
	out := make([]grid.XY, n+1)
	off := sdM * rng.NormFloat64()
	for i := range out {
		at := length * float64(i) / float64(n)
		out[i] = grid.XY{
			X: lane[0].X + float64(at*dx) - float64(off*dy),
			Y: lane[0].Y + float64(at*dy) + float64(off*dx),
		}
		off = float64(keep*off) + float64(fresh*rng.NormFloat64())
	}
	return out
}

// Confirmed reports whether a walk's log confirms that lanes of lanesM metres in
// all were walked in p: the share of the time they take that was spent searching
// inside p, and whether it is at least 0.7. The time they take is lanesM at the
// median pace of that searching, its displacement over 10 s. Inside means at most
// errM metres outside: the receiver's standard deviation per axis. The share passes 1
// where ground was searched longer; it is 0 where nothing was searched, and for
// paths without times. Where inside p the walker went is not looked at: that is
// what the declaration is for. O(points x vertices).
func Confirmed(w track.Walk, p grid.Polygon, lanesM, errM float64) (share float64, ok bool) {
	var seconds float64
	var paces []float64
	for _, path := range w.Paths {
		for _, l := range path.Legs {
			if path.Timed && l.Kind == track.Searching {
				s, ps := inside(p, path.Line(l), errM)
				seconds, paces = seconds+s, append(paces, ps...)
			}
		}
	}
	if len(paces) == 0 || !(lanesM > 0) {
		return 0, false
	}
	slices.Sort(paces)
	share = seconds * paces[len(paces)/2] / lanesM
	return share, share >= confirmShare
}

// inside returns the seconds of a line that ended in p or at most m metres from its
// rim, and the pace at each point there.
func inside(p grid.Polygon, line []track.Point, m float64) (seconds float64, paces []float64) {
	for i, from := 1, 0; i < len(line); i++ {
		for from+1 < i && line[i].T.Sub(line[from+1].T) >= paceS {
			from++
		}
		if !near(p, line[i].XY, m) {
			continue
		}
		seconds += line[i].T.Sub(line[i-1].T)
		if s := line[i].T.Sub(line[from].T); s >= paceS {
			paces = append(paces, distance(line[from].XY, line[i].XY)/s)
		}
	}
	return seconds, paces
}

// near reports whether q is inside p or at most m metres from its rim.
func near(p grid.Polygon, q grid.XY, m float64) bool {
	inside := false
	for _, r := range append([]grid.Ring{p.Outer}, p.Holes...) {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			if toSegment(q, a, b) <= m {
				return true
			}
			if (a.Y <= q.Y) != (b.Y <= q.Y) && q.X < a.X+(q.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
				inside = !inside
			}
		}
	}
	return inside
}

// toSegment is the distance from q to the segment from a to b.
func toSegment(q, a, b grid.XY) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	f := ((q.X-a.X)*dx + (q.Y-a.Y)*dy) / (dx*dx + dy*dy)
	f = math.Max(0, math.Min(f, 1)) // NaN for a segment that is a point
	if math.IsNaN(f) {
		f = 0
	}
	return math.Hypot(q.X-a.X-f*dx, q.Y-a.Y-f*dy)
}
