package plan_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/plan"
	"untrod/track"
)

func TestWalked(t *testing.T) {
	lane := plan.Lane{From: grid.XY{X: 100, Y: 200}, To: grid.XY{X: 120, Y: 200}}
	for _, c := range []struct {
		name       string
		kind       track.Kind
		xy         []float64
		share, off float64
	}{
		{"as drawn", track.Searching, []float64{100, 200, 120, 200}, 1, 0},
		{"backwards", track.Searching, []float64{120, 200, 100, 200}, 1, 0},
		{"half a metre off", track.Searching, []float64{95, 200.5, 125, 200.5}, 1, 0.5},
		{"just over half a swath off", track.Searching, []float64{95, 200.8, 125, 200.8}, 0, 0.8},
		{"first half", track.Searching, []float64{100, 200, 109.25, 200}, 0.5, 0.0},
		{"far away", track.Searching, []float64{100, 210, 120, 210}, 0, math.NaN()},
		{"only walked", track.Walking, []float64{100, 200, 120, 200}, 0, math.NaN()},
		{"no walk", track.Searching, nil, 0, math.NaN()},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := track.Path{Timed: true}
			for _, q := range ringOf(c.xy...) {
				p.Points = append(p.Points, track.Point{XY: q})
			}
			p.Legs = []track.Leg{{Kind: c.kind, To: len(p.Points)}}
			got := plan.Walked([][]plan.Lane{nil, {lane}}, track.Walk{Paths: []track.Path{p}}, 1.5)
			require.Len(t, got, 1)
			require.Equal(t, 1, got[0].Stop)
			require.Equal(t, 0, got[0].Lane)
			require.InDelta(t, c.share, got[0].Share, 0.02)
			if math.IsNaN(c.off) {
				require.True(t, math.IsNaN(got[0].OffM))
			} else {
				require.InDelta(t, c.off, got[0].OffM, 0.2)
			}
		})
	}
}
