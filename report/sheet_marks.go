package report

import (
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
)

const sheetNumbers = 60 // gaps numbered and listed

// symbols come before all words, so that none lies on one.
func (v *mapView) symbols() {
	for _, l := range v.s.r.Local.Landmarks {
		if at := v.g.point(middleOf(l)); l.Shape == site.PointShape && v.c.Contains(at) {
			sheetSymbol(v.c, at, l.Mark)
			v.names.take(box(at, 6, 6))
		}
	}
	if v.s.p != nil {
		v.ends()
	}
}

// sheetSymbol is a dot for a landmark, a triangle for a mark, larger than on a screen.
func sheetSymbol(c draw.Canvas, at vg.Point, mark bool) {
	if !mark {
		disc(c, at, 4.2, black, line(1.4, white))
		return
	}
	pts := []vg.Point{{X: at.X, Y: at.Y + 7.4}, {X: at.X - 6.5, Y: at.Y - 3.7}, {X: at.X + 6.5, Y: at.Y - 3.7}}
	shape(c, white, line(3.6, white), pts...)
	shape(c, white, line(1.8, black), pts...)
	disc(c, at, 1.5, black, draw.LineStyle{})
}

// ends marks where to set out, and where it ends.
func (v *mapView) ends() {
	set := v.s.p.Settings
	for i, q := range []grid.XY{set.Start, set.End} {
		at := v.g.point(q)
		if !v.c.Contains(at) || i == 1 && set.End == set.Start {
			continue
		}
		sheetEnd(v.c, at)
		v.names.take(box(at, 7, 7))
	}
}

func sheetEnd(c draw.Canvas, at vg.Point) {
	const r vg.Length = 6.5
	pts := []vg.Point{{X: at.X, Y: at.Y + r}, {X: at.X + r, Y: at.Y}, {X: at.X, Y: at.Y - r}, {X: at.X - r, Y: at.Y}}
	shape(c, white, line(3.6, white), pts...)
	shape(c, white, line(1.8, black), pts...)
	disc(c, at, 1.9, black, draw.LineStyle{})
}

// pin is a number that stands beside the place it means, or on it.
type pin struct {
	from, to vg.Point
	paint    func()
}

// drawPins draws the lines from places to their numbers before any number.
func (v *mapView) drawPins() {
	for _, p := range v.pins {
		if p.from != p.to {
			v.c.StrokeLines(line(3, white), []vg.Point{p.from, p.to})
			v.c.StrokeLines(line(1.2, black), []vg.Point{p.from, p.to})
			disc(v.c, p.from, 1.5, black, draw.LineStyle{})
		}
	}
	for _, p := range v.pins {
		p.paint()
	}
}

// numbers are those of gaps, then those of lanes.
func (v *mapView) numbers() {
	planned, tagged := v.s.plannedGaps(), []coverage.Gap(nil)
	for _, gp := range v.s.numbered() {
		at := v.g.point(gp.CentreXY)
		if !v.c.Contains(at) {
			continue
		}
		number := strconv.Itoa(gp.ID)
		st := middle(words(sansBold, 1.1*numberSize(gp.ID, v.g.points(gp.WidestM)/2), black))
		inPlan := slices.Contains(planned, gp.ID)
		r := box(at, widthOf(st, number)/2+1, 0.45*st.Font.Size)
		if !inPlan && st.Font.Size >= 9 && v.names.free(r) {
			v.names.take(r)
			v.pins = append(v.pins, pin{at, at, func() { halo(v.c, st, at.X, at.Y-0.36*st.Font.Size, number) }})
		} else if inPlan || v.s.p == nil {
			tagged = append(tagged, gp)
		}
	}
	for _, gp := range tagged {
		v.tag(v.g.point(gp.CentreXY), strconv.Itoa(gp.ID))
	}
	v.drawPins()
	if v.s.p != nil {
		v.laneNumbers()
	}
}

// numbered are the gaps that have their number on the map: the largest, and all of
// the plan.
func (s *fieldSheet) numbered() []coverage.Gap {
	planned := s.plannedGaps()
	var out []coverage.Gap
	for i, g := range s.r.Gaps {
		if i < sheetNumbers && !g.InDoubt || slices.Contains(planned, g.ID) {
			out = append(out, g)
		}
	}
	return out
}

// tag is a number in a box, with a line to the middle of its gap.
func (v *mapView) tag(at vg.Point, number string) {
	st := middle(words(sansBold, 9.5, black))
	half := vg.Point{X: widthOf(st, number)/2 + 3, Y: 6.2}
	if to, ok := v.names.near(at, math.Pi/3, vg.Point{X: half.X + 2, Y: half.Y + 2}, 5.5*mm, 4); ok {
		v.pins = append(v.pins, pin{at, to, func() { tagBox(v.c, to, half, number) }})
	}
}

func tagBox(c draw.Canvas, at, half vg.Point, number string) {
	r := box(at, half.X, half.Y)
	fill(c, r, white)
	frame(c, r, line(1.1, black))
	write(c, middle(words(sansBold, 9.5, black)), at.X, at.Y-3.4, number)
}
