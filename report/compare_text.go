package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"untrod/coverage"
)

// CompareText writes what a comparison of landmarks tells, at most 80 columns wide:
// how hard the ground round each was searched, what that brought, what can and what
// cannot be concluded, what may be left, and what the finds were. r.Comparison must
// be there.
func CompareText(w io.Writer, r *coverage.Result, u Units) error {
	t := &compareTexter{texter{r: r, u: u}, r.Comparison}
	t.opening()
	t.effortTable()
	t.findTable()
	t.conclusions()
	t.left()
	t.fresh()
	t.readings()
	t.dates()
	_, err := io.WriteString(w, t.out.String())
	return err
}

type compareTexter struct {
	texter
	c *coverage.Comparison
}

func (t *compareTexter) opening() {
	t.para("", "%s: landmarks compared", siteName(t.r))
	t.line("")
	t.para("", "%s.%s", capital(count(len(t.c.Placed), "find")+" on the site"), t.elsewhere())
	if t.r.Certainty == nil {
		t.para("", "%s", perfect(t.r))
		return
	}
	t.para("", "%s A find near the edge of a ring counts on both sides in part, by where it may truly have been.",
		receiver(t.r.Settings.Position, t.u))
}

// elsewhere tells of the finds that no zone can hold.
func (t *compareTexter) elsewhere() string {
	var parts []string
	if n := t.c.Outside; n > 0 {
		parts = append(parts, count(n, "find")+" off the searchable ground")
	}
	if n := t.c.Placeless; n > 0 {
		parts = append(parts, count(n, "find")+" without a place")
	}
	if n := t.r.LeftOutFinds; n > 0 {
		parts = append(parts, count(n, "find")+" of visits left out")
	}
	if len(parts) == 0 {
		return ""
	}
	return " Not among them: " + listed(parts) + "."
}

// each calls row for every zone with ground, under the name of its landmark, and the
// rest last.
func (t *compareTexter) each(row func(label string, z coverage.Zone)) {
	at := ""
	for _, z := range t.c.Zones {
		if z.Landmark != at && !t.bare(z.Landmark) {
			t.line("%s", cutTo(Printable(z.Landmark), textWidth))
		}
		at = z.Landmark
		if z.Cells > 0 {
			row("  "+t.ring(z), z)
		}
	}
	row("rest of the site", t.c.Rest)
}

// bare reports whether a landmark has no ground in its rings.
func (t *compareTexter) bare(landmark string) bool {
	for _, z := range t.c.Zones {
		if z.Landmark == landmark && z.Cells > 0 {
			return false
		}
	}
	return true
}

// bareLandmarks names those left out of the tables, having no ground in their rings.
func (t *compareTexter) bareLandmarks() {
	var names []string
	for _, l := range t.c.Landmarks {
		if t.bare(l) && len(t.c.Zones) > 0 {
			names = append(names, Printable(l))
		}
	}
	why := "none of the site's ground is in the rings"
	if t.r.Settings.Zones.Nearest {
		why += ", or all of it is nearer to another landmark"
	}
	if len(names) > 0 {
		t.para("", "Left out: %s; %s.", listed(names), why)
	}
}

// ring is a zone by its distances, such as 5 to 10 m.
func (t *compareTexter) ring(z coverage.Zone) string { return ringWords(t.u, z) }

func ringWords(u Units, z coverage.Zone) string {
	unitM, short, _ := u.unit()
	return tickLabel(math.Round(z.FromM/unitM*10)/10) + " to " + tickLabel(math.Round(z.ToM/unitM*10)/10) + " " + short
}

// zoneWords names a zone in a sentence.
func zoneWords(u Units, z coverage.Zone) string {
	return Printable(z.Landmark) + ", " + ringWords(u, z)
}

