package report

import (
	"fmt"
	"math"
	"slices"

	"untrod/coverage"
)

// alpha is the chance of being misled that the words allow for, all rings together.
const alpha = 1 - coverage.CompareLevel

// moreWorked is how much more often than the rest ground must have been passed over
// for the text to say so.
const moreWorked = 1.25

// conclusions say what follows for the rings against the rest of the site, and what
// does not.
func (t *compareTexter) conclusions() {
	tested := slices.DeleteFunc(slices.Clone(t.c.Zones), func(z coverage.Zone) bool { return math.IsNaN(z.RatioAsLogged.P) })
	t.line("")
	switch {
	case len(t.c.Zones) == 0:
		t.para("", "The site has no landmarks, so there is nothing to compare with the rest.")
		return
	case len(t.c.Placed) == 0:
		return
	case t.c.Rest.Cells == 0:
		t.para("", "The rings take up the whole site: there is no rest to compare them with. Smaller --rings leave one.")
		return
	case len(tested) == 0:
		t.para("", "No ring can be compared with the rest: one of the two was not swept.")
		return
	}
	t.line("%-18s %22s %11s %11s  %s", "Against the rest", "times the finds", "p alone", "together", "so")
	unlike, open := 0, false
	t.each(func(label string, z coverage.Zone) {
		if z.Landmark != "" {
			v := verdict(z)
			t.line("%-18s %22s %11s %11s  %s", label, v[0], v[1], v[2], v[3])
		}
		if z.PHolm < alpha {
			unlike++
			open = open || z.RatioToRest.Lo < 1 && z.RatioToRest.Hi > 1
		}
	})
	t.sumUp(len(tested), unlike)
	if open {
		t.para("", "That a ring differs is told from the log as it is. The limits allow for receiver error, which blurs rings, and so may hold 1 all the same: how much it differs stays open.")
	}
	t.reworked(tested)
}

// verdict says of one ring whether it differs: times the finds of the rest, p alone and
// together, and what to make of it.
func verdict(z coverage.Zone) [4]string {
	r, p := z.RatioToRest, z.RatioAsLogged.P
	so := "cannot tell"
	switch {
	case math.IsNaN(p):
		return [4]string{"-", "", "", "not swept"}
	case math.IsNaN(r.Value):
		so = "no finds"
	case z.PHolm < alpha:
		so = richer(z.RatioAsLogged.Value)
	case p < alpha:
		so = "may be chance"
	}
	return [4]string{ratioWords(r), pWords(p), pWords(z.PHolm), so}
}

func ratioWords(r coverage.Ratio) string {
	if math.IsNaN(r.Value) {
		return "-"
	}
	return fmt.Sprintf("%s (%s)", short(r.Value), span(r.Lo, r.Hi))
}

func richer(ratio float64) string {
	if ratio > 1 {
		return "richer"
	}
	return "poorer"
}

// pWords is a p value that never claims more than was worked out.
func pWords(p float64) string {
	switch {
	case p < 0.001:
		return "under 0.001"
	case p > 0.995:
		return "1"
	}
	return fmt.Sprintf("%.*f", map[bool]int{true: 3, false: 2}[p < 0.1], p)
}

// sumUp says in words what the table comes to.
func (t *compareTexter) sumUp(tested, unlike int) {
	t.para("", "Both are counted for the same ground swept. p is how often as large a difference would come by chance on ground that is alike all over; together: with all %s looked at as one (Holm).", count(tested, "ring"))
	switch {
	case unlike == 0:
		t.para("", "So no ring differs from the rest more than chance would make it. That is not to say that they are alike: anything within the limits in brackets is still possible.")
	case unlike < tested:
		t.para("", "Of the rings marked \"cannot tell\", anything within the limits in brackets is still possible.")
	}
}

// reworked warns of ground that was not swept more widely, but more often.
func (t *compareTexter) reworked(tested []coverage.Zone) {
	rest, ok := workings(t.c.Rest)
	var names []string
	for _, z := range tested {
		if n, known := workings(z); ok && known && n > moreWorked*rest {
			names = append(names, fmt.Sprintf("%s (%.1f passes)", zoneWords(t.u, z), n))
		}
	}
	if len(names) > 0 {
		t.para("", "Mind that ground passed over again gives more: where swept, %s against %.1f in the rest. The ratios count ground swept twice no more than ground swept once.",
			listed(names), rest)
	}
}

// workings is the passes over ground that was swept at all.
func workings(z coverage.Zone) (float64, bool) {
	if z.SweptM2 == 0 {
		return 0, false
	}
	return z.MeanPasses * z.SearchableM2 / z.SweptM2, true
}
