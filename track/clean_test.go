package track_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
	"untrod/track"
)

var testDatum = grid.LonLat{Lon: 12, Lat: 55}

func localFrame(t require.TestingT) grid.Frame {
	f, err := grid.NewFrame(testDatum)
	require.NoError(t, err)
	return f
}

const t0 = track.Instant(1_750_000_000_000)

// fixAt is a fix x metres east of the datum, s seconds after t0.
func fixAt(x, s float64) track.Fix {
	f, _ := grid.NewFrame(testDatum)
	fix := track.NoFix
	fix.Pos, fix.T = f.ToLonLat(grid.XY{X: x}), t0+track.Instant(1000*s)
	return fix
}

func placeless(lon, lat, s float64) track.Fix {
	fix := fixAt(0, s)
	fix.Pos = grid.LonLat{Lon: lon, Lat: lat}
	return fix
}

func timeless(x float64) track.Fix {
	fix := fixAt(x, 0)
	fix.T = track.NoTime
	return fix
}

func noFix(x, s float64) track.Fix {
	fix := fixAt(x, s)
	fix.Kind = track.FixNone
	return fix
}

// stroll is n fixes 1 s and 0.5 m apart, from x metres and s seconds on.
func stroll(x, s float64, n int) []track.Fix {
	var out []track.Fix
	for i := range n {
		out = append(out, fixAt(x+0.5*float64(i), s+float64(i)))
	}
	return out
}

