package report

import (
	"image"

	"untrod/coverage"
	"untrod/grid"
)

// passes tells how often cells were passed over; *coverage.Tally does.
type passes interface {
	// RowPasses fills dst with the passes of the cells of a row from colLo on.
	RowPasses(row, colLo int, dst []uint16)
}

// maxSide is the most pixels a raster has on its long side.
const maxSide = 2048

// raster is the ground as one picture, north up, and how many cells of each
// class it holds. Ground that cannot be searched is left clear.
type raster struct {
	img    *image.Paletted
	bounds grid.Bounds
	cells  [classes]int
}

// rasterise draws one pixel for a cell where that fits maxSide, and else one
// for a square of 2, 4, 8 ... cells on a side. Such a pixel is drawn when at
// least half its cells can be searched, in the class most of those have; a tie
// goes to the darker class, so that no gap hides behind one. Classes are states
// where receiver error is allowed for, else passes. A picture of few
// cells is enlarged cell by cell, so that cells keep their edges when scaled.
// The cost follows the ground that can be searched.
func rasterise(r *coverage.Result, p passes) raster {
	box, ok := tileBox(r.Searchable)
	if !ok {
		return raster{img: image.NewPaletted(image.Rect(0, 0, 1, 1), palette()), bounds: r.Spec.Bounds()}
	}
	cols, rows := box.Dx()*grid.TileSide, box.Dy()*grid.TileSide
	b := newBlocks(max(cols, rows), cols, rows)
	c := classifier{r: r, passes: p, gaps: gapMask(r)}
	sort := c.tile
	if r.Certainty != nil {
		sort = c.states
	}
	var ras raster
	r.Searchable.Tiles(func(tc, tr int, t *grid.Rows) {
		tile := sort(tc, tr, t)
		b.add(tc-box.Min.X, tr-box.Min.Y, &tile)
		for _, cl := range tile {
			ras.cells[cl]++
		}
	})
	b.flush()
	ras.cells[outside] = 0 // of no meaning: it depends on the tiles touched
	ras.img = enlarge(b.img)
	ras.bounds = boundsOf(r.Spec, box, b)
	return ras
}

// tileBox is the box of the tiles of m in which a cell is set.
func tileBox(m *grid.Mask) (box image.Rectangle, ok bool) {
	m.Tiles(func(tc, tr int, t *grid.Rows) {
		if *t != (grid.Rows{}) {
			box = box.Union(image.Rect(tc, tr, tc+1, tr+1))
		}
	})
	return box, !box.Empty()
}

func boundsOf(s grid.Spec, box image.Rectangle, b *blocks) grid.Bounds {
	min := grid.XY{
		X: s.Origin.X + float64(box.Min.X*grid.TileSide)*s.CellM,
		Y: s.Origin.Y + float64(box.Min.Y*grid.TileSide)*s.CellM,
	}
	size := b.img.Bounds().Size()
	return grid.Bounds{Min: min, Max: grid.XY{
		X: min.X + float64(size.X*b.side)*s.CellM,
		Y: min.Y + float64(size.Y*b.side)*s.CellM,
	}}
}

func gapMask(r *coverage.Result) *grid.Mask {
	m := grid.NewMask(r.Spec)
	for _, g := range r.Gaps {
		for _, run := range g.Cells {
			m.SetSpan(run.Row, run.Lo, run.Hi)
		}
	}
	return m
}

// tileClasses are the classes of one tile's cells, row by row from the south.
type tileClasses [grid.TileSide * grid.TileSide]class

type classifier struct {
	r      *coverage.Result
	passes passes
	gaps   *grid.Mask
	row    [grid.TileSide]uint16
}

func (c *classifier) tile(tc, tr int, searchable *grid.Rows) (out tileClasses) {
	swept, gaps := c.r.Swept.Tile(tc, tr), c.gaps.Tile(tc, tr)
	for i, can := range searchable {
		if can == 0 {
			continue
		}
		s, g := word(swept, i)&can, word(gaps, i)&can
		row := out[i*grid.TileSide:][:grid.TileSide]
		for col := range row {
			switch bit := uint64(1) << col; {
			case can&bit == 0:
			case g&bit != 0:
				row[col] = gap
			case s&bit == 0:
				row[col] = sliver
			default:
				row[col] = once
			}
		}
		if s != 0 {
			c.count(tc, tr*grid.TileSide+i, row)
		}
	}
	return out
}

// count turns once into the class that the passes call for.
func (c *classifier) count(tc, row int, cls []class) {
	c.passes.RowPasses(row, tc*grid.TileSide, c.row[:min(grid.TileSide, c.r.Spec.Cols-tc*grid.TileSide)])
	for col, cl := range cls {
		if n := c.row[col]; cl == once && n > 1 {
			cls[col] = twice + class(min(n, 3)-2)
		}
	}
}

func word(t *grid.Rows, i int) uint64 {
	if t == nil {
		return 0
	}
	return t[i]
}

// blocks gathers cells into square blocks, one to a pixel, a band of pixel
// rows at a time: tiles come row by row from the south.
type blocks struct {
	side   int // cells on a side of a block, a power of two
	img    *image.Paletted
	band   int // first pixel row, from the south, that counts holds
	height int // pixel rows that one row of tiles fills
	counts [][classes]uint32
}

func newBlocks(long, cols, rows int) *blocks {
	b := &blocks{side: 1}
	for (long+b.side-1)/b.side > maxSide {
		b.side *= 2
	}
	w, h := (cols+b.side-1)/b.side, (rows+b.side-1)/b.side
	b.img = image.NewPaletted(image.Rect(0, 0, w, h), palette())
	b.height = max(1, grid.TileSide/b.side)
	b.counts = make([][classes]uint32, b.height*w)
	return b
}

// add counts the cells of the tile tc, tr, as counted from the picture's own
// south-west corner.
func (b *blocks) add(tc, tr int, t *tileClasses) {
	if band := tr * grid.TileSide / b.side; band != b.band {
		b.flush()
		b.band = band
	}
	w := b.img.Rect.Dx()
	for row := range grid.TileSide {
		at := (tr*grid.TileSide+row)/b.side - b.band
		line := b.counts[at*w:][:w]
		for col, cl := range t[row*grid.TileSide:][:grid.TileSide] {
			if cl != outside {
				line[(tc*grid.TileSide+col)/b.side][cl]++
			}
		}
	}
}

func (b *blocks) flush() {
	w, h := b.img.Rect.Dx(), b.img.Rect.Dy()
	for i, n := range b.counts {
		if y := h - 1 - b.band - i/w; y >= 0 {
			b.img.Pix[y*b.img.Stride+i%w] = uint8(majority(n, b.side*b.side))
		}
	}
	clear(b.counts)
}

func majority(n [classes]uint32, cells int) class {
	sum, best := uint32(0), sliver
	for cl := sliver; cl < classes; cl++ {
		sum += n[cl]
		if n[cl] >= n[best] {
			best = cl
		}
	}
	if 2*int(sum) < cells {
		return outside
	}
	return best
}

// enlarge repeats every pixel, so that a small picture comes near maxSide.
func enlarge(src *image.Paletted) *image.Paletted {
	size := src.Rect.Size()
	f := maxSide / max(size.X, size.Y)
	if f < 2 {
		return src
	}
	dst := image.NewPaletted(image.Rect(0, 0, size.X*f, size.Y*f), src.Palette)
	for y := range size.Y * f {
		line := src.Pix[y/f*src.Stride:][:size.X]
		for x, v := range line {
			for i := range f {
				dst.Pix[y*dst.Stride+x*f+i] = v
			}
		}
	}
	return dst
}
