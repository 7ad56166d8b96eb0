package report

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"time"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
)

// Paper is the size of a page.
type Paper int

const (
	A4     Paper = iota // 210 x 297 mm, ISO 216
	Letter              // 8.5 x 11 inches
)

// Papers are the names of the sizes, in order.
var Papers = []string{"a4", "letter"}

// mm of the page around what is printed; the foot stands within the lowest.
const (
	pdfMargin = 18.0
	pdfFoot   = 20.0
)

// mm from one baseline to the next, per point of the font's size.
const pdfLead = 0.3528 * 1.32

// pdfDoc is a document under way, filled from the top; what does not fit goes on
// the next page. Text may hold any script: see pdfText. The same calls with the
// same date make the same bytes. The first error is kept, and write returns it.
type pdfDoc struct {
	pdf   *fpdf.Fpdf
	width float64 // of the text, mm
	bold  bool
	size  float64 // of the font, points
	pics  int
}

// newPDF begins a document; foot stands on every page, before its number.
func newPDF(p Paper, title, foot string, issued time.Time) *pdfDoc {
	f := fpdf.New("P", "mm", []string{"A4", "Letter"}[p], "")
	f.SetProducer("untrod", true)
	f.SetTitle(plainText(title), true)
	f.SetLang("en")
	f.SetCatalogSort(true) // else objects come in the order of a map
	f.SetCreationDate(issued)
	f.SetModificationDate(issued)
	f.AddUTF8FontFromBytes("sans", "", liberationsansregular.TTF)
	f.AddUTF8FontFromBytes("sans", "B", liberationsansbold.TTF)
	f.SetMargins(pdfMargin, pdfMargin, pdfMargin)
	f.SetAutoPageBreak(false, 0)
	f.AliasNbPages("")
	w, _ := f.GetPageSize()
	d := &pdfDoc{pdf: f, width: w - 2*pdfMargin}
	f.SetFooterFunc(func() { d.foot(foot) })
	f.AddPage()
	return d
}

// write ends the document.
func (d *pdfDoc) write(w io.Writer) error { return d.pdf.Output(w) }

func (d *pdfDoc) foot(text string) {
	bold, size := d.bold, d.size
	d.font(false, 7.5)
	_, h := d.pdf.GetPageSize()
	number := fmt.Sprintf("page %d of {nb}", d.pdf.PageNo())
	d.pdf.SetTextColor(0x5A, 0x63, 0x65)
	d.pdf.Text(pdfMargin, h-11, d.cut(text, d.width-30))
	d.pdf.Text(pdfMargin+d.width-d.pdf.GetStringWidth(strings.ReplaceAll(number, "{nb}", "00")), h-11, number)
	d.ink()
	d.font(bold, size)
}

func (d *pdfDoc) ink() { d.pdf.SetTextColor(0x1F, 0x2A, 0x2C) }

func (d *pdfDoc) font(bold bool, size float64) {
	style := map[bool]string{true: "B"}[bold]
	d.bold, d.size = bold, size
	d.pdf.SetFont("sans", style, size)
}

// room makes sure that so many mm are left on the page, on a new one if need be.
func (d *pdfDoc) room(mm float64) (fresh bool) {
	if mm <= d.left() {
		return false
	}
	d.pdf.AddPage()
	return true
}

// left is how many mm of the page are left.
func (d *pdfDoc) left() float64 {
	_, h := d.pdf.GetPageSize()
	return h - pdfFoot - d.pdf.GetY()
}

func (d *pdfDoc) down(mm float64) { d.pdf.SetXY(pdfMargin, d.pdf.GetY()+mm) }

// heading writes a title of level 1 to 3, 1 the largest, and keeps it with some of
// what follows.
func (d *pdfDoc) heading(level int, text string) {
	size := []float64{20, 13, 10.5}[level-1]
	if level > 1 {
		d.down(0.45 * size * 0.3528)
	}
	d.room(size*pdfLead + 18)
	d.text(true, size, 0, text)
	d.down(1.5)
}

// para writes a paragraph.
func (d *pdfDoc) para(text string) {
	d.text(false, 9.5, 0, text)
	d.down(1.8)
}

// strong writes a paragraph in bold letters of the given size.
func (d *pdfDoc) strong(size float64, text string) {
	d.text(true, size, 0, text)
	d.down(2)
}

// list writes entries, each behind a dot.
func (d *pdfDoc) list(entries []string) {
	for _, e := range entries {
		d.font(false, 9.5)
		d.room(d.size * pdfLead)
		d.ink()
		d.pdf.Text(pdfMargin+1, d.pdf.GetY()+d.size*0.36, "•")
		d.text(false, 9.5, 5, e)
		d.down(0.8)
	}
	d.down(1)
}

// text writes lines that start indent mm from the margin.
func (d *pdfDoc) text(bold bool, size, indent float64, text string) {
	d.font(bold, size)
	for _, l := range d.lines(text, d.width-indent) {
		d.room(size * pdfLead)
		d.ink()
		d.pdf.Text(pdfMargin+indent, d.pdf.GetY()+size*0.36, l)
		d.down(size * pdfLead)
	}
}

// picture puts a PNG in the middle, as wide as the text if that leaves keep mm below
// it; smaller where it must be, but never under a third of the page's height: then
// it goes on the next page.
func (d *pdfDoc) picture(png []byte, keep float64) {
	d.pics++
	name := fmt.Sprintf("picture %d", d.pics)
	set := fpdf.ImageOptions{ImageType: "PNG"}
	info := d.pdf.RegisterImageOptionsReader(name, set, bytes.NewReader(png))
	if d.pdf.Err() {
		return
	}
	_, page := d.pdf.GetPageSize()
	d.room(page/3 + keep)
	w, h := d.width, d.width*info.Height()/info.Width()
	if most := d.left() - keep - 3; h > most {
		w, h = w*most/h, most
	}
	d.pdf.ImageOptions(name, pdfMargin+(d.width-w)/2, d.pdf.GetY(), w, h, false, set, 0, "")
	d.down(h + 3)
}
