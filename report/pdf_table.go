package report

// tableColumn is a column of a table on paper.
type tableColumn struct {
	head  string
	share float64 // of the table's width, beside the others
	right bool    // figures stand at its right
}

const (
	pdfCell = 8.0 // points
	pdfPad  = 1.0 // mm between a cell's text and its edges
	pdfGap  = 2.0 // mm more to the right of figures, so that they do not run into words
)

// table writes rows under the heads of their columns, which stand again on every
// page the table reaches. Long cells take several lines; a row stays on one page.
func (d *pdfDoc) table(cols []tableColumn, rows [][]string) {
	widths := d.widths(cols)
	heads := make([]string, len(cols))
	named := false
	for i, c := range cols {
		heads[i] = c.head
		named = named || c.head != ""
	}
	head := func() {
		if named {
			d.row(cols, widths, heads, true)
		}
	}
	d.room(16)
	head()
	for _, r := range rows {
		if d.room(d.rowHeight(widths, r)) {
			head()
		}
		d.row(cols, widths, r, false)
	}
	d.down(2.5)
}

func (d *pdfDoc) widths(cols []tableColumn) []float64 {
	sum := 0.0
	for _, c := range cols {
		sum += c.share
	}
	out := make([]float64, len(cols))
	for i, c := range cols {
		out[i] = d.width * c.share / sum
	}
	return out
}

// cellLines are the lines of a cell: at most a dozen, what is longer is cut.
func (d *pdfDoc) cellLines(text string, width float64) []string {
	const most = 12
	lines := d.lines(text, width-2*pdfPad-pdfGap)
	if len(lines) > most {
		lines = append(lines[:most-1:most-1], "…")
	}
	return lines
}

func (d *pdfDoc) rowHeight(widths []float64, cells []string) float64 {
	d.font(false, pdfCell)
	n := 1
	for i, c := range cells {
		n = max(n, len(d.cellLines(c, widths[i])))
	}
	return float64(n)*pdfCell*pdfLead + 2*pdfPad*0.7
}

func (d *pdfDoc) row(cols []tableColumn, widths []float64, cells []string, bold bool) {
	d.font(bold, pdfCell)
	x, top, h := pdfMargin, d.pdf.GetY(), 0.0
	d.ink()
	for i, c := range cells {
		y := top + pdfPad*0.7
		for _, l := range d.cellLines(c, widths[i]) {
			at := x + pdfPad
			if cols[i].right {
				at = x + widths[i] - pdfPad - pdfGap - d.pdf.GetStringWidth(l)
			}
			d.pdf.Text(at, y+pdfCell*0.34, l)
			y += pdfCell * pdfLead
		}
		x, h = x+widths[i], max(h, y+pdfPad*0.7-top)
	}
	d.pdf.SetDrawColor(0xB9, 0xB4, 0xA6)
	d.pdf.SetLineWidth(map[bool]float64{true: 0.4, false: 0.1}[bold])
	d.pdf.Line(pdfMargin, top+h, pdfMargin+d.width, top+h)
	d.down(h)
}
