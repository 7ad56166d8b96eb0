package grid

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// testMasks are sets of many shapes; sizes straddle tile edges.
func testMasks() map[string]*Mask {
	rng := rand.New(rand.NewPCG(5, 6))
	out := map[string]*Mask{}
	s := Spec{CellM: 0.1, Cols: 131, Rows: 67}
	put := func(name string, in func(c, r int) bool) {
		m := NewMask(s)
		for r := range s.Rows {
			for c := range s.Cols {
				if in(c, r) {
					m.Set(Cell{c, r})
				}
			}
		}
		out[name] = m
	}
	put("empty", func(c, r int) bool { return false })
	put("full", func(c, r int) bool { return true })
	put("one cell", func(c, r int) bool { return c == 64 && r == 63 })
	put("checkerboard", func(c, r int) bool { return (c+r)%2 == 0 })
	put("stripes", func(c, r int) bool { return c%7 < 4 })
	put("ring", func(c, r int) bool { d := (c-60)*(c-60) + (r-30)*(r-30); return d < 700 && d > 200 })
	put("spiral-like comb", func(c, r int) bool { return r%4 == 0 || c == (r/4%2)*130 })
	for _, p := range []float64{0.1, 0.4, 0.6, 0.9, 0.99} {
		put("random", func(c, r int) bool { return rng.Float64() < p })
		out["random "+string(rune('a'+int(p*10)))] = out["random"]
	}
	return out
}

func TestRunsHoldTheMask(t *testing.T) {
	for name, m := range testMasks() {
		r, back := m.Runs(), NewMask(m.Spec())
		at := 0
		for i, run := range r.All {
			require.Equal(t, at, run.At, name)
			at += run.Hi - run.Lo
			if i > 0 && r.All[i-1].Row == run.Row {
				require.Less(t, r.All[i-1].Hi, run.Lo, "%s: runs are joined", name)
			}
			back.SetSpan(run.Row, run.Lo, run.Hi)
		}
		require.Equal(t, at, r.Len(), name)
		require.True(t, m.Equal(back), name)
		for row := -1; row <= m.Spec().Rows; row++ {
			for _, run := range r.Row(row) {
				require.Equal(t, row, run.Row, name)
			}
		}
	}
}

func TestSetAlgebraEqualsCellByCell(t *testing.T) {
	masks := testMasks()
	for na, a := range masks {
		for nb, b := range masks {
			or, and, not := a.Clone(), a.Clone(), a.Clone()
			or.Or(b)
			and.And(b)
			not.AndNot(b)
			n := 0
			for r := range a.Spec().Rows {
				for c := range a.Spec().Cols {
					k := Cell{c, r}
					ok := or.Has(k) == (a.Has(k) || b.Has(k)) && and.Has(k) == (a.Has(k) && b.Has(k)) &&
						not.Has(k) == (a.Has(k) && !b.Has(k))
					if !ok {
						t.Fatalf("%s with %s at %v", na, nb, k)
					}
					if or.Has(k) {
						n++
					}
				}
			}
			require.Equal(t, n, or.Count())
			require.Equal(t, and.Count(), a.CountAnd(b))
			require.Equal(t, or.Count(), and.Count()+not.Count()+b.Count()-and.Count())
		}
	}
}

// flood is the plain definition of connected pieces.
func flood(m *Mask, corners bool) map[Cell]int {
	label, n := map[Cell]int{}, 0
	s := m.Spec()
	for r := range s.Rows {
		for c := range s.Cols {
			if k := (Cell{c, r}); m.Has(k) {
				if _, done := label[k]; !done {
					spread(m, k, n, corners, label)
					n++
				}
			}
		}
	}
	return label
}

func spread(m *Mask, k Cell, n int, corners bool, label map[Cell]int) {
	label[k] = n
	for todo := []Cell{k}; len(todo) > 0; {
		k := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		for dr := -1; dr <= 1; dr++ {
			for dc := -1; dc <= 1; dc++ {
				q := Cell{k.Col + dc, k.Row + dr}
				if _, done := label[q]; !done && m.Has(q) && (corners || dr == 0 || dc == 0) {
					label[q] = n
					todo = append(todo, q)
				}
			}
		}
	}
}

