package coverage_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check"
	"untrod/site"
	"untrod/track"
)

func TestLaidOutLanes(t *testing.T) {
	square := grid.Polygon{Outer: box(0, 0, 10, 6)}
	holed := grid.Polygon{Outer: box(0, 0, 10, 6), Holes: []grid.Ring{box(4, 2, 5, 4)}}
	for name, c := range map[string]struct {
		p                  grid.Polygon
		spacing, direction float64
		want               [][2]grid.XY
	}{
		"north": {square, 5, 0, [][2]grid.XY{{{X: 2.5, Y: 0}, {X: 2.5, Y: 6}}, {{X: 7.5, Y: 0}, {X: 7.5, Y: 6}}}},
		"east": {square, 2, 90, [][2]grid.XY{
			{{X: 0, Y: 5}, {X: 10, Y: 5}}, {{X: 0, Y: 3}, {X: 10, Y: 3}}, {{X: 0, Y: 1}, {X: 10, Y: 1}}}},
		"width no whole number":      {square, 4, 0, [][2]grid.XY{{{X: 1, Y: 0}, {X: 1, Y: 6}}, {{X: 5, Y: 0}, {X: 5, Y: 6}}, {{X: 9, Y: 0}, {X: 9, Y: 6}}}},
		"narrower than the spacing":  {square, 20, 0, [][2]grid.XY{{{X: 5, Y: 0}, {X: 5, Y: 6}}}},
		"hole":                       {holed, 3, 0, [][2]grid.XY{{{X: 2, Y: 0}, {X: 2, Y: 6}}, {{X: 5, Y: 0}, {X: 5, Y: 6}}, {{X: 8, Y: 0}, {X: 8, Y: 6}}}},
		"hole on a lane":             {holed, 10, 90, [][2]grid.XY{{{X: 0, Y: 3}, {X: 4, Y: 3}}, {{X: 5, Y: 3}, {X: 10, Y: 3}}}},
		"empty":                      {grid.Polygon{}, 1, 0, nil},
		"north is also 180 degrees":  {square, 5, 180, [][2]grid.XY{{{X: 7.5, Y: 6}, {X: 7.5, Y: 0}}, {{X: 2.5, Y: 6}, {X: 2.5, Y: 0}}}},
		"vertex counted once, wedge": {grid.Polygon{Outer: grid.Ring{{X: 0, Y: 0}, {X: 4, Y: 0}, {X: 2, Y: 3}}}, 4, 0, [][2]grid.XY{{{X: 2, Y: 0}, {X: 2, Y: 3}}}},
	} {
		t.Run(name, func(t *testing.T) {
			got := coverage.LaidOutLanes(c.p, c.spacing, c.direction)
			require.Len(t, got, len(c.want))
			for i, w := range c.want {
				for k := range 2 {
					require.InDelta(t, w[k].X, got[i][k].X, 1e-9, "lane %d", i)
					require.InDelta(t, w[k].Y, got[i][k].Y, 1e-9, "lane %d", i)
				}
			}
		})
	}
	require.Panics(t, func() { coverage.LaidOutLanes(square, 0, 0) })
}

// Strips one spacing wide round the lanes have the area of the polygon, nearly: the
// sum over equally spaced lines is a midpoint rule for it.
func TestLaidOutLanesFillThePolygon(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 12).Draw(t, "vertices")
		var ring grid.Ring
		for i := range n { // star-shaped round the origin, so simple
			r := rapid.Float64Range(10, 40).Draw(t, "radius")
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			ring = append(ring, grid.XY{X: r * cos, Y: r * sin})
		}
		p := grid.Polygon{Outer: ring}
		const spacing = 0.05
		metres := 0.0
		for _, l := range coverage.LaidOutLanes(p, spacing, rapid.Float64Range(0, 180).Draw(t, "direction")) {
			metres += math.Hypot(l[1].X-l[0].X, l[1].Y-l[0].Y)
		}
		require.InEpsilon(t, p.Area(), metres*spacing, 0.01)
	})
}