func joined(parts ...[]track.Fix) []track.Fix {
	var out []track.Fix
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

func one(f ...track.Fix) []track.Fix { return f }

type counts map[track.NoteKind]int

func TestNewWalkCleans(t *testing.T) {
	day := track.Instant(86_400_000)
	old := stroll(0, 0, 3)
	for i := range old {
		old[i].T -= 7168 * day * 2 // two rollovers of 1024 weeks back from 2025
	}
	for _, c := range []struct {
		name  string
		in    [][]track.Fix
		paths []int // points of each
		notes counts
	}{
		{"nothing", nil, nil, counts{}},
		{"empty segment", [][]track.Fix{{}}, nil, counts{}},
		{"one fix", [][]track.Fix{stroll(0, 0, 1)}, []int{1}, counts{}},
		{"plain", [][]track.Fix{stroll(0, 0, 9)}, []int{9}, counts{}},
		{"NaN", [][]track.Fix{joined(stroll(0, 0, 3), one(placeless(math.NaN(), 55, 3)), stroll(2, 4, 3))}, []int{6}, counts{track.NoteBadPosition: 1}},
		{"off the globe", [][]track.Fix{joined(stroll(0, 0, 3), one(placeless(12, 95, 3), placeless(-181, 0, 4)))}, []int{3}, counts{track.NoteBadPosition: 2}},
		{"zero-zero", [][]track.Fix{joined(one(placeless(0, 0, 0)), stroll(0, 1, 3))}, []int{3}, counts{track.NoteZeroZero: 1}},
		{"no fix", [][]track.Fix{joined(one(noFix(0, 0)), stroll(0, 1, 3))}, []int{3}, counts{track.NoteNoFix: 1}},
		{"far away", [][]track.Fix{joined(stroll(0, 0, 3), one(fixAt(26_000, 3), placeless(-168, -55, 4), placeless(12, 57, 5)))}, []int{3}, counts{track.NoteFarAway: 3}},
		{"near the limit", [][]track.Fix{one(fixAt(24_900, 0), fixAt(24_900.5, 1))}, []int{2}, counts{}},
		{"duplicates", [][]track.Fix{joined(stroll(0, 0, 3), one(fixAt(1, 2), fixAt(1, 2)), stroll(1.5, 3, 2))}, []int{5}, counts{track.NoteDuplicate: 2}},
		{"same place later stays", [][]track.Fix{one(fixAt(0, 0), fixAt(0, 1), fixAt(0, 2))}, []int{3}, counts{}},
		{"same time elsewhere stays", [][]track.Fix{one(fixAt(0, 0), fixAt(1, 1), fixAt(2, 1), fixAt(3, 2))}, []int{4}, counts{}},

		{"jump of one", [][]track.Fix{joined(stroll(0, 0, 5), one(fixAt(60, 5)), stroll(3, 6, 5))}, []int{10}, counts{track.NoteJump: 1}},
		{"jump of five", [][]track.Fix{joined(stroll(0, 0, 5), stroll(60, 5, 5), stroll(5, 10, 5))}, []int{10}, counts{track.NoteJump: 5}},
		{"jump across segments", [][]track.Fix{joined(stroll(0, 0, 5), one(fixAt(60, 5))), stroll(3, 6, 5)}, []int{10}, counts{track.NoteJump: 1}},
		{"jump at one time", [][]track.Fix{one(fixAt(0, 0), fixAt(1, 1), fixAt(40, 1), fixAt(1.5, 2))}, []int{3}, counts{track.NoteJump: 1}},
		{"jitter is no jump", [][]track.Fix{joined(stroll(0, 0, 5), one(fixAt(6.5, 5)), stroll(3, 6, 5))}, []int{11}, counts{}},
		{"ride away is no jump", [][]track.Fix{one(fixAt(0, 0), fixAt(1, 1), fixAt(16, 2), fixAt(31, 3), fixAt(46, 4), fixAt(61, 5))}, []int{6}, counts{}},
		{"away for good is no jump", [][]track.Fix{joined(stroll(0, 0, 5), stroll(60, 5, 9))}, []int{14}, counts{}},

		{"clock back once", [][]track.Fix{joined(stroll(0, 0, 5), one(fixAt(2.5, 1)), stroll(3, 6, 5))}, []int{10}, counts{track.NoteClockBack: 1}},
		{"clock back a little", [][]track.Fix{joined(stroll(0, 0, 5), stroll(2.5, 2, 9))}, []int{5 + 7}, counts{track.NoteClockBack: 2}},
		{"clock set back", [][]track.Fix{joined(stroll(0, 1000, 9), stroll(5, 0, 9))}, []int{9, 9}, counts{track.NoteClockSet: 1}},
		{"clock runs backwards", [][]track.Fix{one(fixAt(0, 9), fixAt(1, 8), fixAt(2, 7), fixAt(3, 6), fixAt(4, 5), fixAt(5, 4), fixAt(6, 3), fixAt(7, 2))}, []int{1}, counts{track.NoteClockBack: 7}},
		{"clock forward for one fix", [][]track.Fix{joined(stroll(0, 0, 5), one(fixAt(2.5, 9000)), stroll(3, 6, 9))}, []int{5, 1, 9}, counts{track.NoteSilence: 1, track.NoteClockSet: 1}},

		{"missing time", [][]track.Fix{joined(one(timeless(0)), stroll(0, 0, 3), one(timeless(2)), stroll(2, 4, 3))}, []int{6}, counts{track.NoteMissingTime: 2}},
		{"no times", [][]track.Fix{one(timeless(0), timeless(300), timeless(300), timeless(0))}, []int{3}, counts{track.NoteNoTimes: 1, track.NoteDuplicate: 1}},
		{"stopped clock", [][]track.Fix{one(fixAt(0, 5), fixAt(1, 5), fixAt(2, 5))}, []int{3}, counts{track.NoteNoTimes: 1}},
		{"no times between timed", [][]track.Fix{stroll(0, 0, 3), one(timeless(0), timeless(1)), stroll(1.5, 3, 3)}, []int{3, 2, 3}, counts{track.NoteNoTimes: 1}},

		{"odd date", [][]track.Fix{old}, []int{3}, counts{track.NoteOddDate: 3}},
		{"silence", [][]track.Fix{joined(stroll(0, 0, 5), stroll(3, 36, 5))}, []int{5, 5}, counts{track.NoteSilence: 1}},
		{"30 s is no silence", [][]track.Fix{joined(stroll(0, 0, 5), stroll(3, 34, 5))}, []int{10}, counts{}},
		{"segments that follow on", [][]track.Fix{stroll(0, 0, 5), stroll(3, 6, 5)}, []int{10}, counts{}},
		{"segments after a pause", [][]track.Fix{stroll(0, 0, 5), stroll(3, 600, 5)}, []int{5, 5}, counts{track.NoteSilence: 1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := track.NewWalk(localFrame(t), c.in, track.DefaultSettings())
			var paths []int
			for _, p := range w.Paths {
				paths = append(paths, len(p.Points))
			}
			require.Equal(t, c.paths, paths)
			got := counts{}
			for _, n := range w.Notes.List() {
				got[n.Kind] = n.Count
				require.NotEmpty(t, n.Example)
			}
			require.Equal(t, c.notes, got)
			requireWhole(t, w)
		})
	}
}

func TestNewWalkNamesTheFix(t *testing.T) {
	w := track.NewWalk(localFrame(t), [][]track.Fix{stroll(0, 0, 3), one(placeless(12, 96.2, 3))}, track.DefaultSettings())
	require.Equal(t, "fix 4: latitude 96.2, longitude 12", w.Notes.List()[0].Example)
}

// Points are where the frame puts them, in order, and carry what the fix had.
func TestNewWalkKeepsValues(t *testing.T) {
	fix := fixAt(3, 7)
	fix.HDOP, fix.AccM = 1.5, 4
	w := track.NewWalk(localFrame(t), [][]track.Fix{one(fix)}, track.DefaultSettings())
	p := w.Paths[0].Points[0]
	require.InDelta(t, 3, p.X, 1e-6)
	require.InDelta(t, 0, p.Y, 1e-6)
	require.Equal(t, fix.T, p.T)
	require.Equal(t, [2]float32{1.5, 4}, [2]float32{p.HDOP, p.AccM})
}

// requireWhole checks what holds for every walk: each fix is in one leg or one
// dropping note, legs follow one another, and no path holds a silence.
func requireWhole(t require.TestingT, w track.Walk) {
	points := 0
	for _, p := range w.Paths {
		require.NotEmpty(t, p.Points)
		next := 0
		for i, l := range p.Legs {
			require.Equal(t, next, l.From)
			require.Greater(t, l.To, l.From)
			require.False(t, i > 0 && p.Legs[i-1].Kind == l.Kind, "two legs of one kind side by side")
			points += l.To - l.From
			next = l.To
		}
		require.Equal(t, len(p.Points), next)
		for i, q := range p.Points {
			require.Equal(t, p.Timed, q.T.Known())
			if i > 0 && p.Timed {
				dt := q.T.Sub(p.Points[i-1].T)
				require.True(t, dt >= 0 && dt <= track.DefaultSettings().SilenceS, "step of %v s", dt)
			}
		}
	}
	require.Equal(t, w.Fixes, points+w.Notes.Dropped())
}

func TestNewWalkLosesNothing(t *testing.T) {
	f := localFrame(t)
	anyFix := rapid.Custom(func(t *rapid.T) track.Fix {
		fix := fixAt(rapid.Float64Range(-30, 30).Draw(t, "x"), float64(rapid.IntRange(0, 200).Draw(t, "s")))
		fix.HDOP, fix.AccM = 1, 5 // NaN would not compare
		switch rapid.IntRange(0, 30).Draw(t, "oddity") {
		case 0:
			fix.T = track.NoTime
		case 1:
			fix.Pos = grid.LonLat{}
		case 2:
			fix.Pos.Lat = math.NaN()
		case 3:
			fix.Pos.Lon += 90
		case 4:
			fix.Kind = track.FixNone
		case 5:
			fix.HDOP = 50
		case 6:
			fix.T = track.Instant(rapid.Int64().Draw(t, "when"))
		}
		return fix
	})
	rapid.Check(t, func(t *rapid.T) {
		segments := rapid.SliceOfN(rapid.SliceOfN(anyFix, 0, 40), 0, 4).Draw(t, "segments")
		if rapid.Bool().Draw(t, "in order") {
			s := 0.0
			for _, seg := range segments {
				for i := range seg {
					if s += float64(rapid.IntRange(0, 12).Draw(t, "dt")); seg[i].T.Known() {
						seg[i].T = t0 + track.Instant(1000*s)
					}
				}
			}
		}
		set := track.DefaultSettings()
		set.TreatAs = track.Searching
		w := track.NewWalk(f, segments, set)
		requireWhole(t, w)
		require.Equal(t, w, track.NewWalk(f, segments, set))
	})
}
