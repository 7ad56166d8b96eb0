package grid

import "math"

// Limits of a Brush, so that its integer arithmetic cannot overflow.
const (
	subCell      = 256          // parts of a cell that positions are snapped to
	maxPiece     = 64 * subCell // longest piece of a line handled at once
	MaxBrushCell = 256          // largest radius, in cells
	maxSub       = 1<<30 - 1    // furthest snapped position from the origin
)

// Sub is a position in whole 1/256 parts of a cell east and north of a Spec's
// origin. The centre of cell (c, r) is (256c+128, 256r+128). At 0.10 m cells a
// part is 0.4 mm.
type Sub struct{ X, Y int32 }

// Snap returns the Sub nearest to p. Positions further than about four million
// cells from the origin are moved to that distance.
func (s Spec) Snap(p XY) Sub { return s.snap(p, subCell/s.CellM) }

// snap is Snap with the sub-cells per metre worked out.
func (s *Spec) snap(p XY, k float64) Sub {
	return Sub{snap(float64((p.X - s.Origin.X) * k)), snap(float64((p.Y - s.Origin.Y) * k))}
}

func snap(v float64) int32 {
	if !(v > -maxSub) { // NaN too
		v = -maxSub
	} else if v > maxSub {
		v = maxSub
	}
	return int32(floor(v + 0.5))
}

// floor rounds down numbers between -2^30 and 2^30. Cutting a positive number
// is several times faster than math.Floor on the oldest processors built for.
func floor(v float64) int64 { return int64(v+1<<30) - 1<<30 }

// Brush is a radius made ready for one cell size. It turns discs and capsules
// (all points within the radius of a segment) into stretches of cells, exactly:
// a cell belongs when the squared distance from its centre to the segment, in
// whole sub-cells, is at most the squared radius. All arithmetic that decides
// is on integers, so every machine marks the same cells. Safe for concurrent
// use.
type Brush struct {
	r2     int64 // squared radius in sub-cells, rounded down
	reach  int32 // whole part of the radius
	chords []discRows
}

// discRows is the disc for one phase (the sub-cell position of its middle
// within its row): half chords for rows first, first+1, ... relative to the
// row of the middle.
type discRows struct {
	first int32
	half  []int32
}

// NewBrush returns the brush of radiusM metres on cells of side cellM. It
// panics when the radius is not above 0 or over MaxBrushCell cells.
func NewBrush(cellM, radiusM float64) *Brush {
	r := radiusM / cellM * subCell
	if !(r > 0) || r > MaxBrushCell*subCell {
		panic("grid: brush radius out of range")
	}
	// The factor keeps a radius such as 0.75 m / 0.1 m = 7.499999999999999
	// cells from losing the points exactly on its rim.
	b := &Brush{r2: int64(r * r * (1 + 1e-12))}
	b.reach = int32(isqrt(b.r2))
	b.chords = make([]discRows, subCell)
	for phase := range b.chords {
		b.chords[phase] = b.disc(int32(phase))
	}
	return b
}

func (b *Brush) disc(phase int32) discRows {
	first := (phase - b.reach + subCell/2 - 1) >> 8
	last := (phase + b.reach - subCell/2) >> 8
	d := discRows{first: first}
	for row := first; row <= last; row++ {
		dy := int64(row*subCell + subCell/2 - phase)
		d.half = append(d.half, int32(isqrt(b.r2-dy*dy)))
	}
	return d
}

// isqrt is the whole part of the square root of n, 0 <= n < 2^62.
func isqrt(n int64) int64 {
	k := int64(math.Sqrt(float64(n)))
	for k*k > n {
		k--
	}
	for (k+1)*(k+1) <= n {
		k++
	}
	return k
}

// Span is a half-open stretch of columns; empty when Lo >= Hi.
type Span struct{ Lo, Hi int32 }

// Footprint is the cells of one capsule: Spans[i] are the columns of row
// Row+i. Min and Max bound the columns. It is not clipped to a Spec.
type Footprint struct {
	Row      int32
	Min, Max int32
	Spans    []Span
}

