package report

import (
	"strconv"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/plan"
)

// legend explains the map and lists the stops.
func (s *planSheet) legend(ground draw.Canvas) {
	s.layLegend(ground, s.points, s.key, s.stopList)
}

// key is that of the map, with what the plan adds.
func (s *planSheet) key(c *column) {
	defer s.slowKey(c)
	if len(s.p.Stops) == 0 {
		s.sheet.key(c)
		return
	}
	middleY := func(r vg.Rectangle) vg.Length { return (r.Min.Y + r.Max.Y) / 2 }
	s.row(c, "where a stop begins, by number", "", func(r vg.Rectangle) { badge(c.Canvas, middlePoint(r), "1") })
	what := "lanes, walked to and fro"
	if s.thinned() {
		what = "lanes, not all of them drawn"
	}
	s.row(c, what, "", func(r vg.Rectangle) {
		a, b := vg.Point{X: r.Min.X, Y: middleY(r)}, vg.Point{X: r.Max.X, Y: middleY(r)}
		laneStrokes(c.Canvas, 12).draw([][]vg.Point{{a, b}})
		arrowHead(c.Canvas, vg.Point{X: (a.X + b.X) / 2, Y: a.Y}, a, b, 3)
	})
	s.row(c, "way between stops", "", func(r vg.Rectangle) {
		wayLine(c.Canvas, []vg.Point{{X: r.Min.X, Y: middleY(r)}, {X: r.Max.X, Y: middleY(r)}})
	})
	s.row(c, "gap to walk on this visit", "", func(r vg.Rectangle) { frame(c.Canvas, r, line(1.6, gapEdge)) })
	ends := "start and end"
	if s.p.Settings.Start != s.p.Settings.End {
		ends = "start, end"
	}
	s.row(c, ends, "", func(r vg.Rectangle) { endMark(c.Canvas, middlePoint(r)) })
	s.sheet.key(c)
}

// thinned reports whether lanes lie too close on the page to draw each.
func (s *planSheet) thinned() bool {
	for _, stop := range s.p.Stops {
		for _, b := range stop.Blocks {
			if len(b.Lanes) > 1 && s.points*vg.Length(b.SpacingM) < leastLaneStep {
				return true
			}
		}
	}
	return false
}

// stopRow is where the parts of a row of the list of stops end, gap where it begins;
// without room for all stops in one column gaps are left out.
type stopRow struct {
	heading               string
	gap, area, time, step vg.Length
}

var (
	fullRow  = stopRow{"Stops: gap, new ground, time", 18, 83, 118, 129}
	closeRow = stopRow{"Stops: new ground, time", 0, 54, 86, 98}
)

// stopList lists the stops, as many as have room above floor.
func (s *planSheet) stopList(c *column, floor vg.Length) {
	if len(s.p.Stops) == 0 {
		return
	}
	row, perColumn := fullRow, max(int((c.y-rowStep-floor)/gapStep)+1, 1)
	if len(s.p.Stops) > perColumn*max(1, int((c.Size().X+14)/row.step)) {
		row = closeRow
	}
	write(c.Canvas, words(sansBold, 8.5, ink), c.Min.X, c.y, row.heading)
	c.down(rowStep)
	room := perColumn * max(1, int((c.Size().X+14)/row.step))
	shown := s.p.Stops
	if len(shown) > room {
		shown = shown[:room-1]
	}
	at := func(i int) (x, y vg.Length) {
		return c.Min.X + vg.Length(i/perColumn)*row.step, c.y - vg.Length(i%perColumn)*gapStep
	}
	for i, stop := range shown {
		x, y := at(i)
		s.stopRow(c.Canvas, row, vg.Point{X: x, Y: y}, stop)
	}
	if n := len(s.p.Stops) - len(shown); n > 0 {
		x, y := at(len(shown))
		write(c.Canvas, words(sans, 8, softInk), x+6, y, "and "+grouped(float64(n), 0)+" more")
	}
}

func (s *planSheet) stopRow(c draw.Canvas, row stopRow, at vg.Point, stop plan.Stop) {
	txt := words(sans, 8, ink)
	write(c, right(words(sansBold, 8, ink)), at.X+13, at.Y, strconv.Itoa(stop.Number))
	if row.gap > 0 {
		write(c, txt, at.X+row.gap, at.Y, shorten(txt, shortGaps(stop), 34))
	}
	write(c, right(txt), at.X+row.area, at.Y, squared(s.u.area(stop.FreshM2)))
	write(c, right(txt), at.X+row.time, at.Y, shortTime(stop.SearchS+stop.DigS))
}

// shortGaps is 7, 7b, or 7, 9, 12.
func shortGaps(s plan.Stop) (out string) {
	for i, g := range s.Gaps {
		if i > 0 {
			out += ", "
		}
		out += strconv.Itoa(g)
	}
	return out + s.Part
}

func shortTime(s float64) string {
	if s >= 2*3600 {
		return grouped(s/3600, 1) + " h"
	}
	return strconv.Itoa(max(1, int(s/60+0.5))) + " min"
}
