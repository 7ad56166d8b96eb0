package report

import (
	"image/png"
	"io"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
)

// PlanPNG draws the next visit on the map that MapPNG draws: the gaps to walk in bold
// outline, their lanes with the direction to walk them in, a number where each stop
// begins, the ways between, where to set out and where it ends, slow ground, and a list
// of the stops. It is as large as that map.
func PlanPNG(w io.Writer, r *coverage.Result, p *plan.Plan, u Units) error {
	return planPNG(w, newPlanSheet(r, r.Tally, p, u), pngDPI)
}

func planPNG(w io.Writer, s *planSheet, dpi int) error {
	return drawPNG(w, s.page.width, s.page.height, dpi, s.draw)
}

// drawPNG writes a page of paper that drawn fills.
func drawPNG(w io.Writer, width, height vg.Length, dpi int, drawn func(draw.Canvas)) error {
	c := vgimg.NewWith(vgimg.UseWH(width, height), vgimg.UseDPI(dpi), vgimg.UseBackgroundColor(paper))
	drawn(draw.New(sampler{c}))
	enc := png.Encoder{CompressionLevel: png.BestSpeed}
	return enc.Encode(w, c.Image())
}

// planSheet is the page of the next visit.
type planSheet struct {
	*sheet
	p      *plan.Plan
	shown  grid.Bounds
	points vg.Length // of the page to a metre, once drawn
}

// moreKey is room for what the plan adds to the key of a wide page.
func moreKey(p *plan.Plan) vg.Length { return vg.Length(5+min(1, len(p.Settings.Slow))) * rowStep }

func newPlanSheet(r *coverage.Result, ps passes, p *plan.Plan, u Units) *planSheet {
	b := planGround(r, p)
	s := &planSheet{sheet: &sheet{r: r, u: u, ground: rasterise(r, ps), page: layout(b)}, p: p, shown: b}
	s.page.height += belowRoom
	if s.page.wide {
		more := moreKey(p)
		s.page.height += more
		s.page.legendBox.Max.Y += more
		s.page.mapBox.Min.Y += more
		s.page.mapBox.Max.Y += more
	}
	return s
}

// planGround is the site, and what of the plan lies not too far beyond it.
func planGround(r *coverage.Result, p *plan.Plan) grid.Bounds {
	b := groundShown(r)
	reach, margin := b.Pad(0.3*max(b.Width(), b.Height())), 0.03*max(b.Width(), b.Height())
	take := func(qs ...grid.XY) {
		for _, q := range qs {
			if inside(reach, q) {
				b = b.Add(grid.XY{X: q.X - margin, Y: q.Y - margin}).Add(grid.XY{X: q.X + margin, Y: q.Y + margin})
			}
		}
	}
	take(p.Settings.Start, p.Settings.End)
	for _, s := range p.Stops {
		take(s.Approach...)
		for _, l := range stopLanes(s) {
			take(l.From, l.To)
		}
	}
	take(p.Home...)
	return b
}

func (s *planSheet) draw(c draw.Canvas) {
	box := draw.Canvas{Canvas: c.Canvas, Rectangle: s.page.mapBox}
	p := s.plot(box)
	p.Draw(box)
	ground := p.DataCanvas(box)
	s.points = ground.Size().X / vg.Length(p.X.Max-p.X.Min)
	s.title(c, ground.Min.X)
	s.legend(ground)
}

// plot is the map, a metre as long east as north.
func (s *planSheet) plot(c draw.Canvas) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = nil
	unitM, _, _ := s.u.unit()
	marks := ticks{unitM, niceBelow(max(s.shown.Width(), s.shown.Height())/unitM/4.5) * unitM}
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Padding, a.Label.Text, a.LineStyle.Width = 0, "", 0
		a.Tick.Length, a.Tick.LineStyle, a.Tick.Marker = 3, line(0.6, softInk), marks
		font := a.Tick.Label
		a.Tick.Label = words(sans, 7, softInk)
		a.Tick.Label.XAlign, a.Tick.Label.YAlign = font.XAlign, font.YAlign
	}
	i := s.ground.bounds
	p.Add(plotter.NewImage(s.ground.img, i.Min.X, i.Min.Y, i.Max.X, i.Max.Y), planFeatures{features{s.sheet}, s.p})
	fit(p, c, s.shown) // last: Add grows the axes
	return p
}

func (s *planSheet) title(c draw.Canvas, x vg.Length) {
	name, room := siteName(s.r)+": the next visit", s.page.width-margin-x
	st := words(serifBold, 22, ink)
	for st.Font.Size > 14 && widthOf(st, name) > room {
		st.Font.Size--
	}
	y := s.page.height - margin - 14
	write(c, st, x, y, shorten(st, name, room))
	line, below := s.headline()
	write(c, words(sansBold, 12.5, ink), x, y-19, line)
	write(c, words(sans, 9.5, softInk), x, y-19-belowRoom, below)
}

func (s *planSheet) headline() (line, below string) {
	p := s.p
	now, _ := headline(s.r)
	switch {
	case p.NoGaps:
		return "No gaps are left to walk", now
	case len(p.Stops) == 0:
		return "Nothing can be planned for " + duration(p.Settings.BudgetS), now
	}
	line = count(len(p.Stops), "stop") + ", about " + squared(s.u.area(p.Expected.FreshM2)) + " of new ground in " + duration(p.UsedS)
	after := "at least " + atLeast(p.Expected.AtLeastPercentAfter)
	if s.r.Certainty == nil {
		after = percent(p.Expected.AsLoggedPercentAfter)
	}
	return line, now + " now; " + after + " swept afterwards"
}
