package site_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/internal/check"
	"untrod/site"
	"untrod/track"
)

// sea is the datum of these tests, in mid-ocean.
var sea = grid.LonLat{Lon: -31.2, Lat: 47.3}

func seaFrame(t testing.TB) grid.Frame {
	f, err := grid.NewFrame(sea)
	require.NoError(t, err)
	return f
}

const noon = track.Instant(1_775_822_400_000) // 2026-04-10T12:00:00Z

// walkOf is a walk of one path: a fix a second through the legs, each of a kind, so
// many seconds and an end.
func walkOf(from track.Instant, legs ...leg) track.Walk {
	p := track.Path{Timed: true}
	at := grid.XY{}
	for _, l := range legs {
		start := len(p.Points)
		for i := range l.seconds {
			f := float64(i+1) / float64(l.seconds)
			p.Points = append(p.Points, track.Point{XY: grid.XY{X: at.X + f*(l.to.X-at.X), Y: at.Y + f*(l.to.Y-at.Y)}, T: from})
			from += 1000
		}
		at = l.to
		p.Legs = append(p.Legs, track.Leg{Kind: l.kind, From: start, To: len(p.Points)})
	}
	return track.Walk{Paths: []track.Path{p}}
}

type leg struct {
	kind    track.Kind
	seconds int
	to      grid.XY
}

// TestStoodAt: seconds 0 to 299 a walk east, to 359 a stop at 100, 0, to 959 a
// walk north, to 1019 a stop at 100, 200.
func TestStoodAt(t *testing.T) {
	f := seaFrame(t)
	w := &site.Whereabouts{}
	w.Add(7, f, walkOf(noon, leg{track.Searching, 300, grid.XY{X: 100}}, leg{track.Standing, 60, grid.XY{X: 100}},
		leg{track.Searching, 600, grid.XY{X: 100, Y: 200}}, leg{track.Standing, 60, grid.XY{X: 100, Y: 200}}))
	for _, c := range []struct {
		name  string
		at    float64 // s
		want  grid.XY
		awayS float64 // NaN: on the move; -1: nowhere
	}{
		{"in the stop", 330, grid.XY{X: 100}, 0},
		{"at its first second", 299, grid.XY{X: 100}, 0},
		{"at its last", 359, grid.XY{X: 100}, 0},
		{"2 minutes after it", 479, grid.XY{X: 100}, 120},
		{"just over 2 minutes", 479.5, grid.XY{X: 100, Y: 40.1667}, math.NaN()},
		{"before it", 200, grid.XY{X: 100}, 99},
		{"nearer to the second", 900, grid.XY{X: 100, Y: 200}, 59},
		{"on the move", 100, grid.XY{X: 33.6667}, math.NaN()},
		{"after the visit, near", 1100, grid.XY{X: 100, Y: 200}, 81},
		{"after the visit", 1200, grid.XY{}, -1},
		{"before the visit", -10, grid.XY{}, -1},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, ok := w.At(noon+track.Instant(c.at*1000), 0)
			require.Equal(t, c.awayS != -1, ok)
			if !ok {
				return
			}
			q := f.ToXY(s.Pos)
			require.InDelta(t, c.want.X, q.X, 0.01)
			require.InDelta(t, c.want.Y, q.Y, 0.01)
			require.Equal(t, math.IsNaN(c.awayS), math.IsNaN(s.AwayS))
			if !math.IsNaN(c.awayS) {
				require.InDelta(t, c.awayS, s.AwayS, 1e-9)
			}
			require.EqualValues(t, 7, s.Session)
			require.Zero(t, s.Others)
		})
	}
	_, ok := w.At(noon+330_000, 8)
	require.False(t, ok, "another visit")
}

// TestStoodOfSeveral: the one who stood counts before one on the move, and a second
// person far off is counted, a second receiver of the same person is not.
func TestStoodOfSeveral(t *testing.T) {
	f := seaFrame(t)
	w := &site.Whereabouts{}
	w.Add(1, f, walkOf(noon, leg{track.Searching, 900, grid.XY{X: -300}}))
	w.Add(2, f, walkOf(noon, leg{track.Searching, 300, grid.XY{X: 100}}, leg{track.Standing, 600, grid.XY{X: 100}}))
	w.Add(3, f, walkOf(noon, leg{track.Searching, 300, grid.XY{X: 104}}, leg{track.Standing, 600, grid.XY{X: 104}}))
	s, ok := w.At(noon+500_000, 0)
	require.True(t, ok)
	require.EqualValues(t, 2, s.Session)
	require.Equal(t, 1, s.Others)
	s, ok = w.At(noon+500_000, 1)
	require.True(t, ok)
	require.EqualValues(t, 1, s.Session)
	require.True(t, math.IsNaN(s.AwayS))
}

