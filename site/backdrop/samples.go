package backdrop

import (
	"errors"
	"image"
	"image/color"
	"math"
)

// heights reports whether the one sample is a height and no grey: numbers that are
// signed or broken, or 16 bits and more in a file that says where it lies.
func (r *raster) heights(placed bool) bool {
	return r.samples == 1 && r.photometric <= 1 && (r.format == 2 || r.format == 3 || r.bits > 16 || r.bits == 16 && placed)
}

// readHeights reads heights; none stands for no height.
func (r *raster) readHeights(none float64) ([]float32, error) {
	value, size := r.value(), r.bits/8
	if value == nil {
		return nil, errors.New("numbers of a kind that cannot be used")
	}
	out := make([]float32, r.width*r.height)
	for i := range out {
		out[i] = float32(math.NaN())
	}
	err := r.each(func(_, col, row int, samples []byte) {
		line := out[row*r.width+col:]
		for i := 0; i*size < len(samples); i++ {
			line[i] = height(value(samples[i*size:]), none)
		}
	})
	return out, err
}

// value reads one sample; nil for a kind that is not known.
func (r *raster) value() func([]byte) float64 {
	switch [2]int{r.format, r.bits} {
	case [2]int{1, 8}, [2]int{4, 8}:
		return func(b []byte) float64 { return float64(b[0]) }
	case [2]int{2, 8}:
		return func(b []byte) float64 { return float64(int8(b[0])) }
	case [2]int{1, 16}, [2]int{4, 16}:
		return func(b []byte) float64 { return float64(r.order.Uint16(b)) }
	case [2]int{2, 16}:
		return func(b []byte) float64 { return float64(int16(r.order.Uint16(b))) }
	case [2]int{1, 32}, [2]int{4, 32}:
		return func(b []byte) float64 { return float64(r.order.Uint32(b)) }
	case [2]int{2, 32}:
		return func(b []byte) float64 { return float64(int32(r.order.Uint32(b))) }
	case [2]int{3, 32}:
		return func(b []byte) float64 { return float64(math.Float32frombits(r.order.Uint32(b))) }
	case [2]int{3, 64}:
		return func(b []byte) float64 { return math.Float64frombits(r.order.Uint64(b)) }
	}
	return nil
}

var errColours = errors.New("colours of a kind that cannot be used: save it as PNG with a world file")

// readPicture reads greys, colours or a palette, of 16 bits the upper 8. Pixels all of
// whose colours are none are clear.
func (r *raster) readPicture(none float64) (image.RGBA64Image, error) {
	if r.compression == 7 && r.photometric == 6 {
		r.photometric = 2 // unpacked as red, green and blue
	}
	colours := r.colours()
	if r.bits > 16 || r.format == 2 || r.format == 3 || r.photometric > 3 || r.samples < colours || r.photometric == 3 && r.bits != 8 {
		return nil, errColours
	}
	var table color.Palette
	if r.photometric == 3 {
		if table = r.palette(); table == nil {
			return nil, errColours
		}
	}
	if r.bits == 16 {
		none = math.NaN() // of the upper 8 bits nothing tells
	}
	alpha, straight := r.alpha()
	m := image.NewRGBA(image.Rect(0, 0, r.width, r.height))
	if err := r.each(func(plane, col, row int, samples []byte) { r.put(m, plane, col, row, samples) }); err != nil {
		return nil, err
	}
	finish(m.Pix, finishing{colours, alpha, r.photometric == 0, none, table})
	if straight {
		return &image.NRGBA{Pix: m.Pix, Stride: m.Stride, Rect: m.Rect}, nil
	}
	return m, nil
}

// alpha reports whether the sample after the colours says how solid a pixel is, and
// whether colours are not yet dimmed by it.
func (r *raster) alpha() (has, straight bool) {
	extra := r.number(tagExtra, 0)
	return r.samples > r.colours() && extra != 0, extra == 2
}

// put copies samples of a row into the bytes of m's pixels: colours first, and what
// comes after them into the fourth byte.
func (r *raster) put(m *image.RGBA, plane, col, row int, samples []byte) {
	size, high := r.bits/8, 0
	if size == 2 && r.littleEndian() {
		high = 1 // the upper byte is second
	}
	first, n := 0, r.samples
	if r.planar {
		first, n = plane, 1
	}
	pix := m.Pix[m.PixOffset(col, row):]
	for k := range n {
		to := r.byteOf(first + k)
		if to < 0 {
			continue
		}
		for i := 0; (i*n+k)*size < len(samples); i++ {
			pix[4*i+to] = samples[(i*n+k)*size+high]
		}
	}
}

// byteOf is the byte of a pixel that a sample goes to; -1 for none.
func (r *raster) byteOf(sample int) int {
	switch {
	case sample < r.colours():
		return sample
	case sample == r.colours():
		return 3
	}
	return -1
}

// colours are the samples of a pixel that are colours, or grey.
func (r *raster) colours() int {
	if r.photometric == 2 {
		return 3
	}
	return 1
}

// palette is the table of colours; nil without.
func (r *raster) palette() color.Palette {
	const n = 256
	c := r.ints(tagColours, 3*n)
	if len(c) < 3*n {
		return nil
	}
	out := make(color.Palette, n)
	for i := range out {
		out[i] = color.RGBA{uint8(c[i] >> 8), uint8(c[n+i] >> 8), uint8(c[2*n+i] >> 8), 255}
	}
	return out
}

// finishing says what samples are to become.
type finishing struct {
	colours  int
	alpha    bool // the fourth byte is one
	inverted bool // 0 is white
	none     float64
	table    color.Palette
}

// finish makes colours of the samples in pix.
func finish(pix []byte, f finishing) {
	for ; len(pix) >= 4; pix = pix[4:] {
		if !f.alpha {
			pix[3] = 255
		}
		clear := true
		for _, v := range pix[:f.colours] {
			clear = clear && float64(v) == f.none
		}
		switch {
		case clear:
			copy(pix, []byte{0, 0, 0, 0})
			continue
		case f.table != nil:
			c := f.table[pix[0]].(color.RGBA)
			pix[0], pix[1], pix[2] = c.R, c.G, c.B
			continue
		case f.inverted:
			pix[0] = 255 - pix[0]
		}
		if f.colours == 1 {
			pix[1], pix[2] = pix[0], pix[0]
		}
	}
}
