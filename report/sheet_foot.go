package report

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/site"
)

// mapFoot is what stands below a map: scale bar, north arrows, and what the patterns
// mean.
func (s *fieldSheet) mapFoot(page draw.Canvas, scale int) {
	top := sheetSide + footLine + sheetFoot
	left := sheetSide + labelSpace
	s.bar(page, vg.Point{X: left, Y: top - 14*mm}, scale)
	s.arrows(page, vg.Point{X: left + 72*mm, Y: top - 25*mm})
	s.keyRows(page, vg.Rectangle{
		Min: vg.Point{X: left + 98*mm, Y: sheetSide + footLine},
		Max: vg.Point{X: page.Max.X - sheetSide - labelSpace, Y: top - 1*mm},
	})
}

// barLengthM is the length that a scale bar of at most 62 mm shows.
func (s *fieldSheet) barLengthM(scale int) float64 {
	unitM, _, _ := s.u.unit()
	return niceBelow(windowM(62*mm, scale)/unitM*(1+1e-9)) * unitM
}

// bar is a scale bar whose lower edge, a heavy line, is as long as it says.
func (s *fieldSheet) bar(page draw.Canvas, at vg.Point, scale int) {
	unitM, short, _ := s.u.unit()
	m := s.barLengthM(scale)
	w := vg.Length(m*1000/float64(scale)) * mm
	const h = 2.4 * mm
	for i := range 4 {
		r := vg.Rectangle{Min: vg.Point{X: at.X + w*vg.Length(i)/4, Y: at.Y}, Max: vg.Point{X: at.X + w*vg.Length(i+1)/4, Y: at.Y + h}}
		if i%2 == 0 {
			fill(page, r, black)
		}
	}
	for _, y := range []vg.Length{at.Y - 0.6, at.Y + h - 0.6} {
		fill(page, vg.Rectangle{Min: vg.Point{X: at.X, Y: y}, Max: vg.Point{X: at.X + w, Y: y + 1.2}}, black)
	}
	fill(page, vg.Rectangle{Min: vg.Point{X: at.X + w - 1.2, Y: at.Y}, Max: vg.Point{X: at.X + w, Y: at.Y + h}}, black)
	st := middle(words(sansBold, 10, black))
	y := at.Y + h + 4
	write(page, st, at.X+2, y, "0")
	write(page, st, at.X+w/2, y, tickLabel(m/2/unitM))
	write(page, words(sansBold, 10, black), at.X+w-4, y, tickLabel(m/unitM)+" "+short)
	small := words(sans, 8.5, black)
	on := fmt.Sprintf("%.3g mm", float64(w/mm))
	if s.u == Imperial {
		on = fmt.Sprintf("%.3g in", float64(w/vg.Inch))
	}
	write(page, small, at.X, at.Y-13, fmt.Sprintf("1:%s. Printed at full size the bar is %s.", thousands(scale), on))
	up := "North is up."
	if s.net.drawn(scale) {
		up = "Squares are of " + tickLabel(s.net.stepM/unitM) + " " + short + ". " + up
	}
	write(page, small, at.X, at.Y-24, up)
}

// arrows are true north, and magnetic north turned as the needle is.
func (s *fieldSheet) arrows(page draw.Canvas, at vg.Point) {
	const long = 13 * mm
	st := middle(words(sansBold, 10, black))
	middleY := at.Y + 6*mm + long/2
	trueAt, magneticAt := at.X+4*mm, at.X+15*mm
	needle(page, vg.Point{X: trueAt, Y: middleY}, 0, long)
	write(page, st, trueAt, middleY+long/2+2, "N")
	small := middle(words(sans, 8, black))
	write(page, small, trueAt, at.Y, "true")
	m := s.magnetic
	if !s.compass() {
		write(page, small, magneticAt, middleY, "no")
		write(page, small, magneticAt, middleY-9, "compass")
		return
	}
	turn := m.DeclinationDeg * math.Pi / 180
	needle(page, vg.Point{X: magneticAt, Y: middleY}, turn, long)
	sin, cos := math.Sincos(turn)
	tip := long/2 + 6
	write(page, st, magneticAt+tip*vg.Length(sin), middleY+tip*vg.Length(cos)-3.5, "M")
	write(page, small, magneticAt, at.Y, "compass")
	write(page, small, magneticAt-4, at.Y-9, declination(m.DeclinationDeg))
}

// declination is where magnetic north lies, as 2.4° east.
func declination(deg float64) string {
	side := "east"
	if deg < 0 {
		side = "west"
	}
	return fmt.Sprintf("%.1f° %s", math.Abs(deg), side)
}

// compass reports whether a compass is of use.
func (s *fieldSheet) compass() bool {
	return !math.IsNaN(s.magnetic.DeclinationDeg) && s.magnetic.HorizontalNT > 0 && !s.magnetic.Blackout()
}

