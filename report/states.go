package report

import (
	"math"
	"math/bits"

	"untrod/coverage"
	"untrod/grid"
)

// With receiver error allowed for, ground has three states, drawn in three of
// the classes' colours; ground in doubt is dotted besides.
const (
	doubt     = sliver
	surely    = twice
	untrodden = gap
)

var stateWords = map[class]string{
	untrodden: "untrodden: go here",
	doubt:     "in doubt: cannot tell",
	surely:    "surely swept",
}

// states are the classes of a tile by the chance that its cells were swept.
func (c *classifier) states(tc, tr int, searchable *grid.Rows) (out tileClasses) {
	for i, can := range searchable {
		for ; can != 0; can &= can - 1 {
			col := bits.TrailingZeros64(can)
			k := grid.Cell{Col: tc*grid.TileSide + col, Row: tr*grid.TileSide + i}
			out[i*grid.TileSide+col] = stateOf(c.r.Certainty.ChanceAt(c.r.Spec.Centre(k)))
		}
	}
	return out
}

func stateOf(chance float64) class {
	switch {
	case chance >= coverage.SurelyChance:
		return surely
	case chance > coverage.UntroddenChance:
		return doubt
	}
	return untrodden
}

// at is the class drawn at q.
func (r raster) at(q grid.XY) class {
	size := r.img.Rect.Size()
	x := math.Floor((q.X - r.bounds.Min.X) / r.bounds.Width() * float64(size.X))
	y := math.Floor((r.bounds.Max.Y - q.Y) / r.bounds.Height() * float64(size.Y))
	if !(x >= 0 && y >= 0 && x < float64(size.X) && y < float64(size.Y)) {
		return outside
	}
	return class(r.img.ColorIndexAt(int(x), int(y)))
}
