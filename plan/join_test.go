package plan_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/plan"
)

func TestJoin(t *testing.T) {
	small := func(x, y float64) []grid.Polygon {
		return []grid.Polygon{rectangle(4, 4, 0).Moved(grid.XY{X: x, Y: y})}
	}
	large := func(x, y float64) []grid.Polygon {
		return []grid.Polygon{rectangle(4, 5, 0).Moved(grid.XY{X: x, Y: y})}
	}
	for _, c := range []struct {
		name string
		gaps [][]grid.Polygon
		want [][]int
	}{
		{"none", nil, nil},
		{"one", [][]grid.Polygon{small(0, 0)}, [][]int{{0}}},
		{"just near enough", [][]grid.Polygon{small(0, 0), small(7, 0)}, [][]int{{0, 1}}},
		{"just too far", [][]grid.Polygon{small(0, 0), small(7.001, 0)}, [][]int{{0}, {1}}},
		{"two large ones", [][]grid.Polygon{large(0, 0), large(5, 0)}, [][]int{{0}, {1}}},
		{"a sliver between two large ones", [][]grid.Polygon{large(0, 0), large(13, 0), small(6.9, 0)}, [][]int{{0}, {1, 2}}},
		{"of equals the first", [][]grid.Polygon{large(14, 0), large(0, 0), small(7, 0)}, [][]int{{0, 2}, {1}}},
		{"cornerwise too far, though the boxes are near", [][]grid.Polygon{small(0, 0), small(6.5, 6.5)}, [][]int{{0}, {1}}},
		{"a chain of slivers", [][]grid.Polygon{small(14, 0), small(50, 0), small(0, 0), small(7, 0)}, [][]int{{0, 2, 3}, {1}}},
		{"crossing", [][]grid.Polygon{{rectangle(40, 1, 0)}, {rectangle(0.4, 40, 0).Moved(grid.XY{X: 20, Y: -20})}}, [][]int{{0, 1}}},
		{"a gap without outline", [][]grid.Polygon{{}, small(0, 0)}, [][]int{{0}, {1}}},
	} {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.want, plan.Join(c.gaps, 3)) })
	}
}

// TestJoinBrute compares with all pairs of points a few decimetres apart along the
// outlines, where those are fine enough to tell.
func TestJoinBrute(t *testing.T) {
	const within, step = 1.5, 0.1
	rng := rand.New(rand.NewPCG(6, 6))
	told := 0
	for range 20 {
		var gaps [][]grid.Polygon
		for range 2 + rng.IntN(12) {
			c := grid.XY{X: 30 * rng.Float64(), Y: 30 * rng.Float64()}
			gaps = append(gaps, []grid.Polygon{{Outer: randomRing(rng, c, 0.5, 0.7+2*rng.Float64())}})
		}
		parent, sure := make([]int, len(gaps)), true
		for i := range parent {
			parent[i] = i
		}
		for i, g := range gaps {
			best, least, second := i, math.Inf(1), math.Inf(1)
			for j := range gaps {
				if d := outlineDistance(g[0].Outer, gaps[j][0].Outer); i != j && d < least {
					best, least, second = j, d, least
				} else if i != j {
					second = math.Min(second, d)
				}
			}
			if g[0].Area() > 2*within*within || least > within+step {
				continue
			}
			sure = sure && second-least > step && math.Abs(least-within) > step
			from := parent[i]
			for k := range parent {
				if parent[k] == from {
					parent[k] = parent[best]
				}
			}
		}
		if !sure {
			continue
		}
		told++
		var want [][]int
		for i := range gaps {
			k := 0
			for k < len(want) && parent[want[k][0]] != parent[i] {
				k++
			}
			if k == len(want) {
				want = append(want, nil)
			}
			want[k] = append(want[k], i)
		}
		require.Equal(t, want, plan.Join(gaps, within))
	}
	require.Greater(t, told, 5)
}

func outlineDistance(a, b grid.Ring) float64 {
	points := func(r grid.Ring) (out []grid.XY) {
		for i, p := range r {
			q := r[(i+1)%len(r)]
			for k := range 12 {
				f := float64(k) / 12
				out = append(out, grid.XY{X: p.X + f*(q.X-p.X), Y: p.Y + f*(q.Y-p.Y)})
			}
		}
		return out
	}
	if distance(a[0], b[0]) > 15 { // rings are under 6 m across: far apart
		return 9
	}
	least, bs := math.Inf(1), points(b)
	for _, p := range points(a) {
		for _, q := range bs {
			least = math.Min(least, distance(p, q))
		}
	}
	return least
}

func BenchmarkJoin(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 2))
	var gaps [][]grid.Polygon
	for range 5000 {
		c := grid.XY{X: 600 * rng.Float64(), Y: 600 * rng.Float64()}
		gaps = append(gaps, []grid.Polygon{{Outer: randomRing(rng, c, 1, 4)}})
	}
	for b.Loop() {
		plan.Join(gaps, 1.5)
	}
}
