// Package check makes walks with known truth, for tests and for the demo: a
// seeded walker and the receiver that logs it. Start at [Simulate]; its
// subpackage golden compares files.
package check

import (
	"math"
	"math/rand/v2"

	"untrod/grid"
	"untrod/track"
)

// Style is the way ground is searched.
type Style uint8

const (
	Winding Style = iota // slow weaving to wherever was trodden least
	Lanes                // parallel lanes LaneM apart, to and fro
	Spiral               // rings LaneM apart, inwards to the middle of the patch
)

var styleNames = [...]string{"winding", "lanes", "spiral"}

func (s Style) String() string { return styleNames[s] }

// WalkSettings describe one visit. Start from [DefaultWalk].
type WalkSettings struct {
	Seed        uint64
	Style       Style
	Boundary    []grid.Polygon // searching stays inside one of these; none: no limit
	Keepouts    []grid.Polygon // never entered
	Patch       grid.Bounds    // the part worked in this visit, in metres
	Gate        grid.XY        // where the walk in begins and the walk out ends
	Stops       []grid.XY      // stood at for a minute each on the walk in
	Start       track.Instant
	Seconds     int     // the whole visit; lanes and spirals end sooner when all is walked
	SearchMS    float64 // mean searching pace
	WalkMS      float64 // mean walking pace
	LaneM       float64 // distance between lanes or rings
	DigsPerHour float64 // mean number, per hour of searching
	DigMinS     float64 // shortest dig
	DigMaxS     float64 // longest dig; durations are uniform between
	Receiver    Receiver
}

// DefaultWalk is an hour of winding search at 0.4 m/s in a 40 m square round
// the origin, with six digs an hour, logged under open sky.
func DefaultWalk() WalkSettings {
	return WalkSettings{
		Patch: grid.Bounds{Min: grid.XY{X: -20, Y: -20}, Max: grid.XY{X: 20, Y: 20}},
		Gate:  grid.XY{X: -60, Y: -30}, Start: 1_750_000_000_000,
		Seconds: 3600, SearchMS: 0.4, WalkMS: 1.25, LaneM: 1.4,
		DigsPerHour: 6, DigMinS: 60, DigMaxS: 300, Receiver: OpenSky,
	}
}

// Second is where the walker truly was, and doing what, at one second.
type Second struct {
	grid.XY
	Kind track.Kind // Searching, Walking or Standing
}

// Visit is a simulated visit: the truth at 1 Hz from Start on, and the log.
type Visit struct {
	Start track.Instant
	True  []Second
	Log   []track.Point   // as the receiver gives it, in metres
	Stops []track.Instant // the middle of each of the stops on the walk in
}

// Simulate walks one visit and logs it. Everything is in a frame's metres until
// [Fixes] puts it in degrees. One seed gives one visit.
func Simulate(s WalkSettings) Visit {
	w := walker{set: s, pos: s.Gate, trodden: map[[2]int]int{}, rng: rand.New(rand.NewPCG(s.Seed, 1))}
	w.visit()
	v := Visit{Start: s.Start, True: w.true}
	for _, second := range w.stops {
		v.Stops = append(v.Stops, s.Start+track.Instant(1000*second))
	}
	v.Log = s.Receiver.Log(v, rand.New(rand.NewPCG(s.Seed, 2)))
	return v
}

// KindAt is what the walker truly did at t: the kind of the second that t ends.
func (v Visit) KindAt(t track.Instant) track.Kind {
	i := int(math.Ceil(t.Sub(v.Start)))
	return v.True[min(max(i, 0), len(v.True)-1)].Kind
}

// TrueLines are the stretches truly searched, one point a second. Each begins
// with the point that led into it.
func (v Visit) TrueLines() [][]grid.XY {
	var out [][]grid.XY
	for i, s := range v.True {
		if s.Kind != track.Searching {
			continue
		}
		if i == 0 || v.True[i-1].Kind != track.Searching {
			out = append(out, []grid.XY{v.True[max(i-1, 0)].XY})
		}
		out[len(out)-1] = append(out[len(out)-1], s.XY)
	}
	return out
}
