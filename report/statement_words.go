package report

import (
	"fmt"
	"math"
	"time"

	"untrod/coverage"
	"untrod/track"
)

// claim is what was searched, in one sentence, never more than was worked out.
func claim(r *coverage.Result, u Units) string {
	logged, what := percent(r.AsLoggedPercent), areaFine(u, r.SearchableM2)
	if r.OwnOutline {
		what += " within an outline drawn round the searched ground itself"
	}
	visits := count(len(r.Sessions), "visit")
	if days := season(r.Sessions); days != "" {
		visits += ", " + days
	}
	if c := r.Certainty; c != nil {
		return fmt.Sprintf("At least %s of %s swept, as logged %s, %s.", atLeast(c.AtLeastPercent), what, logged, visits)
	}
	return fmt.Sprintf("As logged %s of %s swept, with every position taken as true, %s.", logged, what, visits)
}

// areaFine is an area to what a claim needs: two decimals of a hectare or acre.
func areaFine(u Units, m2 float64) string {
	switch {
	case m2 < 10_000:
		return squared(u.area(m2))
	case u == Imperial:
		return grouped(m2/acreM2, 2) + " acres"
	}
	return grouped(m2/10_000, 2) + " ha"
}

// season is from when to when visits were, in days; empty when no visit has times.
func season(visits []coverage.Session) string {
	first, last := track.NoTime, track.NoTime
	for _, v := range visits {
		if v.Start.Known() && (!first.Known() || v.Start < first) {
			first = v.Start
		}
		if v.End.Known() {
			last = max(last, v.End)
		}
	}
	if !first.Known() {
		return ""
	}
	a, b := first.Time().UTC(), last.Time().UTC()
	switch {
	case dayWords(a) == dayWords(b):
		return dayWords(a)
	case a.Year() == b.Year() && a.Month() == b.Month():
		return fmt.Sprintf("%d to %s", a.Day(), dayWords(b))
	case a.Year() == b.Year():
		return a.Format("2 January") + " to " + dayWords(b)
	}
	return dayWords(a) + " to " + dayWords(b)
}

func dayWords(t time.Time) string { return t.Format("2 January 2006") }

// issuedDay is the day of issue in words.
func (c StatementContent) issuedDay() string {
	t, err := time.Parse(time.DateOnly, c.Issued)
	if err != nil {
		return c.Issued
	}
	return dayWords(t)
}

// notClaimed is what nobody may read into the statement.
func (s *Statement) notClaimed() []string {
	out := []string{
		"That nothing is there. Swept ground may still hold things: a pass can miss what it goes over.",
		s.depthNotClaimed(),
		"Any one kind of target. What a pass finds depends on size, metal, soil, detector and settings.",
		"More than the logs show. They tell where the receiver was; that the detector was on and the coil near the ground is the searcher's word.",
	}
	if s.r.OwnOutline {
		out = append(out, "A share of a site: no boundary was given, and the outline was drawn round the searched ground.")
	}
	if s.Content.Finds != nil {
		out = append(out, "That nothing else was found. The finds are those that the searcher noted.")
	}
	if s.r.Certainty == nil {
		out = append(out, "That positions are true: receiver error is not allowed for, and the true share may be lower.")
	}
	return out
}

func (s *Statement) depthNotClaimed() string {
	if t := s.r.Thoroughness; t != nil && t.Counted && t.DepthM > 0 {
		return fmt.Sprintf("Anything deeper than %s. Down to there it is the coil's reach that is counted, not what it would sound on.", s.u.small(t.DepthM))
	}
	return "Any depth. Swept means that the coil came over the ground, not how deep it would have found something."
}

// method tells in plain words how the figures came about.
func (s *Statement) method() []string {
	r := s.r
	out := []string{
		"The searcher carried a satellite receiver that logged the walk. From its pace each log is cut into searching, walking, standing and lost stretches; only searching counts. " +
			"A strip as wide as the swath is laid along each searching stretch, over a grid of cells " + s.u.small(r.Spec.CellM) + " wide; a cell is swept when its centre lies in a strip.",
		"The ground is what lies inside the boundary, less the keep-outs: " + areaFine(s.u, r.SearchableM2) + " of " + areaFine(s.u, r.BoundaryM2) + ".",
	}
	if r.CellChosen != "" {
		out = append(out, "Ground is counted in "+r.CellChosen+".")
	}
	if r.Certainty != nil {
		out = append(out, fmt.Sprintf("A receiver is wrong by metres, so the logged line is not the true one. From each log %d true walks were drawn that could have left it, whole visits at a time, and each was swept. "+
			"Of that comes the figure at least: if the error is as stated, at least so much was truly swept 95 times in 100.", r.Certainty.Draws))
	}
	return out
}

