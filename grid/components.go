package grid

// Components numbers the connected pieces of the set. piece[i] is the piece of
// run All[i]; pieces are numbered from 0 in the order of their first run. Cells
// that share a side are connected; with corners, so are cells that touch at a
// corner. O(runs).
func (r *Runs) Components(corners bool) (piece []int32, n int) {
	f := newForest(len(r.All))
	from, to := r.Rows()
	for row := from + 1; row < to; row++ {
		r.touching(row-1, row, corners, func(i, j int) { f.join(int32(i), int32(j)) })
	}
	piece = make([]int32, len(r.All))
	number := make(map[int32]int32)
	for i := range r.All {
		root := f.root(int32(i))
		k, ok := number[root]
		if !ok {
			k = int32(len(number))
			number[root] = k
		}
		piece[i] = k
	}
	return piece, len(number)
}

// touching calls f for every pair of runs, given by index, of two
// neighbouring rows that touch.
func (r *Runs) touching(row, next int, corners bool, f func(i, j int)) {
	a, b := r.rowIndex(row), r.rowIndex(next)
	slack := 0
	if corners {
		slack = 1
	}
	for i, j := a[0], b[0]; i < a[1] && j < b[1]; {
		p, q := &r.All[i], &r.All[j]
		if p.Lo < q.Hi+slack && q.Lo < p.Hi+slack {
			f(i, j)
		}
		if p.Hi < q.Hi {
			i++
		} else {
			j++
		}
	}
}

// rowIndex is where the runs of a row stand in All: [first, past the last].
func (r *Runs) rowIndex(row int) [2]int {
	i := row - r.rowMin
	if i < 0 || i+1 >= len(r.rowAt) {
		return [2]int{}
	}
	return [2]int{r.rowAt[i], r.rowAt[i+1]}
}

// forest is a union-find whose root is the smallest member.
type forest []int32

func newForest(n int) forest {
	f := make(forest, n)
	for i := range f {
		f[i] = int32(i)
	}
	return f
}

func (f forest) root(i int32) int32 {
	for f[i] != i {
		f[i] = f[f[i]]
		i = f[i]
	}
	return i
}

func (f forest) join(i, j int32) {
	i, j = f.root(i), f.root(j)
	f[max(i, j)] = min(i, j)
}
