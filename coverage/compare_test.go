package coverage_test

import (
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// compared assesses visits to a 40 m square with rings of 5 and 10 m, positions taken
// as perfect unless edit says otherwise.
func compared(t testing.TB, marks []site.Landmark, finds []site.Find, edit func(*coverage.Settings), logs ...coverage.Source) *coverage.Result {
	t.Helper()
	s := squareSite(t.(*testing.T), 40)
	s.Landmarks = marks
	set := coverage.DefaultSettings()
	set.SwathM = 2
	set.Zones = coverage.ZoneSettings{RingsM: []float64{5, 10}, Nearest: true}
	if edit != nil {
		edit(&set)
	}
	r, err := coverage.Assess(t.Context(), coverage.Input{Site: s, Logs: logs, Finds: finds}, set, nil)
	require.NoError(t, err)
	return r
}

func openSky(s *coverage.Settings) {
	s.Position.Canopy, s.Position.Draws = "open", 40
	s.Position.Receiver, _ = track.Canopy("open")
}

// stone is a landmark at a place of the frame.
func stone(name string, x, y float64) site.Landmark {
	f, _ := grid.NewFrame(datum)
	return site.Landmark{Name: name, Points: []grid.LonLat{f.ToLonLat(grid.XY{X: x, Y: y})}}
}

func findAt(x, y float64, at time.Time) site.Find {
	f, _ := grid.NewFrame(datum)
	out := site.NoFind
	out.Pos, out.T = f.ToLonLat(grid.XY{X: x, Y: y}), track.At(at)
	return out
}

// lanesFrom walks lanes of the square 2 m apart, from x on.
func lanesFrom(x float64, n int) (line []grid.XY) {
	for i := range n {
		at := x + 2*float64(i)
		if i%2 == 0 {
			line = append(line, lane(at, 0, at, 40)...)
		} else {
			line = append(line, lane(at, 40, at, 0)...)
		}
	}
	return line
}

func TestZonesAndRestAreTheSite(t *testing.T) {
	marks := []site.Landmark{stone("boulder", 12, 12), stone("stump", 18, 14), stone("far away", 400, 0)}
	r := compared(t, marks, nil, openSky, gpx("a.gpx", day, lanesFrom(1, 14)))
	c := r.Comparison
	require.Len(t, c.Zones, 6)
	cells, swept, metres, seconds := c.Rest.Cells, c.Rest.SweptM2, c.Rest.TrackM, c.Rest.SearchSPerM2*c.Rest.SearchableM2
	for _, z := range c.Zones {
		cells, swept, metres = cells+z.Cells, swept+z.SweptM2, metres+z.TrackM
		seconds += z.SearchSPerM2 * z.SearchableM2
		if z.Landmark == "far away" {
			require.Zero(t, z.Cells)
			require.Nil(t, z.Certainty)
			require.True(t, math.IsNaN(z.RatioToRest.P) && math.IsNaN(z.FindsPer100M2.Value))
			continue
		}
		require.Positive(t, z.Cells)
		require.LessOrEqual(t, z.Certainty.AtLeastPercent, z.Certainty.ExpectedPercent)
		require.LessOrEqual(t, z.Certainty.AtLeastPercent, z.AsLoggedPercent)
	}
	require.Equal(t, r.Searchable.Count(), cells)
	require.InDelta(t, r.SweptM2, swept, 1e-6)
	require.InDelta(t, 14*40, metres, 14) // less the turns, that run along the edge
	all := 0.0
	r.Searchable.Cells(func(k grid.Cell) { all += r.Tally.SecondsPerM2(k) * r.Spec.CellAreaM2() })
	require.InDelta(t, all, seconds, 1e-6)
}

// Ground in the rings of two is each one's when asked for.
func TestOverlapsForEach(t *testing.T) {
	marks := []site.Landmark{stone("boulder", 15, 15), stone("boulder", 18, 15)}
	log := gpx("a.gpx", day, lanesFrom(1, 14))
	r := compared(t, marks, []site.Find{findAt(16, 15, day)}, func(s *coverage.Settings) { s.Zones.Nearest = false }, log)
	z := r.Comparison.Zones
	require.Equal(t, []string{"boulder", "boulder (2)"}, r.Comparison.Landmarks)
	require.InDelta(t, math.Pi*25, z[0].SearchableM2, 1)
	require.InDelta(t, math.Pi*25, z[2].SearchableM2, 1)
	require.Equal(t, []float64{1, 1, 0}, []float64{z[0].Finds, z[2].Finds, r.Comparison.Rest.Finds})
	r = compared(t, marks, []site.Find{findAt(16, 15, day)}, nil, log)
	z = r.Comparison.Zones
	require.Less(t, z[0].SearchableM2, 70.0)
	require.Equal(t, []float64{1, 0}, []float64{z[0].Finds, z[2].Finds})
}

// A find on the edge of a ring is half on either side; one deep inside is not.
func TestFindsNearAnEdgeCountInPart(t *testing.T) {
	on, deep := findAt(25, 20, day), findAt(20, 20, day)
	on.SdM, deep.SdM = 0.5, 0.5
	on.Verdict = site.Keeper
	r := compared(t, []site.Landmark{stone("boulder", 20, 20)}, []site.Find{on, deep}, openSky, gpx("a.gpx", day, lanesFrom(1, 20)))
	z := r.Comparison.Zones
	require.InDelta(t, 1.5, z[0].Finds, 0.25)
	require.InDelta(t, 0.5, z[0].Keepers, 0.25)
	require.InDelta(t, 2, z[0].Finds+z[1].Finds+r.Comparison.Rest.Finds, 1e-9)
	require.Less(t, z[0].FindsPer100M2.Lo, z[0].FindsPer100M2.Value)
	require.Greater(t, z[0].FindsPer100M2.Hi, z[0].FindsPer100M2.Value)
}

func TestFindsThatNoZoneCanHold(t *testing.T) {
	finds := []site.Find{findAt(20, 20, day), findAt(80, 20, day), site.NoFind, findAt(41, 20, day)}
	log := gpx("a.gpx", day, lanesFrom(1, 20))
	c := compared(t, nil, finds, nil, log).Comparison
	require.Equal(t, []int{1, 2, 1}, []int{len(c.Placed), c.Outside, c.Placeless})
	// The receiver may have put the one at the edge outside.
	c = compared(t, nil, finds, openSky, log).Comparison
	require.Equal(t, []int{2, 1, 1}, []int{len(c.Placed), c.Outside, c.Placeless})
	require.InDelta(t, 2, c.Rest.Finds, 1e-9)
	require.Empty(t, c.Zones)
}

// Walking everything again and finding nothing halves the finds per hour, and leaves
// the finds for the ground swept as they were.
func TestDoublingEffortHalvesTheRate(t *testing.T) {
	finds := []site.Find{findAt(19, 20, day), findAt(22, 20, day), findAt(5, 5, day), findAt(35, 8, day)}
	marks := []site.Landmark{stone("boulder", 20, 20)}
	once := compared(t, marks, finds, nil, gpx("a.gpx", day, lanesFrom(1, 20))).Comparison
	twice := compared(t, marks, finds, nil, gpx("a.gpx", day, lanesFrom(1, 20)), gpx("b.gpx", day.AddDate(0, 0, 7), lanesFrom(1, 20))).Comparison
	for i, a := range append(once.Zones, once.Rest) {
		b := append(twice.Zones, twice.Rest)[i]
		require.InDelta(t, a.FindsPerHour.Value, 2*b.FindsPerHour.Value, 0.02*a.FindsPerHour.Value)
		require.InDelta(t, a.FindsPerHour.Hi, 2*b.FindsPerHour.Hi, 0.02*a.FindsPerHour.Hi)
		require.Equal(t, a.FindsPer100M2, b.FindsPer100M2)
		require.InDelta(t, 2*a.MeanPasses, b.MeanPasses, 0.02)
	}
	z := once.Zones[0]
	require.Equal(t, coverage.RateOf([]coverage.Haul{{Finds: 2, Effort: z.SweptM2 / 100}}, 0.95), z.FindsPer100M2)
	want := coverage.RatioOf([]coverage.Haul{{Finds: 2, Effort: z.SweptM2}}, []coverage.Haul{{Finds: 2, Effort: once.Rest.SweptM2}}, 0.95)
	require.InDelta(t, want.P, z.RatioAsLogged.P, 1e-12)
	require.InDelta(t, want.Lo, z.RatioToRest.Lo, 1e-6)
	require.InDelta(t, coverage.Holm([]float64{z.RatioAsLogged.P, once.Zones[1].RatioAsLogged.P})[0], z.PHolm, 1e-12)
}

// Neither the order of logs and finds nor the number of cores changes anything, and
// asking for zones changes nothing else.
func TestOrderChangesNoComparison(t *testing.T) {
	var finds []site.Find
	rng := rand.New(rand.NewPCG(3, 4))
	for i := range 30 {
		f := findAt(40*rng.Float64(), 40*rng.Float64(), day.Add(time.Duration(i)*time.Minute))
		f.Name = fmt.Sprint(i)
		finds = append(finds, f)
	}
	marks := []site.Landmark{stone("boulder", 20, 20), stone("stump", 24, 20)}
	logs := []coverage.Source{gpx("a.gpx", day, lanesFrom(1, 9)), gpx("b.gpx", day.AddDate(0, 0, 7), lanesFrom(11, 9)), gpx("c.gpx", day.AddDate(0, 0, 9), lanesFrom(3, 12))}
	a := compared(t, marks, finds, openSky, logs...)
	rng.Shuffle(len(finds), func(i, j int) { finds[i], finds[j] = finds[j], finds[i] })
	var b *coverage.Result
	withCores(1, func() { b = compared(t, marks, finds, openSky, logs[2], logs[0], logs[1]) })
	// Sprint, since NaN equals nothing.
	require.Equal(t, fmt.Sprintf("%+v", a.Comparison.Zones[0].Certainty), fmt.Sprintf("%+v", b.Comparison.Zones[0].Certainty))
	for i := range a.Comparison.Zones {
		a.Comparison.Zones[i].Certainty, b.Comparison.Zones[i].Certainty = nil, nil
	}
	a.Comparison.Rest.Certainty, b.Comparison.Rest.Certainty = nil, nil
	require.Equal(t, fmt.Sprintf("%+v", a.Comparison), fmt.Sprintf("%+v", b.Comparison))

	plain := compared(t, marks, finds, func(s *coverage.Settings) { openSky(s); s.Zones = coverage.ZoneSettings{} }, logs...)
	require.Nil(t, plain.Comparison)
	require.Equal(t, plain.Certainty.AtLeastPercent, a.Certainty.AtLeastPercent)
	require.Equal(t, plain.Certainty.Interval90, a.Certainty.Interval90)
	require.Equal(t, plain.AsLoggedPercent, a.AsLoggedPercent)
}

// catch is so many finds of one visit, spread over the square.
func catch(n int, at time.Time) (out []site.Find) {
	for i := range n {
		out = append(out, findAt(2+float64(i*7%36), 3+float64(i*11%34), at.Add(time.Minute)))
	}
	return out
}

func TestLeftInTheGround(t *testing.T) {
	days := []time.Time{day, day.AddDate(0, 0, 7), day.AddDate(0, 0, 14)}
	visits := func(lanes ...int) (logs []coverage.Source) {
		for i, n := range lanes {
			logs = append(logs, gpx(fmt.Sprintf("v%d.gpx", i), days[i], lanesFrom(1, n)))
		}
		return logs
	}
	left := func(catches []int, lanes ...int) coverage.Left {
		var finds []site.Find
		for i, n := range catches {
			finds = append(finds, catch(n, days[i])...)
		}
		return compared(t, nil, finds, nil, visits(lanes...)...).Comparison.Left[0]
	}
	l := left([]int{24, 12, 6}, 20, 20, 20)
	require.NoError(t, l.Refused)
	want, err := coverage.Remaining([]int{24, 12, 6})
	require.NoError(t, err)
	require.Equal(t, fmt.Sprintf("%+v", want), fmt.Sprintf("%+v", l.Removal))
	require.Equal(t, []int{0, 1, 2}, l.Visits)
	require.InDelta(t, 1600, l.SameM2, 20)
	for _, c := range []struct {
		name    string
		catches []int
		lanes   []int
		want    error
	}{
		{"one visit", []int{24}, []int{20}, coverage.ErrOnePass},
		{"different ground", []int{24, 12}, []int{20, 4}, coverage.ErrOnePass},
		{"rising", []int{6, 24}, []int{20, 20}, coverage.ErrRising},
		{"too few", []int{4, 2}, []int{20, 20}, coverage.ErrFewFinds},
		{"nothing", nil, []int{20, 20}, coverage.ErrNothingFound},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.ErrorIs(t, left(c.catches, c.lanes...).Refused, c.want)
		})
	}
	// The same ground at another pace is another effort.
	var slow []grid.XY
	for _, p := range lanesFrom(1, 20) {
		slow = append(slow, p, grid.XY{X: p.X, Y: p.Y + 0.001})
	}
	r := compared(t, nil, append(catch(24, days[0]), catch(12, days[1])...), nil, gpx("a.gpx", days[0], lanesFrom(1, 20)), gpx("b.gpx", days[1], slow))
	require.ErrorIs(t, r.Comparison.Left[0].Refused, coverage.ErrUneven)
}

