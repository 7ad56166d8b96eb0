package coverage_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// swung sets a coil whose sweep was timed.
func swung(sweepS float64) func(*coverage.Settings) {
	return func(s *coverage.Settings) {
		light(s)
		s.SwathM, s.CoilM, s.SwingM, s.SweepS = 0, 0.28, 1.22, sweepS
	}
}

// TestSwungChanceIsTheSweptShare: with a receiver that is hardly ever wrong, the mean
// chance along a straight walk is the closed form's share at each offset.
func TestSwungChanceIsTheSweptShare(t *testing.T) {
	log := gpx("walk.gpx", day, lane(5, 30, 55, 30)) // half a metre a second
	for _, c := range []struct{ sweep, depth float64 }{{1.2, 0}, {0.5, 0.12}} {
		sweep, depth := c.sweep, c.depth
		r := assess(t, squareSite(t, 60), func(s *coverage.Settings) {
			swung(sweep)(s)
			s.Position.Receiver, s.Position.Draws, s.DepthM = track.ReceiverOf(0.01), 200, depth
		}, log)
		require.True(t, r.Thoroughness.Counted)
		coil, spec := r.Thoroughness.Coil, r.Certainty.Chance.Spec()
		middle, rows, sum := r.Frame.ToXY(datum).Plus(grid.XY{X: 30, Y: 30}), 0, 0.0
		for row := range spec.Rows {
			off, share, n := spec.Centre(grid.Cell{Row: row}).Y-middle.Y, 0.0, 0.0
			for col := range spec.Cols {
				c := grid.Cell{Col: col, Row: row}
				if math.Abs(spec.Centre(c).X-middle.X) < 20 {
					share, n = share+float64(r.Certainty.Chance.At(c)), n+1
				}
			}
			sum += share / n * spec.CellM
			if math.Abs(math.Abs(off)-0.75+depth/2) > 0.08 { // the rim is steep
				require.InDelta(t, coil.SweptShare(off, 0.5, depth), share/n, 0.04, "%g s, %g deep, offset %.2f", sweep, depth, off)
				rows++
			}
		}
		require.Greater(t, rows, 100)
		require.InDelta(t, 1.5*coil.MeanShare(0.5, depth), sum, 0.06, "%g s, %g deep: over all offsets", sweep, depth)
	}
}

// TestSwungCoilCountsOnlyWhereItIsAllowedFor: as logged, and with positions taken as
// perfect, the swath counts; the figures never exceed it.
func TestSwungCoilCountsOnlyWhereItIsAllowedFor(t *testing.T) {
	a, b := gpx("a.gpx", day, lane(10, 30, 50, 30)), gpx("b.gpx", day.AddDate(0, 0, 7), lane(50, 33, 10, 34))
	s := squareSite(t, 60)
	whole, part := assess(t, s, swung(0), a, b), assess(t, s, swung(1.2), a, b)
	require.False(t, whole.Thoroughness.Counted)
	require.Equal(t, whole.AsLoggedPercent, part.AsLoggedPercent)
	require.Equal(t, whole.Passes, part.Passes)
	require.Less(t, part.Certainty.ExpectedPercent, 0.7*whole.Certainty.ExpectedPercent)
	require.Greater(t, part.Certainty.ExpectedPercent, 0.35*whole.Certainty.ExpectedPercent)
	require.LessOrEqual(t, part.Certainty.AtLeastPercent, part.AsLoggedPercent)

	perfect := func(sweepS float64) func(*coverage.Settings) {
		return func(s *coverage.Settings) {
			swung(sweepS)(s)
			s.Position = coverage.DefaultSettings().Position
		}
	}
	bare, timed := assess(t, s, perfect(0), a, b), assess(t, s, perfect(1.2), a, b)
	require.Nil(t, timed.Certainty)
	require.False(t, timed.Thoroughness.Counted)
	require.Equal(t, bare.Gaps, timed.Gaps)
	require.Equal(t, bare.SweptM2, timed.SweptM2)
}

func TestSwungOneSeedOneAnswer(t *testing.T) {
	a, b := gpx("a.gpx", day, lane(10, 30, 50, 30)), gpx("b.gpx", day.AddDate(0, 0, 7), lane(50, 33, 10, 34))
	s := squareSite(t, 60)
	first := assess(t, s, swung(1.2), a, b)
	for _, cores := range []int{1, 3} {
		withCores(cores, func() {
			again := assess(t, s, swung(1.2), b, a)
			require.Equal(t, first.Certainty.AtLeastPercent, again.Certainty.AtLeastPercent)
			require.Equal(t, first.Certainty.Interval90, again.Certainty.Interval90)
			require.Equal(t, first.Gaps, again.Gaps)
		})
	}
	other := assess(t, s, func(s *coverage.Settings) { swung(1.2)(s); s.Position.Seed = 2 }, a, b)
	require.NotEqual(t, first.Certainty.AtLeastPercent, other.Certainty.AtLeastPercent)
}

// TestLaidOutLanesAreSwungToo: at the pace of their visit.
func TestLaidOutLanesAreSwungToo(t *testing.T) {
	log, s := laneSource(t, lightLanes()), squareSite(t, 40)
	f, err := grid.NewFrame(datum)
	require.NoError(t, err)
	ground := site.FromWalks([]grid.Polygon{{Outer: box(5, 5, 35, 30)}}, f, "lanes").Boundary[0]
	s.LaidOut = []site.LaidOut{{Area: ground, SpacingM: 1.4, Session: "lanes.gpx"}}
	whole, part := assess(t, s, swung(0), log), assess(t, s, swung(1.2), log)
	require.True(t, part.LaidOut[0].Confirmed)
	share := part.Thoroughness.MeanPercent / 100
	require.InDelta(t, share, part.Certainty.ExpectedPercent/whole.Certainty.ExpectedPercent, 0.08)
}
