package report

import (
	"fmt"
	"strings"
)

// findsStated is how many visits or materials a statement lists; its JSON has all.
const findsStated = 40

// findFacts sums the finds up for the first page, scrap apart.
func (d *FindsDoc) findFacts() string {
	if d.Count == 0 {
		return "none noted"
	}
	words := fmt.Sprintf("%s kept", grouped(float64(d.Keepers), 0))
	if d.Unknown > 0 {
		words += fmt.Sprintf(", %s not settled yet", grouped(float64(d.Unknown), 0))
	}
	if d.Scrap > 0 {
		words += "; apart from these, " + count(d.Scrap, "piece") + " of scrap"
	}
	return words
}

// findSection counts the finds.
func (s *Statement) findSection() section {
	d := s.Content.Finds
	out := section{title: "Finds", paras: []string{"As the searcher noted them: " + d.findFacts() + "."}}
	if d.Count == 0 {
		return out
	}
	places := fmt.Sprintf("No place of a find is given. Those by landmark are on the searchable ground within %s of it; one near two counts at both.", s.u.length(nearM))
	if n := d.WithoutPlace; n > 0 {
		places += " Noted without a place: " + count(n, "find") + "."
	}
	if n := d.OffGround; n > 0 {
		places += " Off the searchable ground: " + count(n, "find") + "."
	}
	out.paras = append(out.paras, places)
	if len(s.r.LeftOut) > 0 {
		out.paras = append(out.paras, "Finds of visits that were left out are counted here all the same.")
	}
	out.cols = []tableColumn{{"Counted by", 16, false}, {"Which", 42, false}, {"Kept", 12, true}, {"Not settled", 16, true}, {"Scrap", 14, true}}
	out.addFinds("Landmark", d.Landmarks, "without a name")
	if len(d.Landmarks) > 0 {
		out.addFinds("Landmark", []NamedCountDoc{{FindCountDoc: d.NearNone}}, "near none")
	}
	out.addFinds("Visit", d.Visits, "of no visit")
	out.addFinds("Material", d.Materials, "not said")
	return out
}

// addFinds adds the rows of one way to count; bare stands for a name that is empty.
func (sec *section) addFinds(by string, counts []NamedCountDoc, bare string) {
	for i, c := range counts {
		if i == findsStated {
			sec.after = append(sec.after, fmt.Sprintf("%s: and %d more, which the JSON file lists.", by, len(counts)-i))
			return
		}
		name := asName(cutTo(Printable(c.Name), 60))
		if strings.TrimSpace(Printable(c.Name)) == "" {
			name = bare
		}
		sec.rows = append(sec.rows, []string{by, name, grouped(float64(c.Keepers), 0), grouped(float64(c.Unknown), 0), grouped(float64(c.Scrap), 0)})
	}
}
