package plan_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/plan"
)

// manyKeepouts scatters n keep-outs of 15 corners and 2 to 12 m radius over a square.
func manyKeepouts(rng *rand.Rand, n int, sideM float64) []grid.Polygon {
	out := make([]grid.Polygon, n)
	for i := range out {
		x, y, r := rng.Float64()*sideM, rng.Float64()*sideM, 2+10*rng.Float64()
		for k := range 15 {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / 15)
			d := r * (0.7 + 0.3*rng.Float64())
			out[i].Outer = append(out[i].Outer, grid.XY{X: x + d*cos, Y: y + d*sin})
		}
	}
	return out
}

func freePlaces(rng *rand.Rand, w *plan.Ways, n int, sideM float64) []grid.XY {
	var out []grid.XY
	for len(out) < n {
		p := grid.XY{X: rng.Float64() * sideM, Y: rng.Float64() * sideM}
		if _, _, ok := w.Between(p, grid.XY{X: -10, Y: -10}); ok {
			out = append(out, p)
		}
	}
	return out
}

func BenchmarkNewWays(b *testing.B) {
	for _, n := range []int{30, 300, 1000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			keepouts := manyKeepouts(rand.New(rand.NewPCG(1, 2)), n, 50*math.Sqrt(float64(n)))
			for b.Loop() {
				waysRound(b, 0.5, keepouts...)
			}
		})
	}
}

// BenchmarkWaysBetween asks for ways of 0 to 100 m, places new and known.
func BenchmarkWaysBetween(b *testing.B) {
	const side = 870
	for _, known := range []bool{false, true} {
		b.Run(fmt.Sprintf("known=%v", known), func(b *testing.B) {
			rng := rand.New(rand.NewPCG(1, 2))
			w := waysRound(b, 0.5, manyKeepouts(rng, 300, side)...)
			i, pairs := 0, [256][2]grid.XY{}
			draw := func() [2]grid.XY {
				p := grid.XY{X: rng.Float64() * side, Y: rng.Float64() * side}
				return [2]grid.XY{p, {X: p.X + 70*(2*rng.Float64()-1), Y: p.Y + 70*(2*rng.Float64()-1)}}
			}
			for k := range pairs {
				pairs[k] = draw()
				w.Between(pairs[k][0], pairs[k][1])
			}
			for b.Loop() {
				p := pairs[i%len(pairs)]
				if i++; !known {
					p = draw()
				}
				w.Between(p[0], p[1])
			}
		})
	}
}

// BenchmarkTourRoundKeepouts plans among 300 keep-outs with Ways for the walks.
func BenchmarkTourRoundKeepouts(b *testing.B) {
	for _, n := range []int{100, 1000, 5000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				rng := rand.New(rand.NewPCG(1, 2))
				w := waysRound(b, 0.5, manyKeepouts(rng, 300, 870)...)
				at := freePlaces(rng, w, n+2, 870)
				t := plan.Tour{At: at[:n], Budget: 3 * 3600, Go: func(i, j int) float64 {
					if _, m, ok := w.Between(at[i], at[j]); ok {
						return m / 1.2
					}
					return math.Inf(1)
				}}
				for range n {
					t.Worth, t.Stay = append(t.Worth, 10+90*rng.Float64()), append(t.Stay, 60+120*rng.Float64())
				}
				_, _, _, err := t.Solve(context.Background(), 0, 1)
				require.NoError(b, err)
			}
		})
	}
}
