package report

import (
	"image"
	"image/color"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// sampler draws a picture of few colours some ten times faster than the canvas
// itself, which could also turn and shear it: each pixel is the mean of two by
// two points, so that edges come out smooth.
type sampler struct{ *vgimg.Canvas }

// DrawImage implements vg.Canvas. Any other kind of picture is drawn as usual.
func (c sampler) DrawImage(rect vg.Rectangle, img image.Image) {
	src, few := img.(*image.Paletted)
	dst, rgba := c.Image().(*image.RGBA)
	if !few || !rgba {
		c.Canvas.DrawImage(rect, img)
		return
	}
	_, h := c.Size()
	dpi := c.DPI()
	x0, xs := samples(rect.Min.X.Dots(dpi), rect.Max.X.Dots(dpi), src.Rect.Dx(), dst.Rect.Dx())
	y0, ys := samples((h - rect.Max.Y).Dots(dpi), (h - rect.Min.Y).Dots(dpi), src.Rect.Dy(), dst.Rect.Dy())
	colours := make([]color.RGBA, len(src.Palette))
	for i, p := range src.Palette {
		colours[i] = color.RGBAModel.Convert(p).(color.RGBA)
	}
	for i := 0; i+1 < len(ys); i += 2 {
		up, down := src.Pix[ys[i]*src.Stride:], src.Pix[ys[i+1]*src.Stride:]
		line := dst.Pix[dst.PixOffset(x0, y0+i/2):]
		for j := 0; j+1 < len(xs); j += 2 {
			blend(line[2*j:2*j+4], colours, [4]uint8{up[xs[j]], up[xs[j+1]], down[xs[j]], down[xs[j+1]]})
		}
	}
}

// samples says where the two points of each pixel from first on lie in a
// source of n pixels stretched from lo to hi, as far as pixels are on the page.
func samples(lo, hi float64, n, page int) (first int, at []int) {
	first = max(int(lo), 0)
	for px := first; px < min(int(hi)+1, page); px++ {
		for _, part := range []float64{0.25, 0.75} {
			i := int((float64(px) + part - lo) / (hi - lo) * float64(n))
			at = append(at, min(max(i, 0), n-1))
		}
	}
	return first, at
}

// blend lays the mean of four colours over px, red, green, blue and alpha.
func blend(px []uint8, colours []color.RGBA, four [4]uint8) {
	c := colours[four[0]]
	if four[0] == four[1] && four[0] == four[2] && four[0] == four[3] {
		if c.A == 255 {
			px[0], px[1], px[2] = c.R, c.G, c.B
		}
		return // the page is opaque, and colours are opaque or clear
	}
	var r, g, b, a int
	for _, i := range four {
		c := colours[i]
		r, g, b, a = r+int(c.R), g+int(c.G), b+int(c.B), a+int(c.A)
	}
	rest := 4*255 - a
	px[0] = uint8((r + int(px[0])*rest/255 + 2) / 4)
	px[1] = uint8((g + int(px[1])*rest/255 + 2) / 4)
	px[2] = uint8((b + int(px[2])*rest/255 + 2) / 4)
}
