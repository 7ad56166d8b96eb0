package report

import "untrod/coverage"

// Claim says in one sentence how much of the ground was swept, as [Text] does at its
// head.
func Claim(r *coverage.Result, u Units) string {
	var all []told
	t := &texter{r: r, u: u, told: &all}
	t.lead()
	return all[1].words // the site's name comes first
}

// Caution is one danger or duty on a search, in plain words.
type Caution struct{ About, Words, Source string }

// Cautions are what to mind before and on a search; the first goes before the others.
func Cautions() []Caution {
	out := []Caution{{"Local codes", cautionsLead, ""}}
	for _, c := range cautions {
		out = append(out, Caution(c))
	}
	return out
}
