package coverage_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/track"
)

// TestThoroughness walks lanes at half a metre a second with a 25 cm coil on a
// 1.75 m swing: far too fast for it.
func TestThoroughness(t *testing.T) {
	log := gpx("walk.gpx", day, append(lane(5, 20, 45, 20), lane(45, 40, 5, 40)...))
	r := assess(t, squareSite(t, 60), func(s *coverage.Settings) { s.SwathM, s.CoilM, s.SwingM = 0, 0.25, 1.75 }, log)
	th := r.Thoroughness
	require.NotNil(t, th)
	require.InDelta(t, 0.5, th.MedianMS, 0.03)
	require.InDelta(t, 100, th.HurriedPercent, 0.1)
	coil := coverage.Coil{SizeM: 0.25, SwingM: 1.75}
	require.InDelta(t, coil.FastestPace(0), th.FastestMS, 1e-9)
	require.InDelta(t, 100*coil.MeanShare(0.5, 0), th.MeanPercent, 1.5)
	require.InDelta(t, r.AsLoggedPercent*th.MeanPercent/100, th.GroundPercent, 0.5, "nearly all of it in one pass")

	require.Nil(t, assess(t, squareSite(t, 60), nil, log).Thoroughness, "the swath alone does not tell the coil")
}

// TestOneSeedOneAnswer: whatever the number of cores and the order of the files.
func TestOneSeedOneAnswer(t *testing.T) {
	a, b := gpx("a.gpx", day, lane(10, 30, 50, 30)), gpx("b.gpx", day.AddDate(0, 0, 7), lane(50, 33, 10, 34))
	s := squareSite(t, 60)
	first := assess(t, s, light, a, b)
	for _, cores := range []int{1, 3} {
		withCores(cores, func() {
			again := assess(t, s, light, b, a)
			require.Equal(t, first.Certainty.AtLeastPercent, again.Certainty.AtLeastPercent)
			require.Equal(t, first.Certainty.Interval90, again.Certainty.Interval90)
			require.Equal(t, first.Certainty.SurelyPercent, again.Certainty.SurelyPercent)
		})
	}
	other := assess(t, s, func(s *coverage.Settings) { light(s); s.Position.Seed = 2 }, a, b)
	require.NotEqual(t, first.Certainty.AtLeastPercent, other.Certainty.AtLeastPercent)
}

// TestAccurateReceiverTendsToAsLogged: the better the receiver, the nearer all
// figures come to those as logged; a perfect one reaches them.
func TestAccurateReceiverTendsToAsLogged(t *testing.T) {
	var line []grid.XY
	for i := range 16 {
		y := 2 + 2.3*float64(i)
		l := lane(1, y, 39, y+1.1)
		if i%2 == 1 {
			l = lane(39, y+1.1, 1, y)
		}
		line = append(line, l...)
	}
	log, s := gpx("walk.gpx", day, line), squareSite(t, 40)
	last := 100.0
	for _, sigma := range []float64{1, 0.3, 0.1, 0.02} {
		r := assess(t, s, func(s *coverage.Settings) {
			s.Position.Receiver, s.Position.Draws = track.ReceiverOf(sigma), 60
		}, log)
		c := r.Certainty
		require.Empty(t, c.Strays, "%g", sigma)
		off := math.Abs(c.ExpectedPercent-r.AsLoggedPercent) + r.AsLoggedPercent - c.AtLeastPercent
		t.Logf("%.2f m: as logged %.2f, most likely %.2f, at least %.2f", sigma, r.AsLoggedPercent, c.ExpectedPercent, c.AtLeastPercent)
		require.Less(t, off, last+0.5, "%g", sigma)
		last = off
	}
	require.Less(t, last, 3.0)
}
