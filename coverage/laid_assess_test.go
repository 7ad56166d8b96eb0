package coverage_test

import (
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check"
	"untrod/site"
	"untrod/track"
)

// lightLanes is one visit of lanes 1.4 m apart over 30 m by 25 m, under light
// canopy.
func lightLanes() check.Visit {
	s := check.DefaultWalk()
	s.Style, s.Seconds, s.Receiver = check.Lanes, 7200, check.LightCanopy
	s.Patch = grid.Bounds{Min: grid.XY{X: 5, Y: 5}, Max: grid.XY{X: 35, Y: 30}}
	s.Gate, s.DigsPerHour = grid.XY{}, 0
	return check.Simulate(s)
}

func laneSource(t *testing.T, v check.Visit) coverage.Source {
	f, err := grid.NewFrame(datum)
	require.NoError(t, err)
	var b writer
	require.NoError(t, check.WriteGPX(&b, "lanes", check.Fixes(f, v.Log)))
	return text("lanes.gpx", string(b))
}

type writer []byte

func (w *writer) Write(p []byte) (int, error) { *w = append(*w, p...); return len(p), nil }

func light(s *coverage.Settings) {
	s.SwathM = 1.5
	s.Position.Canopy, s.Position.Draws = "light", 60
	s.Position.Receiver, _ = track.Canopy("light")
}

func TestLaidOutGroundCountsWhenTheLogConfirmsIt(t *testing.T) {
	v := lightLanes()
	log, s := laneSource(t, v), squareSite(t, 40)
	plain := assess(t, s, light, log)
	require.NotEmpty(t, plain.Lanes, "the lanes are proposed")
	require.Empty(t, plain.LaidOut, "and never assumed")

	f, err := grid.NewFrame(datum)
	require.NoError(t, err)
	ground := site.FromWalks([]grid.Polygon{{Outer: box(5, 5, 35, 30)}}, f, "lanes").Boundary[0]
	s.LaidOut = []site.LaidOut{{Area: ground, SpacingM: 1.4, Session: "lanes.gpx"}}
	declared := assess(t, s, light, log)
	require.Len(t, declared.LaidOut, 1)
	require.True(t, declared.LaidOut[0].Confirmed)
	truth := grid.NewMask(declared.Spec)
	origin := declared.Frame.ToXY(datum) // the walk's own
	for _, l := range v.TrueLines() {
		for i := range l {
			l[i] = l[i].Plus(origin)
		}
		coverage.Sweep(truth, l, 0.75)
	}
	truth.And(declared.Searchable)
	percent := 100 * float64(truth.Count()) / float64(declared.Searchable.Count())
	require.Greater(t, declared.Certainty.ExpectedPercent, plain.Certainty.ExpectedPercent+3)
	require.InDelta(t, percent, declared.Certainty.ExpectedPercent, 5)

	accepted := assess(t, squareSite(t, 40), func(s *coverage.Settings) { light(s); s.LaidOut = []string{"lanes"} }, log)
	require.True(t, accepted.LaidOut[0].Confirmed)
	require.Greater(t, accepted.Certainty.ExpectedPercent, plain.Certainty.ExpectedPercent)

	far := squareSite(t, 40)
	for i := range far.Boundary[0].Outer {
		far.Boundary[0].Outer[i].Lat += 0.003
	}
	require.Empty(t, assess(t, far, light, log).Lanes, "nor proposed where the visit is nowhere on the site")

	s.LaidOut[0].Session = "another visit"
	require.Empty(t, assess(t, s, light, log).LaidOut)
}

func TestTiesAreFoundAndTold(t *testing.T) {
	s := squareSite(t, 60)
	f, err := grid.NewFrame(datum)
	require.NoError(t, err)
	line := lane(10, 30, 50, 30)
	s.Landmarks = []site.Landmark{{Name: "Old Stone", Mark: true, Points: []grid.LonLat{f.ToLonLat(grid.XY{X: 20, Y: 34})}}}
	log := gpx("walk.gpx", day, line)
	r := assess(t, s, light, log)
	require.Zero(t, r.Sessions[0].Ties)
	require.NotNil(t, r.Certainty)
	p := f.ToLonLat(line[20])
	with := text("walk.gpx", sprintWaypoint(t, log, p, day.Add(20e9)))
	r = assess(t, s, light, with)
	require.Equal(t, 1, r.Sessions[0].Ties, "a waypoint named as the mark")
	require.Greater(t, r.Sessions[0].TieM, 0.5)
}

// sprintWaypoint is a log with a waypoint at the mark added.
func sprintWaypoint(t *testing.T, log coverage.Source, p grid.LonLat, at time.Time) string {
	in, err := log.Open()
	require.NoError(t, err)
	b, err := io.ReadAll(in)
	require.NoError(t, err)
	w := fmt.Sprintf(`<wpt lat="%.9f" lon="%.9f"><time>%s</time><name>old stone</name></wpt><trk>`,
		p.Lat, p.Lon, at.Format(time.RFC3339))
	return strings.Replace(string(b), "<trk>", w, 1)
}
