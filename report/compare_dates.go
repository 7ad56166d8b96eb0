package report

import (
	"io"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/coverage"
)

const datesWidth, datesHeight vg.Length = 480, 270

// DatesPNG draws the finds by decade, every find spread evenly over the years its date
// lies between, and their mean. r.Comparison must be there.
func DatesPNG(w io.Writer, r *coverage.Result) error { return datesPNG(w, r, pngDPI) }

func datesPNG(w io.Writer, r *coverage.Result, dpi int) error {
	s := &dateChart{r: r, d: r.Comparison.Dates}
	return drawPNG(w, datesWidth, datesHeight, dpi, s.draw)
}

type dateChart struct {
	r   *coverage.Result
	d   coverage.Dating
	box vg.Rectangle
	top float64 // finds at the top of the box
}

func (s *dateChart) draw(c draw.Canvas) {
	st := words(serifBold, 15, ink)
	write(c, st, margin, c.Max.Y-margin-8, shorten(st, siteName(s.r)+": the finds by date", c.Size().X-2*margin))
	write(c, words(sans, 9, softInk), margin, c.Max.Y-margin-23, s.below())
	s.box = vg.Rectangle{Min: vg.Point{X: margin + 22, Y: margin + 10}, Max: vg.Point{X: c.Max.X - margin, Y: c.Max.Y - margin - 46}}
	if len(s.d.Decades) == 0 {
		return
	}
	for _, k := range s.d.Decades {
		s.top = max(s.top, 1.1*k.Finds)
	}
	s.grid(c)
	s.bars(c)
	s.mean(c)
	c.StrokeLine2(line(0.8, ink), s.box.Min.X, s.box.Min.Y, s.box.Max.X, s.box.Min.Y)
}

func (s *dateChart) below() string {
	if s.d.Dated == 0 {
		return "No find has a first and a last year."
	}
	without := s.d.Open + s.d.Undated + s.d.Odd
	return capital(count(s.d.Dated, "find")) + " per ten years, each spread evenly over its years; " + count(without, "find") + " without both years"
}

func (s *dateChart) grid(c draw.Canvas) {
	step := max(niceBelow(s.top/3), 1e-3)
	for i := 0; float64(i)*step <= s.top; i++ {
		y := s.y(float64(i) * step)
		c.StrokeLine2(line(0.4, keepout), s.box.Min.X, y, s.box.Max.X, y)
		write(c, right(words(sans, 8, softInk)), s.box.Min.X-5, y-2.8, tickLabel(float64(i)*step))
	}
}

func (s *dateChart) y(finds float64) vg.Length {
	return s.box.Min.Y + vg.Length(finds/s.top)*s.box.Size().Y
}

// x is where a year begins.
func (s *dateChart) x(year float64) vg.Length {
	first, n := float64(s.d.Decades[0].From), float64(10*len(s.d.Decades))
	return s.box.Min.X + vg.Length((year-first)/n)*s.box.Size().X
}

func (s *dateChart) bars(c draw.Canvas) {
	inset := min(1.2, (s.x(10)-s.x(0))/8)
	for _, k := range s.d.Decades {
		a, b := s.x(float64(k.From)), s.x(float64(k.From+10))
		fill(c, vg.Rectangle{Min: vg.Point{X: a + inset, Y: s.box.Min.Y}, Max: vg.Point{X: b - inset, Y: s.y(k.Finds)}}, classColour[twice])
	}
	years := float64(10 * len(s.d.Decades))
	step := max(10, stepAbove(years/8))
	for y := math.Ceil(float64(s.d.Decades[0].From)/step) * step; y <= float64(s.d.Decades[0].From)+years; y += step {
		c.StrokeLine2(line(0.6, softInk), s.x(y), s.box.Min.Y, s.x(y), s.box.Min.Y-3)
		write(c, middle(words(sans, 8, softInk)), s.x(y), s.box.Min.Y-12, yearWords(y))
	}
}

func (s *dateChart) mean(c draw.Canvas) {
	x := s.x(s.d.Mean + 0.5)
	c.StrokeLine2(line(1.3, classColour[gap]), x, s.box.Min.Y, x, s.box.Max.Y+4)
	st := words(sansBold, 9, classColour[gap])
	txt := "mean " + yearWords(s.d.Mean)
	half := widthOf(st, txt) / 2
	write(c, middle(st), min(max(x, s.box.Min.X+half), s.box.Max.X-half), s.box.Max.Y+8, txt)
}
