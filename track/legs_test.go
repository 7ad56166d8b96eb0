package track_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/internal/check"
	"untrod/track"
)

// confusion is seconds by true kind and by label.
type confusion [4][4]float64

func (c *confusion) add(v check.Visit, w track.Walk) {
	for _, p := range w.Paths {
		for _, l := range p.Legs {
			for i := max(l.From, 1); i < l.To; i++ {
				c[v.KindAt(p.Points[i].T)][l.Kind] += p.Points[i].T.Sub(p.Points[i-1].T)
			}
		}
	}
}

// f1 is the harmonic mean of precision and recall of one kind, by seconds.
func (c confusion) f1(k track.Kind) float64 {
	sum := 0.0
	for j := range 4 {
		sum += c[k][j] + c[j][k]
	}
	return 2 * c[k][k] / sum
}

func TestLegsOnSimulatedWalks(t *testing.T) {
	f := localFrame(t)
	pinned, smart := check.LightCanopy, check.OpenSky
	pinned.PinAtRest, pinned.JumpsPerHour, pinned.SilencesPerHour = true, 10, 6
	smart.MoveM = 3
	slow := check.LightCanopy
	slow.EveryS = 10
	for _, r := range []struct {
		name             string
		receiver         check.Receiver
		search, standing float64 // least F1; the worst case found is 0.01 to 0.03 better
	}{
		{"open", check.OpenSky, 0.97, 0.93},
		{"light canopy", check.LightCanopy, 0.96, 0.87},
		{"dense canopy", check.DenseCanopy, 0.93, 0.78},
		{"pinned, with jumps and silences", pinned, 0.95, 0.87},
		{"every 10 s", slow, 0.93, 0.82},
		{"only when moving", smart, 0.89, 0.72},
	} {
		for _, style := range []check.Style{check.Winding, check.Lanes, check.Spiral} {
			for _, pace := range []float64{0.25, 0.4, 0.6} {
				t.Run(fmt.Sprintf("%s/%s/%v", r.name, style, pace), func(t *testing.T) {
					var c confusion
					for seed := range uint64(4) {
						set := check.DefaultWalk()
						set.Seed, set.Style, set.SearchMS, set.Receiver = seed, style, pace, r.receiver
						v := check.Simulate(set)
						w := track.NewWalk(f, [][]track.Fix{check.Fixes(f, v.Log)}, track.DefaultSettings())
						requireWhole(t, w)
						c.add(v, w)
					}
					t.Logf("searching %.3f standing %.3f walking %.3f", c.f1(track.Searching), c.f1(track.Standing), c.f1(track.Walking))
					require.Greater(t, c.f1(track.Searching), r.search)
					require.Greater(t, c.f1(track.Standing), r.standing)
				})
			}
		}
	}
}

// seconds by kind of the legs between two moments.
func secondsByKind(w track.Walk, from, to track.Instant) [4]float64 {
	var s [4]float64
	for _, p := range w.Paths {
		for _, l := range p.Legs {
			for i := max(l.From, 1); i < l.To; i++ {
				if p.Points[i-1].T >= from && p.Points[i].T <= to {
					s[l.Kind] += p.Points[i].T.Sub(p.Points[i-1].T)
				}
			}
		}
	}
	return s
}

// sharedTrack reads the segments of a file of the shared data, and a frame round them.
func sharedTrack(t *testing.T, name string) ([][]track.Fix, grid.Frame) {
	r, err := os.Open("../../shared/data/" + name)
	if err != nil {
		t.Skipf("shared data absent: %v", err)
	}
	defer r.Close()
	log, err := track.ReadGPX(r, name)
	require.NoError(t, err)
	segments := track.Visits(log, 4*3600)[0]
	f, err := grid.NewFrame(segments[0][0].Pos)
	require.NoError(t, err)
	return segments, f
}

