package coverage_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check"
	"untrod/track"
)

// logged is a simulated log as a source, each fix changed; false leaves it out.
func logged(t require.TestingT, name string, ps []track.Point, edit func(i int, f *track.Fix) bool) coverage.Source {
	f, err := grid.NewFrame(datum)
	require.NoError(t, err)
	var fixes []track.Fix
	for i, x := range check.Fixes(f, ps) {
		if edit == nil || edit(i, &x) {
			fixes = append(fixes, x)
		}
	}
	var b bytes.Buffer
	require.NoError(t, check.WriteGPX(&b, "", fixes))
	return text(name, b.String())
}

// searched is a visit to a 60 m square whose south-west corner is the datum.
func searched(seed uint64, r check.Receiver) check.Visit {
	set := check.DefaultWalk()
	set.Seed, set.Receiver, set.Seconds = seed, r, 1200
	set.Patch = grid.Bounds{Min: grid.XY{X: 5, Y: 5}, Max: grid.XY{X: 55, Y: 55}}
	set.Gate = grid.XY{X: -10, Y: 20}
	set.Start += track.Instant(seed) * 7 * 86_400_000
	return check.Simulate(set)
}

// copied are ways in which a log is given again, none of which adds anything.
var copied = []struct {
	name  string
	equal bool // to its original in all but name: of equals the smaller name is used
	edit  func(i int, f *track.Fix) bool
}{
	{"same", true, nil},
	{"rounded", false, func(_ int, f *track.Fix) bool {
		f.Pos.Lon, f.Pos.Lat = round5(f.Pos.Lon), round5(f.Pos.Lat)
		return true
	}},
	{"thinned", false, func(i int, _ *track.Fix) bool { return i%5 == 0 }},
	{"trimmed", false, func(i int, _ *track.Fix) bool { return i > 200 && i < 900 }},
	{"local time", true, func(_ int, f *track.Fix) bool { f.T += 7200_000; return true }},
	{"without times", false, func(_ int, f *track.Fix) bool { f.T = track.NoTime; return true }},
}

func round5(deg float64) float64 {
	s := fmt.Sprintf("%.5f", deg)
	fmt.Sscan(s, &deg)
	return deg
}

// TestCopiesChangeNothing: whatever copies of whichever visits are given as well,
// and in whatever order, every figure stays as it is.
func TestCopiesChangeNothing(t *testing.T) {
	s := squareSite(t, 60)
	visits := []check.Visit{searched(1, check.OpenSky), searched(2, check.DenseCanopy), searched(3, check.LightCanopy)}
	var own []coverage.Source
	for i, v := range visits {
		own = append(own, logged(t, fmt.Sprintf("m%d.gpx", i), v.Log, nil))
	}
	coarse := func(s *coverage.Settings) { s.CellM = 0.5 }
	alone := assess(t, s, coarse, own...)
	require.Empty(t, alone.Copies)
	for seed := range uint64(15) {
		rng := rand.New(rand.NewPCG(seed, 8))
		logs := slices.Clone(own)
		for n := range 1 + rng.IntN(4) {
			c, front := copied[rng.IntN(len(copied))], "az"[rng.IntN(2)]
			if c.equal {
				front = 'z'
			}
			logs = append(logs, logged(t, fmt.Sprintf("%c%d %s.gpx", front, n, c.name), visits[rng.IntN(3)].Log, c.edit))
		}
		rng.Shuffle(len(logs), func(i, j int) { logs[i], logs[j] = logs[j], logs[i] })
		r := assess(t, s, coarse, logs...)
		require.Len(t, r.Copies, len(logs)-3)
		require.Empty(t, r.Skipped)
		require.Equal(t, alone.AsLoggedPercent, r.AsLoggedPercent)
		require.Equal(t, alone.Passes, r.Passes)
		require.Equal(t, alone.RewalkedPercent, r.RewalkedPercent)
		require.Equal(t, alone.Sessions, r.Sessions)
		for _, c := range r.Copies {
			require.Equal(t, coverage.SameFixes, c.Why)
			require.Zero(t, c.Kept)
			require.Contains(t, []string{"m0.gpx", "m1.gpx", "m2.gpx"}, c.Of)
		}
	}
}

