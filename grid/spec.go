package grid

import "math"

// Cell names one cell of a Spec by column (east) and row (north).
type Cell struct{ Col, Row int }

// Spec lays square cells over the local frame. Cells are half-open: cell
// (c, r) holds x in [Origin.X + c*CellM, Origin.X + (c+1)*CellM), and the same
// northwards; row 0 is the southernmost. A cell belongs to a shape when its
// centre does. Every routine of this package keeps to that rule.
type Spec struct {
	Origin     XY      // south-west corner of cell (0, 0), metres
	CellM      float64 // side of a cell, metres
	Cols, Rows int
}

// SpecFor returns the smallest Spec of cells of side cellM that holds b, its
// origin on a whole multiple of cellM, so that two specs of one frame and one
// cell size always lie cell on cell. An empty box gives a Spec of no cells.
func SpecFor(b Bounds, cellM float64) Spec {
	if b.Empty() {
		return Spec{CellM: cellM}
	}
	c0, r0 := math.Floor(b.Min.X/cellM), math.Floor(b.Min.Y/cellM)
	return Spec{
		Origin: XY{c0 * cellM, r0 * cellM},
		CellM:  cellM,
		Cols:   int(math.Floor(b.Max.X/cellM)-c0) + 1,
		Rows:   int(math.Floor(b.Max.Y/cellM)-r0) + 1,
	}
}

// Centre returns the middle of a cell, inside the Spec or not.
func (s Spec) Centre(c Cell) XY {
	return XY{
		s.Origin.X + float64((float64(c.Col)+0.5)*s.CellM),
		s.Origin.Y + float64((float64(c.Row)+0.5)*s.CellM),
	}
}

// CellAt returns the cell that holds p, and whether it lies inside the Spec.
func (s Spec) CellAt(p XY) (Cell, bool) {
	c := Cell{
		int(math.Floor((p.X - s.Origin.X) / s.CellM)),
		int(math.Floor((p.Y - s.Origin.Y) / s.CellM)),
	}
	return c, s.Holds(c)
}

// Holds reports whether c lies inside the Spec.
func (s Spec) Holds(c Cell) bool {
	return uint(c.Col) < uint(s.Cols) && uint(c.Row) < uint(s.Rows) // negative ones are huge
}

// CellAreaM2 is the area of one cell in square metres.
func (s Spec) CellAreaM2() float64 { return s.CellM * s.CellM }

// TileBounds is the ground that one tile covers.
func (s Spec) TileBounds(tc, tr int) Bounds {
	at := func(c, r int) XY {
		return XY{s.Origin.X + float64(float64(c*TileSide)*s.CellM), s.Origin.Y + float64(float64(r*TileSide)*s.CellM)}
	}
	return Bounds{Min: at(tc, tr), Max: at(tc+1, tr+1)}
}

// Bounds is the ground the Spec's cells cover.
func (s Spec) Bounds() Bounds {
	return Bounds{Min: s.Origin, Max: XY{
		s.Origin.X + float64(float64(s.Cols)*s.CellM),
		s.Origin.Y + float64(float64(s.Rows)*s.CellM),
	}}
}
