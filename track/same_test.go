package track_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/internal/check"
	"untrod/track"
)

// ofPoints cleans a log given in metres.
func ofPoints(t testing.TB, ps []track.Point) track.Walk {
	f, err := grid.NewFrame(grid.LonLat{Lon: -31.2, Lat: 47.3})
	require.NoError(t, err)
	return track.NewWalk(f, [][]track.Fix{check.Fixes(f, ps)}, track.DefaultSettings())
}

// edited is a copy of a log with each fix changed; false leaves it out.
func edited(ps []track.Point, edit func(i int, p *track.Point) bool) []track.Point {
	var out []track.Point
	for i, p := range ps {
		if edit(i, &p) {
			out = append(out, p)
		}
	}
	return out
}

func visitOf(seed uint64, style check.Style, r check.Receiver, seconds int) check.Visit {
	set := check.DefaultWalk()
	set.Seed, set.Style, set.Receiver, set.Seconds = seed, style, r, seconds
	return check.Simulate(set)
}

// copied are the ways in which one log is given twice.
var copied = map[string]func(i int, p *track.Point) bool{
	"as it is": func(int, *track.Point) bool { return true },
	"rounded": func(_ int, p *track.Point) bool { // to 1e-5 degrees at 47 degrees north, and to the second
		p.X, p.Y, p.T = math.Round(p.X/0.756)*0.756, math.Round(p.Y/1.112)*1.112, p.T/1000*1000
		return true
	},
	"thinned":       func(i int, _ *track.Point) bool { return i%7 == 0 },
	"trimmed":       func(i int, _ *track.Point) bool { return i > 300 && i < 700 },
	"hour off":      func(_ int, p *track.Point) bool { p.T += 3600_000; return true },
	"zone off":      func(_ int, p *track.Point) bool { p.T -= 20_700_000; return true }, // 5 h 45
	"without times": func(_ int, p *track.Point) bool { p.T = track.NoTime; return true },
	"rounded, without times": func(_ int, p *track.Point) bool {
		p.X, p.Y, p.T = math.Round(p.X/0.756)*0.756, math.Round(p.Y/1.112)*1.112, track.NoTime
		return true
	},
}

func TestCompareCopies(t *testing.T) {
	for _, r := range []check.Receiver{check.OpenSky, check.DenseCanopy} {
		for _, style := range []check.Style{check.Winding, check.Lanes} {
			v := visitOf(3, style, r, 1800)
			v.Log = edited(v.Log, func(i int, p *track.Point) bool { p.T += 300; return true })
			whole := ofPoints(t, v.Log)
			for name, edit := range copied {
				m := track.Compare(whole, ofPoints(t, edited(v.Log, edit)))
				require.Equal(t, track.OneLog, m.Likeness, "%s %v", name, style)
				want := map[string]float64{"hour off": -3600, "zone off": 20700}[name]
				require.Equal(t, want, m.ClockS, name)
			}
		}
	}
}

// A log smoothed by the program that exported it is one walk, not one log.
func TestCompareSmoothed(t *testing.T) {
	v := visitOf(5, check.Winding, check.LightCanopy, 1800)
	smooth := edited(v.Log, func(i int, p *track.Point) bool {
		lo, hi := max(i-8, 0), min(i+9, len(v.Log))
		p.XY = grid.XY{}
		for _, q := range v.Log[lo:hi] {
			p.X, p.Y = p.X+q.X/float64(hi-lo), p.Y+q.Y/float64(hi-lo)
		}
		return true
	})
	m := track.Compare(ofPoints(t, v.Log), ofPoints(t, smooth))
	require.Equal(t, track.OneWalk, m.Likeness)
	require.Zero(t, m.ClockS)
	require.Less(t, m.Misfit, 0.02)
}

