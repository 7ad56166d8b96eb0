package grid

import (
	"cmp"
	"slices"
)

// FillPolygon adds the cells whose centre lies in p: those with an odd number of
// ring edges, over all rings together, crossing the row of centres at or west of
// the centre. An edge counts for a row when its south end is at or south of the
// centres and its north end north of them. So a cell on a line shared by two
// polygons belongs to exactly one, the one to the east or north; holes cut out;
// and a ring that overlaps itself or another cuts out where it does so evenly.
//
// Rings may run either way and reach outside the Spec. Vertices must be finite.
// The result is the same on every machine. O(rows x edges crossing each +
// vertices x log vertices).
func (m *Mask) FillPolygon(p Polygon) {
	edges := m.edgeTable(p)
	var active []fillEdge
	var cols []int
	for next, row := 0, 0; next < len(edges) || len(active) > 0; row++ {
		if len(active) == 0 {
			row = edges[next].from
		}
		for ; next < len(edges) && edges[next].from == row; next++ {
			active = append(active, edges[next])
		}
		active = slices.DeleteFunc(active, func(e fillEdge) bool { return e.to <= row })
		cols = cols[:0]
		y := m.spec.Centre(Cell{0, row}).Y
		for _, e := range active {
			cols = append(cols, m.spec.colFrom(e.crossing(y)))
		}
		slices.Sort(cols)
		for i := 0; i+1 < len(cols); i += 2 {
			m.SetSpan(row, cols[i], cols[i+1])
		}
	}
}

// fillEdge is a side of a ring from its south end a to its north end b. It
// crosses the centres of rows [from, to).
type fillEdge struct {
	a, b     XY
	from, to int
}

// edgeTable returns the edges that cross rows of the Spec, southernmost first.
func (m *Mask) edgeTable(p Polygon) []fillEdge {
	var edges []fillEdge
	for _, r := range append([]Ring{p.Outer}, p.Holes...) {
		for i, a := range r {
			e := southToNorth(a, r[(i+1)%len(r)])
			e.from, e.to = m.spec.rowFrom(e.a.Y), m.spec.rowFrom(e.b.Y)
			if e.from < e.to {
				edges = append(edges, e)
			}
		}
	}
	slices.SortFunc(edges, func(d, e fillEdge) int { return cmp.Compare(d.from, e.from) })
	return edges
}

// southToNorth turns an edge one way whichever ring it comes from, so that two
// polygons get the same crossings from a side they share.
func southToNorth(a, b XY) fillEdge {
	if b.Y < a.Y {
		a, b = b, a
	}
	return fillEdge{a: a, b: b}
}

// crossing is the x at which the edge meets the line of y, a.Y <= y < b.Y. The
// product is pinned, so every machine rounds it the same way.
func (e fillEdge) crossing(y float64) float64 {
	return e.a.X + float64((y-e.a.Y)*(e.b.X-e.a.X))/(e.b.Y-e.a.Y)
}

// colFrom is the first column whose centre is at or east of x, at most Cols.
func (s Spec) colFrom(x float64) int {
	return firstFrom(s.Cols, (x-s.Origin.X)/s.CellM, func(col int) bool { return s.Centre(Cell{col, 0}).X >= x })
}

// rowFrom is the first row whose centre is at or north of y, at most Rows.
func (s Spec) rowFrom(y float64) int {
	return firstFrom(s.Rows, (y-s.Origin.Y)/s.CellM, func(row int) bool { return s.Centre(Cell{0, row}).Y >= y })
}

// firstFrom is the least i in [0, n) for which the rising predicate at holds, or
// n. It starts from the rounded guess, off by one at most unless numbers are so
// large that neighbouring centres are equal.
func firstFrom(n int, guess float64, at func(int) bool) int {
	i := 0
	if guess > 0 {
		i = int(min(guess, float64(n)))
	}
	for i > 0 && at(i-1) {
		i--
	}
	for i < n && !at(i) {
		i++
	}
	return i
}
