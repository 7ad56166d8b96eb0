package plan_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
	"untrod/site"
	"untrod/track"
)

// strips is a field of 40 x 20 m swept in lanes but for two places of 6 x 6 m.
func strips(landmarks ...site.LocalLandmark) field {
	f := field{boundary: []grid.Polygon{boxOf(0, 0, 40, 20)}, landmarks: landmarks}
	for y := 0.5; y < 20; y++ {
		stretches := [][2]float64{{0, 40}}
		if y > 7 && y < 13 {
			stretches = [][2]float64{{0, 6}, {13.5, 26.5}, {34, 40}}
		}
		for _, s := range stretches {
			var line []grid.XY
			for x := s[0]; x <= s[1]; x += 0.5 {
				line = append(line, grid.XY{X: x, Y: y})
			}
			f.lines = append(f.lines, line)
		}
	}
	return f
}

var treated = func(s *coverage.Settings) { s.Track.TreatAs = track.Searching }

// TestInterest: of two gaps alike, with time for one, that near the landmark is taken,
// and the settings can turn that round.
func TestInterest(t *testing.T) {
	well := landmark("old well", "", site.PointShape, 30, 10)
	f := strips(well, landmark("stump", "tree", site.PointShape, 10, 10))
	f.untimed = true
	r := f.assessed(t, treated)
	require.Len(t, r.Gaps, 2)
	east := 0
	for _, g := range r.Gaps {
		if g.CentreXY.X > local(t, r, grid.XY{X: 20}).X {
			east = g.ID
		}
	}
	for _, c := range []struct {
		name     string
		interest []plan.Interest
		east     bool
	}{
		{"a well draws more than a tree", nil, true},
		{"by name", []plan.Interest{{Landmark: "Stump", Weight: 9, FadeM: 9}}, false},
		{"by kind", []plan.Interest{{Kind: "wells"}}, false},
		{"a name goes before a kind", []plan.Interest{{Landmark: "old well", Weight: 3, FadeM: 8}, {Kind: "well"}}, true},
		{"of equals the last", []plan.Interest{{Kind: "well"}, {Kind: "well", Weight: 3, FadeM: 8}}, true},
	} {
		set := threeHours(local(t, r, grid.XY{X: 20, Y: -1}))
		set.BudgetS, set.Interest = 170, c.interest
		p := made(t, r, set)
		require.Len(t, p.Stops, 1, c.name)
		require.Equal(t, c.east, p.Stops[0].Gaps[0] == east, c.name)
		require.Len(t, p.Left, 1)
		require.Equal(t, "too little for the time and way it takes: other ground brings more", p.Left[0].Why)
		require.Less(t, p.Left[0].Worth, p.Stops[0].Worth)
		require.Contains(t, p.Stops[0].Why, map[bool]string{true: `near "old well"`, false: `near "stump"`}[c.east])
	}
}

// TestWorth: a gap's worth is the integral of 1 + weight x fading over its cells, here
// over 4 x 6 m beside a wall along its long side: 24 + 2 x integral over 0 to 4 m of
// (1 - m/4) x 6 m = 24 + 24.
func TestWorth(t *testing.T) {
	f := strips(landmark("wall", "", site.LineShape, 0, 20, 40, 20))
	f.lines = nil
	for y := 0.5; y < 15; y++ {
		f.lines = append(f.lines, []grid.XY{{X: 0, Y: y}, {X: 10, Y: y}, {X: 20, Y: y}, {X: 30, Y: y}, {X: 40, Y: y}})
	}
	f.untimed = true
	r := f.assessed(t, treated)
	set := threeHours(local(t, r, grid.XY{X: 20, Y: -1}))
	set.Interest = []plan.Interest{{Kind: "wall", Weight: 2, FadeM: 4}}
	p := made(t, r, set)
	h := 20 - 14.5 - 0.75 // of what is left
	require.InEpsilon(t, 40*h, r.Gaps[0].AreaM2, 0.03)
	require.InEpsilon(t, r.Gaps[0].AreaM2+2*40*4/2, p.Stops[0].Worth+restWorth(p), 0.02)
}

