package backdrop

import (
	"image"
	"image/color"
	"math"

	"untrod/grid"
)

// Drawing is a picture that can be drawn at any size: it has copies of half, a quarter
// and so on of its size, a third more memory. It is never changed.
type Drawing struct {
	levels []image.RGBA64Image
}

// Drawing makes a drawing of p, of heights the shading as they lie at place, which may
// be nil: then they are shaded as if their numbers were metres.
func (p *Picture) Drawing(place *Place) *Drawing {
	m := p.Image
	if p.Terrain() {
		m = shaded(p.Heights, p.Width, p.slope(place))
	}
	d := &Drawing{levels: []image.RGBA64Image{m}}
	for m.Bounds().Dx() > 1 || m.Bounds().Dy() > 1 {
		m = halved(m)
		d.levels = append(d.levels, m)
	}
	return d
}

func (p *Picture) slope(place *Place) slope {
	switch {
	case place != nil:
		return place.slope()
	case p.Numbers == nil || p.Numbers.XCol == 0 || p.Numbers.YRow == 0:
		return slope{eastCol: 1, northRow: -1}
	}
	return slope{eastCol: 1 / p.Numbers.XCol, northRow: 1 / p.Numbers.YRow}
}

// halved is m at half its size: each pixel the mean of four, at an odd edge of fewer.
func halved(m image.RGBA64Image) *image.RGBA {
	w, h := m.Bounds().Dx(), m.Bounds().Dy()
	out := image.NewRGBA(image.Rect(0, 0, (w+1)/2, (h+1)/2))
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			var s sum
			x1, y1 := min(2*x+1, w-1), min(2*y+1, h-1)
			s.add(m.RGBA64At(2*x, 2*y), 0.25)
			s.add(m.RGBA64At(x1, 2*y), 0.25)
			s.add(m.RGBA64At(2*x, y1), 0.25)
			s.add(m.RGBA64At(x1, y1), 0.25)
			s.put(out.Pix[out.PixOffset(x, y):])
		}
	}
	return out
}

// sum is a mean of colours, dimmed by how solid they are.
type sum struct{ r, g, b, a float32 }

func (s *sum) add(c color.RGBA64, share float32) {
	s.r += share * float32(c.R)
	s.g += share * float32(c.G)
	s.b += share * float32(c.B)
	s.a += share * float32(c.A)
}

func (s *sum) put(pix []uint8) {
	const scale, half = 1. / 257, 0.5
	pix[0], pix[1], pix[2], pix[3] = uint8(s.r*scale+half), uint8(s.g*scale+half), uint8(s.b*scale+half), uint8(s.a*scale+half)
}

// Whole is the whole picture, the finest copy of at most that many pixels either way.
func (d *Drawing) Whole(pixels int) image.Image {
	for _, m := range d.levels {
		if m.Bounds().Dx() <= pixels && m.Bounds().Dy() <= pixels {
			return m
		}
	}
	return d.levels[len(d.levels)-1]
}

// TileSide is how many pixels a tile is wide and high.
const TileSide = 256

// Tile is a square of ground to be drawn: its north-west corner in metres of a frame,
// and how many metres a pixel is.
type Tile struct {
	Frame       grid.Frame
	West, North float64
	PixelM      float64
}

// nodes is how many pixels lie between points of a tile whose place is worked out in
// full; between them it is a straight line. Over the 2 km of ground that 16 of the
// coarsest pixels are, the planes bend by under 1 m.
const nodes = 16

// Tile draws a square of ground; nil where no part of the picture lies.
func (d *Drawing) Tile(place Place, t Tile) *image.RGBA {
	const n = TileSide/nodes + 1
	var at [n][n]grid.XY
	box := grid.EmptyBounds()
	for i := range at {
		for k := range at[i] {
			q := grid.XY{X: t.West + float64(k*nodes)*t.PixelM, Y: t.North - float64(i*nodes)*t.PixelM}
			at[i][k] = place.Pixel(t.Frame.ToLonLat(q))
			box = box.Add(at[i][k])
		}
	}
	if !(box.Max.X > 0 && box.Max.Y > 0 && box.Min.X < place.width && box.Min.Y < place.height) {
		return nil
	}
	m := image.NewRGBA(image.Rect(0, 0, TileSide, TileSide))
	b := brush{place: place}
	b.choose(d.levels, at[n/2][n/2], at[n/2][n/2+1], at[n/2+1][n/2])
	drawn := false
	for y := range TileSide {
		for x := range TileSide {
			q := between(&at, (float64(x)+0.5)/nodes, (float64(y)+0.5)/nodes)
			drawn = b.paint(q, m.Pix[m.PixOffset(x, y):]) || drawn
		}
	}
	if !drawn {
		return nil
	}
	return m
}

// between is the pixel at a place in the net of nodes.
func between(at *[TileSide/nodes + 1][TileSide/nodes + 1]grid.XY, x, y float64) grid.XY {
	k, i := int(x), int(y)
	u, v := x-float64(k), y-float64(i)
	a, b, c, d := at[i][k], at[i][k+1], at[i+1][k], at[i+1][k+1]
	return grid.XY{
		X: (a.X*(1-u)+b.X*u)*(1-v) + (c.X*(1-u)+d.X*u)*v,
		Y: (a.Y*(1-u)+b.Y*u)*(1-v) + (c.Y*(1-u)+d.Y*u)*v,
	}
}

// brush takes colours from the copy whose pixels are nearest in size to those drawn.
type brush struct {
	place Place
	from  image.RGBA64Image
	scale float64 // of the copy
}

func (b *brush) choose(levels []image.RGBA64Image, o, east, south grid.XY) {
	area := math.Abs((east.X-o.X)*(south.Y-o.Y)-(east.Y-o.Y)*(south.X-o.X)) / (nodes * nodes)
	i := 0
	if area > 1 && !math.IsInf(area, 1) {
		i = min(int(math.Log2(area)/2+0.5), len(levels)-1)
	}
	b.from, b.scale = levels[i], math.Exp2(-float64(i))
}

// paint sets a pixel to what is at q of the whole picture, smoothly between the middles
// of its pixels, and reports whether anything is there.
func (b *brush) paint(q grid.XY, pix []uint8) bool {
	if !(q.X >= 0 && q.Y >= 0 && q.X < b.place.width && q.Y < b.place.height) {
		return false
	}
	w, h := b.from.Bounds().Dx(), b.from.Bounds().Dy()
	x, y := q.X*b.scale-0.5, q.Y*b.scale-0.5
	col, row := math.Floor(x), math.Floor(y)
	u, v := float32(x-col), float32(y-row)
	x0, x1 := max(0, min(int(col), w-1)), min(int(col)+1, w-1)
	y0, y1 := max(0, min(int(row), h-1)), min(int(row)+1, h-1)
	var s sum
	s.add(b.from.RGBA64At(x0, y0), (1-u)*(1-v))
	s.add(b.from.RGBA64At(x1, y0), u*(1-v))
	s.add(b.from.RGBA64At(x0, y1), (1-u)*v)
	s.add(b.from.RGBA64At(x1, y1), u*v)
	s.put(pix)
	return s.a > 0
}
