package coverage

import (
	"math"

	"untrod/grid"
)

// Tally holds, for every cell of the searchable ground, how many passes went
// over it, how long it was searched, and in which sessions first and last.
//
// A pass is one visit of the swath to a cell. A return counts as a new pass
// once the walker has left: two swath widths or more walked (standing not
// counted) since the cell was last inside the swath, or another session.
//
// Each step's seconds are spread evenly over the cells of its footprint, so
// that the seconds per square metre, added up over all ground, give back the
// time spent searching.
//
// Memory follows the ground touched, 14 bytes a cell. Not safe for concurrent
// use while it is swept.
type Tally struct {
	spec       grid.Spec
	searchable *grid.Mask
	tiles      *grid.Tiles[tallyTile]
}

type tallyTile struct {
	inside grid.Rows // cells in the swath at this moment
	today  grid.Rows // cells passed over in this session
	seen   grid.Rows // cells passed over in the sessions before it
	open   bool      // listed among the tiles of this session
	// For each cell of the tile, row by row:
	effort        [tileCells]uint32 // in effortUnit; differences wrap, so sums may
	left          [tileCells]int32  // millimetres walked when the cell last left the swath
	passes        [tileCells]uint16
	first, latest [tileCells]uint16 // session, counted from 0
}

const tileCells = grid.TileSide * grid.TileSide

// effortUnit is the step in which seconds per square metre are stored: fine
// enough for one step of a wide swath, and 119 hours a square metre fit in.
const effortUnit = 1e-4

// maxSessions is the most a Tally can tell apart.
const maxSessions = math.MaxUint16

// NewTally returns an empty tally of the cells of searchable.
func NewTally(searchable *grid.Mask) *Tally {
	s := searchable.Spec()
	return &Tally{spec: s, searchable: searchable, tiles: grid.NewTiles[tallyTile](s)}
}

// Spec is the cells the tally is over.
func (t *Tally) Spec() grid.Spec { return t.spec }

// at finds a cell: its tile, or nil when it was never touched, and its place
// within.
func (t *Tally) at(c grid.Cell) (*tallyTile, int) {
	if !t.spec.Holds(c) {
		return nil, 0
	}
	return t.tiles.At(c.Col/grid.TileSide, c.Row/grid.TileSide),
		c.Row%grid.TileSide*grid.TileSide + c.Col%grid.TileSide
}

// Passes is the number of passes over c, at most 65,535; 0 off the searchable
// ground.
func (t *Tally) Passes(c grid.Cell) int {
	if tile, i := t.at(c); tile != nil {
		return int(tile.passes[i])
	}
	return 0
}

// RowPasses fills dst with the passes of the cells of a row from column lo on.
func (t *Tally) RowPasses(row, lo int, dst []uint16) {
	clear(dst)
	from, to := max(lo, 0), min(lo+len(dst), t.spec.Cols)
	if row < 0 || row >= t.spec.Rows {
		return
	}
	for col := from; col < to; {
		end := min((col/grid.TileSide+1)*grid.TileSide, to)
		if tile, i := t.at(grid.Cell{Col: col, Row: row}); tile != nil {
			copy(dst[col-lo:end-lo], tile.passes[i:])
		}
		col = end
	}
}

// SecondsPerM2 is the time spent searching c's ground, in seconds a square metre.
func (t *Tally) SecondsPerM2(c grid.Cell) float64 {
	if tile, i := t.at(c); tile != nil {
		return float64(tile.effort[i]) * effortUnit
	}
	return 0
}

// Sessions returns the first and the latest session that passed over c, as
// indices into Result.Sessions; ok is false when none did.
func (t *Tally) Sessions(c grid.Cell) (first, latest int, ok bool) {
	tile, i := t.at(c)
	if tile == nil || tile.passes[i] == 0 {
		return 0, 0, false
	}
	return int(tile.first[i]), int(tile.latest[i]), true
}

// Swept returns the cells passed over at least once.
func (t *Tally) Swept() *grid.Mask {
	m := grid.NewMask(t.spec)
	t.tiles.All(func(tc, tr int, tile *tallyTile) { m.OrTile(tc, tr, &tile.seen) })
	return m
}

// PassCounts returns, for 1, 2, 3 ... passes, the number of cells passed over
// so often. Index 0 is always 0: cells never passed over are not touched.
func (t *Tally) PassCounts() []int {
	counts := make([]int, 1)
	t.tiles.All(func(_, _ int, tile *tallyTile) {
		for _, p := range tile.passes {
			for len(counts) <= int(p) {
				counts = append(counts, 0)
			}
			counts[p]++
		}
	})
	counts[0] = 0
	return counts
}
