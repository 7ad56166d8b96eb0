package report

import (
	"fmt"
	"io"
	"strings"
	"time"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/coverage"
	"untrod/plan"
)

// SheetSettings are the choices for a field sheet.
type SheetSettings struct {
	Paper Paper
	Scale int       // maps are 1 to so many; 0: chosen, see [SheetPDF]
	Place string    // words for the emergency box; empty: lines to fill in
	Day   time.Time // of the visit: for the compass, and the document's date
	Units Units
}

// SheetPDF writes pages to carry on a visit, to be read in grey and in rain: maps with
// patterns for states, a list to walk by, lines for finds, cautions and an emergency
// box. With a plan the list is its stops and lanes; p may be nil, then it is the gaps,
// largest first, at most 60.
//
// Scales are 1:200 to 1:2000, larger for ground that would be a spot. Chosen is the
// largest at which one page shows the site, if lanes then lie 1.8 mm apart or more; else
// the ground is cut into maps of 2.5 mm between lanes that overlap by 12 mm or more,
// with a map of the maps before them. Of those maps the ones with lanes (without a plan: gaps) are drawn, at most
// 24. Where the site lies is not told in degrees, unless Place is given.
//
// The same arguments give the same bytes. About 35 ms and 80 kB, and 10 ms and 10 to 30
// kB for each further map.
func SheetPDF(w io.Writer, r *coverage.Result, p *plan.Plan, set SheetSettings) error {
	return sheetPDF(w, r, p, r.Tally, set)
}

func sheetPDF(w io.Writer, r *coverage.Result, p *plan.Plan, ps passes, set SheetSettings) error {
	s, err := newFieldSheet(r, p, set)
	if err != nil {
		return err
	}
	s.ground = rasterise(r, ps)
	s.doc = newPDF(set.Paper, siteName(r)+": field sheet", "", set.Day)
	s.doc.pdf.SetFooterFunc(s.foot)
	s.fresh = true
	switch {
	case s.hasKeyMap():
		s.keyMap()
		s.mapPages()
		s.list()
	case s.cut.wide: // the page begun stands upright
		s.list()
		s.mapPages()
	default:
		s.mapPages()
		s.list()
	}
	s.finds()
	s.before()
	return s.doc.write(w)
}

// fieldSheet is a sheet under way.
type fieldSheet struct {
	r        *coverage.Result
	p        *plan.Plan // nil: gaps only
	set      SheetSettings
	u        Units
	doc      *pdfDoc
	fresh    bool // the page begun is still empty
	ground   raster
	magnetic plan.Magnetic
	cut      cutting
	maps     []int // windows drawn, in order
	useful   int   // windows worth drawing
	net      net
}

func newFieldSheet(r *coverage.Result, p *plan.Plan, set SheetSettings) (*fieldSheet, error) {
	s := &fieldSheet{r: r, p: p, set: set, u: set.Units}
	b := sheetGround(r, p)
	var err error
	if p != nil {
		s.magnetic = p.Magnetic
	} else if s.magnetic, err = plan.Declination(r.Frame.Datum(), 0, yearOf(set.Day)); err != nil {
		return nil, err
	}
	s.cut = cutUp(b, set.Paper, swathM(r.Settings), set.Scale)
	s.maps, s.useful = s.cut.drawn(r, p)
	s.net = netOver(s.cut.bounds(), s.cut.scale, s.u)
	return s, nil
}

// yearOf is a day as a decimal year.
func yearOf(day time.Time) float64 {
	y := day.Year()
	from, to := time.Date(y, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(y+1, 1, 1, 0, 0, 0, 0, time.UTC)
	return float64(y) + day.Sub(from).Hours()/to.Sub(from).Hours()
}

func (s *fieldSheet) hasKeyMap() bool { return len(s.cut.windows) > 1 }

const (
	sheetSide  = 9 * mm  // of the page that stays white
	sheetHead  = 16 * mm // for the title
	sheetFoot  = 32 * mm // for scale bar, arrows and key
	footLine   = 6 * mm
	labelSpace = 5 * mm // around the map for the letters of the grid
)

// mapSize is how large the map on a page is.
func mapSize(p Paper, wide bool) vg.Point {
	w, h := 210*mm, 297*mm
	if p == Letter {
		w, h = 8.5*vg.Inch, 11*vg.Inch
	}
	if wide {
		w, h = h, w
	}
	return vg.Point{X: w - 2*(sheetSide+labelSpace), Y: h - 2*(sheetSide+labelSpace) - sheetHead - sheetFoot - footLine}
}

// page begins a page, or goes on with one that is still empty.
func (s *fieldSheet) page(wide bool) draw.Canvas {
	switch {
	case s.fresh:
	case wide:
		s.doc.pdf.AddPageFormat("L", s.doc.pdf.GetPageSizeStr(Papers[s.set.Paper]))
	default:
		s.doc.pdf.AddPage()
	}
	s.fresh = false
	return onPage(s.doc.pdf)
}

// foot stands at the end of every page.
func (s *fieldSheet) foot() {
	c := onPage(s.doc.pdf)
	st := words(sans, 8, softInk)
	y := sheetSide - 1*mm
	number := fmt.Sprintf("page %d of {nb}", s.doc.pdf.PageNo())
	write(c, st, c.Max.X-sheetSide-widthOf(st, strings.Replace(number, "{nb}", "00", 1)), y, number)
	what := ", field sheet for " + s.set.Day.Format("2 January 2006")
	room := c.Size().X - 2*sheetSide - 70 - widthOf(st, what)
	write(c, st, sheetSide, y, shorten(st, onPaper(siteName(s.r)), room)+what)
}