// Capsule puts into fp the cells within the brush's radius of the segment from
// a to c, end caps round, rim included; a disc when they are equal. The segment
// must be at most 64 cells long in each direction (see Pieces). fp's memory is
// reused. O(rows).
func (b *Brush) Capsule(fp *Footprint, a, c Sub) {
	if a.Y > c.Y {
		a, c = c, a
	}
	da, dc := &b.chords[a.Y&(subCell-1)], &b.chords[c.Y&(subCell-1)]
	rowA, rowC := a.Y>>8+da.first, c.Y>>8+dc.first
	n := int(rowC-rowA) + len(dc.half)
	if cap(fp.Spans) < n {
		fp.Spans = make([]Span, n, 2*n)
	}
	s := fp.Spans[:n]
	fp.Spans, fp.Row = s, rowA
	fp.Min = (min(a.X, c.X) - b.reach + subCell/2 - 1) >> 8
	fp.Max = (max(a.X, c.X) + b.reach + subCell/2) >> 8

	// Rows of the lower disc alone, of both, of neither, of the upper alone.
	d := min(int(rowC-rowA), len(da.half))
	both := da.half[d:]
	for i, h := range da.half[:d] {
		s[i] = chordSpan(a.X, h)
	}
	mid, upper := s[int(rowC-rowA):][:len(both)], dc.half[:len(both)]
	for i, h := range both {
		g := upper[i]
		mid[i] = Span{
			(min(a.X-h, c.X-g) + subCell/2 - 1) >> 8,
			(max(a.X+h, c.X+g) + subCell/2) >> 8,
		}
	}
	for i := d; i < int(rowC-rowA); i++ {
		s[i] = Span{math.MaxInt32, math.MinInt32}
	}
	top := s[int(rowC-rowA)+len(both):]
	for i, h := range dc.half[len(both):] {
		top[i] = chordSpan(c.X, h)
	}
	if a.Y != c.Y {
		b.sides(fp, a, c)
	}
}

// chordSpan is the columns whose centre lies within h of x.
func chordSpan(x, h int32) Span {
	return Span{(x - h + subCell/2 - 1) >> 8, (x + h + subCell/2) >> 8}
}

// sides widens the rows that are bounded by the capsule's straight sides and
// not by its round ends. a lies below c.
//
// A point v from a lies between the sides when |dx*vy - dy*vx| <= K, K the
// whole part of radius x length. The right side bounds the rows from
// ay - K*dx/len2 to cy - K*dx/len2 (where it touches the two discs), the left
// side those from ay + K*dx/len2 to cy + K*dx/len2.
func (b *Brush) sides(fp *Footprint, a, c Sub) {
	dx, dy := int64(c.X-a.X), int64(c.Y-a.Y)
	len2 := dx*dx + dy*dy
	k := isqrt(b.r2 * len2)
	// Column c of row y is left of the right side when
	// dy*(256c + 128 - ax) <= dx*vy + K, that is c <= q/(256 dy).
	d := subCell * dy
	both := 1 / (float64(d) * float64(len2)) // one division for two
	inv := both * float64(len2)
	// Where the sides touch the discs, in whole sub-cells to either side.
	down := int32(floor(float64(k) * float64(dx) * (both * float64(d))))
	up := down + 1
	base := dy*(int64(a.X)-subCell/2) - dx*int64(a.Y)

	from, to := rowsBetween(a.Y-down, c.Y-up)
	for row := from; row <= to; row++ {
		q := base + dx*(int64(row)*subCell+subCell/2) + k
		p := &fp.Spans[row-fp.Row]
		p.Hi = max(p.Hi, int32(floorDiv(q, d, inv))+1)
	}
	from, to = rowsBetween(a.Y+up, c.Y+down)
	for row := from; row <= to; row++ {
		q := base + dx*(int64(row)*subCell+subCell/2) - k
		p := &fp.Spans[row-fp.Row]
		p.Lo = min(p.Lo, -int32(floorDiv(-q, d, inv)))
	}
}

// rowsBetween is the rows whose centre lies within two heights in sub-cells.
func rowsBetween(y0, y1 int32) (from, to int32) {
	return (y0 + subCell/2 - 1) >> 8, (y1 - subCell/2) >> 8
}

// floorDiv is the whole part of q/d, rounded down, for d > 0; inv is 1/d. The
// product is off by one at most either way, which the remainder shows.
func floorDiv(q, d int64, inv float64) int64 {
	n := int64(float64(q) * inv)
	r := q - n*d
	if r < 0 {
		n--
		r += d
	}
	if r < 0 {
		return n - 1
	}
	if r >= d {
		return n + 1
	}
	return n
}

