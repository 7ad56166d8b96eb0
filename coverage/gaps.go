package coverage

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"untrod/grid"
)

// findGaps cuts the unswept ground into gaps and slivers. Together they are
// the unswept ground exactly, cell for cell.
//
// Unswept ground between winding lanes hangs together by threads, so its plain
// connected pieces are of little use to a walker. A gap here ends where the
// ground narrows to under half the least gap width: it is a connected region
// in which a circle of that half width can roll, with its corners, and holds
// somewhere a circle of the full width. All else is slivers.
//
// It takes about 16 bytes for each unswept cell. Above maxGapCells the gaps are
// found on cells 2, 3, 4 ... times as wide, all of whose ground is unswept, so that
// they come out narrower by less than two such cells.
func findGaps(unswept *grid.Mask, minWidthM, minAreaM2 float64) ([]Gap, Slivers) {
	runs, k := unswept.Runs(), 1
	for runs.Len()/(k*k) > maxGapCells {
		k++
	}
	gaps := gapsOf(runs, k, minWidthM, minAreaM2)
	rest := unswept.Clone()
	for _, g := range gaps {
		for _, r := range g.Cells {
			rest.ClearSpan(r.Row, r.Lo, r.Hi)
		}
	}
	rank(gaps)
	left := rest.Runs()
	_, pieces := left.Components(false)
	return gaps, Slivers{Count: pieces, AreaM2: float64(left.Len()) * unswept.Spec().CellAreaM2()}
}

// maxGapCells is the number of unswept cells above which gaps are found on wider
// ones.
const maxGapCells = 25_000_000

// gapsOf finds the gaps among runs on cells k times as wide.
func gapsOf(runs *grid.Runs, k int, minWidthM, minAreaM2 float64) (gaps []Gap) {
	unswept := runs.Coarse(k)
	s, wide := unswept.Spec(), unswept.Runs()
	d2 := wide.DistanceSquared()
	l := &gapLabels{spec: s, tiles: grid.NewTiles[labelTile](s)}
	n := l.seed(wide, d2, minWidthM/2)
	l.grow(unswept, int(math.Ceil(0.7*minWidthM/2/s.CellM))+1)
	for _, region := range l.collect(wide, n) {
		g := measure(s, region, d2)
		if g.WidestM < minWidthM || g.AreaM2 < minAreaM2 {
			continue
		}
		g.Outline = outline(s, g.Cells)
		g.Cells = fine(g.Cells, k)
		g.UntroddenM2 = g.AreaM2
		gaps = append(gaps, g)
	}
	return gaps
}

// fine is runs of wide cells as runs of the cells they are made of, row by row.
func fine(wide []grid.Run, k int) []grid.Run {
	if k == 1 {
		return wide
	}
	var out []grid.Run
	for from := 0; from < len(wide); {
		to := from
		for to < len(wide) && wide[to].Row == wide[from].Row {
			to++
		}
		for i := range k {
			for _, r := range wide[from:to] {
				out = append(out, grid.Run{Row: r.Row*k + i, Lo: r.Lo * k, Hi: r.Hi * k})
			}
		}
		from = to
	}
	return out
}

// rank numbers gaps: untrodden before in doubt, then by untrodden ground, then by
// area.
func rank(gaps []Gap) {
	slices.SortStableFunc(gaps, func(a, b Gap) int {
		if a.InDoubt != b.InDoubt {
			if b.InDoubt {
				return -1
			}
			return 1
		}
		return cmp.Or(cmp.Compare(b.UntroddenM2, a.UntroddenM2), cmp.Compare(b.AreaM2, a.AreaM2))
	})
	for i := range gaps {
		gaps[i].ID = i + 1
	}
}

