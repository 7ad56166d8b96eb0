package report

import (
	"io"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/coverage"
	"untrod/plan"
)

const (
	hoursWidth, hoursHeight vg.Length = 430, 290
	hoursDPI                          = 200
)

// HoursPNG draws what the budgets of a plan would bring: new ground over hours, and
// beside each point the share of the site that would then be swept.
func HoursPNG(w io.Writer, r *coverage.Result, p *plan.Plan, u Units) error {
	return hoursPNG(w, r, p, u, hoursDPI)
}

func hoursPNG(w io.Writer, r *coverage.Result, p *plan.Plan, u Units, dpi int) error {
	h := hoursChart{r, p, u}
	return drawPNG(w, hoursWidth, hoursHeight, dpi, func(c draw.Canvas) {
		x := c.Min.X + margin
		write(c, words(serifBold, 15, ink), x, c.Max.Y-margin-8, shorten(words(serifBold, 15, ink), siteName(r)+": what more hours bring", c.Size().X-2*margin))
		write(c, words(sans, 9, softInk), x, c.Max.Y-margin-23, h.below())
		box := c.Rectangle
		box.Min.X, box.Max.X, box.Min.Y, box.Max.Y = box.Min.X+margin-6, box.Max.X-margin, box.Min.Y+margin-8, box.Max.Y-margin-34
		h.plot().Draw(draw.Canvas{Canvas: c.Canvas, Rectangle: box})
	})
}

type hoursChart struct {
	r *coverage.Result
	p *plan.Plan
	u Units
}

func (h hoursChart) below() string {
	if h.r.Certainty == nil {
		return "Beside each point: the share of the site swept afterwards."
	}
	return "Beside each point: the share of the site most likely swept afterwards."
}

// unitM2 is the area that the axis counts in, and its name.
func (h hoursChart) unitM2() (float64, string) {
	most := 0.0
	for _, b := range h.p.Budgets {
		most = max(most, b.FreshM2)
	}
	switch {
	case h.u == Imperial && most >= maxPlot:
		return acreM2, "acres"
	case h.u == Imperial:
		return footM2, "sq ft"
	case most >= maxPlot:
		return 10_000, "ha"
	}
	return 1, "m²"
}

func (h hoursChart) plot() *plot.Plot {
	p := plot.New()
	p.BackgroundColor = nil
	m2, name := h.unitM2()
	p.X.Label.Text, p.Y.Label.Text = "hours from leaving the start to the end", "new ground, "+name
	pts := plotter.XYs{{}}
	for _, b := range h.p.Budgets {
		pts = append(pts, plotter.XY{X: b.Hours, Y: b.FreshM2 / m2})
	}
	p.Add(hoursPoints{pts, h.p})
	p.X.Min, p.Y.Min = 0, 0
	p.X.Max, p.Y.Max = 1, 1e-9
	for _, q := range pts {
		p.X.Max, p.Y.Max = max(p.X.Max, q.X*1.14), max(p.Y.Max, q.Y*1.16)
	}
	p.X.Tick.Marker, p.Y.Tick.Marker = ticks{1, max(1, niceBelow(p.X.Max/4))}, plainTicks{niceBelow(p.Y.Max / 4)}
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Padding, a.LineStyle, a.Tick.LineStyle, a.Tick.Length = 0, line(0.8, ink), line(0.6, softInk), 3
		label, tick := a.Label.TextStyle, a.Tick.Label
		a.Label.TextStyle, a.Tick.Label = words(sans, 9, ink), words(sans, 8, softInk)
		a.Label.TextStyle.XAlign, a.Label.TextStyle.YAlign, a.Label.TextStyle.Rotation = label.XAlign, label.YAlign, label.Rotation
		a.Tick.Label.XAlign, a.Tick.Label.YAlign = tick.XAlign, tick.YAlign
	}
	return p
}

// plainTicks are a step apart, with commas between thousands.
type plainTicks struct{ step float64 }

// Ticks implements plot.Ticker.
func (t plainTicks) Ticks(lo, hi float64) (out []plot.Tick) {
	decimals := max(0, int(math.Ceil(-math.Log10(t.step)-1e-9)))
	for i := math.Ceil(lo / t.step); i*t.step <= hi; i++ {
		out = append(out, plot.Tick{Value: i * t.step, Label: grouped(i*t.step, decimals)})
	}
	return out
}

// hoursPoints are a line from nothing through the budgets, which stand out as dots
// with the share swept to the lower right of each.
type hoursPoints struct {
	pts plotter.XYs // the first is no budget
	p   *plan.Plan
}

// Plot implements plot.Plotter.
func (h hoursPoints) Plot(c draw.Canvas, p *plot.Plot) {
	g := toPage{p, c}
	for _, t := range p.Y.Tick.Marker.Ticks(p.Y.Min, p.Y.Max) {
		y := c.Y(p.Y.Norm(t.Value))
		c.StrokeLine2(line(0.4, keepout), c.Min.X, y, c.Max.X, y)
	}
	var all []vg.Point
	for _, q := range h.pts {
		all = append(all, vg.Point{X: c.X(p.X.Norm(q.X)), Y: c.Y(p.Y.Norm(q.Y))})
	}
	g.c.StrokeLines(line(1.6, classColour[surely]), all)
	for i, at := range all[1:] {
		disc(c, at, 3.4, ink, line(1.2, paper))
		writeOver(c, words(sansBold, 9, ink), at.X+6, at.Y-12, percent(h.p.Budgets[i].ExpectedPercentAfter))
	}
}