func TestCompareTellsNothing(t *testing.T) {
	v := visitOf(1, check.Winding, check.OpenSky, 900)
	w, none := ofPoints(t, v.Log), track.Walk{}
	rest := ofPoints(t, edited(v.Log, func(_ int, p *track.Point) bool { p.XY = grid.XY{X: 3, Y: 4}; return true }))
	late := ofPoints(t, edited(v.Log, func(_ int, p *track.Point) bool { p.T += 86_400_000; return true }))
	require.Equal(t, track.Unclear, track.Compare(w, none).Likeness)
	require.Equal(t, track.Unclear, track.Compare(none, w).Likeness)
	require.Equal(t, track.Unclear, track.Compare(none, none).Likeness)
	require.Equal(t, track.Unclear, track.Compare(w, late).Likeness, "another day")
	require.Equal(t, track.TwoWalks, track.Compare(w, rest).Likeness, "a receiver left lying")
	bare := ofPoints(t, edited(v.Log, func(_ int, p *track.Point) bool { p.T = track.NoTime; return true }))
	require.NotEqual(t, track.OneLog, track.Compare(bare, w).Likeness, "times are never given up")
	other := ofPoints(t, edited(visitOf(2, check.Winding, check.OpenSky, 900).Log,
		func(_ int, p *track.Point) bool { p.T = track.NoTime; return true }))
	require.Equal(t, track.Unclear, track.Compare(w, other).Likeness)
}

// A short log is within another only to the centimetre, a long one may miss 1 in 50.
func TestWithin(t *testing.T) {
	v := visitOf(4, check.Winding, check.OpenSky, 900)
	whole := ofPoints(t, v.Log)
	shift := func(from, to, each int, m float64) track.Walk {
		return ofPoints(t, edited(v.Log, func(i int, p *track.Point) bool {
			if i%each == 0 {
				p.Y += m
			}
			return i >= from && i < to
		}))
	}
	require.True(t, track.Within(whole, shift(200, 215, 1, 0), 0))
	require.False(t, track.Within(whole, shift(200, 215, 1, 0.3), 0))
	require.True(t, track.Within(whole, shift(200, 500, 1, 0.3), 0))
	require.False(t, track.Within(whole, shift(200, 500, 1, 4), 0))
	require.True(t, track.Within(whole, shift(200, 500, 70, 4), 0))
	require.False(t, track.Within(whole, shift(200, 500, 30, 4), 0))
	require.False(t, track.Within(whole, whole, 10))
	require.False(t, track.Within(shift(200, 500, 1, 0), whole, 0))
}

// Times are in seconds; kept ones are of the second log, on the first's clock.
func TestJoin(t *testing.T) {
	log := func(times ...[2]int) track.Walk {
		var ps []track.Point
		for _, span := range times {
			for at := span[0]; at <= span[1]; at += 5 {
				ps = append(ps, track.Point{XY: grid.XY{X: float64(at) / 2}, T: 1_750_000_000_000 + track.Instant(at*1000)})
			}
		}
		return ofPoints(t, ps)
	}
	for _, c := range []struct {
		name string
		a, b track.Walk
		want [][2]int // paths of the second that are taken
		at   float64
	}{
		{"the same", log([2]int{0, 600}), log([2]int{0, 600}), nil, 0},
		{"longer by little", log([2]int{30, 600}), log([2]int{0, 630}), nil, 0},
		{"longer", log([2]int{300, 600}), log([2]int{0, 900}), [][2]int{{0, 295}, {605, 900}}, 0},
		{"in a silence", log([2]int{0, 200}, [2]int{300, 600}), log([2]int{0, 600}), [][2]int{{205, 295}}, 0},
		{"in a silence, shorter", log([2]int{0, 200}, [2]int{240, 600}), log([2]int{0, 600}), [][2]int{{205, 235}}, 0},
		{"clock", log([2]int{0, 200}, [2]int{300, 600}), log([2]int{100, 700}), [][2]int{{205, 295}}, -100},
		{"nothing to join to", track.Walk{}, log([2]int{0, 100}), [][2]int{{0, 100}}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			before := len(c.a.Paths)
			got, taken := track.Join(c.a, c.b, c.at, 30)
			require.Len(t, got.Paths, before+len(c.want))
			require.Equal(t, c.a.Fixes+taken, got.Fixes)
			var new [][2]int
			n := 0
			for _, p := range got.Paths {
				from, to := p.Points[0].T, p.Points[len(p.Points)-1].T
				span := [2]int{int(from-1_750_000_000_000) / 1000, int(to-1_750_000_000_000) / 1000}
				for _, w := range c.want {
					if span == w {
						new = append(new, span)
						n += len(p.Points)
						require.Equal(t, len(p.Points), p.Legs[len(p.Legs)-1].To)
						require.Zero(t, p.Legs[0].From)
					}
				}
			}
			require.Equal(t, c.want, new)
			require.Equal(t, n, taken)
			require.True(t, len(c.a.Paths) == before)
		})
	}
}

