package coverage_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
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

// walked is a lane across the square, its y and day by number.
func walked(name string, n int) coverage.Source {
	y := 5 + 3*float64(n)
	return gpx(name, time.Date(2031, 5, 1+n, 9, 0, 0, 0, time.UTC), lane(5, y, 55, y))
}

// without is an assessment with words for visits to leave out.
func without(t *testing.T, s *site.Site, logs []coverage.Source, words ...string) *coverage.Result {
	return assess(t, s, func(set *coverage.Settings) { set.Without = words }, logs...)
}

// same holds two results to be equal but for what tells of the visits left out.
func same(t *testing.T, want, got *coverage.Result) {
	t.Helper()
	bare := *got
	bare.Settings.Without, bare.LeftOut, bare.LeftOutFinds = nil, nil, 0
	require.Equal(t, want, &bare)
}

// TestLeftOutIsAsNotGiven: every set of visits left out gives the very result of the
// others alone, in whatever order, with a site and with none.
func TestLeftOutIsAsNotGiven(t *testing.T) {
	var logs []coverage.Source
	for i := range 5 {
		logs = append(logs, walked(fmt.Sprintf("walk%d.gpx", i), i))
	}
	bad := text("notes.gpx", "no log")
	for set := 1; set < 31; set += 3 {
		var words []string
		var kept []coverage.Source
		for i, l := range logs {
			if set>>i&1 == 1 {
				words = append(words, strings.ToUpper(fmt.Sprintf("walk%d", i)))
			} else {
				kept = append(kept, l)
			}
		}
		all := append([]coverage.Source{bad}, logs...)
		slices.Reverse(all)
		for _, s := range []*site.Site{squareSite(t, 60), nil} {
			r := without(t, s, all, words...)
			same(t, assess(t, s, nil, append(slices.Clone(kept), bad)...), r)
			require.Len(t, r.LeftOut, len(words))
			for i, v := range r.LeftOut {
				require.Equal(t, strings.ToLower(words[i]), v.Name, "in order of time")
				require.Equal(t, 101, v.Fixes)
				require.True(t, v.Start.Known() && v.End == v.Start+100_000)
				require.Zero(t, v.PassM2)
			}
		}
	}
}

// TestOneVisitOfAFileIsLeftOut: by its name; by the file's name all go.
func TestOneVisitOfAFileIsLeftOut(t *testing.T) {
	f, err := grid.NewFrame(datum)
	require.NoError(t, err)
	visit := func(name string, n int) coverage.Visit {
		start := track.Instant(time.Date(2031, 5, 1+n, 9, 0, 0, 0, time.UTC).UnixMilli())
		var ps []track.Point
		for i, q := range lane(5, 5+3*float64(n), 55, 5+3*float64(n)) {
			ps = append(ps, track.Point{XY: q, T: start + track.Instant(1000*i)})
		}
		return coverage.Visit{Name: name, SHA256: "ab", Segments: [][]track.Fix{check.Fixes(f, ps)}}
	}
	file := func(name string, vs ...coverage.Visit) coverage.Source {
		return coverage.Source{Name: name, Visits: func() ([]coverage.Visit, error) { return vs, nil }}
	}
	first, second, third := visit("first", 0), visit("second", 1), visit("third", 2)
	s := squareSite(t, 60)
	both, other := file("may/season.gpx", first, second), file("may/other.gpx", third)
	r := without(t, s, []coverage.Source{both, other}, "First")
	same(t, assess(t, s, nil, file("may/season.gpx", second), other), r)
	require.Equal(t, "first", r.LeftOut[0].Name)
	for _, word := range []string{"season.gpx", "may/season.gpx", " SEASON", `C:\logs\may\season.gpx`} {
		r = without(t, s, []coverage.Source{both, other}, word)
		same(t, assess(t, s, nil, other), r)
		require.Len(t, r.LeftOut, 2)
	}
	require.ErrorContains(t, failure(s, []coverage.Source{both, other}, "june/season.gpx"), "must be a visit there is")
}

// TestSharedNamesAreToldApart: leaving one visit out changes no other's name.
func TestSharedNamesAreToldApart(t *testing.T) {
	named := func(file string, n int) coverage.Source {
		src := walked(file, n)
		return coverage.Source{Name: file, Visits: func() ([]coverage.Visit, error) {
			in, err := src.Open()
			require.NoError(t, err)
			defer in.Close()
			log, err := track.ReadGPX(in, file)
			require.NoError(t, err)
			v := coverage.VisitsOf([]*track.Log{log}, file, "ab", 3600)
			v[0].Name = "Track"
			return v, nil
		}}
	}
	logs := []coverage.Source{named("a.gpx", 0), named("b.gpx", 1)}
	r := without(t, squareSite(t, 60), logs, "track, A.gpx")
	require.Equal(t, "Track, b.gpx", r.Sessions[0].Name)
	require.Equal(t, "Track, a.gpx", r.LeftOut[0].Name)
	err := failure(squareSite(t, 60), logs, "Track")
	require.EqualError(t, err, `--without "Track": must be a visit there is, by name or file: "Track, a.gpx", "Track, b.gpx"`)
}

