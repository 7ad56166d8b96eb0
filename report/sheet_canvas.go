package report

import (
	"image/color"
	"math"

	"codeberg.org/go-pdf/fpdf"
	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// pdfInk draws on the page of a document that is under way, in points from its lower
// left corner. What of vg.Canvas is not here (turning, pictures) it cannot do. Of
// fonts it has those of the document.
type pdfInk struct {
	vg.Canvas
	pdf    *fpdf.Fpdf
	height float64 // of the page, mm
	colour color.Color
	width  vg.Length
	dashes []vg.Length
}

// onPage is the whole of the page that is open.
func onPage(f *fpdf.Fpdf) draw.Canvas {
	w, h := f.GetPageSize()
	f.SetLineJoinStyle("round")
	c := &pdfInk{pdf: f, height: h, colour: color.Black, width: 1}
	return draw.Canvas{Canvas: c, Rectangle: vg.Rectangle{Max: vg.Point{X: vg.Length(w) * mm, Y: vg.Length(h) * mm}}}
}

func (c *pdfInk) SetColor(col color.Color)               { c.colour = col }
func (c *pdfInk) SetLineWidth(w vg.Length)               { c.width = w }
func (c *pdfInk) SetLineDash(d []vg.Length, _ vg.Length) { c.dashes = d }
func (c *pdfInk) at(p vg.Point) (x, y float64)           { return float64(p.X / mm), c.height - float64(p.Y/mm) }
func rgb(col color.Color) (r, g, b int) {
	v := color.RGBAModel.Convert(col).(color.RGBA)
	return int(v.R), int(v.G), int(v.B)
}

// Stroke implements vg.Canvas.
func (c *pdfInk) Stroke(p vg.Path) {
	if c.width <= 0 || len(p) == 0 {
		return
	}
	c.pdf.SetDrawColor(rgb(c.colour))
	c.pdf.SetLineWidth(float64(c.width / mm))
	dashes := make([]float64, len(c.dashes))
	for i, d := range c.dashes {
		dashes[i] = float64(d / mm)
	}
	if len(dashes) > 0 {
		c.pdf.SetDashPattern(dashes, 0)
		defer c.pdf.SetDashPattern(nil, 0)
	}
	c.path(p)
	c.pdf.DrawPath("D")
}

// Fill implements vg.Canvas.
func (c *pdfInk) Fill(p vg.Path) {
	if len(p) == 0 {
		return
	}
	c.pdf.SetFillColor(rgb(c.colour))
	c.path(p)
	c.pdf.DrawPath("F")
}

func (c *pdfInk) path(p vg.Path) {
	for _, part := range p {
		x, y := c.at(part.Pos)
		switch part.Type {
		case vg.MoveComp:
			c.pdf.MoveTo(x, y)
		case vg.LineComp:
			c.pdf.LineTo(x, y)
		case vg.ArcComp:
			r, from := float64(part.Radius/mm), part.Start*180/math.Pi
			c.pdf.ArcTo(x, y, r, r, 0, from, from+part.Angle*180/math.Pi)
		case vg.CloseComp:
			c.pdf.ClosePath()
		}
	}
}

// FillString implements vg.Canvas.
func (c *pdfInk) FillString(face font.Face, at vg.Point, txt string) {
	c.font(face.Font)
	c.pdf.SetTextColor(rgb(c.colour))
	x, y := c.at(at)
	c.pdf.Text(x, y, txt)
}

func (c *pdfInk) font(f font.Font) {
	style := ""
	if f.Weight == xfont.WeightBold {
		style = "B"
	}
	c.pdf.SetFont("sans", style, f.Size.Points())
}

// halo draws text on a rim of paper, to be read on any ground.
func halo(c draw.Canvas, s text.Style, x, y vg.Length, txt string) {
	p := c.Canvas.(*pdfInk)
	p.pdf.SetDrawColor(255, 255, 255)
	p.pdf.SetLineWidth(float64(0.32 * s.Font.Size / mm))
	p.pdf.SetTextRenderingMode(1)
	rim := s
	rim.Color = color.White
	write(c, rim, x, y, txt)
	p.pdf.SetTextRenderingMode(0)
	write(c, s, x, y, txt)
}

// onPaper is a user's text as it can be drawn.
func onPaper(s string) string {
	s, _ = drawable(Printable(s))
	return drawnOrder(s)
}
