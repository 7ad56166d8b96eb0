package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
)

// classOf is the plain twin of classifier: one cell at a time.
func classOf(r *coverage.Result, p fakePasses, c grid.Cell) class {
	switch {
	case !r.Searchable.Has(c):
		return outside
	case r.Swept.Has(c):
		return once + class(min(p.n[c.Row*p.cols+c.Col], 3)-1)
	}
	for _, g := range r.Gaps {
		for _, run := range g.Cells {
			if run.Row == c.Row && c.Col >= run.Lo && c.Col < run.Hi {
				return gap
			}
		}
	}
	return sliver
}

func TestRasterIsCellForCell(t *testing.T) {
	g := field()
	g.missed = 0.4
	r, p := g.make(t)
	ras := rasterise(r, p)
	var counts [classes]int
	size := ras.img.Rect.Size()
	f := size.X / (((r.Spec.Cols + 63) / 64) * 64)
	require.Greater(t, f, 1, "a small picture is enlarged")
	for row := range r.Spec.Rows {
		for col := range r.Spec.Cols {
			c := grid.Cell{Col: col, Row: row}
			want := classOf(r, p, c)
			if want != outside {
				counts[want]++
			}
			q := r.Spec.Centre(c)
			x := int((q.X - ras.bounds.Min.X) / ras.bounds.Width() * float64(size.X))
			y := int((ras.bounds.Max.Y - q.Y) / ras.bounds.Height() * float64(size.Y))
			if got := class(ras.img.ColorIndexAt(x, y)); got != want {
				t.Fatalf("cell %v: %d, want %d", c, got, want)
			}
		}
	}
	require.Equal(t, counts, ras.cells)
	require.Equal(t, r.Swept.Count(), ras.cells[once]+ras.cells[twice]+ras.cells[more])
}

func TestStatesAreCellForCell(t *testing.T) {
	r, p := field().makeUnsure(t)
	ras := rasterise(r, p)
	var cells [classes]int
	r.Searchable.Cells(func(c grid.Cell) {
		q := r.Spec.Centre(c)
		want := untrodden
		if v := r.Certainty.ChanceAt(q); v >= 0.8 {
			want = surely
		} else if v > 0.2 {
			want = doubt
		}
		cells[want]++
		if got := ras.at(q); got != want {
			t.Fatalf("cell %v: %d, want %d", c, got, want)
		}
	})
	require.Equal(t, cells, ras.cells)
	require.Equal(t, outside, ras.at(grid.XY{X: -1e6}))
	require.Equal(t, outside, ras.at(grid.XY{X: math.NaN()}))
}

// The bounds belong to the outer states: at 0.8 swept, at 0.2 untrodden.
func TestStateOf(t *testing.T) {
	for chance, want := range map[float64]class{0: untrodden, 0.2: untrodden, 0.201: doubt, 0.799: doubt, 0.8: surely, 1: surely} {
		require.Equal(t, want, stateOf(chance), "%g", chance)
	}
}

// Ground of more cells than pixels: blocks by majority, whatever the block's
// size against the tile's.
func TestRasterOfLargeGround(t *testing.T) {
	for _, cols := range []int{5000, 140_000, 300_000} {
		s := grid.Spec{CellM: 0.1, Cols: cols, Rows: 700}
		r := &coverage.Result{Spec: s, Searchable: grid.NewMask(s), Swept: grid.NewMask(s)}
		for row := range 512 {
			r.Searchable.SetSpan(row, 0, 512)
			r.Searchable.SetSpan(row, cols-512, cols)
			r.Swept.SetSpan(row, cols-512, cols)
		}
		ras := rasterise(r, constant(2))
		size := ras.img.Rect.Size()
		require.LessOrEqual(t, max(size.X, size.Y), maxSide)
		at := func(x, y float64) class {
			return class(ras.img.ColorIndexAt(int((x-ras.bounds.Min.X)/ras.bounds.Width()*float64(size.X)),
				int((ras.bounds.Max.Y-y)/ras.bounds.Height()*float64(size.Y))))
		}
		end := float64(cols) * 0.1
		require.Equal(t, sliver, at(10, 10))
		require.Equal(t, twice, at(end-25, 30))
		require.Equal(t, outside, at(end/2, 20))
		require.Equal(t, 512*512, ras.cells[twice])
	}
}

func TestMajority(t *testing.T) {
	for _, c := range []struct {
		name  string
		n     [classes]uint32
		cells int
		want  class
	}{
		{"nothing", [classes]uint32{}, 16, outside},
		{"less than half", [classes]uint32{once: 7}, 16, outside},
		{"half", [classes]uint32{once: 8}, 16, once},
		{"most", [classes]uint32{once: 5, gap: 3, twice: 6}, 16, twice},
		{"a tie goes to the gap", [classes]uint32{once: 8, gap: 8}, 16, gap},
	} {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.want, majority(c.n, c.cells)) })
	}
}

func TestRasterOfNothing(t *testing.T) {
	s := grid.Spec{CellM: 1}
	r := &coverage.Result{Spec: s, Searchable: grid.NewMask(s), Swept: grid.NewMask(s)}
	require.Equal(t, outside, class(rasterise(r, constant(1)).img.ColorIndexAt(0, 0)))
}
