package report

import (
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/grid"
	"untrod/plan"
)

const (
	listSide = sheetSide + 1*mm
	listStep = 5.2 * mm
	listType = 10.5
)

// listing fills pages of the list from the top.
type listing struct {
	s    *fieldSheet
	page draw.Canvas
	y    vg.Length // baseline of the next row
	head string
}

// listRow is a way to go, or a lane to walk. Without a length or a bearing those
// columns are empty.
type listRow struct {
	text    string
	m       float64
	trueDeg float64
}

// wordsRow is a row of words alone.
func wordsRow(text string) listRow { return listRow{text, math.NaN(), math.NaN()} }

func (l *listing) begin() {
	l.page = l.s.page(false)
	l.s.head(l.page, l.head)
	l.y = l.page.Max.Y - sheetSide - sheetHead - 6*mm
}

// columns are where figures end: paces, length, true and compass bearings.
func (l *listing) columns() [4]vg.Length {
	right := l.page.Max.X - listSide
	return [4]vg.Length{right - 56*mm, right - 37*mm, right - 19*mm, right}
}

func (l *listing) floor() vg.Length { return sheetSide + footLine + 4*mm }

// room begins a page unless so much is left.
func (l *listing) room(h vg.Length) {
	if l.y-h < l.floor() {
		l.begin()
		l.heads()
	}
}

func (l *listing) heads() {
	st := right(words(sansBold, 9.5, black))
	for i, head := range []string{"paces", "distance", "true", "compass"} {
		write(l.page, st, l.columns()[i], l.y, head)
	}
	l.rule(l.y-1.6*mm, 1.2)
	l.y -= listStep + 1.5*mm
}

func (l *listing) rule(y, width vg.Length) {
	l.page.StrokeLine2(line(width, black), listSide, y, l.page.Max.X-listSide, y)
}

// para writes words over the whole width.
func (l *listing) para(text string) {
	st := words(sans, listType, black)
	for _, t := range wrap(text, func(t string) bool { return widthOf(st, t) <= l.page.Size().X-2*listSide }) {
		if l.y < l.floor() {
			l.begin()
		}
		write(l.page, st, listSide, l.y, onPaper(t))
		l.y -= 4.9 * mm
	}
	l.y -= 1.5 * mm
}

// entry is a stop or a gap with its rows, kept on one page where it can be.
func (l *listing) entry(title, at, figures string, disc int, rows []listRow) {
	var lines [][]string
	h := 7.5 * mm
	for _, r := range rows {
		lines = append(lines, l.wrapped(r))
		h += listStep * vg.Length(len(lines[len(lines)-1]))
	}
	l.room(min(h, 200*mm))
	bold := words(sansBold, 11.5, black)
	x := listSide
	frame(l.page, vg.Rectangle{Min: vg.Point{X: x, Y: l.y - 1.2*mm}, Max: vg.Point{X: x + 4.4*mm, Y: l.y + 3.2*mm}}, line(1, black))
	x += 7 * mm
	if disc > 0 {
		stopDisc(l.page, vg.Point{X: x + discSize, Y: l.y + 1.1*mm}, disc)
		x += 8.5 * mm
	}
	title = shorten(bold, title, 70*mm)
	write(l.page, bold, x, l.y, title)
	write(l.page, words(sans, listType, black), x+widthOf(bold, title)+8, l.y, at)
	write(l.page, right(words(sans, listType, black)), l.columns()[3], l.y, figures)
	l.y -= 6 * mm
	for i, r := range rows {
		l.row(r, lines[i])
	}
	l.rule(l.y+listStep-1.7*mm, 0.5)
	l.y -= 1.5 * mm
}

// wrapped breaks the words of a row to its column.
func (l *listing) wrapped(r listRow) []string {
	room := l.columns()[0] - 14*mm - listSide - 7*mm
	if math.IsNaN(r.m) {
		room = l.columns()[3] - listSide - 7*mm
	}
	st := words(sans, listType, black)
	return wrap(r.text, func(t string) bool { return widthOf(st, t) <= room })
}

func (l *listing) row(r listRow, lines []string) {
	st := words(sans, listType, black)
	for i, t := range lines {
		if l.y < l.floor() {
			l.begin()
			l.heads()
		}
		write(l.page, st, listSide+7*mm, l.y, onPaper(t))
		if i == 0 {
			l.figures(r)
		}
		l.y -= listStep
	}
}

func (l *listing) figures(r listRow) {
	st, s := right(words(sansBold, listType, black)), l.s
	if math.IsNaN(r.m) {
		return
	}
	cols := l.columns()
	write(l.page, st, cols[0], l.y, grouped(float64(plan.Paces(r.m, s.paceM())), 0))
	write(l.page, right(words(sans, listType, black)), cols[1], l.y, s.u.length(r.m))
	if math.IsNaN(r.trueDeg) {
		return
	}
	at := compassed(r.trueDeg, s.magnetic)
	write(l.page, st, cols[2], l.y, threeDigits(at.trueDeg)+"°")
	if s.compass() {
		write(l.page, st, cols[3], l.y, threeDigits(at.magneticDeg)+"°")
	}
}

func (s *fieldSheet) paceM() float64 {
	if s.p != nil && s.p.Settings.PaceM > 0 {
		return s.p.Settings.PaceM
	}
	return plan.PaceM
}

// list is what to walk: the plan's stops, or without a plan the gaps.
func (s *fieldSheet) list() {
	l := &listing{s: s, head: "To walk"}
	l.begin()
	for _, text := range s.opening() {
		l.para(text)
	}
	if s.p == nil {
		l.gaps()
		return
	}
	l.stops()
}

// opening is what goes before the list.
func (s *fieldSheet) opening() (out []string) {
	stand := s.p
	if stand == nil {
		stand = &plan.Plan{Magnetic: s.magnetic, Settings: plan.Settings{PaceM: s.paceM()}}
	}
	said := func(tell func(*planTexter)) {
		t := &planTexter{texter{r: s.r, u: s.u}, stand}
		tell(t)
		if text := strings.Join(strings.Fields(t.out.String()), " "); text != "" {
			out = append(out, text)
		}
	}
	if s.p != nil && len(s.p.Stops) > 0 {
		out = append(out, "Set out from "+s.spot(s.p.Settings.Start)+".")
		said((*planTexter).finding)
	}
	if s.p != nil {
		for _, n := range s.p.Notes {
			out = append(out, capital(Printable(n))+".")
		}
	}
	if len(s.r.Gaps) > 0 {
		said((*planTexter).compass)
	}
	return out
}

// spot names a place by the landmark there, else by its square: a sheet that is lost
// should not say where the site lies.
func (s *fieldSheet) spot(q grid.XY) string {
	for _, l := range s.r.Local.Landmarks {
		for _, p := range l.XY {
			if name := Printable(l.Name); name != "" && apart(p, q) < 1 {
				return name
			}
		}
	}
	return "the place marked in square " + s.net.square(q)
}

// place is where on the maps something is: its square, and the map.
func (s *fieldSheet) place(q grid.XY) string {
	out := "square " + s.net.square(q)
	if m := s.mapOf(q); m != "" {
		out += ", " + m
	}
	return out
}
