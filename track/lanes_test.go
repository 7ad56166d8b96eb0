package track_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/internal/check"
	"untrod/track"
)

// laneWalk is a simulated visit to a patch of random size, spacing, pace and
// direction, an hour or more of it when winding.
type laneWalk struct {
	walk         track.Walk
	lanes        int
	spacingM     float64
	directionDeg float64
}

func newLaneWalk(f grid.Frame, style check.Style, r check.Receiver, seed uint64) laneWalk {
	rng := rand.New(rand.NewPCG(seed, 3))
	set := check.DefaultWalk()
	w, h := 15+30*rng.Float64(), 10+30*rng.Float64()
	set.Seed, set.Style, set.Receiver, set.Seconds = seed, style, r, 4*3600
	set.Patch = grid.Bounds{Min: grid.XY{X: -w / 2, Y: -h / 2}, Max: grid.XY{X: w / 2, Y: h / 2}}
	set.LaneM, set.SearchMS = 1+rng.Float64(), 0.3+0.3*rng.Float64()
	if style == check.Winding {
		set.Seconds = 3600 + rng.IntN(7200)
	}
	v := check.Simulate(set)
	east := 180 * rng.Float64() // degrees by which everything is turned left
	turnLog(v.Log, east)
	return laneWalk{
		walk:     track.NewWalk(f, [][]track.Fix{check.Fixes(f, v.Log)}, track.DefaultSettings()),
		lanes:    int(math.Ceil(h/set.LaneM - 0.5)), // rows whose middle lies in the patch
		spacingM: set.LaneM, directionDeg: math.Mod(270-east, 180),
	}
}

func turnLog(ps []track.Point, deg float64) {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	for i, p := range ps {
		ps[i].XY = grid.XY{X: p.X*cos - p.Y*sin, Y: p.X*sin + p.Y*cos}
	}
}

// longest is the block with the most lanes.
func longest(bs []track.LaneBlock) (best track.LaneBlock) {
	for _, b := range bs {
		if b.Lanes > best.Lanes {
			best = b
		}
	}
	return best
}

func TestFindLaneBlocks(t *testing.T) {
	t.Parallel()
	f := localFrame(t)
	foreign := check.LightCanopy
	foreign.PinAtRest, foreign.JumpsPerHour, foreign.SilencesPerHour = true, 10, 6
	rough, sparse := check.OpenSky, check.OpenSky
	rough.WhiteM, sparse.EveryS = 0.5, 10
	const walks = 60
	for _, c := range []struct {
		name           string
		receiver       check.Receiver
		found, exact   int     // at least, of walks; exact in count
		spacing, angle float64 // root mean square errors at most: m, degrees
	}{
		{"open", check.OpenSky, 58, 57, 0.2, 1.2},
		{"light canopy", check.LightCanopy, 51, 48, 0.5, 2},
		{"pinned, with jumps and silences", foreign, 50, 20, 0.5, 3},
		{"rough", rough, 57, 50, 0.2, 1.2},
		{"every 10 s", sparse, 57, 52, 0.25, 1.5},
	} {
		t.Run(c.name, func(t *testing.T) {
			var found, exact int
			var spacing, wide, angle, scores []float64
			for seed := range uint64(walks) {
				l := newLaneWalk(f, check.Lanes, c.receiver, seed)
				b := longest(track.FindLaneBlocks(l.walk))
				if b.Lanes == 0 {
					continue
				}
				found++
				if b.Lanes == l.lanes {
					exact++
					scores = append(scores, (b.SpacingM-l.spacingM)/b.SpacingSdM)
				}
				spacing = append(spacing, b.SpacingM-l.spacingM)
				if l.lanes >= 15 {
					wide = append(wide, b.SpacingM-l.spacingM)
				}
				angle = append(angle, math.Remainder(b.DirectionDeg-l.directionDeg, 180))
			}
			t.Logf("found %d of %d, count exact in %d, spacing %.3f m rms (15 lanes or more: %.3f m), direction %.2f degrees rms",
				found, walks, exact, rms(spacing), rms(wide), rms(angle))
			require.GreaterOrEqual(t, found, c.found)
			require.GreaterOrEqual(t, exact, c.exact)
			require.Less(t, rms(spacing), c.spacing)
			require.Less(t, rms(angle), c.angle)
			require.InDelta(t, 1, rms(scores), 0.35, "the stated standard error is the true one")
		})
	}
}

func rms(xs []float64) float64 {
	sum := 0.0
	for _, x := range xs {
		sum += x * x
	}
	return math.Sqrt(sum / float64(len(xs)))
}

// Winding and spiral walks hold no lanes, but for a few zigzags by chance: under 2 %
// of visits.
func TestFindLaneBlocksInOtherWalks(t *testing.T) {
	t.Parallel()
	f := localFrame(t)
	for _, c := range []struct {
		name  string
		style check.Style
		walks int
	}{{"winding", check.Winding, 100}, {"spiral", check.Spiral, 30}} {
		t.Run(c.name, func(t *testing.T) {
			alarms, walks := 0, 0
			for _, r := range []check.Receiver{check.OpenSky, check.LightCanopy} {
				for seed := range uint64(c.walks) {
					walks++
					if len(track.FindLaneBlocks(newLaneWalk(f, c.style, r, seed).walk)) > 0 {
						alarms++
					}
				}
			}
			t.Logf("%d false alarms in %d walks", alarms, walks)
			require.Less(t, float64(alarms), 0.02*float64(walks))
		})
	}
}