func TestComponentsEqualFlood(t *testing.T) {
	for name, m := range testMasks() {
		for _, corners := range []bool{false, true} {
			want := flood(m, corners)
			r := m.Runs()
			got, n := r.Components(corners)
			seen := map[int]bool{}
			for i, run := range r.All {
				for c := run.Lo; c < run.Hi; c++ {
					require.EqualValues(t, want[Cell{c, run.Row}], got[i], name)
				}
				seen[int(got[i])] = true
			}
			require.Len(t, seen, n, name)
		}
	}
}

func TestDistanceEqualsCellByCell(t *testing.T) {
	for name, m := range testMasks() {
		r := m.Runs()
		d := r.DistanceSquared()
		s := m.Spec()
		var out []Cell // every cell that is not in the set, one ring beyond the spec included
		for row := -1; row <= s.Rows; row++ {
			for col := -1; col <= s.Cols; col++ {
				if !m.Has(Cell{col, row}) {
					out = append(out, Cell{col, row})
				}
			}
		}
		for _, run := range r.All {
			for c := run.Lo; c < run.Hi; c += 1 + c%3 {
				best := 1 << 30
				for _, o := range out {
					best = min(best, (o.Col-c)*(o.Col-c)+(o.Row-run.Row)*(o.Row-run.Row))
				}
				require.EqualValues(t, best, d[run.At+c-run.Lo], "%s at %d,%d", name, c, run.Row)
			}
		}
	}
}

func TestFieldKeepsWhatIsSet(t *testing.T) {
	f := NewField(Spec{CellM: 1, Cols: 70, Rows: 70})
	f.Set(Cell{69, 69}, 2.5)
	f.Set(Cell{70, 0}, 9)
	require.EqualValues(t, 2.5, f.At(Cell{69, 69}))
	require.Zero(t, f.At(Cell{0, 0}))
	require.Zero(t, f.At(Cell{-1, 3}))
	require.EqualValues(t, 2.5, f.Sum())
	require.True(t, f.Untouched(f.Spec().TileBounds(0, 0).Pad(-1)))
	require.False(t, f.Untouched(f.Spec().TileBounds(1, 1)))
	require.True(t, f.Untouched(Bounds{XY{-90, -90}, XY{-80, -80}}))
}

func TestSpecCells(t *testing.T) {
	s := SpecFor(Bounds{XY{-1.05, 0}, XY{2, 0.95}}, 0.1)
	require.InDelta(t, -1.1, s.Origin.X, 1e-12)
	require.Equal(t, 31+1, s.Cols) // -1.1 up to and with the cell that holds 2.0
	for _, p := range []XY{{-1.05, 0}, {2, 0.95}, {0, 0}} {
		c, ok := s.CellAt(p)
		require.True(t, ok)
		q := s.Centre(c)
		require.InDelta(t, p.X, q.X, 0.05+1e-9)
		require.InDelta(t, p.Y, q.Y, 0.05+1e-9)
	}
	_, ok := s.CellAt(XY{2.2, 0})
	require.False(t, ok)
	require.Zero(t, SpecFor(EmptyBounds(), 0.1).Cols)
}

func TestMemoryFollowsTheGroundTouched(t *testing.T) {
	m := NewMask(Spec{CellM: 0.1, Cols: 200_000, Rows: 200_000}) // 20 km square
	m.FillCapsule(XY{100, 100}, XY{19_000, 15_000}, 0.75)
	require.Less(t, m.tiles.Len(), 2*(18_900+14_900)*10/64)
	require.InEpsilon(t, 1.5*24_108, m.AreaM2(), 1e-2)
}

func TestCoarseEqualsCellByCell(t *testing.T) {
	for name, m := range testMasks() {
		for _, k := range []int{1, 2, 3, 7} {
			c := m.Runs().Coarse(k)
			for row := range m.Spec().Rows / k {
				for col := range m.Spec().Cols / k {
					all := true
					for i := range k * k {
						all = all && m.Has(Cell{col*k + i%k, row*k + i/k})
					}
					require.Equal(t, all, c.Has(Cell{col, row}), "%s %d: %d,%d", name, k, col, row)
				}
			}
		}
	}
}
