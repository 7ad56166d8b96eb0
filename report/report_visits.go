package report

import (
	"fmt"
	"io"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/coverage"
)

// visits shows how the swept share grew from visit to visit.
func (p *reporter) visits() chapter {
	s, so := p.st.visitSection(), sweptSoFar(p.r)
	s.cols = append(s.cols, tableColumn{"Swept so far, as logged", 10, true})
	for i := range s.rows {
		s.rows[i] = append(s.rows[i], percent(so[i]))
	}
	b := block{Table: tableOf("visit-list", "Visits, in the order they were made", s), After: append(s.after, p.told((*texter).ties)...)}
	if len(so) == 0 {
		b.Paras = []string{"No visit could be read."}
		return chapter{ID: "visits", Title: "Visits", Blocks: []block{b}}
	}
	b.Picture = &figure{
		Alt:     fmt.Sprintf("Bar chart of the share swept so far: %s after visit 1, %s after visit %d, the last.", percent(so[0]), percent(so[len(so)-1]), len(so)),
		Caption: "Share of the ground swept once or more, as logged, after each visit; dark is what that visit added. Every figure is in the table below.",
		draw:    func(w io.Writer) error { return growthPNG(w, p.r, p.dpi) },
	}
	if len(so) == 1 {
		b.Picture = nil
	}
	return chapter{ID: "visits", Title: "Visits", Blocks: []block{b}}
}

// sweptSoFar is the percentage as logged after each visit.
func sweptSoFar(r *coverage.Result) (out []float64) {
	m2 := 0.0
	for _, v := range r.Sessions {
		m2 += v.NewGroundM2
		out = append(out, 100*m2/r.SearchableM2)
	}
	return out
}

const growthWidth, growthHeight vg.Length = 480, 270

// growthPNG draws the percentage swept as logged after each visit, and what of it that
// visit added.
func growthPNG(w io.Writer, r *coverage.Result, dpi int) error {
	s := &growthChart{r: r, swept: sweptSoFar(r)}
	return drawPNG(w, growthWidth, growthHeight, dpi, s.draw)
}

type growthChart struct {
	r     *coverage.Result
	swept []float64
	box   vg.Rectangle
}

func (s *growthChart) draw(c draw.Canvas) {
	st := words(serifBold, 15, ink)
	write(c, st, margin, c.Max.Y-margin-8, shorten(st, siteName(s.r)+": swept from visit to visit", c.Size().X-2*margin))
	write(c, words(sans, 9, softInk), margin, c.Max.Y-margin-23, "Percent swept once or more, as logged; dark: what the visit added")
	s.box = vg.Rectangle{Min: vg.Point{X: margin + 22, Y: margin + 14}, Max: vg.Point{X: c.Max.X - margin, Y: c.Max.Y - margin - 42}}
	for v := 0.0; v <= 100; v += 25 {
		c.StrokeLine2(line(0.4, keepout), s.box.Min.X, s.y(v), s.box.Max.X, s.y(v))
		write(c, right(words(sans, 8, softInk)), s.box.Min.X-5, s.y(v)-2.8, tickLabel(v))
	}
	s.bars(c)
	s.dates(c)
	c.StrokeLine2(line(0.8, ink), s.box.Min.X, s.box.Min.Y, s.box.Max.X, s.box.Min.Y)
}

func (s *growthChart) y(percent float64) vg.Length {
	return s.box.Min.Y + vg.Length(percent/100)*s.box.Size().Y
}

// x is where the bar of a visit begins, counted from 0.
func (s *growthChart) x(visit int) vg.Length {
	return s.box.Min.X + vg.Length(visit)/vg.Length(max(len(s.swept), leastBars))*s.box.Size().X
}

// leastBars are those there is room for, so that few are not wide.
const leastBars = 5

func (s *growthChart) bars(c draw.Canvas) {
	inset := min(5, (s.x(1)-s.x(0))/8)
	if inset < 0.5 {
		inset = 0 // thin bars would fade
	}
	before := 0.0
	for i, now := range s.swept {
		a, b := s.x(i)+inset, s.x(i+1)-inset
		fill(c, vg.Rectangle{Min: vg.Point{X: a, Y: s.box.Min.Y}, Max: vg.Point{X: b, Y: s.y(before)}}, classColour[once])
		fill(c, vg.Rectangle{Min: vg.Point{X: a, Y: s.y(before)}, Max: vg.Point{X: b, Y: s.y(now)}}, classColour[more])
		if s.labelled(i) {
			st := words(sansBold, 8.5, ink)
			writeOver(c, middle(st), max((a+b)/2, s.box.Min.X+widthOf(st, percent(now))/2), s.y(now)+4, percent(now))
		}
		before = now
	}
}

// labelled are the visits that have room for their figures.
func (s *growthChart) labelled(i int) bool {
	n := len(s.swept)
	step := 1 + n/10
	return i == n-1 || i%step == 0 && i+step <= n-1+step/2 && n-1-i >= step
}

// dates names visits by number, and by their day where that is known.
func (s *growthChart) dates(c draw.Canvas) {
	for i := range s.swept {
		if !s.labelled(i) {
			continue
		}
		x := (s.x(i) + s.x(i+1)) / 2
		write(c, middle(words(sans, 8, softInk)), x, s.box.Min.Y-11, fmt.Sprintf("visit %d", i+1))
		if at := s.r.Sessions[i].Start; at.Known() {
			write(c, middle(words(sans, 7, softInk)), x, s.box.Min.Y-20, at.Time().UTC().Format("2006-01-02"))
		}
	}
}
