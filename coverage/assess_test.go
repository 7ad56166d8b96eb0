package coverage_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// The invented ground of these tests lies in mid-ocean.
var datum = grid.LonLat{Lon: -31.2, Lat: 47.3}

// squareSite is a square of the given side whose south-west corner is the datum.
func squareSite(t *testing.T, side float64, keepouts ...grid.Polygon) *site.Site {
	f, err := grid.NewFrame(datum)
	require.NoError(t, err)
	ring := func(r grid.Ring) (out []grid.LonLat) {
		for _, p := range r {
			out = append(out, f.ToLonLat(p))
		}
		return out
	}
	s := &site.Site{Name: "test square", Boundary: []site.Area{{Outer: ring(box(0, 0, side, side))}}}
	for _, k := range keepouts {
		s.Keepouts = append(s.Keepouts, site.Area{Outer: ring(k.Outer)})
	}
	return s
}

func box(x0, y0, x1, y1 float64) grid.Ring {
	return grid.Ring{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
}

// gpx writes a line as a track, walked at half a metre a second.
func gpx(name string, start time.Time, line []grid.XY) coverage.Source {
	f, _ := grid.NewFrame(datum)
	var b bytes.Buffer
	b.WriteString(`<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>`)
	for i, p := range line {
		q := f.ToLonLat(p)
		fmt.Fprintf(&b, "<trkpt lat=\"%.9f\" lon=\"%.9f\"><time>%s</time></trkpt>\n",
			q.Lat, q.Lon, start.Add(time.Duration(i)*time.Second).Format(time.RFC3339))
	}
	b.WriteString(`</trkseg></trk></gpx>`)
	return text(name, b.String())
}

func text(name, content string) coverage.Source {
	return coverage.Source{Name: name, Open: func() (io.ReadCloser, error) {
		return io.NopCloser(strings.NewReader(content)), nil
	}}
}

// lane is a straight line in steps of half a metre.
func lane(x0, y0, x1, y1 float64) (out []grid.XY) {
	n := math.Round(math.Hypot(x1-x0, y1-y0) / 0.5)
	for k := 0.0; k <= n; k++ {
		out = append(out, grid.XY{X: x0 + (x1-x0)*k/n, Y: y0 + (y1-y0)*k/n})
	}
	return out
}

// withCores runs f with so many cores.
func withCores(n int, f func()) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(n))
	f()
}

var day = time.Date(2026, 5, 2, 9, 0, 0, 0, time.UTC)

func assess(t *testing.T, s *site.Site, edit func(*coverage.Settings), logs ...coverage.Source) *coverage.Result {
	t.Helper()
	set := coverage.DefaultSettings()
	set.SwathM = 2
	if edit != nil {
		edit(&set)
	}
	r, err := coverage.Assess(context.Background(), coverage.Input{Site: s, Logs: logs}, set, nil)
	require.NoError(t, err)
	return r
}

// TestHandbookCase: 2,500 m of track, a 2 m swath and 1 ha give C = 0.5, and
// random search 39.3469 %. Z = W L: Cooper, Selected inland search theory
// definitions; 1 - exp(-C): Koopman 1946.
func TestHandbookCase(t *testing.T) {
	var line []grid.XY
	for i := range 25 { // 25 lanes of 100 m, 2 m apart; the turns lie outside
		x := 1 + 2*float64(i)
		l := lane(x, 0, x, 100)
		if i%2 == 1 {
			l = lane(x, 100, x, 0)
		}
		line = append(line, l...)
	}
	r := assess(t, squareSite(t, 100), nil, gpx("walk.gpx", day, line))
	require.InDelta(t, 10_000, r.SearchableM2, 5)
	// The 24 turns of 2 m along the rim are searched too, half of each on the site.
	require.InDelta(t, 0.5, r.CoverageFactor, 0.01)
	require.InDelta(t, 39.3469, r.RandomSearchPercent, 0.6)
	require.InDelta(t, 50.5, r.AsLoggedPercent, 0.6)
	require.Len(t, r.Gaps, 1)
	require.InDelta(t, 4950, r.Gaps[0].AreaM2, 60)
}