// rates counts what Compare says of many pairs, in percent.
type rates struct{ n, same, unclear int }

func (r *rates) add(m track.Match) {
	r.n++
	switch m.Likeness {
	case track.OneWalk, track.OneLog:
		r.same++
	case track.Unclear:
		r.unclear++
	}
}

func (r rates) String() string {
	return fmt.Sprintf("%.1f | %.1f", 100*float64(r.same)/float64(r.n), 100*float64(r.unclear)/float64(r.n))
}

var (
	skies   = map[string]check.Receiver{"open": check.OpenSky, "light": check.LightCanopy, "dense": check.DenseCanopy}
	errorsM = map[string]float64{"open": 1.6, "light": 3.9, "dense": 5.8}
)

// twoDevices is one walk of 7 minutes to an hour logged by two receivers that know
// nothing of each other; the second logs every 1, 3 or 10 s or after 3 m, with
// silences, its clock off by up to 3 s.
func twoDevices(t testing.TB, seed uint64, style check.Style, r check.Receiver) track.Match {
	v := visitOf(seed, style, r, []int{400, 600, 1200, 2400, 3600}[seed/4%5])
	r.EveryS, r.SilencesPerHour = []int{1, 3, 1, 10}[seed%4], 5
	if seed%4 == 2 {
		r.MoveM = 3
	}
	rng := rand.New(rand.NewPCG(seed, 7))
	late := track.Instant(rng.IntN(6001) - 3000)
	other := edited(r.Log(v, rng), func(_ int, p *track.Point) bool { p.T += late; return true })
	return track.Compare(ofPoints(t, v.Log), ofPoints(t, other))
}

// twoPeople search the same patch, the second so many seconds later, each in his
// own way.
func twoPeople(t testing.TB, seed uint64, style check.Style, r check.Receiver, later int) track.Match {
	set := check.DefaultWalk()
	set.Seed, set.Style, set.Receiver, set.Seconds = seed, style, r, []int{400, 600, 1200, 2400, 3600}[seed/4%5]
	v := check.Simulate(set)
	set.Seed, set.Start = set.Seed+1_000_000, set.Start+track.Instant(later)*1000
	if style == check.Lanes {
		set.Patch.Min.Y, set.Patch.Max.Y = set.Patch.Min.Y+2, set.Patch.Max.Y+2
	}
	return track.Compare(ofPoints(t, v.Log), ofPoints(t, check.Simulate(set).Log))
}

// abreast are two people in neighbouring lanes who wait for each other at the ends.
func abreast(t testing.TB, seed uint64, gapM, digs float64, r check.Receiver) track.Match {
	set := check.DefaultWalk()
	set.Seed, set.Receiver, set.DigsPerHour, set.Seconds = seed, r, digs, []int{400, 600, 1200, 2400, 3600}[seed/4%5]
	set.Patch.Max.Y = set.Patch.Min.Y + 60*gapM
	p := check.Abreast(set, gapM)
	return track.Compare(ofPoints(t, p[0].Log), ofPoints(t, p[1].Log))
}

