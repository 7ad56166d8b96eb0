package coverage

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
)

// rowShare is the share that a swung coil passes over of each row of cells along a
// straight walk at an even pace, a point every two seconds; the mean over many phases.
func rowShare(set Settings, paceMS float64) (offsets, shares []float64) {
	const cell = 0.02
	spec := grid.SpecFor(grid.Bounds{Min: grid.XY{X: 5, Y: -1.3}, Max: grid.XY{X: 35, Y: 1.3}}, cell)
	var line []grid.XY
	var times []float64
	for i := 0.0; len(line) == 0 || line[len(line)-1].X < 42; i++ {
		line, times = append(line, grid.XY{X: -2 + 2*paceMS*i}), append(times, 2*i)
	}
	s, rng, m := newSwinger(set, cell, paceMS), rand.New(rand.NewPCG(7, 7)), grid.NewMask(spec)
	shares = make([]float64, spec.Rows)
	const phases = 24
	for i := range phases {
		m.Clear()
		s.fill(m, s.zigzag(nil, line, times, 2*(float64(i)+rng.Float64())/phases))
		m.Cells(func(c grid.Cell) { shares[c.Row] += 1 / float64(phases*spec.Cols) })
	}
	for row := range shares {
		offsets = append(offsets, spec.Centre(grid.Cell{Row: row}).Y)
	}
	return offsets, shares
}

func swingSettings(shape CoilShape, sweepS, depthM float64) Settings {
	return Settings{CoilM: 0.28, SwingM: 1.2, SweepS: sweepS, DepthM: depthM, CoilShape: shape}
}

// TestSwungCoilEqualsSweptShare: on a straight even walk, the share swept at each
// offset is that of the closed form, and all together its mean.
func TestSwungCoilEqualsSweptShare(t *testing.T) {
	for _, sweepS := range []float64{1.2, 5} { // in one piece, and in three
		for _, pace := range []float64{0.05, 0.2, 0.4, 0.8} {
			for _, depth := range []float64{0, 0.15} {
				t.Run(fmt.Sprintf("%g s, %g m/s, %g m down", sweepS, pace, depth), func(t *testing.T) {
					set := swingSettings(Concentric, sweepS, depth)
					us, got := rowShare(set, pace)
					sum := 0.0
					for i, u := range us {
						require.InDelta(t, set.coil().SweptShare(u, pace, depth), got[i], 0.03, "offset %.2f", u)
						sum += got[i] * 0.02
					}
					require.InDelta(t, set.coil().MeanShare(pace, depth)*1.48, sum, 0.005)
				})
			}
		}
	}
}

// TestDiscForDoubleD: what stands for a double-D at depth reaches as far and, at the
// pace it was made for, passes over as much ground; nearly so from half to one and a
// quarter times that pace. Twice as fast it passes over up to a third too much.
func TestDiscForDoubleD(t *testing.T) {
	worst := 0.0
	for _, depth := range []float64{0, 0.1, 0.2, 0.28, 0.4} {
		c := swingSettings(DoubleD, 1.2, depth).coil()
		for _, usual := range []float64{0.2, 0.4, 0.6} {
			r, swing := c.disc(depth, usual)
			require.InDelta(t, c.SwingM+c.acrossM(depth), swing+2*r, 1e-9, "reaches as far")
			for _, times := range []float64{0.1, 0.5, 0.75, 1, 1.25} {
				d := Coil{SizeM: 2 * r, SwingM: swing, SweepS: 1.2}
				want, got := c.MeanShare(times*usual, depth)*(1.2+0.28), d.MeanShare(times*usual, 0)*(swing+2*r)
				within := 0.12
				if times == 1 || depth == 0 {
					within = 0.002
				}
				require.InEpsilon(t, want, got, within, "depth %g, made for %g, %g times as fast", depth, usual, times)
				worst = max(worst, math.Abs(got/want-1))
			}
		}
	}
	t.Logf("worst %.3f", worst)
}

// TestCrawlingCoilIsTheSwath: at a crawl nothing within the swing is missed, nor
// anything swept beyond the swath.
func TestCrawlingCoilIsTheSwath(t *testing.T) {
	us, got := rowShare(swingSettings(Concentric, 1.2, 0), 0.03)
	for i, u := range us {
		switch {
		case math.Abs(u) <= 0.6:
			require.InDelta(t, 1, got[i], 1e-9, "offset %g", u)
		case math.Abs(u) > 0.741:
			require.Zero(t, got[i], "offset %g", u)
		}
	}
}

func TestNothingSensedSoDeep(t *testing.T) {
	_, got := rowShare(swingSettings(Concentric, 1.2, 0.3), 0.3)
	for _, v := range got {
		require.Zero(t, v)
	}
}

// TestZigzagTurns: the turns of the swing are points of the zigzag, at right angles
// to the march wherever it leads.
func TestZigzagTurns(t *testing.T) {
	s := &swinger{halfM: 0.5, sweepS: 1, parts: 1}
	var line []grid.XY
	var times []float64
	for i := range 11 { // along a circle of 4 m, half a metre a second
		a := float64(i) * 0.25
		line, times = append(line, grid.XY{X: 4 * math.Cos(a), Y: 4 * math.Sin(a)}), append(times, 2*float64(i))
	}
	z := s.zigzag(nil, line, times, 0.25)
	require.Len(t, z, 2+20)
	for i, p := range z[1 : len(z)-1] { // right of a march to the left is outside
		want := 4.5
		if i%2 == 1 {
			want = 3.5
		}
		require.InDelta(t, want, math.Hypot(p.X, p.Y), 0.05, "turn %d", i)
	}
	require.Equal(t, []grid.XY{{X: 3, Y: 2}}, s.zigzag(nil, []grid.XY{{X: 3, Y: 2}}, []float64{9}, 0.5), "a leg of one point")
	still := s.zigzag(nil, []grid.XY{{X: 3, Y: 2}, {X: 3, Y: 2}}, []float64{0, 2}, 0.5)
	for _, p := range still {
		require.Equal(t, grid.XY{X: 3, Y: 2}, p, "no march, no side")
	}
}