// laneVisit walks lanes in a patch of 30 m, in the receiver's log and in true lines.
func laneVisit(f grid.Frame, style check.Style, r check.Receiver, seed uint64) (track.Walk, check.Visit) {
	set := check.DefaultWalk()
	set.Seed, set.Style, set.Receiver, set.Seconds = seed, style, r, 2*3600
	set.Patch = grid.Bounds{Min: grid.XY{X: -15, Y: -15}, Max: grid.XY{X: 15, Y: 15}}
	v := check.Simulate(set)
	return track.NewWalk(f, [][]track.Fix{check.Fixes(f, v.Log)}, track.DefaultSettings()), v
}

func laidOut(x0, y0, x1, y1 float64) site.LocalLaidOut {
	return site.LocalLaidOut{
		LaidOut: site.LaidOut{SpacingM: 1.4, DirectionDeg: 90},
		Polygon: grid.Polygon{Outer: box(x0, y0, x1, y1)},
	}
}

// A log confirms lanes that were walked, and not those of the ground next to it
// or of ground twice as large.
func TestLaidOutConfirmed(t *testing.T) {
	f, err := grid.NewFrame(datum)
	require.NoError(t, err)
	const walks = 40
	for name, c := range map[string]struct {
		receiver check.Receiver
		errM     float64
		least    int // confirmed, of walks
	}{"open": {check.OpenSky, 1.6, 40}, "light canopy": {check.LightCanopy, 3.9, 39}} {
		t.Run(name, func(t *testing.T) {
			var walked, beside, twice int
			lowest := math.Inf(1)
			for seed := range uint64(walks) {
				w, _ := laneVisit(f, check.Lanes, c.receiver, seed)
				lanes, share := coverage.LaidOut(w, laidOut(-15, -15, 15, 15), c.errM)
				lowest = math.Min(lowest, share)
				if lanes != nil {
					walked++
					require.Len(t, lanes, 21) // 30 m / 1.4 m
				}
				if lanes, _ := coverage.LaidOut(w, laidOut(-15, 17, 15, 47), c.errM); lanes != nil {
					beside++
				}
				if lanes, _ := coverage.LaidOut(w, laidOut(-15, -15, 15, 45), c.errM); lanes != nil {
					twice++
				}
			}
			t.Logf("confirmed: walked %d (least share %.2f), beside %d, twice as large %d, of %d", walked, lowest, beside, twice, walks)
			require.GreaterOrEqual(t, walked, c.least)
			require.Zero(t, beside)
			require.Zero(t, twice)
		})
	}
}

// Where lanes were walked to a line, the declared lanes, walked as people walk, are
// nearer to the truth than the log; swept as drawn they claim too much.
func TestLaidOutBeatsTheLog(t *testing.T) {
	f, err := grid.NewFrame(datum)
	require.NoError(t, err)
	ground := laidOut(-15, -15, 15, 15)
	spec := grid.SpecFor(grid.Bounds{Min: grid.XY{X: -15, Y: -15}, Max: grid.XY{X: 15, Y: 15}}, 0.1)
	inside := grid.NewMask(spec)
	inside.FillPolygon(ground.Polygon)
	percent := func(lines [][]grid.XY) float64 {
		m := grid.NewMask(spec)
		for _, l := range lines {
			coverage.Sweep(m, l, 0.75)
		}
		m.And(inside)
		return 100 * float64(m.Count()) / float64(inside.Count())
	}
	const walks = 10
	var truth, logged, drawn, walked float64
	rng := rand.New(rand.NewPCG(1, 2))
	for seed := range uint64(walks) {
		w, v := laneVisit(f, check.Lanes, check.LightCanopy, seed)
		lanes, _ := coverage.LaidOut(w, ground, 3.9)
		var straight, wandering [][]grid.XY
		for _, l := range lanes {
			straight = append(straight, l[:])
			wandering = append(wandering, coverage.Wander(l, coverage.LaneWanderM, rng))
		}
		truth += percent(v.TrueLines()) / walks
		logged += percent(searchingLines(w)) / walks
		drawn += percent(straight) / walks
		walked += percent(wandering) / walks
	}
	t.Logf("truth %.1f %%, logged %.1f %%, declared as drawn %.1f %%, as walked %.1f %%", truth, logged, drawn, walked)
	require.InDelta(t, truth, walked, 2)
	require.Less(t, math.Abs(drawn-truth), math.Abs(logged-truth)/2)
}

