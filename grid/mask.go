package grid

import "math/bits"

// Rows is one tile of a Mask: a word for each row, bit c for tile column c.
type Rows [TileSide]uint64

// Mask is a set of cells of one Spec. Cells outside the Spec are never in it.
// Memory follows the ground touched: 512 bytes for every 64 x 64 cells.
// Not safe for concurrent use while it is written.
type Mask struct {
	spec  Spec
	tiles *Tiles[Rows]
}

// NewMask returns an empty set over s.
func NewMask(s Spec) *Mask { return &Mask{spec: s, tiles: NewTiles[Rows](s)} }

// Spec is the cells the mask is over.
func (m *Mask) Spec() Spec { return m.spec }

// Tile returns the words of one tile, or nil when no cell of it was ever set.
func (m *Mask) Tile(tc, tr int) *Rows { return m.tiles.At(tc, tr) }

// Tiles calls f for every tile touched, south to north, west to east.
func (m *Mask) Tiles(f func(tc, tr int, t *Rows)) { m.tiles.All(f) }

// Has reports whether c is in the set.
func (m *Mask) Has(c Cell) bool {
	if !m.spec.Holds(c) {
		return false
	}
	col, row := uint(c.Col), uint(c.Row)
	t := m.tiles.inside(col/TileSide, row/TileSide)
	return t != nil && t[row%TileSide]>>(col%TileSide)&1 != 0
}

// Set adds c; a cell outside the Spec is left out.
func (m *Mask) Set(c Cell) { m.SetSpan(c.Row, c.Col, c.Col+1) }

// SetSpan adds the cells of a row with column in [lo, hi), as far as they lie
// inside the Spec. An empty span adds nothing.
func (m *Mask) SetSpan(row, lo, hi int) {
	lo, hi = max(lo, 0), min(hi, m.spec.Cols)
	if row < 0 || row >= m.spec.Rows || lo >= hi {
		return
	}
	for tc := lo / TileSide; tc <= (hi-1)/TileSide; tc++ {
		base := tc * TileSide
		m.tiles.Touch(tc, row/TileSide)[row%TileSide] |= SpanWord(lo-base, hi-base)
	}
}

// ClearSpan takes out the cells of a row with column in [lo, hi).
func (m *Mask) ClearSpan(row, lo, hi int) {
	lo, hi = max(lo, 0), min(hi, m.spec.Cols)
	if row < 0 || row >= m.spec.Rows || lo >= hi {
		return
	}
	for tc := lo / TileSide; tc <= (hi-1)/TileSide; tc++ {
		if t := m.tiles.At(tc, row/TileSide); t != nil {
			t[row%TileSide] &^= SpanWord(lo-tc*TileSide, hi-tc*TileSide)
		}
	}
}

// SpanWord returns the word whose bits lo to hi-1 are set, as far as they lie
// within [0, 64).
func SpanWord(lo, hi int) uint64 {
	lo, hi = max(lo, 0), min(hi, 64)
	if lo >= hi {
		return 0
	}
	return ^uint64(0) >> (64 - uint(hi-lo)) << uint(lo)
}

// OrTile adds the cells of one tile.
func (m *Mask) OrTile(tc, tr int, rows *Rows) {
	d := m.tiles.Touch(tc, tr)
	for i, w := range rows {
		d[i] |= w
	}
}

// Count is the number of cells in the set.
func (m *Mask) Count() int {
	n := 0
	m.tiles.All(func(_, _ int, t *Rows) {
		for _, w := range t {
			n += bits.OnesCount64(w)
		}
	})
	return n
}

// CountAnd is the number of cells in both sets. It panics when o is over another
// Spec.
func (m *Mask) CountAnd(o *Mask) int {
	m.mustMatch(o)
	n := 0
	m.tiles.All(func(tc, tr int, t *Rows) {
		if u := o.tiles.At(tc, tr); u != nil {
			for i, w := range t {
				n += bits.OnesCount64(w & u[i])
			}
		}
	})
	return n
}

// AreaM2 is Count times the area of a cell, in square metres.
func (m *Mask) AreaM2() float64 { return float64(m.Count()) * m.spec.CellAreaM2() }

// Clone returns a copy that shares nothing with m.
func (m *Mask) Clone() *Mask {
	c := NewMask(m.spec)
	c.Or(m)
	return c
}

// Or adds every cell of o. Like And and AndNot it panics when o is over
// another Spec.
func (m *Mask) Or(o *Mask) {
	m.mustMatch(o)
	o.tiles.All(m.OrTile)
}

// And keeps only the cells that are also in o.
func (m *Mask) And(o *Mask) {
	m.mustMatch(o)
	m.tiles.All(func(tc, tr int, d *Rows) {
		t := o.tiles.At(tc, tr)
		if t == nil {
			*d = Rows{}
			return
		}
		for i, w := range t {
			d[i] &= w
		}
	})
}

// AndNot removes every cell of o.
func (m *Mask) AndNot(o *Mask) {
	m.mustMatch(o)
	m.tiles.All(func(tc, tr int, d *Rows) {
		if t := o.tiles.At(tc, tr); t != nil {
			for i, w := range t {
				d[i] &^= w
			}
		}
	})
}

// Clear empties the set and keeps its memory.
func (m *Mask) Clear() {
	m.tiles.All(func(_, _ int, t *Rows) { *t = Rows{} })
}

// Equal reports whether both sets hold the same cells of the same Spec.
func (m *Mask) Equal(o *Mask) bool {
	if m.spec != o.spec {
		return false
	}
	return m.holds(o) && o.holds(m)
}

func (m *Mask) holds(o *Mask) bool {
	all := true
	o.tiles.All(func(tc, tr int, t *Rows) {
		d := m.tiles.At(tc, tr)
		for i, w := range t {
			if d == nil && w != 0 || d != nil && w&^d[i] != 0 {
				all = false
			}
		}
	})
	return all
}

// Cells calls f for every cell in the set, tile by tile.
func (m *Mask) Cells(f func(Cell)) {
	m.tiles.All(func(tc, tr int, t *Rows) { t.Cells(tc, tr, f) })
}

// Cells calls f for every cell of a tile, given where the tile stands.
func (t *Rows) Cells(tc, tr int, f func(Cell)) {
	for r, w := range t {
		for ; w != 0; w &= w - 1 {
			f(Cell{tc*TileSide + bits.TrailingZeros64(w), tr*TileSide + r})
		}
	}
}

func (m *Mask) mustMatch(o *Mask) {
	if m.spec != o.spec {
		panic("grid: masks over different specs")
	}
}