func settingsWithout(words ...string) coverage.Settings {
	set := coverage.DefaultSettings()
	set.SwathM, set.Without = 2, words
	return set
}

func failure(s *site.Site, logs []coverage.Source, words ...string) error {
	_, err := coverage.Assess(context.Background(), coverage.Input{Site: s, Logs: logs}, settingsWithout(words...), nil)
	return err
}

// TestLeftOutIsNoCopy: with the original left out, its copy counts.
func TestLeftOutIsNoCopy(t *testing.T) {
	v := searched(3, check.Receiver{})
	a, b := logged(t, "a.gpx", v.Log, nil), logged(t, "b.gpx", v.Log, nil)
	s := squareSite(t, 60)
	require.Len(t, assess(t, s, nil, a, b).Copies, 1)
	r := without(t, s, []coverage.Source{a, b}, "a")
	require.Empty(t, r.Copies)
	same(t, assess(t, s, nil, b), r)
}

func TestWithoutErrors(t *testing.T) {
	s := squareSite(t, 60)
	var logs []coverage.Source
	for i := range 23 {
		logs = append(logs, walked(fmt.Sprintf("walk%02d.gpx", i), i%18))
	}
	for _, row := range []struct {
		name  string
		logs  []coverage.Source
		words []string
		want  string
	}{
		{"unknown", logs[:2], []string{"walk00", "walk7"}, `--without "walk7": must be a visit there is, by name or file: "walk00", "walk01"`},
		{"many", logs, []string{"x"}, `"walk18", "walk19" and 3 more`},
		{"empty", logs[:2], []string{" "}, `--without "": must be a visit's name or file`},
		{"all", logs[:2], []string{"walk01", "walk00"}, `--without "walk00": must be fewer than all the visits there are`},
	} {
		err := failure(s, row.logs, row.words...)
		var e *coverage.SettingsError
		require.True(t, errors.As(err, &e), row.name)
		require.ErrorContains(t, err, row.want, row.name)
	}
}

// TestLaidOutWordsOfVisitsLeftOut: a visit declared as laid out may be left out, and
// its declaration waits.
func TestLaidOutWordsOfVisitsLeftOut(t *testing.T) {
	set := settingsWithout("walk0")
	set.Position.Receiver, set.LaidOut = track.ReceiverOf(2), []string{"WALK0.gpx"}
	in := coverage.Input{Site: squareSite(t, 60), Logs: []coverage.Source{walked("walk0.gpx", 0), walked("walk1.gpx", 1)}}
	r, err := coverage.Assess(context.Background(), in, set, nil)
	require.NoError(t, err)
	require.Empty(t, r.Settings.LaidOut)
	require.Equal(t, []string{"WALK0.gpx"}, set.LaidOut)
	set.Without = nil
	_, err = coverage.Assess(context.Background(), in, set, nil)
	require.ErrorContains(t, err, "--laid-out")
}

// TestFindsOfVisitsLeftOut are no yield of the effort that is counted.
func TestFindsOfVisitsLeftOut(t *testing.T) {
	f, err := grid.NewFrame(datum)
	require.NoError(t, err)
	s := squareSite(t, 60)
	s.Landmarks = []site.Landmark{{Name: "stump", Shape: site.PointShape, Points: []grid.LonLat{f.ToLonLat(grid.XY{X: 30, Y: 8})}}}
	at := func(day int, minutes int) site.Find {
		find := site.NoFind
		find.Pos = f.ToLonLat(grid.XY{X: 30, Y: 8})
		find.T = track.Instant(time.Date(2031, 5, day, 9, minutes, 0, 0, time.UTC).UnixMilli())
		return find
	}
	timeless := at(1, 1)
	timeless.T = track.NoTime
	late := gpx("late.gpx", time.Date(2031, 5, 1, 9, 10, 0, 0, time.UTC), lane(5, 20, 55, 20))
	in := coverage.Input{Site: s, Logs: []coverage.Source{walked("walk0.gpx", 0), walked("walk1.gpx", 1), late},
		Finds: []site.Find{at(1, 1), at(1, 11), at(1, 50), at(2, 1), timeless}}
	set := settingsWithout("walk0")
	set.Zones = coverage.ZoneSettings{RingsM: []float64{10}}
	r, err := coverage.Assess(context.Background(), in, set, nil)
	require.NoError(t, err)
	require.Equal(t, 1, r.LeftOutFinds, "the one while walk0 went on; not that of late.gpx, of no visit, or without a time")
	require.Len(t, r.Comparison.Placed, 4)
}