// Of two halves searched one after the other, the later gave fewer finds an hour.
func TestTrendOnFreshGround(t *testing.T) {
	later := day.AddDate(0, 0, 7)
	var finds []site.Find
	for i := range 30 {
		finds = append(finds, findAt(4+float64(i%12), 3+float64(i), day.Add(time.Minute)))
	}
	finds = append(finds, findAt(30, 20, later.Add(time.Minute)), findAt(10, 20, later.Add(time.Minute)))
	r := compared(t, nil, finds, nil, gpx("a.gpx", day, lanesFrom(1, 10)), gpx("b.gpx", later, lanesFrom(21, 10)))
	k := r.Comparison.Trend
	require.Equal(t, []int{30, 1}, []int{k.Early.Finds, k.Late.Finds}) // the last was on swept ground
	require.Equal(t, 1, k.LateFrom)
	require.InDelta(t, k.Early.Effort, k.Late.Effort, 0.1*k.Early.Effort)
	require.Less(t, k.Ratio.P, 1e-6)
	require.Less(t, k.Ratio.Hi, 1.0)
}

// Without times nothing can be said of hours, and it is not said.
func TestCompareWithoutTimes(t *testing.T) {
	log := gpx("a.gpx", day, lanesFrom(1, 20))
	plain := text("a.gpx", timeless(t, log))
	r := compared(t, []site.Landmark{stone("boulder", 20, 20)}, []site.Find{findAt(20, 20, day)},
		func(s *coverage.Settings) { s.Track.TreatAs = track.Searching }, plain)
	z := r.Comparison.Zones[0]
	require.Zero(t, z.SearchSPerM2)
	require.True(t, math.IsNaN(z.FindsPerHour.Value))
	require.Positive(t, z.FindsPer100M2.Value)
	require.Equal(t, -1, r.Comparison.Placed[0].Visit)
	require.True(t, errors.Is(r.Comparison.Left[0].Refused, coverage.ErrOnePass))
}