// plainLanes walks n lanes of 20 m eastward and back, 2 m apart, at half a metre a
// second, without error.
func plainLanes(n int) []track.Point {
	var ps []track.Point
	add := func(x, y float64) {
		ps = append(ps, track.Point{XY: grid.XY{X: x, Y: y}, T: t0 + track.Instant(1000*len(ps))})
	}
	for row := range n {
		for i := 0; i <= 40; i++ {
			x := float64(i) / 2
			if row%2 == 1 {
				x = 20 - x
			}
			add(x, 2*float64(row))
		}
		for k := 1; k < 4 && row < n-1; k++ {
			add(ps[len(ps)-1].X, 2*float64(row)+float64(k)/2)
		}
	}
	return ps
}

func walkOf(ps []track.Point, k track.Kind) track.Walk {
	return track.Walk{Paths: []track.Path{{Points: ps, Timed: ps[0].T.Known(), Legs: []track.Leg{{Kind: k, To: len(ps)}}}}}
}

func TestFindLaneBlocksOfPlainLanes(t *testing.T) {
	ps := plainLanes(10)
	bs := track.FindLaneBlocks(walkOf(ps, track.Searching))
	require.Len(t, bs, 1)
	b := bs[0]
	require.Equal(t, 10, b.Lanes)
	require.InDelta(t, 2, b.SpacingM, 0.02)
	require.InDelta(t, 90, b.DirectionDeg, 0.5)
	require.Equal(t, ps[0].T, b.From)
	require.Equal(t, ps[len(ps)-1].T, b.To)
	for i, want := range []grid.XY{{X: 0, Y: -1}, {X: 20, Y: -1}, {X: 20, Y: 19}, {X: 0, Y: 19}} {
		require.InDelta(t, want.X, b.Corners[i].X, 0.25)
		require.InDelta(t, want.Y, b.Corners[i].Y, 0.25)
	}
}

func TestFindLaneBlocksCases(t *testing.T) {
	straight := plainLanes(1)
	same := plainLanes(8) // one line, walked again and again
	for i := range same {
		same[i].Y = 0
	}
	untimed := plainLanes(8)
	for i := range untimed {
		untimed[i].T = track.NoTime
	}
	parted := walkOf(plainLanes(8), track.Searching)
	n := len(parted.Paths[0].Points)
	parted.Paths[0].Legs = []track.Leg{
		{Kind: track.Searching, To: n/2 - 30}, {Kind: track.Walking, From: n/2 - 30, To: n / 2}, {Kind: track.Searching, From: n / 2, To: n},
	}
	for name, c := range map[string]struct {
		walk track.Walk
		want []int // lanes of each block
	}{
		"nothing":                 {track.Walk{}, nil},
		"one fix":                 {walkOf(straight[:1], track.Searching), nil},
		"all fixes equal":         {walkOf([]track.Point{straight[0], straight[0], straight[0]}, track.Searching), nil},
		"one line":                {walkOf(straight, track.Searching), nil},
		"three lanes":             {walkOf(plainLanes(3), track.Searching), nil},
		"four lanes":              {walkOf(plainLanes(4), track.Searching), []int{4}},
		"the same line":           {walkOf(same, track.Searching), nil},
		"walking, not searching":  {walkOf(plainLanes(8), track.Walking), nil},
		"without times":           {walkOf(untimed, track.Searching), []int{8}},
		"parted by a longer walk": {parted, []int{4}},
	} {
		t.Run(name, func(t *testing.T) {
			var got []int
			for _, b := range track.FindLaneBlocks(c.walk) {
				got = append(got, b.Lanes)
			}
			require.Equal(t, c.want, got)
		})
	}
}

// A ground survey of 17 lines (MANIFEST.md of the shared data), walked at 1.14 m/s.
func TestFindLaneBlocksInSurvey(t *testing.T) {
	segments, f := sharedTrack(t, "walks/em38/em38_demo.gpx")
	set := track.DefaultSettings()
	set.Legs.SearchMaxMS = 1.5
	bs := track.FindLaneBlocks(track.NewWalk(f, segments, set))
	require.Len(t, bs, 1)
	t.Logf("%d lanes %.2f m apart, direction %.1f degrees", bs[0].Lanes, bs[0].SpacingM, bs[0].DirectionDeg)
	require.Equal(t, 17, bs[0].Lanes)
	require.InDelta(t, 35.0/17, bs[0].SpacingM, 0.3) // the log's box is 36 by 35 m
}

// Turning the log turns the block; running it backwards keeps it.
func TestFindLaneBlocksTurnsWithTheLog(t *testing.T) {
	for _, deg := range []float64{0, 17, 90, 133, 179, 270} {
		ps := plainLanes(9)
		turnLog(ps, deg)
		b := longest(track.FindLaneBlocks(walkOf(ps, track.Searching)))
		require.Equal(t, 9, b.Lanes)
		require.InDelta(t, 0, math.Remainder(b.DirectionDeg-(90-deg), 180), 0.5)
		require.GreaterOrEqual(t, b.DirectionDeg, 0.0)
		require.Less(t, b.DirectionDeg, 180.0)
		require.InDelta(t, 20*18, grid.Ring(b.Corners[:]).Area(), 12, "counter-clockwise")

		back := plainLanes(9)
		turnLog(back, deg)
		for i := range back {
			back[i].XY = ps[len(ps)-1-i].XY
		}
		require.InDelta(t, b.SpacingM, longest(track.FindLaneBlocks(walkOf(back, track.Searching))).SpacingM, 0.005)
	}
}