func restWorth(p *plan.Plan) (sum float64) {
	for _, s := range p.Stops[1:] {
		sum += s.Worth
	}
	for _, l := range p.Left {
		sum += l.Worth
	}
	return sum
}

func TestNoGaps(t *testing.T) {
	f := strips()
	for y := 7.5; y < 13; y++ {
		var line []grid.XY
		for x := 0.0; x <= 40; x += 0.5 {
			line = append(line, grid.XY{X: x, Y: y})
		}
		f.lines = append(f.lines, line)
	}
	detect := func(s *coverage.Settings) { s.Detect.PerPass = 0.6 }
	p := made(t, f.assessed(t, detect), threeHours(grid.XY{}))
	require.True(t, p.NoGaps)
	require.Empty(t, p.Stops)
	require.True(t, p.SecondPass.Detection)
	require.InDelta(t, 100-0.4*(100-p.SecondPass.NowPercent), p.SecondPass.AfterPercent, 1e-9)
	require.InEpsilon(t, 800/1.5, p.SecondPass.LaneM, 0.01)

	r := f.assessed(t, canopy("none"))
	p = made(t, r, threeHours(grid.XY{}))
	require.False(t, p.SecondPass.Detection)
	require.Equal(t, r.AsLoggedPercent, p.SecondPass.NowPercent)
	require.InDelta(t, 100-math.Pow(100-r.AsLoggedPercent, 2)/100, p.SecondPass.AfterPercent, 1e-9)
}

// TestOddGround: gaps that cannot be got at, ends inside keep-outs, no landmarks, no
// times.
func TestOddGround(t *testing.T) {
	ring := grid.Polygon{Outer: ringOf(25, 5, 35.5, 5, 35.5, 15, 25, 15), Holes: []grid.Ring{ringOf(26, 6, 34.5, 6, 34.5, 14, 26, 14)}}
	f := strips()
	f.keepouts, f.untimed = []grid.Polygon{ring}, true
	r := f.assessed(t, treated)
	set := threeHours(local(t, r, grid.XY{X: -3, Y: 10}))
	p := made(t, r, set)
	require.Len(t, p.Stops, 1)
	require.Len(t, p.Left, len(r.Gaps)-1)
	require.Equal(t, "closed off by keep-outs", p.Left[0].Why)
	require.Contains(t, p.Notes, "the visits do not tell your pace of searching: taken as 0.4 m/s")
	require.Contains(t, p.Notes, "the visits do not tell your walking pace: taken as 1.2 m/s")
	require.Contains(t, p.Notes, "the visits do not tell how long you dig: taken as 0.3 s for each second of searching")
	require.Contains(t, p.Notes, "the site has no landmarks to find the lanes from")
	require.Contains(t, p.Notes, "gap "+string(rune('0'+p.Left[0].Gap))+" is closed off by keep-outs")
	require.Empty(t, p.Stops[0].Reach)

	set.Start = local(t, r, grid.XY{X: 25.4, Y: 10}) // in the wall
	p = made(t, r, set)
	require.Contains(t, p.Notes, "the start is inside a keep-out: the way begins where that is soonest left")
	require.Len(t, p.Stops, 1)
	require.Equal(t, set.Start, p.Stops[0].Approach[0])
	require.InDelta(t, walkedM(p.Stops[0].Approach), p.Stops[0].ApproachM, 1e-9)

	set.Start = local(t, r, grid.XY{X: 30, Y: 10}) // inside the ring, but the end is not
	p = made(t, r, set)
	require.Empty(t, p.Stops)
	require.Empty(t, p.Home)
	require.Contains(t, p.Notes, "keep-outs close the start or the end off from every gap")
	require.Zero(t, p.UsedS)
}

