package report

import (
	"fmt"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/grid"
)

// findColumns are what to note of a find, and how wide each is beside the others.
var findColumns = []tableColumn{
	{head: "no.", share: 9}, {head: "square", share: 15}, {head: "from landmark: paces, bearing", share: 44},
	{head: "signal", share: 18}, {head: "depth", share: 15}, {head: "what it was", share: 50}, {head: "time", share: 14},
}

// finds is a page of lines to write on.
func (s *fieldSheet) finds() {
	const step = 9.2 * mm
	page := s.page(false)
	s.head(page, "Finds")
	x := s.findLines(page)
	top := page.Max.Y - sheetSide - sheetHead - 4*mm
	st := words(sansBold, 9, black)
	for i, c := range findColumns {
		write(page, st, x[i]+1.2*mm, top, c.head)
	}
	y, row := top-2*mm, 1
	first := y
	page.StrokeLine2(line(1.4, black), x[0], y, x[len(x)-1], y)
	for ; y-step > sheetSide+footLine+12*mm; row++ {
		y -= step
		page.StrokeLine2(line(0.7, black), x[0], y, x[len(x)-1], y)
		write(page, words(sans, 9, hush), x[0]+1.2*mm, y+2.6*mm, fmt.Sprint(row))
	}
	for _, at := range x {
		page.StrokeLine2(line(0.7, black), at, first, at, y)
	}
	write(page, words(sans, 9.5, black), x[0], y-5.5*mm, "Where in doubt whether to dig, do not. Bag finds one by one with their number, and fill every hole.")
}

// findLines are where the lines between columns stand.
func (s *fieldSheet) findLines(page draw.Canvas) []vg.Length {
	sum := 0.0
	for _, c := range findColumns {
		sum += c.share
	}
	at := vg.Length(listSide)
	out := []vg.Length{at}
	for _, c := range findColumns {
		at += (page.Max.X - 2*listSide) * vg.Length(c.share/sum)
		out = append(out, at)
	}
	return out
}

// before is the page to read before going: whom to call and where, and what to mind.
func (s *fieldSheet) before() {
	page := s.page(false)
	s.head(page, "Before you go")
	y := s.emergency(page, page.Max.Y-sheetSide-sheetHead-2*mm)
	s.doc.pdf.SetXY(pdfMargin, float64((page.Max.Y-y)/mm)+3)
	s.doc.heading(2, "Cautions")
	s.doc.strong(9.5, cautionsLead)
	s.doc.list(cautionLines())
	s.notes(page, page.Max.Y-vg.Length(s.doc.pdf.GetY())*mm)
}

// notes are lines to write on, from y down.
func (s *fieldSheet) notes(page draw.Canvas, y vg.Length) {
	const step = 9 * mm
	y -= 6 * mm
	if y < sheetSide+footLine+2*step {
		return
	}
	write(page, words(sansBold, 11, black), listSide, y, "Notes")
	for y -= step; y > sheetSide+footLine+3*mm; y -= step {
		page.StrokeLine2(line(0.7, black), listSide, y, page.Max.X-listSide, y)
	}
}

// emergency is a box of lines to fill in, and of where one is if that is wanted. It
// returns where it ends.
func (s *fieldSheet) emergency(page draw.Canvas, top vg.Length) vg.Length {
	const step = 9.5 * mm
	left, right := listSide, page.Max.X-listSide
	y := top - 7*mm
	write(page, words(sansBold, 13, black), left+3*mm, y, "In an emergency")
	y -= step
	for _, row := range s.emergencyRows() {
		write(page, words(sansBold, 10, black), left+3*mm, y, row[0])
		at := left + 58*mm
		if row[1] == "" {
			page.StrokeLine2(line(0.7, black), at, y-1*mm, right-3*mm, y-1*mm)
			y -= step
			continue
		}
		st := words(sans, 10.5, black)
		for _, l := range wrap(row[1], func(t string) bool { return widthOf(st, t) <= right-3*mm-at }) {
			write(page, st, at, y, onPaper(l))
			y -= 5 * mm
		}
		y -= step - 5*mm
	}
	y += step - 5*mm
	frame(page, vg.Rectangle{Min: vg.Point{X: left, Y: y}, Max: vg.Point{X: right, Y: top}}, line(2.2, black))
	return y
}

func (s *fieldSheet) emergencyRows() [][2]string {
	place := [][2]string{{"Where we are", ""}}
	if s.set.Place != "" {
		b := sheetGround(s.r, nil)
		mid := s.r.Frame.ToLonLat(grid.XY{X: (b.Min.X + b.Max.X) / 2, Y: (b.Min.Y + b.Max.Y) / 2})
		place = [][2]string{{"Where we are", Printable(s.set.Place)}, {"Latitude, longitude", fmt.Sprintf("%.5f°, %.5f° (WGS 84), the middle of the site", mid.Lat, mid.Lon)}}
	}
	return append([][2]string{{"Emergency number here", ""}}, append(place, [][2]string{
		{"Nearest road, way in", ""}, {"Who knows where we are", ""}, {"Back by", ""}, {"Owner of the land", ""},
	}...)...)
}
