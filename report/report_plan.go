package report

import (
	"fmt"
	"io"
	"strconv"
	"strings"
)

// nextVisit is the plan: the map, where the time goes, each stop, and what other hours
// would bring. Its words are those of PlanText.
func (p *reporter) nextVisit() chapter {
	out := chapter{ID: "next", Title: "The next visit", NewPage: true}
	if p.s.Plan == nil {
		out.Blocks = []block{{Paras: []string{sentence(Printable(p.s.NoPlan))}}}
		return out
	}
	t := &planTexter{texter{r: p.r, u: p.u, told: &[]told{}}, p.s.Plan}
	out.Blocks = []block{{Paras: t.said(t.opening)[2:]}} // less the site's name and the figures
	if stops := p.s.Plan.Stops; len(stops) > 0 {
		first := &out.Blocks[0]
		first.Paras[0] = strings.TrimSuffix(first.Paras[0], ":") + "."
		first.Picture, first.Table = p.planMap(), t.stopTable()
		out.Blocks = append(out.Blocks, t.timeBlock(), t.findingBlock())
		for i := range stops {
			out.Blocks = append(out.Blocks, t.stopBlock(i))
		}
		out.Blocks = append(out.Blocks, block{Heading: "The way back", Paras: t.said(t.home)})
	}
	if len(p.s.Plan.Budgets) > 0 {
		out.Blocks = append(out.Blocks, p.otherHours(t))
	}
	if len(p.s.Plan.Left) > 0 {
		out.Blocks = append(out.Blocks, t.leftOut())
	}
	out.Blocks = append(out.Blocks, block{Heading: "Before you go", Paras: t.said(t.mind)})
	return out
}

// said gathers what a part of the list says, less what it sets in columns.
func (t *planTexter) said(part func()) []string {
	*t.told = nil
	part()
	return wordsOf(*t.told)
}

func (p *reporter) planMap() *figure {
	s := newPlanSheet(p.r, p.r.Tally, p.s.Plan, p.u)
	line, below := s.headline()
	return &figure{
		Alt: "Map of the next visit: " + line + ". The stops below tell the way.", Caption: line + ". " + capital(below) + ".",
		draw: func(w io.Writer) error { return planPNG(w, s, p.dpi) },
	}
}

// stopTable shows the stops side by side.
func (t *planTexter) stopTable() *pageTable {
	out := &pageTable{ID: "stops", Caption: "Stops, in walking order",
		Heads: []string{"Stop", "Gap", "New ground", "Way there", "Lanes", "Searching and digging"}, Right: []bool{true, false, true, true, true, true}}
	for _, s := range t.p.Stops {
		out.Rows = append(out.Rows, []string{strconv.Itoa(s.Number), capital(gapsOf(s)), squared(t.u.area(s.FreshM2)),
			t.u.length(s.ApproachM), strconv.Itoa(len(stopLanes(s))), duration(s.SearchS + s.DigS)})
	}
	return out
}

// timeBlock shows where the time goes.
func (t *planTexter) timeBlock() block {
	out := &pageTable{ID: "time", Caption: "Time on the way and on the lanes", Heads: []string{"Doing what", "Time", "On what"}, Right: []bool{false, true, false}}
	for _, row := range t.spent() {
		out.Rows = append(out.Rows, []string{capital(row[0]), row[1], row[2]})
	}
	return block{Heading: "Where the time goes", Table: out}
}

// findingBlock says how to keep to the lanes.
func (t *planTexter) findingBlock() block {
	paras := append(t.said(t.finding), t.said(t.compass)...)
	return block{Heading: "How to find the lanes", Paras: append(paras,
		"The routes and waypoints themselves, for a phone or handheld, are written by untrod plan with the same flags and day: next.gpx, and a list to print.")}
}

// stopBlock tells of one stop: why, how to get there, what to walk.
func (t *planTexter) stopBlock(i int) block {
	*t.told = nil
	t.stop(i)
	b := block{Heading: fmt.Sprintf("Stop %d: %s", t.p.Stops[i].Number, gapsOf(t.p.Stops[i]))}
	for _, line := range (*t.told)[1:] { // less what the heading and the table say
		if n := len(b.Terms); line.label == "" && n > 0 {
			b.Terms[n-1].Words = append(b.Terms[n-1].Words, line.words)
			continue
		}
		b.Terms = append(b.Terms, term{capital(line.label), []string{line.words}})
	}
	return b
}

func (p *reporter) otherHours(t *planTexter) block {
	out := &pageTable{ID: "hours", Caption: "What more or fewer hours would bring",
		Heads: []string{"Hours", "Time used", "New ground", capital(t.afterWords()), "Stops"}, Right: []bool{true, true, true, true, true}}
	for _, b := range t.p.Budgets {
		row := t.outlook(b)
		if b.Stops == 0 {
			row = [5]string{hours(b.Hours), nothing, "too short for any gap", nothing, "0"}
		}
		out.Rows = append(out.Rows, row[:])
	}
	return block{
		Heading: "Other hours", Table: out,
		Picture: &figure{
			Alt:     "Chart of new ground over the hours of a visit. The table below has every figure.",
			Caption: "New ground over the hours of a visit. " + (hoursChart{p.r, t.p, p.u}).below(),
			draw:    func(w io.Writer) error { return hoursPNG(w, p.r, t.p, p.u, p.dpi) },
		},
	}
}

// leftOut lists the gaps that are not in the plan.
func (t *planTexter) leftOut() block {
	out := &pageTable{ID: "left", Caption: "Gaps left for another day", Heads: []string{"Gap", "Area", "Why"}, Right: []bool{true, true, false}}
	for _, l := range t.p.Left[:min(len(t.p.Left), gapsStated)] {
		out.Rows = append(out.Rows, []string{strconv.Itoa(l.Gap), squared(t.u.area(l.AreaM2)), sentence(Printable(l.Why))})
	}
	b := block{Heading: "Left for another day", Table: out}
	if n := len(t.p.Left) - gapsStated; n > 0 {
		b.After = []string{"And " + count(n, "more gap") + "."}
	}
	return b
}