// weigh gives each gap its chance and its untrodden ground, and ranks anew.
func (c *Certainty) weigh(s grid.Spec, gaps []Gap) {
	for i := range gaps {
		g, sum, bare, n := &gaps[i], 0.0, 0, 0
		for _, r := range g.Cells {
			for col := r.Lo; col < r.Hi; col++ {
				v := c.ChanceAt(s.Centre(grid.Cell{Col: col, Row: r.Row}))
				sum += v
				n++
				if v <= UntroddenChance {
					bare++
				}
			}
		}
		g.ChanceSwept, g.UntroddenM2 = sum/float64(n), float64(bare)*s.CellAreaM2()
	}
	rank(gaps)
}

// under is the searchable cells whose chance is at or below a limit, below it for
// SurelyChance.
func (c *Certainty) under(searchable *grid.Mask, limit float64) *grid.Mask {
	m := grid.NewMask(searchable.Spec())
	c.each(searchable, func(k grid.Cell, v float64) {
		if v < limit || v == limit && limit == UntroddenChance {
			m.Set(k)
		}
	}, m.OrTile)
	return m
}

// widthM is the width of a strip whose middle cell is sqrt(d2) cells from the
// nearest cell outside. A strip n cells wide has 2d - 1 = n or 2d = n by turns;
// the figure between is right to half a cell.
func widthM(d2 int32, cellM float64) float64 {
	return (2*math.Sqrt(float64(d2)) - 0.5) * cellM
}

// gapLabels numbers cells by the gap region they belong to, from 1; 0 is none.
type gapLabels struct {
	spec  grid.Spec
	tiles *grid.Tiles[labelTile]
	front []grid.Cell
}

type labelTile [grid.TileSide * grid.TileSide]int32

func (l *gapLabels) at(c grid.Cell) *int32 {
	col, row := uint(c.Col), uint(c.Row)
	t := l.tiles.Touch(int(col/grid.TileSide), int(row/grid.TileSide))
	return &t[row%grid.TileSide*grid.TileSide+col%grid.TileSide]
}

// row returns the labels of the cells of a row from column lo to hi, or to the end of
// the tile, and where that is; nil where none was ever set.
func (l *gapLabels) row(row, lo, hi int) (labels []int32, end int) {
	end = min((lo/grid.TileSide+1)*grid.TileSide, hi)
	t := l.tiles.At(lo/grid.TileSide, row/grid.TileSide)
	if t == nil {
		return nil, end
	}
	return t[row%grid.TileSide*grid.TileSide+lo%grid.TileSide:][:end-lo], end
}

// seed labels the connected pieces of the cells in which a circle of width w
// can lie, and returns how many there are.
func (l *gapLabels) seed(runs *grid.Runs, d2 []int32, w float64) int {
	core, cell := grid.NewMask(l.spec), l.spec.CellM
	// Distance changes by at most sqrt 2 from cell to cell, so the rim of the core is
	// no wider than this.
	inside, past := leastD2(w, cell), leastD2(w+float64(3*cell), cell)
	for _, r := range runs.All {
		from := r.Lo // of the cells inside that are not in the core yet
		for i, d := range d2[r.At:][:r.Hi-r.Lo] {
			col := r.Lo + i
			switch {
			case d < inside:
				core.SetSpan(r.Row, from, col)
				from = col + 1
			case d < past:
				l.front = append(l.front, grid.Cell{Col: col, Row: r.Row})
			}
		}
		core.SetSpan(r.Row, from, r.Hi)
	}
	cr := core.Runs()
	piece, n := cr.Components(true)
	for i, r := range cr.All {
		for c := r.Lo; c < r.Hi; c++ {
			*l.at(grid.Cell{Col: c, Row: r.Row}) = piece[i] + 1
		}
	}
	return n
}

// leastD2 is the least squared distance whose strip is w wide or wider.
func leastD2(w, cellM float64) int32 {
	return int32(sort.Search(math.MaxInt32, func(d int) bool { return widthM(int32(d), cellM) >= w }))
}

var (
	sides   = []grid.Cell{{Col: 1}, {Col: -1}, {Row: 1}, {Row: -1}}
	corners = []grid.Cell{{Col: 1, Row: 1}, {Col: -1, Row: 1}, {Col: 1, Row: -1}, {Col: -1, Row: -1}}
)

