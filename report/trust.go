package report

import (
	"fmt"
	"math"
	"strings"

	"untrod/coverage"
)

// atLeast is a lower limit in words: rounded down, so as not to claim too much.
func atLeast(p float64) string {
	if math.IsNaN(p) || p < 0 {
		return "?"
	}
	return fmt.Sprintf("%.0f %%", math.Floor(p))
}

// between is an interval in words, rounded outwards.
func between(lo, hi float64) string {
	from, to := strings.TrimSuffix(atLeast(lo), " %"), percent(math.Ceil(hi))
	if hi < 100 && math.Ceil(hi) == 100 {
		to = "over 99 %"
	}
	if from+" %" == to {
		return to
	}
	return from + " to " + to
}

// twoInThree is the radius, in standard deviations per axis, that holds two
// thirds of a circular normal error: sqrt(-2 ln(1/3)).
var twoInThree = math.Sqrt(2 * math.Log(3))

// ninetyFive is the same for 95 of 100.
var ninetyFive = math.Sqrt(2 * math.Log(20))

// about is a share in words, said to be rough unless it is a bound already.
func about(p float64) string {
	s := percent(p)
	if strings.HasPrefix(s, "under") || strings.HasPrefix(s, "over") {
		return s
	}
	return "about " + s
}

// skies end the sentence that receiver begins.
var skies = map[string]string{
	"open":  "as is usual under open sky",
	"light": "as is usual under some leaves",
	"dense": "as is usual under closed leaves",
}

// receiver says what the figures allow for.
func receiver(p coverage.PositionSettings, u Units) string {
	sky, known := skies[p.Canopy]
	if !known {
		sky = "as set for " + Printable(p.Canopy)
	}
	if p.Canopy == "" {
		return fmt.Sprintf("Allowing for a receiver that is right to %s in 95 of 100 fixes, as you gave it.", u.length(ninetyFive*p.Receiver.TotalM()))
	}
	return fmt.Sprintf("Allowing for a receiver that is right to %s two times in three, %s.",
		u.length(twoInThree*p.Receiver.TotalM()), sky)
}

// perfect says what the figures rest on when nothing was allowed for.
func perfect(r *coverage.Result) string {
	if r.Settings.Position.Canopy == "none" {
		return "Positions were taken as perfect: receiver error is not allowed for."
	}
	return "That is coverage as logged: receiver error is not allowed for yet."
}

// leadSure is the lead when receiver error was allowed for.
func (t *texter) leadSure(ground string) {
	c := t.r.Certainty
	t.para("", "At least %s of the %s %s has been swept; most likely %s.",
		atLeast(c.AtLeastPercent), t.u.area(t.r.SearchableM2), ground, about(c.ExpectedPercent))
	t.para("", "%s", receiver(t.r.Settings.Position, t.u))
	if th := t.r.Thoroughness; th != nil && th.Counted {
		t.para("", "Swept means here that the coil itself passed over it, at the sweep time you gave.")
	}
	if len(c.Strays) > 0 {
		rest := "; all other visits are taken to have stayed inside"
		if len(c.Strays) == len(t.r.Sessions) {
			rest = ""
		}
		t.para("", "%s searched well beyond the edge of the ground%s.", listed(c.Strays), rest)
	}
	for _, l := range t.r.LaidOut {
		if l.Confirmed {
			t.para("", "Of visit %q, %s count as walked because they were declared laid out; the log bears it out, but this part rests on the declaration.",
				Printable(l.Session), count(l.Lanes, "lane"))
		} else {
			t.para("", "The lanes declared for %s do not count: the log of %s searched there for only %s of the time they take.",
				laidName(l), Printable(l.Session), percent(100*l.Share))
		}
	}
}

func laidName(l coverage.LaidOutGround) string {
	if n := Printable(l.Name); n != "" {
		return n
	}
	return "the laid-out ground"
}

// listed joins names as a sentence does.
func listed(names []string) string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = Printable(n)
	}
	if len(out) < 2 {
		return strings.Join(out, "")
	}
	return strings.Join(out[:len(out)-1], ", ") + " and " + out[len(out)-1]
}

