package report

import (
	"image/color"
	"math"
	"strconv"
	"strings"

	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// The embedded fonts: upright for figures and words, italic for the names of
// things on the ground, as on a printed map.
var (
	sans        = font.Font{Typeface: "Liberation", Variant: "Sans"}
	sansBold    = font.Font{Typeface: "Liberation", Variant: "Sans", Weight: xfont.WeightBold}
	serifBold   = font.Font{Typeface: "Liberation", Variant: "Serif", Weight: xfont.WeightBold}
	serifItalic = font.Font{Typeface: "Liberation", Variant: "Serif", Style: xfont.StyleItalic}
)

// words is a style of text; it stands on the point it is drawn at, to the
// right of it.
func words(f font.Font, size vg.Length, c color.Color) text.Style {
	f.Size = size
	return text.Style{Color: c, Font: f, Handler: plot.DefaultTextHandler}
}

func right(s text.Style) text.Style  { s.XAlign = text.XRight; return s }
func middle(s text.Style) text.Style { s.XAlign = text.XCenter; return s }

// write draws txt with its baseline on y, unlike the library's own FillText,
// which leaves room for descenders.
func write(c draw.Canvas, s text.Style, x, y vg.Length, txt string) {
	txt = Printable(txt)
	c.SetColor(s.Color)
	face := font.DefaultCache.Lookup(s.Font, s.Font.Size)
	x += vg.Length(s.XAlign) * face.Width(txt)
	c.FillString(face, vg.Point{X: x, Y: y}, txt)
}

// writeOver draws txt on a rim of paper, to be read on any ground.
func writeOver(c draw.Canvas, s text.Style, x, y vg.Length, txt string) {
	rim := s
	rim.Color = paper
	for i := range 8 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 4)
		write(c, rim, x+vg.Length(1.1*cos), y+vg.Length(1.1*sin), txt)
	}
	write(c, s, x, y, txt)
}

func widthOf(s text.Style, txt string) vg.Length {
	face := font.DefaultCache.Lookup(s.Font, s.Font.Size)
	return face.Width(Printable(txt))
}

// shorten cuts txt to width, an ellipsis at its end.
func shorten(s text.Style, txt string, width vg.Length) string {
	if widthOf(s, txt) <= width {
		return txt
	}
	r := []rune(Printable(txt))
	for len(r) > 1 && widthOf(s, string(r)+"…") > width {
		r = r[:len(r)-1]
	}
	return strings.TrimSpace(string(r)) + "…"
}

func line(width vg.Length, c color.Color) draw.LineStyle {
	return draw.LineStyle{Width: width, Color: c}
}

func fill(c draw.Canvas, r vg.Rectangle, col color.Color) {
	c.SetColor(col)
	c.Fill(r.Path())
}

func frame(c draw.Canvas, r vg.Rectangle, l draw.LineStyle) {
	c.SetLineStyle(l)
	c.Stroke(r.Path())
}

// disc fills a circle, with a rim when its style has a width.
func disc(c draw.Canvas, at vg.Point, radius vg.Length, col color.Color, rim draw.LineStyle) {
	var p vg.Path
	p.Move(vg.Point{X: at.X + radius, Y: at.Y})
	p.Arc(at, radius, 0, 2*math.Pi)
	p.Close()
	c.SetColor(col)
	c.Fill(p)
	if rim.Width > 0 {
		c.SetLineStyle(rim)
		c.Stroke(p)
	}
}

// stipple puts dots on a lattice over r, where on is true.
func stipple(c draw.Canvas, r vg.Rectangle, on func(vg.Point) bool) {
	const step, size vg.Length = 3.2, 1.1
	var p vg.Path
	for i := math.Floor(float64(r.Min.Y / step)); vg.Length(i)*step < r.Max.Y; i++ {
		x0, y := vg.Length(math.Mod(i, 2))*step, vg.Length(i)*step
		for x := r.Min.X - vg.Length(math.Mod(float64(r.Min.X-x0), float64(2*step))); x < r.Max.X; x += 2 * step {
			at := vg.Point{X: x, Y: y}
			if x > r.Min.X+size && x < r.Max.X-size && y > r.Min.Y+size && y < r.Max.Y-size && on(at) {
				p.Move(vg.Point{X: x - size/2, Y: y})
				p.Line(vg.Point{X: x + size/2, Y: y})
			}
		}
	}
	c.SetLineStyle(line(size, dotInk))
	c.Stroke(p)
}

// shape fills and rims a polygon of a few points.
func shape(c draw.Canvas, col color.Color, rim draw.LineStyle, pts ...vg.Point) {
	c.FillPolygon(col, pts)
	if rim.Width > 0 {
		c.StrokeLines(rim, append(pts, pts[0]))
	}
}

// niceBelow is the largest of 1, 2, 5 times a power of ten that is not over x.
func niceBelow(x float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{5, 2} {
		if m*p <= x*(1+1e-9) {
			return m * p
		}
	}
	return p
}

// tickLabel writes a number with as many decimals as it needs, and a true minus.
func tickLabel(x float64) string {
	s := strconv.FormatFloat(math.Round(x*1000)/1000, 'f', -1, 64)
	if strings.HasPrefix(s, "-") && s != "-0" {
		return "\u2212" + s[1:]
	}
	return strings.TrimPrefix(s, "-")
}
