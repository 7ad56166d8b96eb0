package report

import (
	"image"
	"image/color"
	"math"
	"math/bits"

	"untrod/grid"
)

// Lens is a square of the ground and the pixels it is drawn in.
type Lens struct {
	NorthWest grid.XY // corner, metres
	PixelM    float64 // side of a pixel, metres
	Side      int     // pixels on a side
}

// nearestBelow is the pixel, in cells, under which a pixel shows the cell at its middle,
// and from which on it shows what most of the cells in it are.
const nearestBelow = 2

// Paint draws a layer, north up, or returns nil where there is nothing to draw. Where a
// pixel is under two cells wide it shows the cell at its middle. Else it is drawn when
// at least half of the cells whose centres lie in it can be searched, in the class that
// most of those have; a tie goes to the darker class. So pictures of neighbouring lenses
// fit together, and what one shows does not depend on where it ends. O(cells + pixels).
func (l *Layer) Paint(v Lens) *image.Paletted {
	b := l.ground.Spec().Bounds()
	sideM := float64(v.Side) * v.PixelM
	if v.NorthWest.X >= b.Max.X || v.NorthWest.X+sideM <= b.Min.X || v.NorthWest.Y <= b.Min.Y || v.NorthWest.Y-sideM >= b.Max.Y {
		return nil
	}
	img := image.NewPaletted(image.Rect(0, 0, v.Side, v.Side), l.palette())
	var some bool
	if v.PixelM < nearestBelow*l.ground.Spec().CellM {
		some = l.nearest(v, img)
	} else {
		some = l.most(v, img)
	}
	if !some {
		return nil
	}
	if l.dotted != 0 {
		l.dot(v, img)
	}
	return img
}

// byteColours is the least number of colours for which the PNG encoder takes a byte a
// pixel, which is some five times faster than packing pixels, and little larger.
const byteColours = 17

// palette has the colour of the dots after those of the classes.
func (l *Layer) palette() color.Palette {
	p := make(color.Palette, byteColours)
	for i := range p {
		p[i] = color.RGBA{}
	}
	for i, c := range l.colours {
		p[i] = c
	}
	p[len(l.colours)] = dotInk
	return p
}

// nearest gives each pixel the class of the cell at its middle.
func (l *Layer) nearest(v Lens, img *image.Paletted) (some bool) {
	s := l.ground.Spec()
	cols := make([]int, v.Side)
	for i := range cols {
		k, _ := s.CellAt(grid.XY{X: v.NorthWest.X + (float64(i)+0.5)*v.PixelM})
		cols[i] = k.Col
	}
	before, any := math.MinInt, false
	for j := range v.Side {
		k, _ := s.CellAt(grid.XY{Y: v.NorthWest.Y - (float64(j)+0.5)*v.PixelM})
		line := img.Pix[j*img.Stride:][:v.Side]
		if k.Row == before {
			if any {
				copy(line, img.Pix[(j-1)*img.Stride:])
			}
			continue
		}
		before = k.Row
		any = l.nearestLine(k.Row, cols, line)
		some = some || any
	}
	return some
}

func (l *Layer) nearestLine(row int, cols []int, line []uint8) (some bool) {
	s := l.ground.Spec()
	if row < 0 || row >= s.Rows {
		return false
	}
	var out [grid.TileSide]uint8
	tile, can := -1, uint64(0)
	for i, col := range cols {
		if col < 0 || col >= s.Cols {
			continue
		}
		if tc := col / grid.TileSide; tc != tile {
			tile, can = tc, word(l.ground.Tile(tc, row/grid.TileSide), row%grid.TileSide)
			if can != 0 {
				l.fill(tc, row, can, &out)
			}
		}
		if can>>(col%grid.TileSide)&1 != 0 {
			line[i], some = out[col%grid.TileSide], true
		}
	}
	return some
}

// maxClasses is more than any layer has, clear ground included.
const maxClasses = 8

// most gives each pixel the class that most of its cells have.
func (l *Layer) most(v Lens, img *image.Paletted) (some bool) {
	s := l.ground.Spec()
	lo := make([]int, v.Side+1) // first column of each pixel, and of the one after the last
	for i := range lo {
		lo[i] = firstFrom(s.Origin.X, s.CellM, v.NorthWest.X+float64(i)*v.PixelM)
	}
	from, to := max(lo[0], 0), min(lo[v.Side], s.Cols)
	pixel := make([]uint16, max(to-from, 0)) // of each column
	for i := range v.Side {
		for col := max(lo[i], from); col < min(lo[i+1], to); col++ {
			pixel[col-from] = uint16(i)
		}
	}
	counts := make([][maxClasses]uint32, v.Side)
	for j := range v.Side {
		south := firstFrom(s.Origin.Y, s.CellM, v.NorthWest.Y-float64(j+1)*v.PixelM)
		north := firstFrom(s.Origin.Y, s.CellM, v.NorthWest.Y-float64(j)*v.PixelM)
		any := false
		for row := max(south, 0); row < min(north, s.Rows); row++ {
			any = l.count(row, from, pixel, counts) || any
		}
		if !any {
			continue
		}
		line := img.Pix[j*img.Stride:][:v.Side]
		for i := range counts {
			line[i] = mostOf(&counts[i], (lo[i+1]-lo[i])*(north-south))
			some = some || line[i] != 0
		}
		clear(counts)
	}
	return some
}

// firstFrom is the number of the first cell whose centre is at x or after it, by the
// centres as grid.Spec gives them.
func firstFrom(origin, cellM, x float64) int {
	centre := func(i int) float64 { return origin + float64((float64(i)+0.5)*cellM) }
	i := int(math.Ceil((x-origin)/cellM - 0.5))
	for centre(i-1) >= x {
		i--
	}
	for centre(i) < x {
		i++
	}
	return i
}

// count adds the cells of a row to the pixels they are in.
func (l *Layer) count(row, from int, pixel []uint16, counts [][maxClasses]uint32) (any bool) {
	var out [grid.TileSide]uint8
	to := from + len(pixel)
	for tc := from / grid.TileSide; tc*grid.TileSide < to; tc++ {
		base := tc * grid.TileSide
		can := word(l.ground.Tile(tc, row/grid.TileSide), row%grid.TileSide) & grid.SpanWord(from-base, to-base)
		if can == 0 {
			continue
		}
		any = true
		l.fill(tc, row, can, &out)
		for w := can; w != 0; w &= w - 1 {
			col := bits.TrailingZeros64(w)
			counts[pixel[base+col-from]][out[col]&(maxClasses-1)]++
		}
	}
	return any
}

// mostOf is majority for a pixel of so many cells.
func mostOf(n *[maxClasses]uint32, cells int) uint8 {
	sum, best := uint32(0), 1
	for cl := 1; cl < maxClasses; cl++ {
		sum += n[cl]
		if n[cl] >= n[best] {
			best = cl
		}
	}
	if 2*int(sum) < cells {
		return 0
	}
	return uint8(best)
}