func TestRandomSearchTable(t *testing.T) {
	// 1 - exp(-C): Koopman 1946; the row C = 2 is worked on a search training page as 0.86.
	for c, want := range map[float64]float64{
		0.10: 0.095163, 0.25: 0.221199, 0.50: 0.393469, 0.75: 0.527633, 1: 0.632121,
		1.25: 0.713495, 1.5: 0.776870, 2: 0.864665, 2.5: 0.917915, 3: 0.950213,
	} {
		require.InDelta(t, want, coverage.RandomSearch(c), 1e-6)
	}
}

// TestOneLane: 2 r L + pi r^2 of ground, elementary geometry.
func TestOneLane(t *testing.T) {
	r := assess(t, squareSite(t, 60), nil, gpx("walk.gpx", day, lane(10, 30, 50, 30)))
	require.InDelta(t, 80+math.Pi, r.SweptM2, 0.5)
	require.InDelta(t, 100*(80+math.Pi)/3600, r.AsLoggedPercent, 0.02)
	require.Zero(t, r.RewalkedPercent)
	s := r.Sessions[0]
	require.InDelta(t, 40, s.Metres[track.Searching], 0.01)
	require.InDelta(t, 80, s.Seconds[track.Searching], 0.01)
	require.InDelta(t, 80, s.SwathM2, 0.1)
	require.Len(t, s.SHA256, 64)
	require.Equal(t, day, s.Start.Time())
}

func TestWalkingTheSameLaneAgain(t *testing.T) {
	s := squareSite(t, 60)
	first := gpx("a.gpx", day, lane(10, 30, 50, 30))
	second := gpx("b.gpx", day.AddDate(0, 0, 7), lane(50, 30, 10, 30))
	r := assess(t, s, nil, second, first) // given in the wrong order
	require.Equal(t, "a.gpx", r.Sessions[0].File)
	require.Zero(t, r.Sessions[0].RewalkedPercent)
	require.InDelta(t, 100, r.Sessions[1].RewalkedPercent, 1.5)
	require.InDelta(t, 50, r.RewalkedPercent, 1)
	require.InDelta(t, r.SweptM2, r.Sessions[0].NewGroundM2+r.Sessions[1].NewGroundM2, 1e-6)
	require.InDelta(t, r.Passes[2].Percent, r.AsLoggedPercent, 0.1)

	again := assess(t, s, nil, first, second)
	require.Equal(t, r.Passes, again.Passes)
	require.Equal(t, r.Sessions, again.Sessions)
}

func TestGroundAddsUp(t *testing.T) {
	pond := grid.Polygon{Outer: box(20, 20, 35, 30)}
	r := assess(t, squareSite(t, 60, pond), nil,
		gpx("a.gpx", day, append(lane(5, 5, 55, 40), lane(55, 40, 10, 50)...)),
		gpx("b.gpx", day.AddDate(0, 0, 1), lane(-10, 30, 70, 32)))
	a := r.Spec.CellAreaM2()
	n := func(m2 float64) int { return int(math.Round(m2 / a)) }
	gaps := 0
	for _, g := range r.Gaps {
		gaps += n(g.AreaM2)
	}
	require.Equal(t, n(r.SearchableM2), n(r.SweptM2)+gaps+n(r.Slivers.AreaM2))
	require.Equal(t, n(r.SearchableM2), n(r.BoundaryM2)-n(r.KeepoutM2))
	require.InDelta(t, 150, r.KeepoutM2, 0.2)
	sum := 0.0
	for i, p := range r.Passes {
		require.Equal(t, i, p.Passes)
		sum += p.Percent
	}
	require.InDelta(t, 100, sum, 1e-9)
	require.InDelta(t, 100-r.AsLoggedPercent, r.Passes[0].Percent, 1e-9)
	require.True(t, r.AsLoggedPercent > 0 && r.AsLoggedPercent < 100)
}

func TestNoSiteDrawsItsOwnOutline(t *testing.T) {
	r := assess(t, nil, nil, gpx("a.gpx", day, lane(0, 0, 40, 0)))
	require.True(t, r.OwnOutline)
	// Everywhere within 1 + 5 m of the lane: 2 r L + pi r^2.
	require.InEpsilon(t, 2*6*40+math.Pi*36, r.SearchableM2, 0.02)
	require.InDelta(t, 80+math.Pi, r.SweptM2, 1)
}

