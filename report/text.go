package report

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

const (
	textWidth  = 80
	textGaps   = 10 // gaps listed
	textVisits = 20 // visits listed, the latest
)

// Text writes what a person wants to know, at most 80 columns wide: how much
// is swept, as one sentence; the effort; how well the coil swept and what would
// have been found, where that is known; the visits; the largest gaps and where
// they are; what was odd in the files; and what to mind before going.
func Text(w io.Writer, r *coverage.Result, u Units) error {
	t := &texter{r: r, u: u}
	t.lead()
	t.balance()
	t.effort()
	t.thoroughness()
	t.detection()
	t.visits()
	t.gaps()
	t.oddities()
	t.cautions()
	_, err := io.WriteString(w, t.out.String())
	return err
}

type texter struct {
	r    *coverage.Result
	u    Units
	out  strings.Builder
	told *[]told // where set, paragraphs go there whole, and what stands in columns nowhere
}

// told is a paragraph, and how it is labelled and set in.
type told struct{ label, words, indent string }

// para writes words as lines that start with indent.
func (t *texter) para(indent, format string, args ...any) {
	if t.told != nil {
		*t.told = append(*t.told, told{"", fmt.Sprintf(format, args...), indent})
		return
	}
	fits := func(s string) bool { return utf8.RuneCountInString(indent+s) <= textWidth }
	for _, l := range wrap(fmt.Sprintf(format, args...), fits) {
		for rest := []rune(l); len(rest) > 0; { // a long path may still be too wide
			n := min(len(rest), textWidth-len(indent))
			t.out.WriteString(indent + string(rest[:n]) + "\n")
			rest = rest[n:]
		}
	}
}

func (t *texter) line(format string, args ...any) {
	if t.told != nil {
		return
	}
	t.out.WriteString(strings.TrimRight(fmt.Sprintf(format, args...), " ") + "\n")
}

func (t *texter) lead() {
	t.para("", "%s", siteName(t.r))
	t.line("")
	if t.r.SearchableM2 == 0 {
		t.para("", "There is no ground to search: the keep-outs cover the whole site.")
		return
	}
	ground := "you can search"
	if t.r.OwnOutline {
		ground = "inside the outline drawn round your searched ground"
	}
	if t.r.Certainty != nil {
		t.leadSure(ground)
	} else {
		t.para("", "%s of the %s %s has been swept once or more, taking every fix as true.",
			percent(t.r.AsLoggedPercent), t.u.area(t.r.SearchableM2), ground)
		t.para("", "%s", perfect(t.r))
	}
	if t.r.OwnOutline {
		t.para("", "No site was given, so the ground stops just beyond what you searched and the percentage says little. Give the site's boundary to learn more.")
	}
}

// balance shows where all the searchable ground went.
func (t *texter) balance() {
	if t.r.SearchableM2 == 0 {
		return
	}
	if t.r.Certainty != nil {
		t.balanceSure()
	} else {
		t.balanceLogged()
	}
	if t.r.KeepoutM2 > 0 {
		t.line("  %-32s %14s", "keep-outs, not counted", t.u.area(t.r.KeepoutM2))
	}
	if t.r.CellChosen != "" {
		t.para("  ", "Ground is counted in %s.", t.r.CellChosen)
	}
}

func (t *texter) balanceLogged() {
	row := func(what string, m2 float64) {
		t.line("  %-32s %14s %10s", what, t.u.area(m2), percent(100*m2/t.r.SearchableM2))
	}
	gaps := 0.0
	for _, g := range t.r.Gaps {
		gaps += g.AreaM2
	}
	t.line("")
	row("swept", t.r.SweptM2)
	row("not swept: "+count(len(t.r.Gaps), "gap"), gaps)
	row("not swept: too small to bother", t.r.Slivers.AreaM2)
}

func (t *texter) effort() {
	if t.r.EffortM2 == 0 {
		return
	}
	t.line("")
	t.para("", "%s of your sweeping fell on ground already swept.", percent(t.r.RewalkedPercent))
	t.para("", "Wandering at random, the same effort would have swept %s of the site.",
		about(t.r.RandomSearchPercent))
}

