package track

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
)

// slowPace is pace straight from its definition, every window searched anew.
func slowPace(ps []Point, set LegSettings) []Kind {
	n := len(ps) - 1
	mid := func(i int) Instant { return (ps[i].T + ps[i+1].T) / 2 }
	speed := func(i int, halfS float64, a, b int) (float64, int, int) {
		for j := 0; j < a; j++ {
			if mid(i).Sub(ps[j].T) <= halfS {
				a = j
			}
		}
		for j := n; j > b; j-- {
			if ps[j].T.Sub(mid(i)) <= halfS {
				b = j
			}
		}
		if ps[a].T == ps[b].T {
			return 0, a, b
		}
		return math.Hypot(ps[b].X-ps[a].X, ps[b].Y-ps[a].Y) / ps[b].T.Sub(ps[a].T), a, b
	}
	short, long := make([]float64, n), make([]float64, n)
	for i := range n {
		s := ps[i+1].T.Sub(ps[i].T)
		v, a, b := speed(i, chordS/2.0, i, i+1)
		w, _, _ := speed(i, chordS, max(a-1, 0), min(b+1, n))
		short[i], long[i] = s*v, s*w
	}
	kinds := make([]Kind, n)
	for i := range n {
		var seconds, near, wide, wideLong float64
		for j := range n {
			apart := math.Abs(mid(j).Sub(mid(i)))
			if apart <= set.WindowS/2 {
				near += short[j]
				seconds += ps[j+1].T.Sub(ps[j].T)
			}
			if apart <= set.HeadwayS/2 {
				wide += short[j]
				wideLong += long[j]
			}
		}
		switch v := near / seconds; {
		case seconds == 0 || v < set.StandMS:
			kinds[i] = Standing
		case wideLong < set.MinHeadway*wide:
			kinds[i] = Lost
		case v < set.SearchMaxMS:
			kinds[i] = Searching
		default:
			kinds[i] = Walking
		}
	}
	return kinds
}

func TestPaceEqualsSlowPace(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	for _, stepMS := range []int{200, 1000, 1500, 7000, 20_000} {
		var ps []Point
		var p Point
		v := 0.4
		for range 300 {
			ps = append(ps, p)
			dt := rng.IntN(2*stepMS + 1) // 0 now and then
			if rng.IntN(40) == 0 {
				v = 1.5 * rng.Float64()
			}
			a := rng.Float64() * 3
			p.T += Instant(dt)
			p.XY = grid.XY{X: p.X + v*math.Cos(a)*float64(dt)/1000, Y: p.Y + v*math.Sin(a)*float64(dt)/1000}
		}
		set := DefaultSettings().Legs
		kinds := make([]Kind, len(ps)-1)
		pace(kinds, ps, set)
		require.Equal(t, slowPace(ps, set), kinds, "steps of about %d ms", stepMS)
	}
}