// Two receivers on one walk: the one that logs more often is used, the other only
// while that was silent. The order of the input plays no part.
func TestTwoReceiversCountOnce(t *testing.T) {
	s := squareSite(t, 60)
	v := searched(4, check.OpenSky)
	silent := func(i int, _ *track.Fix) bool { return i < 500 || i >= 700 }
	slow := check.OpenSky
	slow.EveryS = 5
	one := logged(t, "one.gpx", v.Log, silent)
	two := logged(t, "two.gpx", slow.Log(v, rand.New(rand.NewPCG(1, 1))), nil)
	third := check.OpenSky
	third.EveryS = 10
	three := logged(t, "another.gpx", third.Log(v, rand.New(rand.NewPCG(2, 1))), nil)
	alone := assess(t, s, nil, one)
	r := assess(t, s, nil, one, two, three)
	require.Len(t, r.Sessions, 1)
	require.Equal(t, "one.gpx", r.Sessions[0].File)
	require.Len(t, r.Copies, 2)
	require.Equal(t, coverage.Copy{File: "another.gpx", Name: "another", Of: "one.gpx", Why: coverage.SameWalk,
		ClockS: r.Copies[0].ClockS, Fixes: r.Copies[0].Fixes}, r.Copies[0])
	require.InDelta(t, 40, r.Copies[1].Kept, 2, "200 s, one in 5")
	require.Equal(t, alone.Sessions[0].Fixes+r.Copies[1].Kept, r.Sessions[0].Fixes)
	require.Greater(t, r.SweptM2, alone.SweptM2+20)
	require.InDelta(t, alone.RewalkedPercent, r.RewalkedPercent, 8)
	for _, order := range [][]coverage.Source{{three, two, one}, {two, three, one}, {two, one, three}} {
		again := assess(t, s, nil, order...)
		require.Equal(t, r.Sessions, again.Sessions)
		require.Equal(t, r.Copies, again.Copies)
		require.Equal(t, r.Passes, again.Passes)
	}
}

// Walkers who are named are never one; a copy's name is taken where its original
// has none.
func TestNamedWalkersAreNeverOne(t *testing.T) {
	s := squareSite(t, 60)
	v := searched(5, check.OpenSky)
	named := func(name, walker string) coverage.Source {
		src := logged(t, name, v.Log, nil)
		src.Walker = walker
		return src
	}
	r := assess(t, s, nil, named("a.gpx", "first"), named("b.gpx", "second"))
	require.Len(t, r.Sessions, 2)
	require.Empty(t, r.Copies)
	require.Equal(t, "second", r.Sessions[1].Walker)
	r = assess(t, s, nil, named("a.gpx", "first"), named("b.gpx", "first"), named("c.gpx", ""))
	require.Len(t, r.Sessions, 1)
	r = assess(t, s, nil, named("a.gpx", ""), named("b.gpx", "second"))
	require.Len(t, r.Sessions, 1)
	require.Equal(t, "second", r.Sessions[0].Walker)
	require.Equal(t, []coverage.Copy{{File: "b.gpx", Name: "b", Of: "a.gpx", Why: coverage.SameFixes, Fixes: len(v.Log)}}, r.Copies)
}

// Two people who search at the same time both count.
func TestSecondWalkerCounts(t *testing.T) {
	s := squareSite(t, 60)
	a, b := searched(6, check.OpenSky), searched(7, check.OpenSky)
	for i := range b.Log {
		b.Log[i].T -= 7 * 86_400_000
	}
	r := assess(t, s, nil, logged(t, "a.gpx", a.Log, nil), logged(t, "b.gpx", b.Log, nil))
	require.Len(t, r.Sessions, 2)
	require.Empty(t, r.Copies)
}

// A file may hold the same walk twice.
func TestCopyWithinOneFile(t *testing.T) {
	read := func(names ...string) coverage.Source {
		return coverage.Source{Name: "walks.zip", Visits: func() ([]coverage.Visit, error) {
			f, _ := grid.NewFrame(datum)
			var logs []*track.Log
			for _, n := range names {
				logs = append(logs, &track.Log{Name: "walks.zip/" + n + ".gpx", Tracks: []track.Track{
					{Segments: [][]track.Fix{check.Fixes(f, searched(8, check.OpenSky).Log)}}}})
			}
			return coverage.VisitsOf(logs, "walks.zip", "00ff", 4*3600), nil
		}}
	}
	r := assess(t, squareSite(t, 60), nil, read("day1", "day1 again"))
	require.Len(t, r.Sessions, 1)
	require.Equal(t, "day1", r.Sessions[0].Name)
	require.Equal(t, "walks.zip", r.Sessions[0].File)
	require.Equal(t, "00ff", r.Sessions[0].SHA256)
	require.Equal(t, "day1", r.Copies[0].Of)
	require.Equal(t, "day1 again", r.Copies[0].Name)
}