// TestSameWalk bounds, on a few walks of each kind, what TestSameWalkTable measures
// on many: bounds are the rates of docs/accuracy.md and what chance allows on top.
func TestSameWalk(t *testing.T) {
	const n = 20
	for sky, r := range skies {
		var devices, people, pairs rates
		for seed := range uint64(n) {
			devices.add(twoDevices(t, 100+seed, check.Style(seed%2), r))
			people.add(twoPeople(t, 100+seed, check.Style(seed%2), r, 0))
			require.Equal(t, track.Unclear, twoPeople(t, 100+seed, check.Style(seed%2), r, 7200).Likeness, "a clock two hours off?")
			pairs.add(abreast(t, 100+seed, []float64{2, 5, 10}[seed%3], 6, r))
		}
		t.Log(sky, "devices", devices, "people", people, "abreast", pairs)
		require.GreaterOrEqual(t, devices.same, n-3, "%s: two receivers on one person", sky)
		require.LessOrEqual(t, people.same, 3, "%s: two people", sky)
		require.LessOrEqual(t, pairs.same, map[string]int{"open": 6, "light": 8, "dense": 12}[sky], "%s: abreast", sky)
	}
}

// TestSameWalkTable prints the table of docs/accuracy.md. It takes some minutes:
//
//	UNTROD_STUDY=200 go test ./track -run TestSameWalkTable -v -timeout 1h
func TestSameWalkTable(t *testing.T) {
	n := uint64(0)
	if _, err := fmt.Sscan(os.Getenv("UNTROD_STUDY"), &n); err != nil || n < 1 {
		t.Skip("set UNTROD_STUDY to the number of pairs of each kind")
	}
	row := func(name string, pair func(seed uint64, r check.Receiver, sky string) track.Match) {
		line := "| " + name
		for _, sky := range []string{"open", "light", "dense"} {
			var all rates
			for seed := range n {
				all.add(pair(seed, skies[sky], sky))
			}
			line += fmt.Sprintf(" | %.1f", 100*float64(all.same)/float64(all.n))
		}
		fmt.Println(line + " |")
	}
	fmt.Println("| called one walk, % | open | light | dense |\n|---|---|---|---|")
	for _, style := range []check.Style{check.Winding, check.Lanes} {
		for _, kind := range []string{"", "first-order", "random walk", "pinned", "offset 3 m"} {
			row("two receivers, "+style.String()+" "+kind, func(seed uint64, r check.Receiver, sky string) track.Match {
				return twoDevices(t, seed, style, check.Foreign(kind, r, errorsM[sky]))
			})
		}
		row("two people, "+style.String(), func(seed uint64, r check.Receiver, _ string) track.Match {
			return twoPeople(t, seed, style, r, 0)
		})
	}
	for _, digs := range []float64{6, 0} {
		for _, gap := range []float64{2, 5, 10} {
			row(fmt.Sprintf("two people abreast, %.0f m apart, %.0f stops an hour", gap, digs),
				func(seed uint64, r check.Receiver, _ string) track.Match { return abreast(t, seed, gap, digs, r) })
		}
	}
}

// Seven real receivers on one ride. At 6 m/s they differ along the way, by when they
// tell their places, which a searcher's pace does not show; displacements agree.
func TestSevenDevices(t *testing.T) {
	files, _ := filepath.Glob(filepath.Join(dataFolder, "walks/seven-devices/routeA_*.gpx"))
	if len(files) == 0 {
		t.Skip("no shared test data beside the project")
	}
	set := track.DefaultSettings()
	set.Legs.SearchMaxMS, set.JumpSpeedMS = 15, 30 // by bicycle
	var walks []track.Walk
	var f grid.Frame
	for _, name := range files {
		in, err := os.Open(name)
		require.NoError(t, err)
		log, err := track.ReadGPX(in, filepath.Base(name))
		require.NoError(t, err)
		require.NoError(t, in.Close())
		visits := track.Visits(log, 4*3600)
		if len(walks) == 0 {
			f, err = grid.NewFrame(visits[0][0][0].Pos)
			require.NoError(t, err)
		}
		walks = append(walks, track.NewWalk(f, visits[0], set))
	}
	one := 0
	for i, a := range walks {
		for j, b := range walks[:i] {
			m := track.Compare(a, b)
			require.Less(t, m.Misfit, 0.1, "%s %s", filepath.Base(files[i]), filepath.Base(files[j]))
			if m.Likeness == track.OneWalk {
				one++
			}
		}
	}
	require.GreaterOrEqual(t, one, 15, "of 21 pairs; one receiver of the seven is at odds with the rest")
}
