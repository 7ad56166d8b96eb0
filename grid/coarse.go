package grid

// Coarse returns the set over cells k times as wide: a coarse cell is in it when
// all k x k cells are. Coarse cell (c, r) covers the cells from (k c, k r) on; what
// is left at the far edges of the Spec is in no coarse cell. k is at least 1.
// O(runs).
func (r *Runs) Coarse(k int) *Mask {
	s := r.Spec
	m := NewMask(Spec{Origin: s.Origin, CellM: s.CellM * float64(k), Cols: s.Cols / k, Rows: s.Rows / k})
	for row := range m.spec.Rows {
		all := r.Row(row * k)
		for i := 1; i < k && len(all) > 0; i++ {
			all = common(all, r.Row(row*k+i))
		}
		for _, a := range all {
			m.SetSpan(row, (a.Lo+k-1)/k, a.Hi/k)
		}
	}
	return m
}

// common is the columns that two rows of runs share.
func common(a, b []Run) (out []Run) {
	overlaps(a, b, func(p, _ Run, lo, hi int) { out = append(out, Run{Row: p.Row, Lo: lo, Hi: hi}) })
	return out
}
