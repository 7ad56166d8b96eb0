package report

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"image/png"
	"io"
	"runtime"
	"time"

	"golang.org/x/sync/errgroup"

	"untrod/coverage"
	"untrod/plan"
	"untrod/site"
)

//go:embed report.html
var reportHTML string

var reportPage = pageOf(reportHTML, template.FuncMap{"words": markup})

// reportDPI makes pictures sharp on paper and on a laptop, and the file not larger than
// it need be.
const reportDPI = 150

const cssDPI = 96 // CSS pixels to the inch

// ReportSays is what a report says beside the result.
type ReportSays struct {
	Made    string // the day, 2006-01-02
	Program string // its version
	Units   Units
	Finds   []site.Find // all there are, also those without a place
	Plan    *plan.Plan  // the next visit; nil: none could be planned
	NoPlan  string      // why none could, in words
}

// WriteReport writes all there is to know of a site as one HTML file that needs no
// network, no script and nothing beside it: coverage, how sure it is, the visits, the
// landmarks compared where r.Comparison is there, the finds, the next visit, the gaps
// and what to mind. The same arguments make the same bytes. It fails for a day that is
// none.
func WriteReport(w io.Writer, r *coverage.Result, s ReportSays) error {
	return writeReport(w, r, s, reportDPI)
}

func writeReport(w io.Writer, r *coverage.Result, s ReportSays, dpi int) error {
	if _, err := time.Parse(time.DateOnly, s.Made); err != nil {
		return fmt.Errorf("day of the report %q: must be a date such as 2026-06-12", s.Made)
	}
	p := newReporter(r, s, dpi)
	chapters := p.chapters()
	if err := drawAll(chapters, dpi); err != nil {
		return err
	}
	return reportPage.Execute(w, map[string]any{
		"Title": plainText(siteName(r)) + ": the report", "Site": asName(siteName(r)), "Claim": p.st.Content.Claim,
		"Facts": p.facts(), "Chapters": chapters, "Foot": p.foot(),
	})
}

// reporter makes the chapters of a report, many of them as a statement has them.
type reporter struct {
	r   *coverage.Result
	s   ReportSays
	u   Units
	st  *Statement
	dpi int
}

func newReporter(r *coverage.Result, s ReportSays, dpi int) *reporter {
	c := StatementContent{Claim: claim(r, s.Units), Issued: s.Made}
	return &reporter{r: r, s: s, u: s.Units, st: &Statement{Content: c, r: r, u: s.Units}, dpi: dpi}
}

// facts are those of a statement, less the site's name, which is the title.
func (p *reporter) facts() [][]string { return p.st.facts()[1:] }

// chapter is a part of the report with a heading of its own.
type chapter struct {
	ID, Title string
	NewPage   bool // begins one on paper
	Blocks    []block
}

// block is a picture, words and tables under a heading, each of which may be missing.
type block struct {
	Heading string
	Paras   []string
	Picture *figure
	List    []string
	Terms   []term
	Table   *pageTable
	After   []string
}

// term is a label and what it stands for, in one or more paragraphs.
type term struct {
	Label string
	Words []string
}

// pageTable is a table whose first column names its rows.
type pageTable struct {
	ID, Caption string
	Heads       []string
	Right       []bool
	Rows        [][]string
}

// figure is a PNG inside the page, for those who see it and those who do not.
type figure struct {
	Alt, Caption  string
	URL           template.URL
	Width, Height int // as it is shown where there is room, CSS pixels
	draw          func(io.Writer) error
}

func (p *reporter) chapters() []chapter {
	out := []chapter{p.coverage(), p.certainty(), p.visits()}
	if p.r.Comparison != nil {
		out = append(out, p.landmarks())
	}
	out = append(out, p.finds(), p.nextVisit(), p.gapsLeft())
	if odd := p.st.oddSection(); len(odd.list) > 0 {
		out = append(out, chapter{ID: "odd", Title: odd.title, Blocks: []block{{List: odd.list}}})
	}
	return append(out,
		chapter{ID: "cautions", Title: "Cautions", Blocks: []block{{Paras: []string{cautionsLead}, List: cautionLines()}}},
		chapter{ID: "words", Title: "Words", Blocks: []block{{List: glossary}}})
}

// drawAll draws the pictures of all chapters, several at a time.
func drawAll(chapters []chapter, dpi int) error {
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	for _, c := range chapters {
		for _, b := range c.Blocks {
			if b.Picture != nil {
				g.Go(func() error { return b.Picture.fill(dpi) })
			}
		}
	}
	return g.Wait()
}

// fill draws the picture at so many pixels to the inch.
func (p *figure) fill(dpi int) error {
	var out bytes.Buffer
	if err := p.draw(&out); err != nil {
		return err
	}
	size, err := png.DecodeConfig(bytes.NewReader(out.Bytes()))
	if err != nil {
		return err
	}
	p.URL = pictureURL(out.Bytes())
	p.Width, p.Height = size.Width*cssDPI/dpi, size.Height*cssDPI/dpi
	return nil
}

// tableOf is the table of a section of a statement, for the report; nil without rows.
func tableOf(id, caption string, s section) *pageTable {
	if len(s.rows) == 0 {
		return nil
	}
	p := sectionOf(s)
	return &pageTable{ID: id, Caption: caption, Heads: p.Heads, Right: p.Right, Rows: p.Rows}
}

// foot says where the report is from.
func (p *reporter) foot() []string {
	return []string{
		"Made on " + p.st.Content.issuedDay() + " by untrod " + Printable(p.s.Program) + ". No part of it is fetched from anywhere: keep this one file, and all of it is there.",
		"It tells where the site and the finds lie. Share it with care.",
	}
}