// grow spreads the labels over unswept ground, cell by cell, by turns to the
// eight and to the four neighbours, which keeps the front near to round.
func (l *gapLabels) grow(unswept *grid.Mask, steps int) {
	for i := range steps {
		old := l.front
		l.front = nil
		for _, k := range old {
			l.spread(unswept, k, sides)
			if i%2 == 0 {
				l.spread(unswept, k, corners)
			}
		}
	}
}

func (l *gapLabels) spread(unswept *grid.Mask, k grid.Cell, around []grid.Cell) {
	label := *l.at(k)
	for _, o := range around {
		q := grid.Cell{Col: k.Col + o.Col, Row: k.Row + o.Row}
		if !unswept.Has(q) {
			continue
		}
		if p := l.at(q); *p == 0 {
			*p = label
			l.front = append(l.front, q)
		}
	}
}

// collect returns the runs of each region, their At pointing into the values
// of the runs they were cut from.
func (l *gapLabels) collect(runs *grid.Runs, n int) [][]grid.Run {
	out := make([][]grid.Run, n)
	for _, r := range runs.All {
		for lo := r.Lo; lo < r.Hi; {
			label, hi := l.stretch(r.Row, lo, r.Hi)
			if label > 0 {
				out[label-1] = append(out[label-1], grid.Run{Row: r.Row, Lo: lo, Hi: hi, At: r.At + lo - r.Lo})
			}
			lo = hi
		}
	}
	return out
}

// stretch is the label of a cell, and up to where its row goes on with it, at most to
// column most.
func (l *gapLabels) stretch(row, lo, most int) (label int32, hi int) {
	for hi = lo; hi < most; {
		labels, end := l.row(row, hi, most)
		if hi == lo && labels != nil {
			label = labels[0]
		}
		if labels == nil && label != 0 {
			return label, hi
		}
		for _, v := range labels {
			if v != label {
				return label, hi
			}
			hi++
		}
		hi = end
	}
	return label, hi
}

// measure returns the gap of one region: its area, and its widest circle, of
// equals the one nearest to the region's centroid.
func measure(s grid.Spec, region []grid.Run, d2 []int32) Gap {
	n, sx, sy := 0, 0.0, 0.0
	for _, r := range region {
		k := r.Hi - r.Lo
		n += k
		sx += float64(k) * float64(r.Lo+r.Hi-1) / 2
		sy += float64(k) * float64(r.Row)
	}
	cx, cy := sx/float64(n), sy/float64(n)
	best, off, at := int32(0), math.Inf(1), grid.Cell{}
	for _, r := range region {
		for c := r.Lo; c < r.Hi; c++ {
			d := d2[r.At+c-r.Lo]
			if d < best {
				continue
			}
			if o := math.Hypot(float64(c)-cx, float64(r.Row)-cy); d > best || o < off {
				best, off, at = d, o, grid.Cell{Col: c, Row: r.Row}
			}
		}
	}
	return Gap{
		AreaM2: float64(n) * s.CellAreaM2(), WidestM: widthM(best, s.CellM),
		CentreXY: s.Centre(at), Cells: region,
	}
}

// outline draws a gap: exact along the cells, then simplified by half a cell.
func outline(s grid.Spec, cells []grid.Run) []grid.Polygon {
	lo, hi := math.MaxInt, math.MinInt
	for _, r := range cells {
		lo, hi = min(lo, r.Lo), max(hi, r.Hi)
	}
	from, to := cells[0].Row, cells[len(cells)-1].Row
	m := grid.NewMask(grid.Spec{
		Origin: grid.XY{X: s.Origin.X + float64(float64(lo)*s.CellM), Y: s.Origin.Y + float64(float64(from)*s.CellM)},
		CellM:  s.CellM, Cols: hi - lo, Rows: to - from + 1,
	})
	for _, r := range cells {
		m.SetSpan(r.Row-from, r.Lo-lo, r.Hi-lo)
	}
	var out []grid.Polygon
	for _, p := range grid.Outlines(m) {
		out = append(out, p.Simplify(s.CellM))
	}
	return out
}
