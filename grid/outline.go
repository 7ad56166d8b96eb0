package grid

import "slices"

// Outlines returns the exact outline of m along cell sides: one polygon for each
// piece of cells joined by their sides, pieces ordered by their southernmost row
// and then their westernmost cell in it. Outer rings run counter-clockwise, holes
// clockwise; only corners are kept. A line that meets itself at a corner is parted
// there, so every ring is simple and rings of a polygon touch only at points: the
// polygons are valid by the OGC's simple features rules.
//
// The areas add up to the cells', and filling the polygons gives m again. An empty
// mask has none. Time follows the length of the outline, memory its corners and
// the mask's runs.
func Outlines(m *Mask) []Polygon {
	runs := m.Runs()
	piece, n := runs.Components(false)
	t := outliner{m: m, runs: runs, seen: make([]bool, len(runs.All))}
	polygons := make([]Polygon, n)
	for i, run := range runs.All {
		if t.seen[i] {
			continue
		}
		p := &polygons[piece[i]]
		for _, r := range t.follow(corner{run.Lo, run.Row + 1}) {
			if r.Area() > 0 {
				p.Outer = r
			} else {
				p.Holes = append(p.Holes, r)
			}
		}
	}
	return polygons
}

// corner is the south-west corner of the cell of the same numbers.
type corner struct{ col, row int }

// The directions a line can take, each a quarter turn left of the one before.
var steps = [4]corner{{1, 0}, {0, 1}, {-1, 0}, {0, -1}}

const south = 3

type outliner struct {
	m    *Mask
	runs *Runs
	seen []bool // runs whose west side has been followed; every line holds one
}

// follow walks one line southward from the top of a run's west side, cells on
// the left hand, back to where it began. Where four cells meet of which two lie
// cornerwise, it keeps to the cell it walks along, and returns there later: the
// stretch between is a ring of its own.
func (t *outliner) follow(start corner) []Ring {
	var rings []Ring
	var line []corner
	met := map[corner]int{} // places in line where the line may meet itself
	at, dir := start, south
	for {
		if dir == south {
			t.mark(corner{at.col, at.row - 1})
		}
		at = corner{at.col + steps[dir].col, at.row + steps[dir].row}
		turned, crossing := t.turn(at, dir)
		if crossing {
			if k, again := met[at]; again {
				rings = append(rings, t.ring(line[k:]))
				line = line[:k]
			}
			met[at] = len(line)
		}
		if turned != dir {
			line = append(line, at)
		}
		if dir = turned; at == start && dir == south {
			return append(rings, t.ring(line))
		}
	}
}

// turn is the direction after the corner reached in direction dir, and whether
// cells lie cornerwise there.
func (t *outliner) turn(at corner, dir int) (int, bool) {
	left, right := t.ahead(at, dir, 1), t.ahead(at, dir, 3)
	switch {
	case !left:
		return (dir + 1) % 4, right
	case right:
		return (dir + 3) % 4, false
	}
	return dir, false
}

// ahead reports whether the cell before the corner on the given side, a number
// of quarter turns left, is in the mask.
func (t *outliner) ahead(at corner, dir, side int) bool {
	d, s := steps[dir], steps[(dir+side)%4]
	// The four cells round a corner lie at -1 or 0 of it either way.
	return t.m.Has(Cell{at.col + (d.col+s.col-1)/2, at.row + (d.row+s.row-1)/2})
}

// mark notes the run whose west side is that of cell c.
func (t *outliner) mark(c corner) {
	row := t.runs.Row(c.row)
	k, _ := slices.BinarySearchFunc(row, c.col, func(r Run, col int) int { return r.Lo - col })
	t.seen[t.runs.rowIndex(c.row)[0]+k] = true
}

func (t *outliner) ring(line []corner) Ring {
	s, r := t.m.spec, make(Ring, len(line))
	for i, c := range line {
		r[i] = XY{
			s.Origin.X + float64(float64(c.col)*s.CellM),
			s.Origin.Y + float64(float64(c.row)*s.CellM),
		}
	}
	return r
}