func TestAcross180Degrees(t *testing.T) {
	old := datum
	defer func() { datum = old }()
	for _, d := range []grid.LonLat{{Lon: 179.9998, Lat: -16}, {Lon: 20, Lat: 85}, {Lon: -180, Lat: 0}} {
		datum = d
		r := assess(t, squareSite(t, 60), nil, gpx("walk.gpx", day, lane(10, 30, 50, 30)))
		require.InDelta(t, 80+math.Pi, r.SweptM2, 0.5, "%v", d)
		r = assess(t, nil, nil, gpx("walk.gpx", day, lane(10, 30, 50, 30)))
		require.InDelta(t, 80+math.Pi, r.SweptM2, 1, "%v", d)
	}
}

func TestOddInput(t *testing.T) {
	good := gpx("good.gpx", day, lane(10, 30, 50, 30))
	s := squareSite(t, 60)
	r := assess(t, s, nil, good, text("page.gpx", "<html><body>404</body></html>"), text("void.gpx", ""),
		coverage.Source{Name: "copy.gpx", Open: good.Open})
	require.Len(t, r.Sessions, 1)
	require.Len(t, r.Skipped, 2)
	require.Equal(t, []coverage.Copy{{File: "good.gpx", Name: "good", Of: "copy.gpx", Why: coverage.SameFixes, Fixes: 81}}, r.Copies)

	far := lane(200, 30, 240, 30)
	r = assess(t, s, nil, gpx("far.gpx", day, far))
	require.Zero(t, r.SweptM2)
	require.Equal(t, track.NoteOutside, r.Notes[len(r.Notes)-1].Kind)
	require.InDelta(t, 3600, r.Gaps[0].AreaM2, 3)

	set := coverage.DefaultSettings()
	set.SwathM = 2
	run := func(ctx context.Context, s *site.Site, set coverage.Settings, logs ...coverage.Source) error {
		_, err := coverage.Assess(ctx, coverage.Input{Site: s, Logs: logs}, set, nil)
		return err
	}
	require.ErrorContains(t, run(context.Background(), s, set), "no tracks given")
	require.ErrorContains(t, run(context.Background(), s, set, text("void.gpx", "")), "void.gpx")
	all := grid.Polygon{Outer: box(-1, -1, 61, 61)}
	require.ErrorContains(t, run(context.Background(), squareSite(t, 60, all), set, good), "no searchable ground")
	stopped, cancel := context.WithCancel(context.Background())
	cancel()
	require.ErrorIs(t, run(stopped, s, set, good), context.Canceled)
	for flag, edit := range map[string]func(*coverage.Settings){
		"swath":         func(s *coverage.Settings) { s.SwathM = 50 },
		"coil":          func(s *coverage.Settings) { s.SwathM = 0 },
		"cell":          func(s *coverage.Settings) { s.CellM = 1.5 },
		"min-gap-width": func(s *coverage.Settings) { s.MinGapM = -1 },
		"min-gap-area":  func(s *coverage.Settings) { s.MinGapM2 = math.NaN() },
	} {
		bad := set
		edit(&bad)
		var e *coverage.SettingsError
		require.True(t, errors.As(run(context.Background(), s, bad, good), &e), flag)
		require.Equal(t, flag, e.Flag)
	}
}

func TestLogsWithoutTimes(t *testing.T) {
	f, _ := grid.NewFrame(datum)
	var b strings.Builder
	b.WriteString(`<gpx><trk><trkseg>`)
	for _, p := range lane(10, 30, 50, 30) {
		q := f.ToLonLat(p)
		fmt.Fprintf(&b, `<trkpt lat="%.9f" lon="%.9f"/>`, q.Lat, q.Lon)
	}
	b.WriteString(`</trkseg></trk></gpx>`)
	log := text("bare.gpx", b.String())
	s := squareSite(t, 60)
	require.Zero(t, assess(t, s, nil, log).SweptM2)
	r := assess(t, s, func(s *coverage.Settings) { s.Track.TreatAs = track.Searching }, log)
	require.InDelta(t, 80+math.Pi, r.SweptM2, 0.5)
	require.False(t, r.Sessions[0].Start.Known())
}

func TestCellIsChosenForLargeGround(t *testing.T) {
	r := assess(t, squareSite(t, 700), nil, gpx("a.gpx", day, lane(0, 0, 600, 600)))
	require.Equal(t, 0.2, r.Settings.CellM) // 49 ha are 49 million cells of 0.1 m
	require.Contains(t, r.CellChosen, "0.2 m instead of 0.1 m")
}
