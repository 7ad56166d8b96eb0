package report

import (
	"io"
	"time"
)

// mm kept free below the map on the first page, for its words and what is not claimed.
const notClaimedRoom = 62

// WritePDF writes the statement as a PDF with its fonts in it. Its date is that of
// issue; the same statement gives the same bytes.
func (s *Statement) WritePDF(w io.Writer, p Paper) error {
	issued, err := time.Parse(time.DateOnly, s.Content.Issued)
	if err != nil {
		return err
	}
	title := "Statement of coverage: " + nameOpens + siteName(s.r) + nameCloses
	d := newPDF(p, title, title+" · "+s.SHA256[:16], issued)
	d.heading(1, "Statement of coverage")
	d.strong(13, s.Content.Claim)
	d.table([]tableColumn{{"", 20, false}, {"", 80, false}}, s.facts())
	d.picture(s.png, notClaimedRoom)
	d.para(s.mapWords())
	d.heading(3, "What this does not claim")
	d.list(s.notClaimed())
	d.pdf.AddPage()
	for _, sec := range s.sections() {
		d.section(sec)
	}
	return d.write(w)
}

func (d *pdfDoc) section(s section) {
	d.heading(2, s.title)
	for _, p := range s.paras {
		d.para(p)
	}
	if len(s.list) > 0 {
		d.list(s.list)
	}
	if len(s.rows) > 0 {
		d.table(s.cols, s.rows)
	}
	for _, p := range s.after {
		d.para(p)
	}
}
