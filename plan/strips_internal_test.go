package plan

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
)

func box(x0, y0, x1, y1 float64) grid.Ring {
	return grid.Ring{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
}

// TestCells counts the cells of known shapes with lanes to the north. A vertical sweep
// line passes one region before and one after each obstacle and two beside it
// (LaValle, Planning Algorithms, section 7.6, after Choset): 4 cells for one hole, 3n +
// 1 for n holes one after another.
func TestCells(t *testing.T) {
	p := &planner{radiusM: 0.5, spacingM: 1, turnM: 2}
	for _, c := range []struct {
		name         string
		rings        []grid.Ring
		cells, lanes int
	}{
		{"rectangle", []grid.Ring{box(0, 0, 12, 5)}, 1, 12},
		{"one hole", []grid.Ring{box(0, 0, 12, 30), box(4, 10, 8, 20)}, 4, 16},
		{"two holes in a row", []grid.Ring{box(0, 0, 20, 30), box(4, 10, 8, 20), box(12, 10, 16, 20)}, 7, 28},
		{"two holes abreast", []grid.Ring{box(0, 0, 12, 40), box(4, 5, 8, 15), box(4, 25, 8, 35)}, 5, 20},
		{"a hole no turn long is walked across", []grid.Ring{box(0, 0, 12, 30), box(4, 10, 8, 11.5)}, 1, 12},
		{"a U", []grid.Ring{{{}, {X: 12}, {X: 12, Y: 20}, {X: 8, Y: 20}, {X: 8, Y: 4}, {X: 4, Y: 4}, {X: 4, Y: 20}, {Y: 20}}}, 1, 12},
		{"a U lying", []grid.Ring{{{}, {X: 20}, {X: 20, Y: 4}, {X: 4, Y: 4}, {X: 4, Y: 8}, {X: 20, Y: 8}, {X: 20, Y: 12}, {Y: 12}}}, 3, 36},
		{"two far apart", []grid.Ring{box(0, 0, 6, 5), box(0, 20, 6, 25)}, 2, 12},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := p.lay(c.rings, axis{0, 1})
			got := cells(l.cover)
			require.Len(t, got, c.cells)
			require.Equal(t, c.lanes, l.lanes)
			n := 0
			for _, cell := range got {
				for i, s := range cell {
					require.Equal(t, cell[0].strip+i, s.strip, "strips of a cell follow one another")
				}
				n += len(cell)
			}
			require.Equal(t, c.lanes, n, "each span is in one cell")
		})
	}
}

// TestSpansBrute takes points of random ground, which overlaps itself: each must lie in
// a span of its strip, within a radius of the span's lane.
func TestSpansBrute(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for range 200 {
		rings := make([]grid.Ring, 1+rng.IntN(3))
		for i := range rings {
			for range 3 + rng.IntN(12) {
				rings[i] = append(rings[i], grid.XY{X: 20 * rng.Float64(), Y: math.Floor(20 * rng.Float64())})
			}
		}
		p := &planner{radiusM: 0.8, spacingM: 1.5, turnM: 1}
		sin, cos := math.Sincos(math.Pi * rng.Float64())
		l := p.lay(rings, axis{sin, cos})
		for range 500 {
			q := grid.XY{X: 20 * rng.Float64(), Y: 20 * rng.Float64()}
			if !holds(rings, q) {
				continue
			}
			at := l.axis.into(q)
			k, ok := l.at(at.X), false
			for _, s := range l.cover[k] {
				if s.lo-1e-9 <= at.Y && at.Y <= s.hi+1e-9 {
					from, to := s.ends(p.radiusM)
					lane := math.Max(from, math.Min(at.Y, to))
					ok = between(at, grid.XY{X: l.middle(k), Y: lane}) <= p.radiusM+1e-9
				}
			}
			require.True(t, ok, "%v", q)
		}
	}
}

// TestParted: the parts of a cut make up the whole, and holes go to the part they lie
// in.
func TestParted(t *testing.T) {
	whole := []grid.Ring{box(0, 0, 20, 10), {{X: 4, Y: 4}, {X: 4, Y: 6}, {X: 6, Y: 6}, {X: 6, Y: 4}}, {{X: 14, Y: 4}, {X: 14, Y: 6}, {X: 16, Y: 6}, {X: 16, Y: 4}}}
	for _, c := range []struct {
		name  string
		from  corner
		dir   grid.XY
		rings []int // of each part
	}{
		{"from a hole to the rim", corner{1, 0}, grid.XY{X: -1}, []int{2}},
		{"from a hole to a hole", corner{1, 2}, grid.XY{X: 1}, []int{2}},
		{"from a corner across", corner{0, 0}, grid.XY{X: math.Cos(0.19), Y: math.Sin(0.19)}, []int{1, 3}},
		{"from a corner to a hole", corner{0, 0}, grid.XY{X: math.Sqrt(0.5), Y: math.Sqrt(0.5)}, []int{2}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, ok := shot(whole, c.from, c.dir)
			require.True(t, ok)
			var got []int
			area := 0.0
			for _, part := range parted(whole, s) {
				got = append(got, len(part))
				for _, r := range part {
					area += r.Area()
				}
			}
			require.Equal(t, c.rings, got)
			require.InDelta(t, 192, area, 1e-9)
		})
	}
	_, ok := shot(whole, corner{0, 0}, grid.XY{X: -1})
	require.False(t, ok, "outwards")
	_, ok = shot(whole, corner{1, 0}, grid.XY{X: math.Sqrt(0.5), Y: math.Sqrt(0.5)})
	require.False(t, ok, "into the hole")
}
