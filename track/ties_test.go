package track_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/internal/check"
	"untrod/track"
)

// stopWalk walks 20 s at half a metre a second, stands at x = 10 for standS
// seconds, and walks on for 20 s. The receiver puts everything 2 m too far north.
func stopWalk(standS int) track.Walk {
	var ps []track.Point
	add := func(x float64) {
		ps = append(ps, track.Point{XY: grid.XY{X: x, Y: 2}, T: t0 + track.Instant(1000*len(ps))})
	}
	for i := range 20 {
		add(float64(i) / 2)
	}
	for range standS {
		add(10)
	}
	for i := range 20 {
		add(10 + float64(i+1)/2)
	}
	return track.Walk{Paths: []track.Path{{Points: ps, Timed: true, Legs: []track.Leg{
		{Kind: track.Searching, From: 0, To: 21}, {Kind: track.Standing, From: 21, To: 20 + standS},
		{Kind: track.Searching, From: 20 + standS, To: len(ps)},
	}}}}
}

func TestFindTies(t *testing.T) {
	post := track.MarkAt{Name: "Post", XY: grid.XY{X: 10}}
	stone := track.MarkAt{Name: "stone", XY: grid.XY{X: 13}}
	far := track.MarkAt{Name: "post", XY: grid.XY{X: 40}}
	wp := func(name string, s int) track.Waypoint {
		return track.Waypoint{Name: name, Fix: track.Fix{T: t0 + track.Instant(1000*s)}}
	}
	at := func(m track.MarkAt, s, x, sd float64) []track.Tie {
		return []track.Tie{{T: t0 + track.Instant(1000*s), Logged: grid.XY{X: x, Y: 2}, True: m.XY, SdM: sd, Mark: m.Name}}
	}
	none := []track.MarkAt{}
	for name, c := range map[string]struct {
		standS    int
		marks     []track.MarkAt
		waypoints []track.Waypoint
		want      []track.Tie
	}{
		"stop at a mark":                   {41, []track.MarkAt{post}, nil, at(post, 40, 10, 6)},
		"stop too short":                   {20, []track.MarkAt{post}, nil, nil},
		"no marks":                         {41, none, []track.Waypoint{wp("post", 40)}, nil},
		"mark out of reach":                {41, []track.MarkAt{{Name: "Post", XY: grid.XY{X: 17}}}, nil, nil},
		"two marks near":                   {41, []track.MarkAt{post, stone}, nil, nil},
		"two marks near, one named":        {41, []track.MarkAt{post, stone}, []track.Waypoint{wp(" STONE", 30)}, at(stone, 40, 10, 0.5)},
		"named at a short stop":            {20, []track.MarkAt{post}, []track.Waypoint{wp("post", 25)}, at(post, 29.5, 10, 0.5)},
		"named on the move":                {20, []track.MarkAt{stone}, []track.Waypoint{wp("stone", 44)}, at(stone, 44, 12.5, 0.5)},
		"named beyond reach of a stop":     {41, []track.MarkAt{far}, []track.Waypoint{wp("post", 30)}, at(far, 40, 10, 0.5)},
		"named, but too far off":           {41, []track.MarkAt{{Name: "post", XY: grid.XY{X: 61}}}, []track.Waypoint{wp("post", 30)}, nil},
		"name of two marks: the nearest":   {41, []track.MarkAt{far, post}, []track.Waypoint{wp("post", 30)}, at(post, 40, 10, 0.5)},
		"other name, short stop at a mark": {20, []track.MarkAt{post}, []track.Waypoint{wp("find 7", 25)}, at(post, 29.5, 10, 6)},
		"no name, no mark name":            {41, []track.MarkAt{{XY: grid.XY{X: 10}}}, []track.Waypoint{wp("", 30)}, at(track.MarkAt{XY: grid.XY{X: 10}}, 40, 10, 6)},
		"waypoint without time":            {20, []track.MarkAt{post}, []track.Waypoint{{Name: "post", Fix: track.NoFix}}, nil},
		"waypoint of another day":          {20, []track.MarkAt{post}, []track.Waypoint{wp("post", 86400)}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, c.want, track.FindTies(stopWalk(c.standS), c.marks, c.waypoints, track.DefaultTies(1.6)))
		})
	}
}

func TestFindTiesTakesNoUntimedPaths(t *testing.T) {
	w := stopWalk(60)
	w.Paths[0].Timed = false
	require.Empty(t, track.FindTies(w, []track.MarkAt{{Name: "post", XY: grid.XY{X: 10}}}, nil, track.DefaultTies(1.6)))
}

func TestDefaultTies(t *testing.T) {
	require.Equal(t, track.TieSettings{ReachM: 6, MinStandS: 20, NamedSdM: 0.5, NamedReachM: 50}, track.DefaultTies(1.6))
	require.InDelta(t, 11.7, track.DefaultTies(3.9).ReachM, 1e-9)
}

// Where every stop near a mark is a dig, none a visit to it, blending the log with
// the ties by their spreads leaves positions as good as they were.
func TestStandingTiesDoNoHarm(t *testing.T) {
	f := localFrame(t)
	marks := []track.MarkAt{{Name: "post"}, {Name: "stone", XY: grid.XY{X: 15, Y: 12}}}
	for name, c := range map[string]struct {
		receiver check.Receiver
		errM     float64
	}{"open": {check.OpenSky, 1.6}, "light canopy": {check.LightCanopy, 3.9}} {
		t.Run(name, func(t *testing.T) {
			var n, logged, blended float64
			for seed := range uint64(60) {
				set := check.DefaultWalk()
				set.Seed, set.Receiver, set.DigsPerHour = seed, c.receiver, 20
				v := check.Simulate(set)
				w := track.NewWalk(f, [][]track.Fix{check.Fixes(f, v.Log)}, track.DefaultSettings())
				for _, tie := range track.FindTies(w, marks, nil, track.DefaultTies(c.errM)) {
					q, pull := v.True[int(tie.T.Sub(v.Start))].XY, 1/(1+math.Pow(tie.SdM/c.errM, 2))
					ex, ey := tie.Logged.X-q.X, tie.Logged.Y-q.Y
					logged += ex*ex + ey*ey
					ex, ey = ex+pull*(tie.True.X-tie.Logged.X), ey+pull*(tie.True.Y-tie.Logged.Y)
					blended += ex*ex + ey*ey
					n++
				}
			}
			t.Logf("%.0f ties: logged off by %.2f m rms per axis, blended %.2f m", n, math.Sqrt(logged/n/2), math.Sqrt(blended/n/2))
			require.Greater(t, n, 20.0)
			require.Less(t, math.Sqrt(blended), 1.03*math.Sqrt(logged))
		})
	}
}
