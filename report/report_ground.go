package report

import (
	"fmt"
	"io"

	"untrod/coverage"
)

// coverage shows the map and where the ground went.
func (p *reporter) coverage() chapter {
	ground := &pageTable{ID: "ground", Caption: "Where the searchable ground went", Heads: []string{"Ground", "Area", "Share"}, Right: []bool{false, true, true}}
	for _, row := range groundRows(p.r, p.u) {
		ground.Rows = append(ground.Rows, []string{capital(row.What), row.Area, orDash(row.Share)})
	}
	line, _ := headline(p.r)
	b := block{
		Paras: p.lead(),
		Picture: &figure{
			Alt: fmt.Sprintf("Map of the site: %s. The words below it and the tables tell what it shows.", line), Caption: p.st.mapWords(),
			draw: func(w io.Writer) error { return mapPNG(w, newSheet(p.r, p.r.Tally, p.u), p.dpi) },
		},
		Table: ground, After: p.told((*texter).effort),
	}
	return chapter{ID: "coverage", Title: "Coverage", Blocks: []block{b}}
}

// certainty tells how the figures came about and how far to trust them.
func (p *reporter) certainty() chapter {
	blocks := []block{
		{Heading: "How wrong the positions may be", Paras: p.st.positions()},
		{Heading: "How coverage was worked out", Paras: p.st.method()},
		{Heading: "Swath and coil", Paras: p.st.swath()},
	}
	if d := p.r.Detection; d != nil {
		blocks = append(blocks, block{Heading: "What would have been found", Paras: p.st.detected(d)})
	}
	if c := p.r.Certainty; c != nil {
		blocks[0].Table = p.figures(c)
	}
	return chapter{ID: "certainty", Title: "How sure this is", Blocks: blocks}
}

// lead is what the text for a terminal begins with, less the name and the figures,
// which stand above.
func (p *reporter) lead() []string {
	all := p.told((*texter).lead)
	return all[min(2, len(all)-1):]
}

func (p *reporter) figures(c *coverage.Certainty) *pageTable {
	area := func(share float64) string { return squared(p.u.area(share / 100 * p.r.SearchableM2)) }
	return &pageTable{ID: "figures", Caption: "How much was swept", Heads: []string{"Figure", "Share", "Area", "What it is"}, Right: []bool{false, true, true, false},
		Rows: [][]string{
			{"At least", atLeast(c.AtLeastPercent), area(c.AtLeastPercent), "So much or more, with a chance of 95 in 100"},
			{"Most likely", percent(c.ExpectedPercent), area(c.ExpectedPercent), "9 times in 10: " + between(c.Interval90[0], c.Interval90[1])},
			{"As logged", percent(p.r.AsLoggedPercent), area(p.r.AsLoggedPercent), "Taking every position as true"},
		}}
}

// gapsLeft lists the gaps as the map numbers them.
func (p *reporter) gapsLeft() chapter {
	s := p.st.gapSection()
	return chapter{ID: "gaps", Title: s.title, Blocks: []block{{Paras: s.paras, Table: tableOf("gap-list", "Gaps, by their numbers on the map", s), After: s.after}}}
}

// told gathers what a part of the text for a terminal says, less what it sets in columns.
func (p *reporter) told(part func(*texter)) []string {
	var all []told
	part(&texter{r: p.r, u: p.u, told: &all})
	return wordsOf(all)
}

// wordsOf are the paragraphs; one that is set in deeper than the one before goes on it.
func wordsOf(all []told) (out []string) {
	for i, t := range all {
		if i > 0 && t.indent > all[i-1].indent {
			out[len(out)-1] += " " + t.words
			all[i].indent = all[i-1].indent
			continue
		}
		out = append(out, opening(t.words))
	}
	return out
}

// opening writes the first letter of a paragraph large, where it has one of ours.
func opening(s string) string {
	if s != "" && 'a' <= s[0] && s[0] <= 'z' {
		return capital(s)
	}
	return s
}

// nothing stands in a cell of a table that has nothing to tell.
const nothing = "–"

func orDash(s string) string {
	if s == "" {
		return nothing
	}
	return s
}