// Many landmarks and finds, as a club of many years has them.
func BenchmarkCompare(b *testing.B) {
	f, _ := grid.NewFrame(datum)
	s := site.FromWalks([]grid.Polygon{{Outer: box(0, 0, 200, 200)}}, f, "large")
	rng := rand.New(rand.NewPCG(5, 6))
	for i := range 50 {
		s.Landmarks = append(s.Landmarks, stone(fmt.Sprint("stone ", i), 200*rng.Float64(), 200*rng.Float64()))
	}
	var finds []site.Find
	for range 10_000 {
		finds = append(finds, findAt(200*rng.Float64(), 200*rng.Float64(), day))
	}
	var line []grid.XY
	for x := 1.0; x < 199; x += 4 {
		line = append(append(line, lane(x, 0, x, 200)...), lane(x+2, 200, x+2, 0)...)
	}
	set := coverage.DefaultSettings()
	set.SwathM = 2
	openSky(&set)
	set.Position.Draws = 200
	for _, zones := range []bool{false, true} {
		b.Run(map[bool]string{false: "without zones", true: "50 landmarks"}[zones], func(b *testing.B) {
			if zones {
				set.Zones = coverage.ZoneSettings{RingsM: []float64{5, 10, 20}, Nearest: true}
			}
			for b.Loop() {
				_, err := coverage.Assess(b.Context(), coverage.Input{Site: s, Logs: []coverage.Source{gpx("a.gpx", day, line)}, Finds: finds}, set, nil)
				require.NoError(b, err)
			}
		})
	}
}

// timeless is a log without its times.
func timeless(t *testing.T, log coverage.Source) string {
	in, err := log.Open()
	require.NoError(t, err)
	all, err := io.ReadAll(in)
	require.NoError(t, err)
	return regexp.MustCompile(`<time>[^<]*</time>`).ReplaceAllString(string(all), "")
}