// needle is an arrow about a middle, turned clockwise from up.
func needle(c draw.Canvas, mid vg.Point, turn float64, long vg.Length) {
	sin, cos := math.Sincos(turn)
	at := func(right, up vg.Length) vg.Point {
		return vg.Point{X: mid.X + right*vg.Length(cos) + up*vg.Length(sin), Y: mid.Y - right*vg.Length(sin) + up*vg.Length(cos)}
	}
	c.StrokeLines(line(1.6, black), []vg.Point{at(0, -long/2), at(0, long/2-6)})
	shape(c, black, draw.LineStyle{}, at(0, long/2), at(-4, long/2-11), at(0, long/2-8.5), at(4, long/2-11))
}

// sheetKeyRow is a sign and what it means.
type sheetKeyRow struct {
	what   string
	sample func(draw.Canvas)
}

// keyRows explain patterns and signs in two columns.
func (s *fieldSheet) keyRows(page draw.Canvas, r vg.Rectangle) {
	const step = 4.6 * mm
	rows := append(s.groundRows(), s.signRows()...)
	perColumn := int(r.Size().Y / step)
	for i, row := range rows {
		x := r.Min.X + vg.Length(i/perColumn)*r.Size().X/2
		y := r.Max.Y - vg.Length(i%perColumn+1)*step
		b := vg.Rectangle{Min: vg.Point{X: x, Y: y}, Max: vg.Point{X: x + 8*mm, Y: y + 3.8*mm}}
		row.sample(draw.Canvas{Canvas: page.Canvas, Rectangle: b})
		write(page, words(sans, 8.5, black), x+10*mm, y+2.6, row.what)
	}
}

func (s *fieldSheet) groundRows() []sheetKeyRow {
	all := func(vg.Point) bool { return true }
	edged := func(paint func(draw.Canvas)) func(draw.Canvas) {
		return func(c draw.Canvas) { paint(c); frame(c, c.Rectangle, line(0.6, black)) }
	}
	swept, open, unsure := stateWords[surely], stateWords[untrodden], stateWords[doubt]
	if s.r.Certainty == nil {
		swept, open, unsure = "swept", "not swept: go here", "not swept: small"
	}
	rows := []sheetKeyRow{
		{open, edged(func(draw.Canvas) {})},
		{unsure, edged(func(c draw.Canvas) { dots(c, all) })},
		{swept, edged(func(c draw.Canvas) { hatch(c, hatchStep, line(0.5, hatchInk), all) })},
	}
	if len(s.r.Local.Keepouts) > 0 {
		rows = append(rows, sheetKeyRow{"keep-out", func(c draw.Canvas) {
			b := c.Rectangle
			crossed(c, [][]vg.Point{{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}, b.Min}})
			frame(c, b, line(1.4, black))
		}})
	}
	return rows
}

// across is a line through the middle of a sample.
func across(c draw.Canvas) []vg.Point {
	mid := middlePoint(c.Rectangle)
	return []vg.Point{{X: c.Min.X, Y: mid.Y}, {X: c.Max.X, Y: mid.Y}}
}

func (s *fieldSheet) signRows() (rows []sheetKeyRow) {
	add := func(what string, sample func(draw.Canvas)) { rows = append(rows, sheetKeyRow{what, sample}) }
	add("edge of the site", func(c draw.Canvas) { c.StrokeLines(line(2.6, black), across(c)) })
	if len(s.r.Gaps) > 0 {
		add("gap and its number", func(c draw.Canvas) {
			frame(c, c.Rectangle, line(1.9, black))
			halo(c, middle(words(sansBold, 9, black)), middlePoint(c.Rectangle).X, c.Min.Y+2.2, "7")
		})
	}
	if s.p != nil && len(s.p.Stops) > 0 {
		add("where a stop begins", func(c draw.Canvas) { stopDisc(c, middlePoint(c.Rectangle), 1) })
		add("lanes, to and fro", func(c draw.Canvas) {
			c.StrokeLines(line(1.2, black), across(c))
			arrowHead(c, middlePoint(c.Rectangle), c.Min, vg.Point{X: c.Max.X, Y: c.Min.Y}, 3.4)
		})
		add("way between stops", func(c draw.Canvas) { sheetWay(c, across(c)) })
		add("start, end", func(c draw.Canvas) { sheetEnd(c, middlePoint(c.Rectangle)) })
	}
	for _, mark := range []bool{false, true} {
		for _, l := range s.r.Local.Landmarks {
			if l.Mark == mark && l.Shape == site.PointShape {
				add(map[bool]string{false: "landmark", true: "mark"}[mark], func(c draw.Canvas) { sheetSymbol(c, middlePoint(c.Rectangle), mark) })
				break
			}
		}
	}
	return rows
}
