package report

import (
	"sync/atomic"

	"untrod/grid"
)

// tileStore keeps what was worked out for patches of TileSide x TileSide cells. Memory
// follows the ground looked at. Safe for concurrent use; two that ask for the same patch
// at a time may both work it out.
type tileStore[T any] struct {
	blockCols int
	blocks    []atomic.Pointer[storeBlock[T]]
	fill      func(tc, tr int, into *T)
}

const storeSide = 64 // patches on a side of a block of the directory

type storeBlock[T any] [storeSide * storeSide]atomic.Pointer[T]

func newTileStore[T any](s grid.Spec, fill func(tc, tr int, into *T)) *tileStore[T] {
	blocks := func(cells int) int { return cells/(grid.TileSide*storeSide) + 1 }
	return &tileStore[T]{blocks(s.Cols), make([]atomic.Pointer[storeBlock[T]], blocks(s.Cols)*blocks(s.Rows)), fill}
}

// at is the patch tc, tr, which must lie in the Spec.
func (s *tileStore[T]) at(tc, tr int) *T {
	b := &s.blocks[tr/storeSide*s.blockCols+tc/storeSide]
	if b.Load() == nil {
		b.CompareAndSwap(nil, new(storeBlock[T]))
	}
	p := &b.Load()[tr%storeSide*storeSide+tc%storeSide]
	if t := p.Load(); t != nil {
		return t
	}
	t := new(T)
	s.fill(tc, tr, t)
	p.Store(t)
	return t
}

// storing is fill that works out each patch of the ground once: a byte a cell.
func storing(ground *grid.Mask, fill rowClasses) rowClasses {
	type patch = [grid.TileSide][grid.TileSide]uint8
	store := newTileStore(ground.Spec(), func(tc, tr int, into *patch) {
		for i, can := range ground.Tile(tc, tr) {
			if can != 0 {
				fill(tc, tr*grid.TileSide+i, can, &into[i])
			}
		}
	})
	return func(tc, row int, _ uint64, out *[grid.TileSide]uint8) {
		*out = store.at(tc, row/grid.TileSide)[row%grid.TileSide]
	}
}
