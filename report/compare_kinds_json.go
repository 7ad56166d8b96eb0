package report

import "untrod/coverage"

// BandDoc is a band of readings of one detector: from up to, not with, to. The rule
// skips every signal under the band's end.
type BandDoc struct {
	Detector string   `json:"detector"`
	From     Number   `json:"from"`
	To       Number   `json:"to"`
	Dug      int      `json:"dug"`
	Keepers  int      `json:"keepers"`
	Unknown  int      `json:"unknown"`
	Share    ShareDoc `json:"keeper_share"` // of those known to be keeper or scrap
	Rule     RuleDoc  `json:"skip_all_under_to"`
}

// ShareDoc is a coverage.Share as a share of 1: lo and hi are exact limits.
type ShareDoc struct {
	X      int        `json:"x"`
	N      int        `json:"n"`
	Value  Number     `json:"value"`
	Lo     Number     `json:"lo"`
	Hi     Number     `json:"hi"`
	Wilson *[2]Number `json:"wilson"`
}

// RuleDoc is a coverage.SkipRule.
type RuleDoc struct {
	KeepersLost ShareDoc `json:"keepers_lost"`
	ScrapSpared ShareDoc `json:"scrap_spared"`
}

// DatesDoc is a coverage.Dating.
type DatesDoc struct {
	MeanYear Number      `json:"mean_year"`
	Dated    int         `json:"dated"`
	OneEnd   int         `json:"one_end_only"`
	Undated  int         `json:"undated"`
	Odd      int         `json:"odd"`
	Decades  []DecadeDoc `json:"decades"`
}

// DecadeDoc is ten years from from, and the finds that fall to them.
type DecadeDoc struct {
	From  int    `json:"from"`
	Finds Number `json:"finds"`
}

func bandDocs(c *coverage.Comparison) []BandDoc {
	out := []BandDoc{}
	for _, r := range c.Readings {
		for i, b := range r.Bands {
			out = append(out, BandDoc{r.Detector, to(b.From, 2), to(b.To, 2), b.Dug, b.Keepers.X, b.Unknown, shareDoc(b.Keepers),
				RuleDoc{shareDoc(r.Rules[i].Lost), shareDoc(r.Rules[i].Spared)}})
		}
	}
	return out
}

func shareDoc(s coverage.Share) ShareDoc {
	return ShareDoc{s.X, s.N, to(s.Value, 4), to(s.Lo, 4), to(s.Hi, 4), limits(s.WilsonLo, s.WilsonHi, 4)}
}

func datesDoc(d coverage.Dating) DatesDoc {
	out := DatesDoc{to(d.Mean, 2), d.Dated, d.Open, d.Undated, d.Odd, []DecadeDoc{}}
	for _, k := range d.Decades {
		out.Decades = append(out.Decades, DecadeDoc{k.From, to(k.Finds, 4)})
	}
	return out
}