func TestVisitsOf(t *testing.T) {
	fix := func(at int64) track.Fix {
		f := track.NoFix
		f.T = track.Instant(at * 1000)
		return f
	}
	segments := [][]track.Fix{{fix(0), fix(1)}, {fix(20_000)}}
	noted := func(name string, tracks ...track.Track) *track.Log {
		l := &track.Log{Name: name, Tracks: tracks, Waypoints: []track.Waypoint{{Name: "post of " + name}}}
		l.Notes.Add(track.NoteBadField, func() string { return name })
		return l
	}
	names := func(vs []coverage.Visit) (out []string) {
		for _, v := range vs {
			out = append(out, v.Name)
		}
		return out
	}
	one := coverage.VisitsOf([]*track.Log{noted("w.gpx", track.Track{}, track.Track{Name: " Bank ", Segments: segments})}, "w.gpx", "ab", 4*3600)
	require.Equal(t, []string{"Bank", "Bank (2)"}, names(one))
	require.Equal(t, "ab", one[1].SHA256)
	require.Len(t, one[1].Waypoints, 1)
	require.Equal(t, 1, one[0].Notes.Count(track.NoteBadField))
	require.Zero(t, one[1].Notes.Count(track.NoteBadField), "the notes go with the first")

	many := coverage.VisitsOf([]*track.Log{noted("z.zip/a.gpx", track.Track{Segments: segments}), noted("z.zip/posts.gpx"),
		noted("z.zip/b/c.gpx.gz", track.Track{Segments: segments[1:]}), noted("z.zip/d.gpx", track.Track{Name: "Bank", Segments: segments[1:]}),
		noted("z.zip/e.gpx", track.Track{Name: "Bank", Segments: segments[1:]})}, "z.zip", "ab", 4*3600)
	require.Equal(t, []string{"a", "a (2)", "c", "Bank, d.gpx", "Bank, e.gpx"}, names(many))
	require.Len(t, many[2].Waypoints, 5)
	require.Equal(t, 5, many[0].Notes.Count(track.NoteBadField))
	require.Equal(t, 1, many[0].Notes.Count(track.NoteEmpty))

	require.Equal(t, []string{"w"}, names(coverage.VisitsOf([]*track.Log{{Tracks: []track.Track{{Segments: segments[1:]}}}}, "folder/w.gpx", "", 1)))
	require.Empty(t, coverage.VisitsOf([]*track.Log{noted("posts.gpx")}, "posts.gpx", "", 4*3600))
}

// BenchmarkManySessions compares a thousand visits to one site, a day apart, each
// with a copy.
func BenchmarkManySessions(b *testing.B) {
	v := searched(9, check.OpenSky)
	var logs []coverage.Source
	for day := range 1000 {
		at := v.Start + track.Instant(day)*86_400_000
		for _, name := range []string{"a", "b"} {
			logs = append(logs, coverage.Source{Name: fmt.Sprintf("%s%d.gpx", name, day), Visits: func() ([]coverage.Visit, error) {
				f, _ := grid.NewFrame(datum)
				fixes := check.Fixes(f, v.Log)
				for i := range fixes {
					fixes[i].T += at - v.Start
				}
				return []coverage.Visit{{Segments: [][]track.Fix{fixes}}}, nil
			}})
		}
	}
	set := coverage.DefaultSettings()
	set.SwathM = 2
	for b.Loop() {
		start := time.Now()
		at := map[string]time.Duration{}
		r, err := coverage.Assess(b.Context(), coverage.Input{Logs: logs}, set, func(stage string, done, total int64) {
			if at[stage] == 0 || done == total {
				at[stage] = time.Since(start)
			}
		})
		require.NoError(b, err)
		require.Len(b, r.Copies, 1000)
		b.ReportMetric((at["sweeping"] - at["reading"]).Seconds(), "s/between")
	}
}
