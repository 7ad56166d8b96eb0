package grid

// DistanceSquared returns, for every cell of the set in the order of Runs, the
// squared distance in cells from its centre to the nearest centre of a cell
// that is not in the set. Cells outside the Spec are not in it. The result is
// exact up to 46,340 cells (int32). O(cells); 8 bytes a cell.
//
// Source: Meijster, Roerdink, Hesselink 2000, "A general algorithm for
// computing distance transforms in linear time", here over runs: outside a run
// the nearest cell of its row is never further than the run's own ends.
func (r *Runs) DistanceSquared() []int32 {
	g := r.columnDistance()
	out := make([]int32, r.n)
	var env envelope
	for _, run := range r.All {
		env.row(g[run.At:run.At+run.Hi-run.Lo], out[run.At:])
	}
	return out
}

// columnDistance is the distance in cells to the nearest cell of the same
// column that is not in the set.
func (r *Runs) columnDistance() []int32 {
	g := make([]int32, r.n)
	from, to := r.Rows()
	for row := from; row < to; row++ {
		r.copyColumns(g, row, row-1)
	}
	for row := to - 1; row >= from; row-- {
		r.lowerColumns(g, row, row+1)
	}
	return g
}

// copyColumns sets each cell of row to one more than its neighbour in the row
// before, 1 where that is not in the set.
func (r *Runs) copyColumns(g []int32, row, before int) {
	for _, run := range r.Row(row) {
		for i := run.At; i < run.At+run.Hi-run.Lo; i++ {
			g[i] = 1
		}
	}
	r.shared(row, before, func(i, j, n int) {
		for k := range n {
			g[i+k] = g[j+k] + 1
		}
	})
}

// lowerColumns lowers each cell of row to one more than its neighbour in the
// row after, 1 where that is not in the set.
func (r *Runs) lowerColumns(g []int32, row, after int) {
	old := r.Row(row)
	r.shared(row, after, func(i, j, n int) {
		for k := range n {
			g[i+k] = -min(g[i+k], g[j+k]+1) // negative: has a neighbour
		}
	})
	for _, run := range old {
		for i := run.At; i < run.At+run.Hi-run.Lo; i++ {
			if g[i] < 0 {
				g[i] = -g[i]
			} else {
				g[i] = 1
			}
		}
	}
}

// shared calls f for each stretch of columns that two rows have in common: n
// cells from index i in row and from index j in other.
func (r *Runs) shared(row, other int, f func(i, j, n int)) {
	overlaps(r.Row(row), r.Row(other), func(p, q Run, lo, hi int) {
		f(p.At+lo-p.Lo, q.At+lo-q.Lo, hi-lo)
	})
}

// envelope finds the lower envelope of the parabolas (x-i)^2 + g(i)^2 along
// one run, the cells at either end of it having g = 0.
type envelope struct {
	g, at, from []int64 // all columns' g; the envelope's parabolas and where each begins
}

func (e *envelope) row(g, out []int32) {
	e.g = append(e.g[:0], 0)
	for _, v := range g {
		e.g = append(e.g, int64(v))
	}
	e.g = append(e.g, 0)
	e.at, e.from = append(e.at[:0], 0), append(e.from[:0], 0)
	last := int64(len(e.g) - 1)
	for u := int64(1); u <= last; u++ {
		for len(e.at) > 0 && e.cost(e.from[len(e.from)-1], e.at[len(e.at)-1]) > e.cost(e.from[len(e.from)-1], u) {
			e.at, e.from = e.at[:len(e.at)-1], e.from[:len(e.from)-1]
		}
		if len(e.at) == 0 {
			e.at, e.from = append(e.at, u), append(e.from, 0)
		} else if w := e.sep(e.at[len(e.at)-1], u) + 1; w <= last {
			e.at, e.from = append(e.at, u), append(e.from, w)
		}
	}
	k := len(e.at) - 1
	for u := last; u >= 1; u-- {
		for e.from[k] > u {
			k--
		}
		if u < last {
			out[u-1] = int32(e.cost(u, e.at[k]))
		}
	}
}

func (e *envelope) cost(x, i int64) int64 { return (x-i)*(x-i) + e.g[i]*e.g[i] }

// sep is the last column where parabola i is not above parabola u, i < u.
func (e *envelope) sep(i, u int64) int64 {
	n := u*u - i*i + e.g[u]*e.g[u] - e.g[i]*e.g[i]
	if d := 2 * (u - i); n >= 0 {
		return n / d
	} else {
		return -((-n + d - 1) / d)
	}
}
