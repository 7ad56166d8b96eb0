package grid

import "math/bits"

// Run is a stretch of neighbouring cells of one row: columns [Lo, Hi).
// At is the place of its first cell among all cells of the Runs.
type Run struct{ Row, Lo, Hi, At int }

// Runs is a set of cells as stretches, row by row from the south, west to
// east within a row. Values that belong to cells lie beside it in plain slices
// of Len elements: cell col of run r has index r.At + col - r.Lo. So memory
// follows the set's cells, however far apart they lie.
type Runs struct {
	Spec Spec
	All  []Run
	// rowAt[i] is the index in All of the first run of row rowMin+i.
	rowAt  []int
	rowMin int
	n      int
}

// Runs returns the cells of m as stretches. O(words touched + runs).
func (m *Mask) Runs() *Runs {
	r := &Runs{Spec: m.spec}
	tcols, trows := m.tiles.Size()
	var cols []int // tile columns touched in this row of tiles
	for tr := range trows {
		cols = cols[:0]
		for tc := 0; tc < tcols; tc++ {
			if m.tiles.At(tc, tr) != nil {
				cols = append(cols, tc)
			}
		}
		if len(cols) == 0 {
			continue
		}
		for i := range TileSide {
			r.appendRow(m, tr, i, cols)
		}
	}
	r.index()
	return r
}

func (r *Runs) appendRow(m *Mask, tr, i int, cols []int) {
	row := tr*TileSide + i
	for _, tc := range cols {
		w := m.tiles.At(tc, tr)[i]
		for w != 0 {
			lo := bits.TrailingZeros64(w)
			n := bits.TrailingZeros64(^(w >> lo))
			r.push(row, tc*TileSide+lo, tc*TileSide+lo+n)
			if lo+n >= 64 {
				break
			}
			w &^= SpanWord(lo, lo+n)
		}
	}
}

// push adds a stretch, joining it to the one before when they touch.
func (r *Runs) push(row, lo, hi int) {
	if k := len(r.All) - 1; k >= 0 && r.All[k].Row == row && r.All[k].Hi == lo {
		r.All[k].Hi = hi
	} else {
		r.All = append(r.All, Run{Row: row, Lo: lo, Hi: hi, At: r.n})
	}
	r.n += hi - lo
}

func (r *Runs) index() {
	if len(r.All) == 0 {
		r.rowAt = []int{0}
		return
	}
	r.rowMin = r.All[0].Row
	last := r.All[len(r.All)-1].Row
	r.rowAt = make([]int, last-r.rowMin+2)
	k := 0
	for row := r.rowMin; row <= last+1; row++ {
		for k < len(r.All) && r.All[k].Row < row {
			k++
		}
		r.rowAt[row-r.rowMin] = k
	}
}

// Len is the number of cells.
func (r *Runs) Len() int { return r.n }

// Row returns the runs of one row, west to east.
func (r *Runs) Row(row int) []Run {
	i := row - r.rowMin
	if i < 0 || i+1 >= len(r.rowAt) {
		return nil
	}
	return r.All[r.rowAt[i]:r.rowAt[i+1]]
}

// Rows returns the first row that holds a run and one past the last.
func (r *Runs) Rows() (from, to int) { return r.rowMin, r.rowMin + len(r.rowAt) - 1 }

// overlaps calls f for each stretch of columns [lo, hi) that two rows of runs
// share, west to east.
func overlaps(a, b []Run, f func(p, q Run, lo, hi int)) {
	for len(a) > 0 && len(b) > 0 {
		if lo, hi := max(a[0].Lo, b[0].Lo), min(a[0].Hi, b[0].Hi); lo < hi {
			f(a[0], b[0], lo, hi)
		}
		if a[0].Hi < b[0].Hi {
			a = a[1:]
		} else {
			b = b[1:]
		}
	}
}