func (t *compareTexter) effortTable() {
	t.line("")
	sure := t.r.Certainty != nil
	row := func(what, area, share, likely, passes, seconds, track string) {
		t.line("%-18s %12s %8s %11s %6s %8s %10s", what, area, share, likely, passes, seconds, track)
	}
	per := "s per m2"
	if t.u == Imperial {
		per = "s/sq ft"
	}
	if sure {
		row("How hard searched", "ground", "at least", "most likely", "passes", per, "track")
	} else {
		row("How hard searched", "ground", "swept", "", "passes", per, "track")
	}
	t.each(func(label string, z coverage.Zone) {
		e := t.effort(z)
		row(label, e[0], e[1], e[2], e[3], e[4], e[5])
	})
	t.bareLandmarks()
}

// effort is how hard a zone was searched: its ground, the share swept (at least, where
// receiver error is allowed for) and most likely swept (else empty), passes, seconds
// per area and track.
func (t *compareTexter) effort(z coverage.Zone) [6]string {
	share, likely := percent(z.AsLoggedPercent), ""
	if z.Certainty != nil {
		share, likely = atLeast(z.Certainty.AtLeastPercent), percent(z.Certainty.ExpectedPercent)
	}
	return [6]string{t.u.area(z.SearchableM2), share, likely, fmt.Sprintf("%.1f", z.MeanPasses),
		rounded(z.SearchSPerM2 * t.perM2()), t.u.paces(z.TrackM)}
}

// perM2 turns what is per square metre into what is per square foot, where that is
// shown.
func (t *compareTexter) perM2() float64 {
	if t.u == Imperial {
		return footM2
	}
	return 1
}

// per100 is the area that finds are counted on: 100 m2, or 1,000 square feet.
func (t *compareTexter) per100() (times float64, name string) {
	if t.u == Imperial {
		return 1000 * footM2 / 100, "per 1000 sq ft"
	}
	return 1, "per 100 m2"
}

func (t *compareTexter) findTable() {
	if len(t.c.Placed) == 0 {
		t.line("")
		t.para("", "No finds on the site, so only the searching can be compared.")
		return
	}
	t.line("")
	_, per := t.per100()
	row := func(what, finds, keepers, area, hour string) {
		t.line("%-19s %7s %8s %21s %20s", what, finds, keepers, area, hour)
	}
	row("What that brought", "finds", "keepers", per+" swept", "per hour")
	t.each(func(label string, z coverage.Zone) {
		y := t.yield(z)
		row(label, y[0], y[1], y[2], y[3])
	})
	t.para("", "In brackets: 95 times in 100 the true figure lies between. Hours are those of searching, as logged.")
}

// yield is what searching a zone brought: finds, keepers, finds per area swept and per
// hour.
func (t *compareTexter) yield(z coverage.Zone) [4]string {
	a := z.FindsPer100M2
	times, _ := t.per100()
	return [4]string{tenth(z.Finds), tenth(z.Keepers),
		rateWords(coverage.Rate{Value: a.Value * times, Lo: a.Lo * times, Hi: a.Hi * times}), rateWords(z.FindsPerHour)}
}

// tenth is a count that may be in part.
func tenth(x float64) string { return strings.TrimSuffix(fmt.Sprintf("%.1f", x), ".0") }

// rateWords is a rate with its limits.
func rateWords(r coverage.Rate) string {
	if math.IsNaN(r.Value) {
		return "-"
	}
	return fmt.Sprintf("%s (%s)", short(r.Value), span(r.Lo, r.Hi))
}

// span is two limits; the upper one may be open.
func span(lo, hi float64) string {
	if math.IsInf(hi, 1) {
		return short(lo) + " up"
	}
	return short(lo) + " to " + short(hi)
}

// short is a figure to two or three digits.
func short(x float64) string {
	switch {
	case math.IsInf(x, 1):
		return "no limit"
	case x == 0:
		return "0"
	case x < 0.095:
		return fmt.Sprintf("%.2f", x)
	}
	return rounded(x)
}
