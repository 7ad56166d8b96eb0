package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"untrod/plan"
)

// budgets sets what other hours would bring side by side.
func (t *planTexter) budgets() {
	if len(t.p.Budgets) == 0 {
		return
	}
	t.line("")
	row := func(hours, used, fresh, after, stops string) {
		t.line("%-12s %12s %14s %14s %7s", hours, used, fresh, after, stops)
	}
	row("Hours", "time used", "new ground", t.afterWords(), "stops")
	for _, b := range t.p.Budgets {
		if b.Stops == 0 {
			t.line("%12s   too short for any gap", hours(b.Hours))
			continue
		}
		o := t.outlook(b)
		row(o[0], o[1], o[2], o[3], o[4])
	}
}

// outlook is what some hours would bring: hours, time used, new ground, the share swept
// then, and stops.
func (t *planTexter) outlook(b plan.Outlook) [5]string {
	return [5]string{hours(b.Hours), duration(b.UsedS), t.u.area(b.FreshM2), percent(b.ExpectedPercentAfter), strconv.Itoa(b.Stops)}
}

// afterWords heads the share swept after a visit.
func (t *planTexter) afterWords() string {
	if t.r.Certainty == nil {
		return "then swept"
	}
	return "then likely"
}

// hours writes 1 h, 2.5 h.
func hours(h float64) string { return strconv.FormatFloat(math.Round(h*100)/100, 'f', -1, 64) + " h" }

// left lists the gaps that are not in the plan, and why.
func (t *planTexter) left() {
	if len(t.p.Left) == 0 {
		return
	}
	t.line("")
	t.line("Left for another day")
	shown := t.p.Left[:min(len(t.p.Left), textLeft)]
	for _, l := range shown {
		t.para("  ", "gap %d, %s: %s", l.Gap, t.u.area(l.AreaM2), Printable(l.Why))
	}
	rest := 0.0
	for _, l := range t.p.Left[len(shown):] {
		rest += l.AreaM2
	}
	if n := len(t.p.Left) - len(shown); n > 0 {
		t.line("  and %s, %s in all", count(n, "more gap"), t.u.area(rest))
	}
}

// mind ends with the notes and the cautions.
func (t *planTexter) mind() {
	if len(t.p.Notes) > 0 {
		t.line("")
		for _, n := range t.p.Notes {
			t.para("", "%s", sentence(Printable(n)))
		}
	}
	t.line("")
	t.para("", "Before you search: only with the owner's leave and where the law allows it; protected sites are out of bounds. Mind wells and cellar holes. Leave what may be ammunition alone, move away and call the authorities. Report finds as the law asks. Do not walk with your eyes on a screen. This list tells others where you dig: share it with care.")
}

// sentence puts words that may be a fragment in the form of a sentence.
func sentence(s string) string {
	if s == "" || strings.HasSuffix(s, ".") {
		return s
	}
	return fmt.Sprintf("%s%s.", strings.ToUpper(s[:1]), s[1:])
}