func searchingLines(w track.Walk) (lines [][]grid.XY) {
	for _, p := range w.Paths {
		for _, l := range p.Legs {
			if l.Kind != track.Searching {
				continue
			}
			var line []grid.XY
			for _, q := range p.Line(l) {
				line = append(line, q.XY)
			}
			lines = append(lines, line)
		}
	}
	return lines
}

func TestWander(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	lane := [2]grid.XY{{X: 10, Y: 20}, {X: 10, Y: 5020}}
	line := coverage.Wander(lane, 0.3, rng)
	require.Len(t, line, 10001)
	var squares, products float64
	for i, q := range line {
		require.InDelta(t, 20+float64(i)/2, q.Y, 1e-6)
		squares += (q.X - 10) * (q.X - 10)
		if i >= 3 {
			products += (q.X - 10) * (line[i-3].X - 10)
		}
	}
	require.InDelta(t, 0.3, math.Sqrt(squares/10001), 0.015)
	require.InDelta(t, math.Exp(-1), products/squares, 0.05) // over 1.5 m

	exact := coverage.Wander(lane, 0, rng)
	require.Equal(t, lane, [2]grid.XY{exact[0], exact[len(exact)-1]})
	require.Len(t, coverage.Wander([2]grid.XY{lane[0], lane[0]}, 1, rng), 1)
}

func TestConfirmedCases(t *testing.T) {
	p := grid.Polygon{Outer: box(0, 0, 100, 10)}
	walk := func(k track.Kind, timed bool) track.Walk {
		var ps []track.Point
		for i := range 101 { // 100 m at 0.5 m/s
			ps = append(ps, track.Point{XY: grid.XY{X: float64(i), Y: 5}, T: track.Instant(2000 * i)})
		}
		return track.Walk{Paths: []track.Path{{Points: ps, Timed: timed, Legs: []track.Leg{{Kind: k, To: 101}}}}}
	}
	for name, c := range map[string]struct {
		w      track.Walk
		p      grid.Polygon
		lanesM float64
		share  float64
		ok     bool
	}{
		"all of it":       {walk(track.Searching, true), p, 100, 1, true},
		"just enough":     {walk(track.Searching, true), p, 142, 100. / 142, true},
		"too little":      {walk(track.Searching, true), p, 150, 100. / 150, false},
		"more than all":   {walk(track.Searching, true), p, 50, 2, true},
		"only walking":    {walk(track.Walking, true), p, 100, 0, false},
		"without times":   {walk(track.Searching, false), p, 100, 0, false},
		"elsewhere":       {walk(track.Searching, true), grid.Polygon{Outer: box(0, 20, 100, 30)}, 100, 0, false},
		"within the rim":  {walk(track.Searching, true), grid.Polygon{Outer: box(0, 7, 100, 30)}, 100, 1, true},
		"in a large hole": {walk(track.Searching, true), grid.Polygon{Outer: box(-20, -20, 120, 30), Holes: []grid.Ring{box(-5, 0, 105, 10)}}, 100, 0, false},
		"no lanes":        {walk(track.Searching, true), p, 0, 0, false},
		"empty":           {track.Walk{}, p, 100, 0, false},
	} {
		t.Run(name, func(t *testing.T) {
			share, ok := coverage.Confirmed(c.w, c.p, c.lanesM, 2)
			require.InDelta(t, c.share, share, 1e-9)
			require.Equal(t, c.ok, ok)
		})
	}
}
