package grid

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// drawn reads a mask from rows of text, north at the top, # a cell.
func drawn(s Spec, picture string) *Mask {
	rows := strings.Fields(picture)
	s.Cols, s.Rows = len(rows[0]), len(rows)
	m := NewMask(s)
	for i, row := range rows {
		for col, ch := range row {
			if ch == '#' {
				m.Set(Cell{col, len(rows) - 1 - i})
			}
		}
	}
	return m
}

// scattered is a random mask: cells in with the given chance, or the checkerboard.
func scattered(rnd *rand.Rand, s Spec, chance float64) *Mask {
	m := NewMask(s)
	for row := range s.Rows {
		for col := range s.Cols {
			if chance < 0 && (row+col)%2 == 0 || rnd.Float64() < chance {
				m.Set(Cell{col, row})
			}
		}
	}
	return m
}

// blobs is a random mask of overlapping discs with round holes bitten out.
func blobs(rnd *rand.Rand, s Spec) *Mask {
	m, bites := NewMask(s), NewMask(s)
	for i := range 60 {
		r, col, row := rnd.IntN(12), rnd.IntN(s.Cols), rnd.IntN(s.Rows)
		for dy := -r; dy <= r; dy++ {
			dx := 0
			for dx*dx+dy*dy <= r*r {
				dx++
			}
			[]*Mask{m, bites}[i%2].SetSpan(row+dy, col-dx+1, col+dx)
		}
	}
	m.AndNot(bites)
	return m
}

func TestOutlinesByHand(t *testing.T) {
	s := Spec{CellM: 1}
	tests := []struct {
		name, picture string
		want          []Polygon
	}{
		{"none", "...", []Polygon{}},
		{"one cell", ".#.", []Polygon{{Outer: box(1, 0, 2, 1)}}},
		{"side by side, corners only", "####", []Polygon{{Outer: box(0, 0, 4, 1)}}},
		{"cornerwise is two pieces", ".# #.", []Polygon{{Outer: box(0, 0, 1, 1)}, {Outer: box(1, 1, 2, 2)}}},
		{"hole", "### #.# ###", []Polygon{{
			Outer: box(0, 0, 3, 3),
			Holes: []Ring{{{1, 1}, {1, 2}, {2, 2}, {2, 1}}},
		}}},
		{"island in a hole", "##### #...# #.#.# #...# #####", []Polygon{
			{box(0, 0, 5, 5), []Ring{{{1, 1}, {1, 4}, {4, 4}, {4, 1}}}},
			{Outer: box(2, 2, 3, 3)},
		}},
		{"closed only cornerwise", "##. #.# ###", []Polygon{{
			Outer: Ring{{0, 0}, {3, 0}, {3, 2}, {2, 2}, {2, 3}, {0, 3}},
			Holes: []Ring{{{1, 1}, {1, 2}, {2, 2}, {2, 1}}},
		}}},
		{"two holes that touch", "#### #.## ##.# ####", []Polygon{{
			Outer: box(0, 0, 4, 4),
			Holes: []Ring{{{1, 2}, {1, 3}, {2, 3}, {2, 2}}, {{2, 1}, {2, 2}, {3, 2}, {3, 1}}},
		}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := Outlines(drawn(s, tt.picture))
			require.Len(t, got, len(tt.want))
			for i, p := range got {
				require.True(t, sameRing(tt.want[i].Outer, p.Outer), "%v", p.Outer)
				require.Len(t, p.Holes, len(tt.want[i].Holes))
				for j, h := range p.Holes {
					require.True(t, slicesContainRing(tt.want[i].Holes, h), "hole %d: %v", j, h)
				}
			}
		})
	}
}

// sameRing compares rings from any first vertex.
func sameRing(a, b Ring) bool {
	if len(a) != len(b) {
		return false
	}
	for shift := range a {
		same := true
		for i := range a {
			same = same && a[i] == b[(i+shift)%len(b)]
		}
		if same {
			return true
		}
	}
	return len(a) == 0
}