// Pieces calls f for a chain of segments from a to c, none longer than 64
// cells in either direction. A longer segment is cut into equal pieces, the
// cuts snapped to sub-cells, which moves its sides by at most 1/512 cell.
func Pieces(a, c Sub, f func(a, c Sub)) {
	n := int64(CountPieces(a, c))
	if n <= 1 { // nearly always
		f(a, c)
		return
	}
	dx, dy, p := int64(c.X)-int64(a.X), int64(c.Y)-int64(a.Y), a
	for i := int64(1); i <= n; i++ {
		q := Sub{int32(int64(a.X) + dx*i/n), int32(int64(a.Y) + dy*i/n)}
		f(p, q)
		p = q
	}
}

// CountPieces is how many segments Pieces cuts a to c into, at least 1.
func CountPieces(a, c Sub) int {
	dx, dy := int64(c.X)-int64(a.X), int64(c.Y)-int64(a.Y)
	return int(max((max(dx, -dx, dy, -dy)+maxPiece-1)/maxPiece, 1))
}

// Cells is the number of cells of the footprint, inside a Spec or not.
func (fp *Footprint) Cells() int {
	n := 0
	for _, s := range fp.Spans {
		n += int(max(s.Hi-s.Lo, 0))
	}
	return n
}

// Paint adds a footprint's cells, as far as they lie inside the Spec.
// O(rows x tile columns), no allocation but for tiles first touched.
func (m *Mask) Paint(fp *Footprint) {
	lo, hi := max(fp.Min, 0), min(fp.Max, int32(m.spec.Cols))
	if lo >= hi {
		return
	}
	from, to := max(fp.Row, 0), min(fp.Row+int32(len(fp.Spans)), int32(m.spec.Rows))
	narrow := fp.Max-fp.Min < TileSide && lo == fp.Min && hi == fp.Max
	tc, last := lo>>6, (hi-1)>>6
	for row := from; row < to; {
		end := min(to, (row|(TileSide-1))+1)
		spans, tr := fp.Spans[row-fp.Row:end-fp.Row], int(row>>6)
		switch {
		case narrow && tc == last:
			paintOne(m.tiles.Touch(int(tc), tr), spans, row, tc<<6)
		case narrow:
			paintTwo(m.tiles.Touch(int(tc), tr), m.tiles.Touch(int(last), tr), spans, row, tc<<6)
		default:
			for i, s := range spans {
				m.SetSpan(int(row)+i, int(s.Lo), int(s.Hi))
			}
		}
		row = end
	}
}

// paintOne sets spans under 64 columns wide that lie in one tile.
func paintOne(t *Rows, spans []Span, row, base int32) {
	for i, s := range spans {
		t[(row+int32(i))&(TileSide-1)] |= (1<<(uint(s.Hi-s.Lo)&63) - 1) << (uint(s.Lo-base) & 63)
	}
}

// paintTwo sets spans under 64 columns wide that lie in a tile and the one
// east of it. Shifts by 64 and more give 0.
func paintTwo(west, east *Rows, spans []Span, row, base int32) {
	for i, s := range spans {
		w, l := uint64(1)<<(uint(s.Hi-s.Lo)&63)-1, s.Lo-base
		r := (row + int32(i)) & (TileSide - 1)
		west[r] |= w << uint32(l)
		east[r] |= w>>uint32(64-l) | w<<uint32(l-64)
	}
}

// FillCapsule adds every cell whose centre lies within radiusM metres of the
// segment from a to c, rim included; a disc when they are equal. Positions are
// snapped to 1/256 cell first. It panics on a radius a Brush refuses.
func (m *Mask) FillCapsule(a, c XY, radiusM float64) {
	m.FillLine([]XY{a, c}, NewBrush(m.spec.CellM, radiusM))
}

// FillLine adds the capsules of every segment of a line; a disc for a line of
// one point, nothing for an empty one. O(points x rows of the brush).
func (m *Mask) FillLine(line []XY, b *Brush) {
	var fp Footprint
	var prev Sub
	k := subCell / m.spec.CellM
	for i, p := range line {
		q := m.spec.snap(p, k)
		switch {
		case i == 0 && len(line) > 1:
		case i == 0:
			b.Capsule(&fp, q, q)
			m.Paint(&fp)
		case CountPieces(prev, q) == 1: // nearly always
			b.Capsule(&fp, prev, q)
			m.Paint(&fp)
		default:
			Pieces(prev, q, func(a, c Sub) {
				b.Capsule(&fp, a, c)
				m.Paint(&fp)
			})
		}
		prev = q
	}
}