// A receiver at rest sweeps nothing, however it hops.
func TestLegsAtRest(t *testing.T) {
	for _, c := range []struct {
		name     string
		from, to int // fixes at rest; to 0: all
	}{
		{"gpx/CoreGPX/GPXTest-TrackPointOnly.gpx", 1200, 1739},
		{"gpx/CoreGPX/GPXTest-TrackPointOnly.gpx", 3433, 3758},
		{"static/google-gps-measurement-tools/pseudoranges_log_2016_06_30_21_26_07_fix.gpx", 0, 0},
		{"static/google-gps-measurement-tools/pseudoranges_log_2016_08_22_14_45_50_fix.gpx", 0, 0},
		{"static/gpsd/telit-he910.gpx", 0, 0},
	} {
		t.Run(fmt.Sprint(c.name, c.from), func(t *testing.T) {
			segments, f := sharedTrack(t, c.name)
			if c.to == 0 {
				c.to = len(segments[0]) - 1
			}
			from, to := segments[0][c.from].T, segments[0][c.to].T
			w := track.NewWalk(f, segments, track.DefaultSettings())
			s := secondsByKind(w, from, to)
			t.Logf("lost, standing, walking, searching: %.0f", s)
			require.Zero(t, s[track.Searching], "in the whole log")
			w = track.NewWalk(f, [][]track.Fix{segments[0][c.from : c.to+1]}, track.DefaultSettings())
			require.Zero(t, secondsByKind(w, from, to)[track.Searching], "cut out of the log")
		})
	}
}

// A survey at 1.14 m/s is walking, until the user says how fast it was searched.
func TestLegsOfAFastSurvey(t *testing.T) {
	segments, f := sharedTrack(t, "walks/em38/em38_demo.gpx")
	for _, c := range []struct {
		searchMaxMS, least, most float64 // share of the seconds that is searching
	}{{0.9, 0, 0.1}, {1.5, 0.99, 1}} {
		set := track.DefaultSettings()
		set.Legs.SearchMaxMS = c.searchMaxMS
		s := secondsByKind(track.NewWalk(f, segments, set), 0, math.MaxInt64)
		share := s[track.Searching] / (s[0] + s[1] + s[2] + s[3])
		t.Logf("up to %v m/s: lost, standing, walking, searching: %.0f s", c.searchMaxMS, s)
		require.GreaterOrEqual(t, share, c.least)
		require.LessOrEqual(t, share, c.most)
	}
}

// kindsOf labels fixes dt seconds apart on a line, with the given pace in each.
func kindsOf(t *testing.T, set track.Settings, dt float64, paces ...float64) []track.Leg {
	x, s, fixes := 0.0, 0.0, []track.Fix{}
	for _, v := range paces {
		fixes = append(fixes, fixAt(x, s))
		x, s = x+v*dt, s+dt
	}
	w := track.NewWalk(localFrame(t), [][]track.Fix{fixes}, set)
	require.Len(t, w.Paths, 1)
	return w.Paths[0].Legs
}

func repeat(v float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = v
	}
	return out
}

func TestLegsByPace(t *testing.T) {
	for _, c := range []struct {
		pace, dt float64
		want     track.Kind
	}{
		{0, 1, track.Standing}, {0.06, 1, track.Standing}, {0.14, 1, track.Standing},
		{0.16, 1, track.Searching}, {0.4, 1, track.Searching}, {0.89, 1, track.Searching},
		{0.91, 1, track.Walking}, {1.6, 1, track.Walking}, {3, 1, track.Walking},
		{6, 1, track.Lost}, // over JumpSpeedMS and 5 m
		{0.06, 25, track.Standing}, {0.4, 10, track.Searching}, {1.2, 10, track.Walking},
		{0.4, 0.2, track.Searching},
	} {
		t.Run(fmt.Sprintf("%v m/s every %v s", c.pace, c.dt), func(t *testing.T) {
			legs := kindsOf(t, track.DefaultSettings(), c.dt, repeat(c.pace, 400)...)
			require.Equal(t, []track.Leg{{Kind: c.want, From: 0, To: 400}}, legs)
		})
	}
}