// TestSlowGround: twice as slow everywhere takes twice the lanes' time and twice that of
// the ways.
func TestSlowGround(t *testing.T) {
	f := strips()
	f.untimed = true
	r := f.assessed(t, treated)
	set := threeHours(local(t, r, grid.XY{X: -3, Y: 10}))
	set.DigShare = 0
	plain := made(t, r, set)
	everywhere := boxOf(-500, -500, 500, 500)
	set.Slow = []plan.SlowGround{{Name: "thorns", Polygon: everywhere, Factor: 2}}
	slow := made(t, r, set)
	turns := 0.0
	for _, s := range plain.Stops {
		turns += 4 * float64(len(lanesOf(s)))
	}
	require.InDelta(t, 2*(plain.SearchS-turns), slow.SearchS-turns, 1e-6)
	require.InDelta(t, 2*plain.WalkS, slow.WalkS, 1e-6)
}

// TestSiteSlow: where the site marks ground as pace 0.5, searching takes twice the time,
// and elsewhere what it did; no figure of coverage changes. What the settings name comes
// before.
func TestSiteSlow(t *testing.T) {
	f := strips()
	f.untimed = true
	before := f.assessed(t, treated)
	f.slow = []site.LocalSlow{{Slow: site.Slow{Pace: 0.5}, Polygon: boxOf(20, -5, 45, 25)}} // one gap of the two
	r := f.assessed(t, treated)
	require.Equal(t, before.SearchableM2, r.SearchableM2)
	require.Equal(t, before.SweptM2, r.SweptM2)
	require.Equal(t, before.Gaps, r.Gaps)

	set := threeHours(local(t, r, grid.XY{X: -3, Y: 10}))
	plain, slow := made(t, before, set), made(t, r, set)
	require.Len(t, slow.Settings.Slow, 1)
	require.Equal(t, 2.0, slow.Settings.Slow[0].Factor)
	require.Len(t, slow.Stops, 2)
	require.Len(t, plain.Stops, 2)
	for _, s := range slow.Stops {
		times, inside := 1.0, s.Blocks[0].Lanes[0].From.X > local(t, r, grid.XY{X: 20}).X
		if inside {
			times = 2
		}
		i := slices.IndexFunc(plain.Stops, func(p plan.Stop) bool { return p.Gaps[0] == s.Gaps[0] })
		turns := 4 * float64(len(lanesOf(s)))
		require.InDelta(t, times*(plain.Stops[i].SearchS-turns), s.SearchS-turns, 1e-6, "gap %v, slow: %v", s.Gaps, inside)
	}
	require.Greater(t, slow.SearchS, 1.3*plain.SearchS)

	set.Slow = []plan.SlowGround{{Name: "far off", Polygon: boxOf(500, 500, 510, 510), Factor: 2}}
	require.Equal(t, plain.Stops, made(t, r, set).Stops)
}

// TestFarLandmarks: landmarks out of reach give no bearings, and a note.
func TestFarLandmarks(t *testing.T) {
	r := strips(landmark("spire", "", site.PointShape, 900, 0)).assessed(t, nil)
	p := made(t, r, threeHours(grid.XY{}))
	require.Empty(t, p.Stops[0].Reach)
	require.Contains(t, p.Notes, "1 of 1 stops have no landmark near enough to find their lanes from")
}

func TestTooShort(t *testing.T) {
	r := strips().assessed(t, nil)
	set := threeHours(local(t, r, grid.XY{X: -600, Y: 10}))
	set.WalkMS, set.BudgetS = 1.2, 900
	_, err := plan.Make(context.Background(), r, set, nil)
	var short *plan.BudgetError
	require.ErrorAs(t, err, &short)
	require.ErrorIs(t, err, plan.ErrBudget)
	require.InDelta(t, 2*607/1.2, short.WayS, 15)
	require.Greater(t, short.NeededS, short.WayS+60)
	set.BudgetS = short.NeededS + 1
	require.Len(t, made(t, r, set).Stops, 1)
}

