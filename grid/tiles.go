package grid

// Tiles are TileSide cells on a side, one 64-bit word a row.
const TileSide = 64

const blockSide = 64 // tiles on a side of one block of the directory

// Tiles is a sparse array of T, one for each TileSide x TileSide patch of a
// Spec, made when first touched. It is how memory follows the ground touched
// and not the bounding box. Not safe for concurrent use.
type Tiles[T any] struct {
	cols, rows int // in tiles
	blockCols  int
	blocks     []*[blockSide * blockSide]*T
	n          int
}

// NewTiles returns an empty array for the cells of s.
func NewTiles[T any](s Spec) *Tiles[T] {
	t := &Tiles[T]{
		cols: (s.Cols + TileSide - 1) / TileSide,
		rows: (s.Rows + TileSide - 1) / TileSide,
	}
	t.blockCols = (t.cols + blockSide - 1) / blockSide
	t.blocks = make([]*[blockSide * blockSide]*T, t.blockCols*((t.rows+blockSide-1)/blockSide))
	return t
}

// At returns the tile at tile column tc and tile row tr, or nil when it was
// never touched or lies outside.
func (t *Tiles[T]) At(tc, tr int) *T {
	if uint(tc) >= uint(t.cols) || uint(tr) >= uint(t.rows) {
		return nil
	}
	return t.inside(uint(tc), uint(tr))
}

// inside is At for a tile known to lie inside.
func (t *Tiles[T]) inside(tc, tr uint) *T {
	b := t.blocks[tr/blockSide*uint(t.blockCols)+tc/blockSide]
	if b == nil {
		return nil
	}
	return b[tr%blockSide*blockSide+tc%blockSide]
}

// Touch returns the tile, making it when it is not there. It panics when the
// tile lies outside the Spec.
func (t *Tiles[T]) Touch(tc, tr int) *T {
	p := t.slot(tc, tr)
	if *p == nil {
		*p = new(T)
		t.n++
	}
	return *p
}

func (t *Tiles[T]) slot(tc, tr int) **T {
	if uint(tc) >= uint(t.cols) || uint(tr) >= uint(t.rows) {
		panic("grid: tile outside the spec")
	}
	c, r := uint(tc), uint(tr)
	b := &t.blocks[r/blockSide*uint(t.blockCols)+c/blockSide]
	if *b == nil {
		*b = new([blockSide * blockSide]*T)
	}
	return &(*b)[r%blockSide*blockSide+c%blockSide]
}

// Size is the number of tiles along each side.
func (t *Tiles[T]) Size() (cols, rows int) { return t.cols, t.rows }

// Len is the number of tiles touched so far.
func (t *Tiles[T]) Len() int { return t.n }

// All calls f for every tile touched, south to north by rows of tiles, west
// to east within a row.
func (t *Tiles[T]) All(f func(tc, tr int, tile *T)) {
	for tr := 0; tr < t.rows; tr++ {
		for tc := 0; tc < t.cols; tc++ {
			if t.blocks[tr/blockSide*t.blockCols+tc/blockSide] == nil {
				tc |= blockSide - 1 // the whole block is empty
				continue
			}
			if p := t.At(tc, tr); p != nil {
				f(tc, tr, p)
			}
		}
	}
}
