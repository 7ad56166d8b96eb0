package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
)

const textLeft = 8 // gaps left out that are listed

// PlanText writes the walking list, at most 80 columns wide: what the visit will
// bring, how to find lanes where the receiver cannot lead, each stop with the way to
// its first lane from things that can be seen and the lanes to walk there, what other
// hours would bring, what was left out and why, and what to mind.
func PlanText(w io.Writer, r *coverage.Result, p *plan.Plan, u Units) error {
	t := &planTexter{texter{r: r, u: u}, p}
	t.opening()
	if len(p.Stops) > 0 {
		t.finding()
		t.compass()
		for i := range p.Stops {
			t.stop(i)
		}
		t.home()
	}
	t.budgets()
	t.left()
	t.mind()
	_, err := io.WriteString(w, t.out.String())
	return err
}

type planTexter struct {
	texter
	p *plan.Plan
}

// hang writes a labelled paragraph, its lines below one another.
func (t *planTexter) hang(label, format string, args ...any) {
	if t.told != nil {
		*t.told = append(*t.told, told{label, fmt.Sprintf(format, args...), ""})
		return
	}
	const indent = 10
	fits := func(s string) bool { return utf8.RuneCountInString(s) <= textWidth-indent }
	for _, l := range wrap(fmt.Sprintf(format, args...), fits) {
		for _, piece := range cutRunes(l, textWidth-indent) {
			t.line("   %-*s%s", indent-3, label, piece)
			label = ""
		}
	}
}

// cutRunes cuts what no blank parts into pieces of at most n.
func cutRunes(s string, n int) (out []string) {
	r := []rune(s)
	for len(r) > n {
		out, r = append(out, string(r[:n])), r[n:]
	}
	return append(out, string(r))
}

func (t *planTexter) opening() {
	t.para("", "%s: the next visit", siteName(t.r))
	t.line("")
	now, below := headline(t.r)
	if below != "" {
		now += " (" + below + ")"
	}
	t.para("", "%s.", now)
	s := t.p.Settings
	switch {
	case t.p.NoGaps:
		t.para("", "No gaps are left to walk.")
		t.secondPass()
	case len(t.p.Stops) == 0:
		t.para("", "Nothing can be planned for %s.", duration(s.BudgetS))
	default:
		back := "back there"
		if s.End != s.Start {
			back = "on to " + t.spot(s.End)
		}
		t.para("", "%s from %s and %s, in %s of the %s there are:", capital(count(len(t.p.Stops), "stop")),
			t.spot(s.Start), back, duration(t.p.UsedS), duration(s.BudgetS))
		t.times()
		t.outcome()
	}
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// times shows where the time goes.
func (t *planTexter) times() {
	t.line("")
	for _, row := range t.spent() {
		t.line("  %-12s %12s   %s", row[0], row[1], row[2])
	}
	t.line("")
}

// spent is what the time goes on, how long, and on how much of it.
func (t *planTexter) spent() [3][3]string {
	p := t.p
	return [3][3]string{
		{"searching", duration(p.SearchS), t.u.length(p.LaneM) + " of lanes at " + t.u.pace(p.Settings.SearchMS)},
		{"walking", duration(p.WalkS), t.u.length(p.WalkM) + " at " + t.u.pace(p.Settings.WalkMS)},
		{"standing", duration(p.DigS), fmt.Sprintf("to dig, %.0f min for each hour of searching", 60*p.Settings.DigShare)},
	}
}

// outcome says what the visit will bring.
func (t *planTexter) outcome() {
	e := t.p.Expected
	t.para("", "Walked where they are drawn, its lanes should bring about %s of new ground.", t.u.area(e.FreshM2))
	c := t.r.Certainty
	if c == nil {
		t.para("", "As logged, %s will then be swept, where it is %s now.", percent(e.AsLoggedPercentAfter), percent(t.r.AsLoggedPercent))
		return
	}
	t.para("", "At least %s will then be swept, where it is %s now; most likely %s, now %s.",
		atLeast(e.AtLeastPercentAfter), atLeast(c.AtLeastPercent), about(e.ExpectedPercentAfter), percent(c.ExpectedPercent))
}

// spot names a place by the landmark there, or gives its position.
func (t *planTexter) spot(at grid.XY) string {
	for _, l := range t.r.Local.Landmarks {
		for _, q := range l.XY {
			if name := Printable(l.Name); name != "" && apart(q, at) < 1 {
				return name
			}
		}
	}
	p := t.r.Frame.ToLonLat(at)
	return fmt.Sprintf("%.5f,%.5f", p.Lat, p.Lon) // as --start takes it
}

// secondPass says what there is to gain where no gap is left.
func (t *planTexter) secondPass() {
	s := t.p.SecondPass
	if s == nil {
		return
	}
	what := "most likely swept, now %s, would be %s"
	if s.Detection {
		what = "the chance to find what lies anywhere, now %s, would be %s"
	}
	t.para("", "A second pass over all of it, in lanes at right angles to the first, would take %s of searching on %s of lanes; "+what+".",
		duration(s.SearchS), t.u.length(s.LaneM), percent(s.NowPercent), percent(s.AfterPercent))
}

// finding says how to keep to the lanes.
func (t *planTexter) finding() {
	t.line("")
	sd, half := t.r.Settings.Position.Receiver.TotalM(), swathM(t.r.Settings)/2
	if t.p.Guided {
		t.para("", "The receiver can lead you: load next.gpx and follow the routes, one for each block of lanes.")
		return
	}
	t.para("", "The receiver cannot keep you on a lane: it is right to %s two times in three, and half a swath is %s. Find where a stop begins %s, lay a string line or flags along its first lane, and measure each next lane from there. Lanes walked so and declared as laid out afterwards count on your word.",
		t.u.length(twoInThree*sd), t.u.length(half), t.by())
}

// by says what to find the beginning of a stop by.
func (t *planTexter) by() string {
	if slices.ContainsFunc(t.p.Stops, func(s plan.Stop) bool { return len(s.Reach) > 0 }) {
		return "from the landmarks given"
	}
	return "by its position as well as you can, for the site has no landmark near"
}

// compass says how bearings are to be read.
func (t *planTexter) compass() {
	m := t.p.Magnetic
	side := "east"
	if m.DeclinationDeg < 0 {
		side = "west"
	}
	paces := fmt.Sprintf("Paces are of %s.", t.u.small(t.p.Settings.PaceM))
	switch {
	case math.IsNaN(m.DeclinationDeg) || m.HorizontalNT == 0:
		t.para("", "%s Bearings are from true north.", paces)
		return
	case m.Blackout():
		t.para("", "%s A compass is of no use here, so near the magnetic pole; bearings are from true north.", paces)
		return
	}
	t.para("", "%s Bearings are given from true north and as a compass shows them: magnetic north is %.1f degrees %s of true north, right to %.1f two times in three (World Magnetic Model 2025, until %.0f). Keep the compass away from the detector and the spade.",
		paces, math.Abs(m.DeclinationDeg), side, m.ErrorDeg, plan.MagneticUntil)
	if m.Expired {
		t.para("", "The visit is outside the years that model is made for, %.0f to %.0f: check the compass on a line whose bearing you know.", plan.MagneticFrom, plan.MagneticUntil)
	}
	if m.Caution() {
		t.para("", "So near the magnetic pole a compass may mislead: check it on a line whose bearing you know.")
	}
}

// home says how the visit ends.
func (t *planTexter) home() {
	t.line("")
	t.para("", "Then %s to %s.", t.u.length(wayM(t.p.Home)), t.spot(t.p.Settings.End))
}