// swath tells how wide the strip is and what the coil itself passed over.
func (s *Statement) swath() []string {
	set := s.r.Settings
	if set.CoilM == 0 {
		return []string{"The swath, the strip that one forward walk sweeps, is " + s.u.fine(swathM(set)) + " wide, as the searcher gave it. All of it counts as swept."}
	}
	out := []string{fmt.Sprintf("The swath, the strip that one forward walk sweeps, is %s wide: a %s coil of %s on a swing of %s, as the searcher gave them.",
		s.u.fine(swathM(set)), set.CoilShape, s.u.small(set.CoilM), s.u.fine(set.SwingM))}
	t := s.r.Thoroughness
	if t == nil || math.IsNaN(t.MedianMS) {
		return out
	}
	depth := ""
	if t.DepthM > 0 {
		depth = ", " + s.u.small(t.DepthM) + " down,"
	}
	one := fmt.Sprintf("At the searcher's usual pace of %s the coil%s passes over about %s of the strip in one pass.", s.u.pace(t.MedianMS), depth, percent(t.MeanPercent))
	if t.Counted {
		return append(out, one+" What it missed counts as not swept, at the measured sweep time of "+grouped(set.SweepS, 1)+" s, but for the figure as logged.")
	}
	return append(out, one+fmt.Sprintf(" The figures count the whole strip; the coil itself passed over about %s of the ground, as logged.", percent(t.GroundPercent)))
}

// positions tells what error was allowed for, and where that is from.
func (s *Statement) positions() []string {
	p := s.r.Settings.Position
	if s.r.Certainty == nil {
		return []string{"Every logged position was taken as true. No receiver is that good: the figure as logged may be too high or too low."}
	}
	radius := s.u.length(ninetyFive * p.Receiver.TotalM())
	from := "as the searcher gave it"
	if sky, ok := skies[p.Canopy]; ok {
		from = sky + " (measured errors of phones: Tomaštík and others 2017, Forestry 90:187)"
	}
	out := []string{
		fmt.Sprintf("Allowed for is a receiver that is right to %s in 95 of 100 fixes, %s. Most of its error is steady or drifts slowly; how rough it is beside was found from each log.", radius, from),
		fmt.Sprintf("Nine times in ten the truth lies within %s, most likely near %s.", between(s.r.Certainty.Interval90[0], s.r.Certainty.Interval90[1]), percent(s.r.Certainty.ExpectedPercent)),
	}
	if n := tied(s.r.Sessions); n > 0 {
		out = append(out, fmt.Sprintf("%s went by marks whose place is known, which measured the error of the day.", count(n, "visit")))
	}
	for _, l := range s.r.LaidOut {
		if l.Confirmed {
			out = append(out, fmt.Sprintf("In visit %s, %s count as walked because the searcher declares that they were laid out with lines or flags. The log bears it out, but this part rests on the declaration.",
				asName(l.Session), count(l.Lanes, "lane")))
		}
	}
	return out
}

func tied(visits []coverage.Session) (n int) {
	for _, v := range visits {
		if v.Ties > 0 {
			n++
		}
	}
	return n
}

// detected tells what a target would have had for a chance.
func (s *Statement) detected(d *coverage.Detection) []string {
	from := fmt.Sprintf("The searcher takes a pass over a target of the kind sought to sound with a chance of %s.", percent(100*d.PerPass))
	if d.FromTrial {
		from = fmt.Sprintf("A trial found %d of %s, %s a pass (%s).", d.FoundN, count(d.SeededN, "target"), percent(100*d.PerPass), between(100*d.Lo, 100*d.Hi))
	}
	limits := ""
	if d.AnywhereLoPercent != d.AnywhereHiPercent {
		limits = " (" + between(d.AnywhereLoPercent, d.AnywhereHiPercent) + ")"
	}
	return []string{
		from + fmt.Sprintf(" Such a target, anywhere in the searchable ground, would have been found with a chance of %s%s. That counts every pass as a fresh look; what hides a target once may hide it again, so take it as the most.", percent(d.AnywherePercent), limits),
		fmt.Sprintf("Search theory gives the same effort %s wandering at random, %s by the inverse cube law and %s in perfect lanes (Koopman 1946).",
			percent(d.RandomPercent), percent(d.InverseCubePercent), percent(d.DefinitePercent)),
	}
}

// glossary explains the words of the statement.
var glossary = []string{
	"Swath: the strip of ground that one forward walk sweeps.",
	"Swept: inside at least one swath of a searching stretch, or under the coil itself where its sweep was timed.",
	"As logged: taking every position of the log as true.",
	"At least: swept with a chance of 95 in 100, receiver error allowed for.",
	"Chance swept: in how many of the drawn true walks a place was swept.",
	"Surely swept, in doubt, untrodden: a chance swept of 80 % or more, between, of 20 % or less.",
	"Gap: connected untrodden ground large enough to be worth a walk.",
	"Keep-out: ground inside the boundary that cannot or may not be searched.",
	"Draw: one true walk that could have left the log. Seed: the number that makes the draws repeatable.",
	"SHA-256: a fingerprint of a file. Change one letter and it is another.",
}