// TestStoodTwin: over simulated visits the answer is that of a search through all
// legs and fixes.
func TestStoodTwin(t *testing.T) {
	f := seaFrame(t)
	rng := rand.New(rand.NewPCG(4, 2))
	set := check.DefaultWalk()
	set.Seconds = 1800
	visit := check.Simulate(set)
	walk := track.NewWalk(f, [][]track.Fix{check.Fixes(f, visit.Log)}, track.DefaultSettings())
	w := &site.Whereabouts{}
	w.Add(1, f, walk)
	stops := 0
	for range 2000 {
		at := set.Start + track.Instant(rng.IntN(2_200_000)) - 200_000
		s, ok := w.At(at, 0)
		least := math.Inf(1)
		for _, p := range walk.Paths {
			for _, l := range p.Legs {
				if line := p.Line(l); l.Kind == track.Standing {
					from, to := line[0].T, line[len(line)-1].T
					least = math.Min(least, math.Max(0, math.Max(from.Sub(at), at.Sub(to))))
				}
			}
		}
		if least <= site.NearStopS {
			require.True(t, ok)
			require.InDelta(t, least, s.AwayS, 1e-9)
			stops++
		} else if ok {
			require.True(t, math.IsNaN(s.AwayS))
		}
	}
	require.Greater(t, stops, 100)
}

// photosAlong are photos at places of the logged walk, their clock ahead by so many
// seconds and their places off by sd on each axis.
func photosAlong(f grid.Frame, log []track.Point, n int, aheadS, sd float64) []*site.Photo {
	rng := rand.New(rand.NewPCG(9, 9))
	var out []*site.Photo
	for i := range n {
		p := log[(2*i+1)*len(log)/(2*n)]
		q := grid.XY{X: p.X + sd*rng.NormFloat64(), Y: p.Y + sd*rng.NormFloat64()}
		out = append(out, &site.Photo{Pos: f.ToLonLat(q), Shown: p.T + track.Instant(aheadS*1000), Fix: track.NoTime})
	}
	return out
}

func TestClockOf(t *testing.T) {
	f := seaFrame(t)
	set := check.DefaultWalk()
	set.Seconds = 3600
	visit := check.Simulate(set)
	w := &site.Whereabouts{}
	w.Add(1, f, track.NewWalk(f, [][]track.Fix{check.Fixes(f, visit.Log)}, track.DefaultSettings()))
	for _, ahead := range []float64{0, -45, 3600, 7200 + 93, -5 * 3600} {
		s, why, ok := w.ClockOf(photosAlong(f, visit.Log, 12, ahead, 3))
		require.True(t, ok, why)
		require.InDelta(t, ahead, s, 15)
	}
	for _, c := range []struct {
		name   string
		photos []*site.Photo
		why    string
	}{
		{"one", photosAlong(f, visit.Log, 1, 60, 1), "only one has a place and a time of its own"},
		{"none with a place", []*site.Photo{{Pos: site.NoFind.Pos, Shown: noon, Fix: track.NoTime}}, "none has a place and a time of its own"},
		{"elsewhere", []*site.Photo{{Pos: grid.LonLat{Lon: -31.3, Lat: 47.3}, Shown: noon, Fix: track.NoTime}, {Pos: grid.LonLat{Lon: -31.3, Lat: 47.3}, Shown: noon, Fix: track.NoTime}}, "their places fit no visit of the book"},
	} {
		_, why, ok := w.ClockOf(c.photos)
		require.False(t, ok, c.name)
		require.Equal(t, c.why, why)
	}
	still := &site.Whereabouts{} // an hour at one place: any clock fits
	still.Add(1, f, walkOf(noon, leg{track.Standing, 3600, grid.XY{}}))
	_, why, ok := still.ClockOf([]*site.Photo{{Pos: sea, Shown: noon + 1000, Fix: track.NoTime}, {Pos: sea, Shown: noon + 1_000_000, Fix: track.NoTime}})
	require.False(t, ok)
	require.Equal(t, "their places fit several times", why)
}

// TestClockOfReceiver: the time of a position tells the clock, unless it is only old.
func TestClockOfReceiver(t *testing.T) {
	w := &site.Whereabouts{}
	at := func(ahead ...float64) (out []*site.Photo) {
		for i, s := range ahead {
			fix := noon + track.Instant(i)*60_000
			out = append(out, &site.Photo{Shown: fix + track.Instant(s*1000), Fix: fix, Pos: site.NoFind.Pos})
		}
		return out
	}
	s, _, ok := w.ClockOf(at(3601, 3600, 3900)) // the last position was 5 minutes old
	require.True(t, ok)
	require.Equal(t, 3601.0, s)
	phone := at(4, 8, 90)
	phone[0].Zoned = true
	s, _, ok = w.ClockOf(phone)
	require.True(t, ok)
	require.Zero(t, s)
	wrong := at(-600, -601, -590)
	wrong[0].Zoned = true
	s, _, ok = w.ClockOf(wrong)
	require.True(t, ok)
	require.Equal(t, -600.0, s)
}

func BenchmarkClockOf(b *testing.B) {
	f := seaFrame(b)
	set := check.DefaultWalk()
	set.Seconds = 7200
	visit := check.Simulate(set)
	w := &site.Whereabouts{}
	w.Add(1, f, track.NewWalk(f, [][]track.Fix{check.Fixes(f, visit.Log)}, track.DefaultSettings()))
	photos := photosAlong(f, visit.Log, 40, 3600, 3)
	for b.Loop() {
		if _, why, ok := w.ClockOf(photos); !ok {
			b.Fatal(why)
		}
	}
}