func (t *texter) visits() {
	if len(t.r.Sessions) == 0 {
		return
	}
	t.line("")
	t.line("%-16s %12s %14s %10s  %s", "Visit (UTC)", "searching", "new ground", "rewalked", "file")
	shown := t.r.Sessions[max(0, len(t.r.Sessions)-textVisits):]
	if n := len(t.r.Sessions) - len(shown); n > 0 {
		t.line("  (%s not listed)", count(n, "earlier visit"))
	}
	for _, s := range shown {
		date := "no date"
		if s.Start.Known() {
			date = s.Start.Time().Format("2006-01-02 15:04")
		}
		searching := duration(s.Seconds[track.Searching])
		if s.Metres[track.Searching] > 0 && !s.Start.Known() {
			searching = "not timed"
		}
		t.line("%-16s %12s %14s %10s  %s", date, searching,
			t.u.area(s.NewGroundM2), percent(s.RewalkedPercent), cutTo(Printable(s.File), 22))
	}
	t.leftOut()
	t.ties()
	t.lanes()
}

// leftOut names the visits that the searcher left out.
func (t *texter) leftOut() {
	if n := len(t.r.LeftOut); n > 0 {
		t.line("")
		t.para("", "Left out as you asked, and counted for nothing: %s.", leftOutNames(t.r.LeftOut, textVisits, Printable))
	}
}

// leftOutNames are the first visits left out with their days, and how many more.
func leftOutNames(visits []coverage.Session, most int, shown func(string) string) string {
	var names []string
	for _, v := range visits[:min(len(visits), most)] {
		name := shown(v.Name)
		if v.Start.Known() {
			name += " (" + dayWords(v.Start.Time().UTC()) + ")"
		}
		names = append(names, name)
	}
	if n := len(visits) - most; n > 0 {
		names = append(names, fmt.Sprintf("and %d more", n))
	}
	return strings.Join(names, ", ")
}

// duration writes seconds in hours and minutes.
func duration(s float64) string {
	m := int(math.Round(s / 60))
	switch {
	case s <= 0:
		return "none"
	case m == 0:
		return "under 1 min"
	case m < 60:
		return fmt.Sprintf("%d min", m)
	}
	return fmt.Sprintf("%d h %02d min", m/60, m%60)
}

func cutTo(s string, runes int) string {
	if r := []rune(s); len(r) > runes {
		return string(r[:runes-1]) + "…"
	}
	return s
}

func (t *texter) gaps() {
	if len(t.r.Gaps) == 0 {
		return
	}
	t.line("")
	if len(t.r.Untrodden()) == 0 {
		t.inDoubt(t.r.Gaps)
		return
	}
	row := func(gap, area, widest, where string) {
		t.line("%-5s %12s %10s  %s", gap, area, widest, cutTo(where, 49))
	}
	row("Gap", "area", "widest", "where its middle is")
	gaps := t.r.Untrodden()
	shown := gaps[:min(len(gaps), textGaps)]
	for _, g := range shown {
		row(strconv.Itoa(g.ID), t.u.area(g.AreaM2), t.u.length(g.WidestM), t.where(g.CentreXY))
	}
	if n := len(gaps) - len(shown); n > 0 {
		t.line("  and %s", count(n, "more gap"))
	}
	t.inDoubt(t.r.Gaps[len(gaps):])
}

// inDoubt sums up the ground that may or may not have been swept.
func (t *texter) inDoubt(gaps []coverage.Gap) {
	m2 := 0.0
	for _, g := range gaps {
		m2 += g.AreaM2
	}
	if len(gaps) > 0 {
		t.para("", "Besides these, %s in doubt, %s in all: swept or not, the receiver cannot tell.",
			count(len(gaps), "piece"), t.u.area(m2))
	}
}

// where says how to find at: from the nearest named landmark that is a point,
// or from the site's centre when that is nearer.
func (t *texter) where(at grid.XY) string {
	from, name, best := grid.XY{}, "the centre", math.Hypot(at.X, at.Y)
	for _, l := range t.r.Local.Landmarks {
		if l.Shape != site.PointShape || len(l.XY) == 0 || Printable(l.Name) == "" {
			continue
		}
		if d := math.Hypot(at.X-l.XY[0].X, at.Y-l.XY[0].Y); d < best {
			from, name, best = l.XY[0], Printable(l.Name), d
		}
	}
	if best < 1 {
		return "at " + name
	}
	return fmt.Sprintf("%s %s of %s", t.u.paces(best), compass(at.X-from.X, at.Y-from.Y), name)
}

// compass names the nearest of eight directions, from true north.
func compass(east, north float64) string {
	names := []string{"north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"}
	return names[int(math.Round(math.Atan2(east, north)/(math.Pi/4))+8)%8]
}

func (t *texter) cautions() {
	t.line("")
	t.para("", "Before you go: have permission in writing and follow local law. Mind wells and cellar holes. If you meet ordnance, do not touch it; leave and report it.")
}
