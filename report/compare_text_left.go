package report

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"untrod/coverage"
)

// left says what may still lie in the ground.
func (t *compareTexter) left() {
	t.line("")
	if len(t.c.Placed) == 0 {
		return
	}
	t.line("Left in the ground:")
	estimates := 0
	var whys []string
	names := map[string][]string{}
	for _, l := range t.c.Left {
		name := "whole site"
		if l.Landmark != "" {
			name = "round " + Printable(l.Landmark)
		}
		if l.Refused == nil {
			t.estimate(name, l)
			estimates++
			continue
		}
		why := t.refused(l)
		if names[why] == nil {
			whys = append(whys, why)
		}
		names[why] = append(names[why], name)
	}
	for _, why := range whys {
		t.para("  ", "%s: cannot be told. %s.", listed(names[why]), why)
	}
	if estimates > 0 {
		t.para("", "Such figures are low: what is easy to find goes first, so what is left is harder to find than what was dug.")
	}
	if n := t.unknownVisits(); n > 0 {
		t.para("", "%s in no visit by time, and not in these figures.", capital(count(n, "find")))
	}
}

// unknownVisits are the finds on the site that were made in no visit that is known.
func (t *compareTexter) unknownVisits() (n int) {
	for _, f := range t.c.Placed {
		if f.Visit < 0 {
			n++
		}
	}
	return n
}

// refused says why, in a sentence.
func (t *compareTexter) refused(l coverage.Left) string {
	why := l.Refused.Error()
	switch {
	case errors.Is(l.Refused, coverage.ErrOnePass):
		return fmt.Sprintf("It takes two visits or more over the same ground; %s swept half of the swept ground or more",
			count(len(l.Visits), "visit"))
	case l.Seconds == nil && errors.Is(l.Refused, coverage.ErrUneven):
		return "Not every visit has times, so it cannot be seen whether they searched alike"
	case errors.Is(l.Refused, coverage.ErrUneven):
		return fmt.Sprintf("Its %d visits searched the same ground for %s: too unlike, fewer finds may only mean less searching",
			len(l.Visits), t.spans(l.Seconds))
	}
	if errors.Is(l.Refused, coverage.ErrNothingFound) && l.Others > 0 {
		return "The finds on it were made on other visits, or on none that is known"
	}
	for _, e := range []error{coverage.ErrNothingFound, coverage.ErrFewFinds, coverage.ErrRising, coverage.ErrNotFalling} {
		if errors.Is(l.Refused, e) {
			why = e.Error()
		}
	}
	return capital(why) + " (" + catches(l.Catches) + ")"
}

func (t *compareTexter) spans(seconds []float64) string {
	least, most := math.Inf(1), 0.0
	for _, s := range seconds {
		least, most = min(least, s), max(most, s)
	}
	return duration(least) + " to " + duration(most)
}

// catches lists the finds of each visit.
func catches(ns []int) string {
	var parts []string
	for _, n := range ns {
		parts = append(parts, grouped(float64(n), 0))
	}
	return "finds by visit: " + strings.Join(parts, ", ")
}

func (t *compareTexter) estimate(name string, l coverage.Left) {
	m := l.Removal
	limits := grouped(m.Lo-float64(m.Found), 0) + " or more; no number is too many"
	if !math.IsInf(m.Hi, 1) {
		limits = "95 % limits " + grouped(m.Lo-float64(m.Found), 0) + " to " + grouped(m.Hi-float64(m.Found), 0)
	}
	t.para("  ", "%s: about %s still there (%s). %d visits went over the same %s and brought %d; each took about %s of what was there.",
		name, count(int(math.Round(m.N))-m.Found, "find"), limits,
		m.Passes, t.u.area(l.SameM2), m.Found, percent(100*m.P))
	if m.Rough {
		t.para("    ", "So few finds make for a rough figure.")
	}
	if l.Others > 0 {
		t.para("    ", "%s there on other visits, or on none that is known: not counted.", capital(count(l.Others, "find")))
	}
}

// fresh says whether an hour on fresh ground brings less than it did.
func (t *compareTexter) fresh() {
	k := t.c.Trend
	if len(t.c.Placed) == 0 || math.IsNaN(k.Ratio.P) || k.Early.Finds+k.Late.Finds == 0 {
		return
	}
	t.line("")
	rate := func(h coverage.Haul) string {
		return rateWords(coverage.RateOf([]coverage.Haul{h}, coverage.CompareLevel))
	}
	t.para("", "An hour of searching on fresh ground brought %s finds on the earlier visits, %s on the later ones, from %s on: %s times (%s).",
		rate(k.Early), rate(k.Late), Printable(t.r.Sessions[k.Visits[k.LateFrom].Session].Name), short(k.Ratio.Value), span(k.Ratio.Lo, k.Ratio.Hi))
	test := "(exact conditional test of two rates, p " + pWords(k.Ratio.P) + ")"
	switch {
	case k.Ratio.P < alpha && k.Ratio.Value < 1:
		t.para("", "It is falling: the fresh ground left is poorer, or searched otherwise %s.", test)
	case k.Ratio.P < alpha:
		t.para("", "It is rising: the fresh ground is getting richer, or is searched otherwise %s.", test)
	default:
		t.para("", "Neither falling nor rising more than chance would make it %s.", test)
	}
}