func TestLegsOfShortStretches(t *testing.T) {
	set := track.DefaultSettings()
	paces := func(parts ...[]float64) []float64 {
		var out []float64
		for _, p := range parts {
			out = append(out, p...)
		}
		return out
	}
	for _, c := range []struct {
		name  string
		paces []float64
		want  []track.Kind
	}{
		{"a dig", paces(repeat(0.4, 200), repeat(0, 60), repeat(0.4, 200)), []track.Kind{track.Searching, track.Standing, track.Searching}},
		{"a short stop", paces(repeat(0.4, 200), repeat(0, 10), repeat(0.4, 200)), []track.Kind{track.Searching}},
		{"a few quick steps", paces(repeat(0.4, 200), repeat(1.4, 8), repeat(0.4, 200)), []track.Kind{track.Searching}},
		{"a step aside at a dig", paces(repeat(0, 100), repeat(0.4, 10), repeat(0, 100)), []track.Kind{track.Standing}},
		{"to work", paces(repeat(1.2, 100), repeat(0.4, 100)), []track.Kind{track.Walking, track.Searching}},
		{"a leap for good", paces(repeat(0.4, 100), []float64{50}, repeat(0.4, 100)), []track.Kind{track.Searching, track.Lost, track.Searching}},
		{"too short to tell", repeat(0.4, 20), []track.Kind{track.Lost}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []track.Kind
			for _, l := range kindsOf(t, set, 1, c.paces...) {
				got = append(got, l.Kind)
			}
			require.Equal(t, c.want, got)
		})
	}
}

func TestLegsOfPoorFixes(t *testing.T) {
	fixes := stroll(0, 0, 300) // at 0.5 m/s
	fixes[0].HDOP = 99
	for i := 150; i < 160; i++ {
		fixes[i].AccM = 60
	}
	w := track.NewWalk(localFrame(t), [][]track.Fix{fixes}, track.DefaultSettings())
	require.Equal(t, []track.Leg{
		{Kind: track.Lost, From: 0, To: 2}, // the step that leaves a poor fix is lost too
		{Kind: track.Searching, From: 2, To: 150},
		{Kind: track.Lost, From: 150, To: 161},
		{Kind: track.Searching, From: 161, To: 300},
	}, w.Paths[0].Legs)
}

// Independent errors of some metres at every fix: nothing can be told of it.
func TestLegsOfHoppingFixes(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	var fixes []track.Fix
	for i := range 500 {
		fixes = append(fixes, fixAt(3*rng.NormFloat64(), 6*float64(i)))
	}
	w := track.NewWalk(localFrame(t), [][]track.Fix{fixes}, track.DefaultSettings())
	s := secondsByKind(w, 0, math.MaxInt64)
	require.Zero(t, s[track.Searching])
}

func TestLegsWithoutTimes(t *testing.T) {
	fixes := []track.Fix{timeless(0), timeless(1), timeless(2), timeless(90), timeless(91)}
	fixes[4].HDOP = 99
	for _, kind := range []track.Kind{track.Lost, track.Searching} {
		set := track.DefaultSettings()
		set.TreatAs = kind
		legs := track.NewWalk(localFrame(t), [][]track.Fix{fixes}, set).Paths[0].Legs
		require.Equal(t, track.Leg{Kind: kind, From: 0, To: legs[0].To}, legs[0])
		require.Equal(t, track.Lost, legs[len(legs)-1].Kind)
	}
}

func BenchmarkNewWalk(b *testing.B) {
	f := localFrame(b)
	set := check.DefaultWalk()
	set.Seconds = 4 * 3600
	fixes := [][]track.Fix{check.Fixes(f, check.Simulate(set).Log)}
	perFix := func(b *testing.B) {
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(fixes[0])), "ns/fix")
	}
	b.Run("whole", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			track.NewWalk(f, fixes, track.DefaultSettings())
		}
		perFix(b)
	})
	b.Run("projection alone", func(b *testing.B) {
		for b.Loop() {
			for i := range fixes[0] {
				f.ToXY(fixes[0][i].Pos)
			}
		}
		perFix(b)
	})
}
