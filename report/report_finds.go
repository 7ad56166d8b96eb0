package report

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"

	"untrod/coverage"
	"untrod/site"
)

// findsListed is how many finds a report lists.
const findsListed = 500

// finds lists the finds, their dates and readings, and what may be left.
func (p *reporter) finds() chapter {
	out := chapter{ID: "finds", Title: "Finds", Blocks: []block{p.findList()}}
	c := p.r.Comparison
	if c == nil || len(p.s.Finds) == 0 {
		return out
	}
	t := p.comparer()
	if len(c.Zones) == 0 && len(c.Placed) > 0 {
		out.Blocks[0].Picture = p.findMap()
	}
	if c.Dates.Dated > 0 {
		out.Blocks = append(out.Blocks, p.dated(t))
	}
	for i, r := range c.Readings {
		out.Blocks = append(out.Blocks, readingBlock(i, r))
	}
	if n := len(out.Blocks); len(c.Readings) > 0 {
		out.Blocks[n-1].After = append(out.Blocks[n-1].After, t.said(t.readings)...)
	}
	if left := append(t.said(t.left), t.said(t.fresh)...); len(left) > 0 {
		out.Blocks = append(out.Blocks, block{Heading: "Left in the ground", Paras: left})
	}
	return out
}

// findList is a table of the finds by time, those without one last.
func (p *reporter) findList() block {
	if len(p.s.Finds) == 0 {
		return block{Paras: []string{"No finds are noted."}}
	}
	all := slices.Clone(p.s.Finds)
	slices.SortStableFunc(all, func(a, b site.Find) int {
		if a.T.Known() != b.T.Known() {
			return map[bool]int{true: -1, false: 1}[a.T.Known()]
		}
		return cmp.Compare(a.T, b.T)
	})
	t := &pageTable{ID: "find-list", Caption: "Finds, the earliest first",
		Heads: []string{"Find", "Found", "Where", "What it was", "Material", "Dated", "Depth", "Reading", "Note"},
		Right: []bool{false, false, false, false, false, false, true, false, false}}
	for _, f := range all[:min(len(all), findsListed)] {
		t.Rows = append(t.Rows, p.findRow(f))
	}
	t.dropEmpty()
	b := block{Paras: []string{capital(count(len(all), "find")) + "."}, Table: t}
	if n := len(all) - findsListed; n > 0 {
		b.After = []string{"And " + count(n, "more find") + ", which the book has."}
	}
	return b
}

// dropEmpty leaves out the columns in which no row has anything.
func (t *pageTable) dropEmpty() {
	for i := len(t.Heads) - 1; i > 0; i-- {
		if slices.ContainsFunc(t.Rows, func(row []string) bool { return row[i] != nothing }) {
			continue
		}
		t.Heads, t.Right = slices.Delete(t.Heads, i, i+1), slices.Delete(t.Right, i, i+1)
		for k := range t.Rows {
			t.Rows[k] = slices.Delete(t.Rows[k], i, i+1)
		}
	}
}

func (p *reporter) findRow(f site.Find) []string {
	name, day, where, depth := asName(f.Name), nothing, "no place noted", nothing
	if name == "" {
		name = "without a name"
	}
	if f.T.Known() {
		day = f.T.Time().UTC().Format("2006-01-02")
	}
	if f.Placed() {
		where = (&texter{r: p.r, u: p.u}).where(p.r.Frame.ToXY(f.Pos))
	}
	if !math.IsNaN(f.DepthM) {
		depth = p.u.small(f.DepthM)
	}
	return []string{name, day, where, string(f.Verdict), orDash(asName(f.Material)), datedWords(f), depth, orDash(asName(f.Reading)), orDash(asName(f.Note))}
}

// datedWords is when a find was made, as far as that is known.
func datedWords(f site.Find) string {
	from, to := f.From != site.NoYear, f.To != site.NoYear
	switch {
	case from && to && f.From == f.To:
		return yearWords(float64(f.From))
	case from && to:
		return yearWords(float64(f.From)) + " to " + yearWords(float64(f.To))
	case from:
		return "after " + yearWords(float64(f.From))
	case to:
		return "before " + yearWords(float64(f.To))
	}
	return nothing
}

func (p *reporter) dated(t *compareTexter) block {
	d := t.c.Dates
	return block{
		Heading: "How old they are",
		Picture: &figure{
			Alt:     fmt.Sprintf("Bar chart of the finds by ten years; their mean is %s.", yearWords(d.Mean)),
			Caption: "Finds per ten years, each spread evenly over the years its date lies between.",
			draw:    func(w io.Writer) error { return datesPNG(w, p.r, p.dpi) },
		},
		Paras: t.said(t.dates),
	}
}

// readingBlock is what the readings of one detector turned out to be.
func readingBlock(i int, r coverage.DetectorReadings) block {
	b := block{Heading: "Readings"}
	if d := asName(r.Detector); d != "" {
		b.Heading += ", " + d
	}
	b.Table = &pageTable{ID: "readings-" + strconv.Itoa(i+1), Caption: b.Heading + ", band by band",
		Heads: []string{"Band", "Dug", "Keepers", "Share of keepers", "Keepers lost by skipping all under its end", "Scrap spared by that"},
		Right: []bool{false, true, true, true, true, true}}
	for k, band := range r.Bands {
		w := bandWords(band, r.Rules[k])
		b.Table.Rows = append(b.Table.Rows, w[:])
	}
	return b
}