func slicesContainRing(rs []Ring, r Ring) bool {
	for _, q := range rs {
		if sameRing(q, r) {
			return true
		}
	}
	return false
}

// masks calls f for random masks of many kinds, and the checkerboard.
func masks(t *testing.T, f func(t *testing.T, m *Mask)) {
	specs := []Spec{{XY{0, 0}, 0.25, 70, 66}, {XY{-12.5, 3}, 0.5, 40, 90}, {XY{12.3, -7.1}, 0.1, 66, 30}}
	for i, s := range specs {
		for _, chance := range []float64{-1, 0, 0.02, 0.3, 0.5, 0.6, 0.9, 1} {
			t.Run(fmt.Sprintf("spec %d chance %v", i, chance), func(t *testing.T) {
				rnd := rand.New(rand.NewPCG(3, uint64(i)))
				for range 3 {
					f(t, scattered(rnd, s, chance))
				}
			})
		}
		t.Run(fmt.Sprintf("spec %d blobs", i), func(t *testing.T) {
			rnd := rand.New(rand.NewPCG(4, uint64(i)))
			for range 10 {
				f(t, blobs(rnd, s))
			}
		})
	}
}

func TestOutlinesAreExactAndValid(t *testing.T) {
	masks(t, func(t *testing.T, m *Mask) {
		again, area := NewMask(m.Spec()), 0.0
		_, pieces := m.Runs().Components(false)
		polygons := Outlines(m)
		require.Len(t, polygons, pieces)
		for _, p := range polygons {
			area += p.Area()
			require.NoError(t, p.Validate())
			requireTidy(t, p)
			again.FillPolygon(p)
		}
		require.True(t, m.Equal(again))
		if m.Spec().CellM == 0.1 { // not a binary fraction: corners carry rounding
			require.InEpsilon(t, 1+m.AreaM2(), 1+area, 1e-12)
		} else {
			require.Equal(t, m.AreaM2(), area)
		}
	})
}

// requireTidy: outer ring counter-clockwise, holes clockwise, every vertex a turn,
// none twice.
func requireTidy(t *testing.T, p Polygon) {
	t.Helper()
	require.Positive(t, p.Outer.Area())
	for _, h := range p.Holes {
		require.Negative(t, h.Area())
	}
	for _, r := range append([]Ring{p.Outer}, p.Holes...) {
		seen := map[XY]bool{}
		for i, v := range r {
			prev, next := r[(i+len(r)-1)%len(r)], r[(i+1)%len(r)]
			require.Equal(t, prev.X == v.X, next.Y == v.Y, "a vertex on a straight line")
			require.False(t, seen[v], "%v twice", v)
			seen[v] = true
		}
	}
}

func TestOutlinesOfAFilledPolygonComeBack(t *testing.T) {
	s := Spec{CellM: 0.25, Cols: 200, Rows: 200}
	want := Polygon{box(5, 5, 30, 40), []Ring{{{10, 10}, {10, 20.25}, {20, 20.25}, {20, 10}}}}
	got := Outlines(filled(s, want))
	require.Len(t, got, 1)
	require.True(t, sameRing(want.Outer, got[0].Outer))
	require.True(t, slicesContainRing(got[0].Holes, want.Holes[0]))
}

func TestOutlinesSpeed(t *testing.T) {
	m := scattered(rand.New(rand.NewPCG(5, 0)), Spec{CellM: 0.1, Cols: 1000, Rows: 1000}, 0.9)
	start := time.Now()
	ps := Outlines(m)
	vertices := 0
	for _, p := range ps {
		vertices += len(p.Outer)
		for _, h := range p.Holes {
			vertices += len(h)
		}
	}
	t.Logf("%v for %d polygons of %d vertices", time.Since(start), len(ps), vertices)
	require.NotEmpty(t, ps)
}
