package grid

// Field is one number for each cell of a Spec, 0 where never set. Memory
// follows the ground touched: 16 kB for every 64 x 64 cells. Not safe for
// concurrent use while it is written.
type Field struct {
	spec  Spec
	tiles *Tiles[[TileSide * TileSide]float32]
}

// NewField returns a field of zeros over s.
func NewField(s Spec) *Field {
	return &Field{spec: s, tiles: NewTiles[[TileSide * TileSide]float32](s)}
}

// Spec is the cells the field is over.
func (f *Field) Spec() Spec { return f.spec }

// At is the value of c, 0 outside the Spec.
func (f *Field) At(c Cell) float32 {
	if !f.spec.Holds(c) {
		return 0
	}
	col, row := uint(c.Col), uint(c.Row)
	t := f.tiles.inside(col/TileSide, row/TileSide)
	if t == nil {
		return 0
	}
	return t[row%TileSide*TileSide+col%TileSide]
}

// Set gives c a value; a cell outside the Spec is left out.
func (f *Field) Set(c Cell, v float32) {
	if f.spec.Holds(c) {
		f.tiles.Touch(c.Col/TileSide, c.Row/TileSide)[c.Row%TileSide*TileSide+c.Col%TileSide] = v
	}
}

// Scale multiplies every value by k.
func (f *Field) Scale(k float32) {
	f.tiles.All(func(_, _ int, t *[TileSide * TileSide]float32) {
		for i := range t {
			t[i] *= k
		}
	})
}

// Untouched reports whether no value was ever set in a box.
func (f *Field) Untouched(b Bounds) bool {
	from, _ := f.spec.CellAt(b.Min)
	to, _ := f.spec.CellAt(b.Max)
	for tr := max(from.Row, 0) / TileSide; tr <= to.Row/TileSide; tr++ {
		for tc := max(from.Col, 0) / TileSide; tc <= to.Col/TileSide; tc++ {
			if f.tiles.At(tc, tr) != nil {
				return false
			}
		}
	}
	return true
}

// Sum adds up all values in float64, tile by tile.
func (f *Field) Sum() float64 {
	sum := 0.0
	f.tiles.All(func(_, _ int, t *[TileSide * TileSide]float32) {
		for _, v := range t {
			sum += float64(v)
		}
	})
	return sum
}
