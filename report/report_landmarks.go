package report

import (
	"io"

	"untrod/coverage"
)

// landmarks compares the ground round each landmark with the rest of the site. Its
// words and figures are those of CompareText.
func (p *reporter) landmarks() chapter {
	t := p.comparer()
	blocks := []block{{Paras: t.said(t.opening)[1:]}} // less the site's name
	if len(t.c.Zones) == 0 {
		blocks[0].Paras = append(blocks[0].Paras, t.said(t.conclusions)...)
	} else {
		blocks = append(blocks, block{
			Heading: "Side by side",
			Picture: &figure{
				Alt:     "Chart of the rings round each landmark: time searched, finds for the ground swept, and that against the rest of the site. The tables below have every figure.",
				Caption: newZoneChart(p.r, p.u).headline() + ".",
				draw:    func(w io.Writer) error { return zonesPNG(w, p.r, p.u, p.dpi) },
			},
		})
	}
	blocks = append(blocks, p.searchedHow(t))
	if len(t.c.Zones) > 0 && len(t.c.Placed) > 0 {
		blocks = append(blocks, p.whatItBrought(t), p.againstTheRest(t))
	}
	return chapter{ID: "landmarks", Title: "Landmarks compared", Blocks: blocks}
}

func (p *reporter) comparer() *compareTexter {
	return &compareTexter{texter{r: p.r, u: p.u, told: &[]told{}}, p.r.Comparison}
}

// said gathers what a part of the comparison says, less what it sets in columns.
func (t *compareTexter) said(part func()) []string {
	*t.told = nil
	part()
	return wordsOf(*t.told)
}

// searchedHow is the map of effort, and how hard each ring was searched.
func (p *reporter) searchedHow(t *compareTexter) block {
	b := block{
		Heading: "How hard it was searched",
		Picture: &figure{
			Alt:     "Map of the seconds of searching for each square metre of the site, darker where it was searched longer.",
			Caption: "Seconds of searching for each square metre, the darker the longer. Each place shows the mean of the ground about it.",
			draw: func(w io.Writer) error {
				return densityPNG(w, newDensitySheet(p.r, p.u, effortDensity(p.r), "how hard it was searched"), p.dpi)
			},
		},
	}
	if len(t.c.Zones) == 0 {
		return b
	}
	heads := []string{"Landmark", "Ring", "Ground", "Swept", "Most likely", "Passes", capital(secondsPer[p.u]), "Track"}
	if p.r.Certainty != nil {
		heads[3] = "Swept at least"
	}
	rows := t.zoneRows(func(z coverage.Zone) []string { w := t.effort(z); w[2] = orDash(w[2]); return w[:] })
	b.Table = zoneTable("ring-effort", "How hard each ring was searched", heads, rows)
	b.Table.dropEmpty()
	b.After = t.said(t.bareLandmarks)
	return b
}

// whatItBrought is the map of finds, and what each ring gave.
func (p *reporter) whatItBrought(t *compareTexter) block {
	_, per := t.per100()
	heads := []string{"Landmark", "Ring", "Finds", "Keepers", "Finds " + squared(per) + " swept", "Finds per hour"}
	rows := t.zoneRows(func(z coverage.Zone) []string { w := t.yield(z); return w[:] })
	return block{
		Heading: "What that brought", Picture: p.findMap(),
		Table: zoneTable("ring-finds", "What each ring brought", heads, rows),
		After: []string{"In brackets: 95 times in 100 the true figure lies between. Hours are those of searching, as logged."},
	}
}

func (p *reporter) findMap() *figure {
	return &figure{
		Alt:     "Map of the finds, and of finds for the ground swept, darker where there were more.",
		Caption: "Finds for the ground swept, the darker the more. A few finds make a dark spot: whether a ring is truly richer is told by the tables.",
		draw: func(w io.Writer) error {
			s := newDensitySheet(p.r, p.u, findDensity(p.r), "finds for the ground swept")
			s.finds = true
			return densityPNG(w, s, p.dpi)
		},
	}
}

// againstTheRest says which rings differ from the rest of the site, and which do not.
func (p *reporter) againstTheRest(t *compareTexter) block {
	b := block{Heading: "Richer or poorer than the rest", After: t.said(t.conclusions)}
	if t.c.Rest.Cells == 0 {
		return b
	}
	heads := []string{"Landmark", "Ring", "Times the finds", "p alone", "p together", "So"}
	rows := t.zoneRows(func(z coverage.Zone) []string { w := verdict(z); return w[:] })
	b.Table = zoneTable("ring-ratio", "Each ring against the rest of the site", heads, rows[:len(rows)-1])
	return b
}

// zoneRows are the cells of each zone with ground, under its landmark and ring; the
// rest of the site is last.
func (t *compareTexter) zoneRows(cells func(coverage.Zone) []string) (out [][]string) {
	for _, z := range t.c.Zones {
		if z.Cells > 0 {
			out = append(out, append([]string{asName(z.Landmark), t.ring(z)}, cells(z)...))
		}
	}
	return append(out, append([]string{"Rest of the site", ""}, cells(t.c.Rest)...))
}

// zoneTable is a table of zones: names, rings and the last word to the left, figures to
// the right. It is nil without rows.
func zoneTable(id, caption string, heads []string, rows [][]string) *pageTable {
	if len(rows) == 0 {
		return nil
	}
	t := &pageTable{ID: id, Caption: caption, Heads: heads, Rows: rows}
	for _, h := range heads {
		t.Right = append(t.Right, h != "Landmark" && h != "Ring" && h != "So")
	}
	return t
}