func TestSettings(t *testing.T) {
	r := strips().assessed(t, nil)
	for _, c := range []struct {
		name string
		edit func(*plan.Settings)
		want string
	}{
		{"no budget", func(s *plan.Settings) { s.BudgetS = 0 }, "--hours 0: must be from a second to 24 h"},
		{"hours", func(s *plan.Settings) { s.Hours = []float64{1, 25} }, "--compare-hours 25: must be from a second to 24 h"},
		{"start far off", func(s *plan.Settings) { s.Start.X = 30_000 }, "--start 30.0 km from the site: must be within 25 km of the site"},
		{"end nowhere", func(s *plan.Settings) { s.End.Y = math.NaN() }, "--end NaN km from the site: must be within 25 km of the site"},
		{"searching pace", func(s *plan.Settings) { s.SearchMS = 4 }, "--search-speed 4: must be from 0.05 m/s to 3 m/s"},
		{"walking pace", func(s *plan.Settings) { s.WalkMS = 9 }, "--walk-speed 9: must be from 0.1 m/s to 5 m/s"},
		{"digging", func(s *plan.Settings) { s.DigShare = 21 }, "--dig-share 21: must be at most 20"},
		{"overlap", func(s *plan.Settings) { s.OverlapM = 1.4 }, "--overlap 1.4: must be from 0 m to 1.35 m, nine tenths of the swath"},
		{"pace", func(s *plan.Settings) { s.PaceM = 3 }, "--pace-length 3: must be from 0.2 m to 2 m"},
		{"effort", func(s *plan.Settings) { s.Effort = -1 }, "--effort -1: must be from 0 to 10000000"},
		{"year", func(s *plan.Settings) { s.Year = 0 }, "--date 0: must be a year from 1900 to 2200"},
		{"slow", func(s *plan.Settings) { s.Slow = []plan.SlowGround{{Name: "bog"}} }, `--slow "bog" 0: must be a factor from 0.1 to 20`},
		{"interest in nothing", func(s *plan.Settings) { s.Interest = []plan.Interest{{Weight: 1, FadeM: 1}} }, `--interest "": must be the name or the kind of a landmark`},
		{"weight", func(s *plan.Settings) { s.Interest = []plan.Interest{{Kind: "well", Weight: -1}} }, `--interest "well": must be given with a weight from 0 to 100, not -1`},
		{"fade", func(s *plan.Settings) { s.Interest = []plan.Interest{{Kind: "well", Weight: 1}} }, `--interest "well": must be given with a distance of more than 0 m and at most 1000 m, not 0 m`},
	} {
		set := threeHours(grid.XY{})
		c.edit(&set)
		_, err := plan.Make(context.Background(), r, set, nil)
		var bad *coverage.SettingsError
		require.ErrorAs(t, err, &bad, c.name)
		require.EqualError(t, err, c.want, c.name)
	}
	set := threeHours(grid.XY{})
	set.Interest = []plan.Interest{{Landmark: "tower", Weight: 1, FadeM: 1}, {Kind: "pit"}}
	p := made(t, r, set)
	require.Contains(t, p.Notes, `no landmark is called "tower": its interest was not used`)
	require.Contains(t, p.Notes, `no landmark is of the kind "pit": its interest was not used`)
}

// TestPaces: paces and digging are the visits' own, here 0.5 m/s and no digging.
func TestPaces(t *testing.T) {
	r := strips().assessed(t, nil)
	p := made(t, r, threeHours(grid.XY{}))
	require.InDelta(t, 0.5, p.Settings.SearchMS, 0.01)
	require.Equal(t, 1.2, p.Settings.WalkMS, "none was walked")
	require.InDelta(t, 0, p.Settings.DigShare, 0.01)
	r.Thoroughness = &coverage.Thoroughness{MedianMS: 0.33}
	require.Equal(t, 0.33, made(t, r, threeHours(grid.XY{})).Settings.SearchMS)
}

// TestExpectedOfSwing: where the figures count what the coil passes over, a lane brings
// its share only.
func TestExpectedOfSwing(t *testing.T) {
	r := strips().assessed(t, nil)
	set := threeHours(grid.XY{})
	set.SearchMS = 0.5
	all := made(t, r, set).Expected
	coil := coverage.Coil{SizeM: 0.28, SwingM: 1.22, SweepS: 2.2}
	r.Thoroughness = &coverage.Thoroughness{Coil: coil, DepthM: 0.05, Counted: true}
	share := coil.MeanShare(0.5, 0.05)
	require.Less(t, share, 0.95)
	require.InEpsilon(t, share*all.FreshM2, made(t, r, set).Expected.FreshM2, 1e-9)
}
