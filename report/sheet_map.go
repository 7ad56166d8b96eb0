package report

import (
	"fmt"
	"image/color"
	"strconv"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/grid"
)

// Inks of a sheet, all grey: what colour would tell is told by patterns.
var (
	black    = color.Gray{0}
	white    = color.Gray{255}
	netInk   = color.Gray{150}
	hatchInk = color.Gray{70}
	hush     = color.Gray{90}
)

// mapView is a window of the ground on a page.
type mapView struct {
	s      *fieldSheet
	c      draw.Canvas // the map alone
	g      toPage
	window grid.Bounds
	names  labels
	pins   []pin
}

// view is a window drawn with its middle at the middle of box, at 1 to scale.
func (s *fieldSheet) view(page draw.Canvas, box vg.Rectangle, window grid.Bounds) *mapView {
	v := &mapView{s: s, c: draw.Canvas{Canvas: page.Canvas, Rectangle: box}, window: window}
	p := plot.New()
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = window.Min.X, window.Max.X, window.Min.Y, window.Max.Y
	v.g = toPage{p, v.c}
	v.names = labels{c: v.c}
	return v
}

// mapBox is where the map is on a page.
func (s *fieldSheet) mapBox(wide bool) vg.Rectangle {
	size := mapSize(s.set.Paper, wide)
	min := vg.Point{X: sheetSide + labelSpace, Y: sheetSide + footLine + sheetFoot + labelSpace}
	return vg.Rectangle{Min: min, Max: min.Add(size)}
}

func (s *fieldSheet) mapPages() {
	for i, w := range s.maps {
		page := s.page(s.cut.wide)
		v := s.view(page, s.mapBox(s.cut.wide), s.cut.windows[w])
		v.neighbours(w)
		v.draw(page)
		name := "Map"
		if s.hasKeyMap() {
			name = fmt.Sprintf("Map %d of %d", i+1, len(s.maps))
		}
		s.head(page, name+", 1:"+thousands(s.cut.scale))
		s.mapFoot(page, s.cut.scale)
	}
}

func thousands(n int) string { return grouped(float64(n), 0) }

// draw fills the map.
func (v *mapView) draw(page draw.Canvas) {
	v.ground()
	v.keepouts()
	v.squares()
	v.landmarkLines()
	for _, b := range v.s.r.Local.Boundary {
		v.g.outline(b, line(2.6, black))
	}
	v.gaps(1.9, 0.9)
	if v.s.p != nil {
		v.ways()
		v.lanes()
	}
	v.symbols()
	if v.s.p != nil {
		v.stops()
	}
	v.numbers()
	v.placeNames()
	frame(v.c, v.c.Rectangle, line(1, black))
	v.letters(page)
}

// head is the title of a page, with what it is at the right.
func (s *fieldSheet) head(page draw.Canvas, what string) {
	y := page.Max.Y - sheetSide - 14
	st := words(sansBold, 13, black)
	write(page, right(st), page.Max.X-sheetSide, y, what)
	name := words(sansBold, 17, black)
	room := page.Size().X - 2*sheetSide - widthOf(st, what) - 20
	title := onPaper(siteName(s.r))
	for name.Font.Size > 11 && widthOf(name, title) > room {
		name.Font.Size--
	}
	write(page, name, sheetSide, y, shorten(name, title, room))
	now, _ := headline(s.r)
	below := words(sans, 10.5, black)
	write(page, below, sheetSide, y-16, shorten(below, now+s.planned(), page.Size().X-2*sheetSide))
}

// planned is what the plan brings, in a few words.
func (s *fieldSheet) planned() string {
	if s.p == nil || len(s.p.Stops) == 0 {
		return ""
	}
	return "; " + count(len(s.p.Stops), "stop") + " for " + squared(s.u.area(s.p.Expected.FreshM2)) + " in " + duration(s.p.UsedS)
}

// neighbours says at the edges which map goes on there.
func (v *mapView) neighbours(w int) {
	s, c := v.s, v.c.Rectangle
	column, columns := w%s.cut.columns, s.cut.columns
	mid := middlePoint(c)
	for _, e := range []struct {
		there bool
		next  int
		at    vg.Point
	}{
		{column > 0, w - 1, vg.Point{X: c.Min.X + 18, Y: mid.Y}},
		{column < columns-1, w + 1, vg.Point{X: c.Max.X - 18, Y: mid.Y}},
		{true, w - columns, vg.Point{X: mid.X, Y: c.Max.Y - 9}},
		{true, w + columns, vg.Point{X: mid.X, Y: c.Min.Y + 9}},
	} {
		if n := s.mapNumber(e.next); e.there && n > 0 {
			v.names.take(box(e.at, 18, 8))
			v.pins = append(v.pins, pin{e.at, e.at, func() { tagBox(v.c, e.at, vg.Point{X: 17, Y: 7}, "map "+strconv.Itoa(n)) }})
		}
	}
}

// mapNumber is the number of the map of a window, 0 when it is not drawn.
func (s *fieldSheet) mapNumber(window int) int {
	for i, w := range s.maps {
		if w == window {
			return i + 1
		}
	}
	return 0
}

// mapOf names the first map that shows a place, as in "map 2", where there are several.
func (s *fieldSheet) mapOf(q grid.XY) string {
	if !s.hasKeyMap() {
		return ""
	}
	for i, w := range s.maps {
		if inside(s.cut.windows[w], q) {
			return "map " + strconv.Itoa(i+1)
		}
	}
	return "on no map"
}