// balanceSure shows the figures, and where the ground went by how surely it was
// swept.
func (t *texter) balanceSure() {
	c := t.r.Certainty
	row := func(what string, share float64, words string) {
		t.line("  %-32s %14s %10s", what, t.u.area(share/100*t.r.SearchableM2), words)
	}
	plain := func(what string, share float64) { row(what, share, percent(share)) }
	t.line("")
	row("swept at least", c.AtLeastPercent, atLeast(c.AtLeastPercent))
	plain("most likely (90 %: "+between(c.Interval90[0], c.Interval90[1])+")", c.ExpectedPercent)
	plain("as logged, taking fixes as true", t.r.AsLoggedPercent)
	t.line("")
	plain("surely swept", c.SurelyPercent)
	plain("in doubt", c.DoubtPercent)
	plain("untrodden", c.UntroddenPercent)
}

// ties says how far marks moved the visits.
func (t *texter) ties() {
	var moved []string
	least, most := math.Inf(1), 0.0
	for _, s := range t.r.Sessions {
		if s.Ties > 0 {
			moved = append(moved, t.u.length(s.TieM))
			least, most = min(least, s.TieM), max(most, s.TieM)
		}
	}
	if len(moved) == 0 {
		return
	}
	by := listed(moved)
	if len(moved) > 3 {
		by = t.u.length(least) + " to " + t.u.length(most)
	}
	t.para("", "Ties to marks moved %s by %s.", count(len(moved), "visit"), by)
}

// lanes proposes what looks laid out.
func (t *texter) lanes() {
	for _, l := range t.r.Lanes {
		t.para("", "In visit %q: %d lanes about %s apart. If they were walked to lines or flags, --laid-out with the visit's name counts them as walked.",
			Printable(l.Session), l.Block.Lanes, t.u.fine(l.Block.SpacingM))
	}
}

// thoroughness says what the coil itself passed over.
func (t *texter) thoroughness() {
	th := t.r.Thoroughness
	if th == nil {
		return
	}
	depth, fastest := "", "no pace is slow enough to leave nothing within the swing"
	if th.DepthM > 0 {
		depth = ", " + t.u.small(th.DepthM) + " down,"
	}
	switch {
	case math.IsInf(th.FastestMS, 1):
		fastest = "no pace would leave anything within the swing"
	case th.FastestMS > 0:
		fastest = fmt.Sprintf("%s or slower would leave nothing within the swing, and %s of the searching was faster",
			t.u.pace(th.FastestMS), percent(th.HurriedPercent))
	}
	t.line("")
	t.para("", "At your usual pace of %s a coil of %s on a swing of %s%s passes over about %s of the ground in the swath in one pass; %s. %s",
		t.u.pace(th.MedianMS), t.u.small(th.Coil.SizeM), t.u.length(th.Coil.SwingM), depth, percent(th.MeanPercent), fastest, t.counted())
}

// counted says whether the figures count what the coil passed over.
func (t *texter) counted() string {
	th := t.r.Thoroughness
	if th.Counted {
		return "What it missed counts as not swept above, but not in the figure as logged."
	}
	s := fmt.Sprintf("The figures above count the whole swath: as logged, the coil itself passed over about %s of the site.", percent(th.GroundPercent))
	if t.r.Certainty != nil {
		s += " Measure the time of a sweep and give it as --sweep-time, and they count only what the coil passed over."
	}
	return s
}

// detection says how likely a target was found.
func (t *texter) detection() {
	d := t.r.Detection
	if d == nil {
		return
	}
	t.line("")
	kind, limits, swept := "sought", "", ", as logged"
	if t.r.Certainty != nil {
		swept = ", of which as much counts as was most likely swept"
	}
	if d.AnywhereLoPercent != d.AnywhereHiPercent {
		limits = " (" + between(d.AnywhereLoPercent, d.AnywhereHiPercent) + ")"
	}
	if d.FromTrial {
		kind = "tried"
		t.para("", "Your trial found %d of %s, %s a pass (%s).", d.FoundN,
			count(d.SeededN, "target"), percent(100*d.PerPass), between(100*d.Lo, 100*d.Hi))
	}
	t.para("", "A target of the kind %s would have been found with a chance of %s%s anywhere in the searchable ground%s. That counts every pass as a fresh look; what hides a target once may hide it again, so take it as the most.",
		kind, percent(d.AnywherePercent), limits, swept)
	t.para("", "Search theory gives the same effort %s wandering at random, %s by the inverse cube law, %s in perfect lanes.",
		percent(d.RandomPercent), percent(d.InverseCubePercent), percent(d.DefinitePercent))
}
