package report

import (
	"fmt"
	"io"
	"math"
	"strconv"

	"untrod/track"
)

// lead says in one sentence how much of the ground was swept.
func (s *Share) lead() string {
	ground := "of the " + s.set.Units.area(s.r.SearchableM2) + " of searchable ground"
	if s.r.OwnOutline {
		ground = "of the " + s.set.Units.area(s.r.SearchableM2) + " inside an outline drawn round what was searched"
	}
	if c := s.r.Certainty; c != nil {
		return fmt.Sprintf("At least %s %s has been swept; most likely %s.", atLeast(c.AtLeastPercent), ground, about(c.ExpectedPercent))
	}
	return fmt.Sprintf("%s %s has been swept once or more, taking every fix as true.", percent(s.r.AsLoggedPercent), ground)
}

// withheld says what a reader should not look for.
const withheld = "The place is withheld: the ground is turned by a random angle, so no direction here is a true one, and names, positions and files are left out."

// Text writes the figures in plain words, at most 80 columns wide.
func (s *Share) Text(w io.Writer) error {
	t := &texter{r: s.r, u: s.set.Units}
	t.line("%s", shareTitle)
	t.line("")
	t.para("", "%s", s.lead())
	t.para("", "%s", s.trust())
	t.balance()
	t.line("")
	t.para("", "%s", s.effort())
	s.gapRows(t)
	t.line("")
	t.para("", "%s", withheld)
	_, err := io.WriteString(w, t.out.String())
	return err
}

// effort says how long it took.
func (s *Share) effort() string {
	seconds := 0.0
	for _, v := range s.r.Sessions {
		seconds += v.Seconds[track.Searching]
	}
	out := s.visits()
	if seconds > 0 {
		out += " Searching: " + duration(seconds) + "."
	}
	if s.r.EffortM2 > 0 {
		out += " " + percent(s.r.RewalkedPercent) + " of the sweeping fell on ground already swept."
	}
	return out
}

func (s *Share) gapRows(t *texter) {
	gaps := s.r.Untrodden()
	if len(gaps) == 0 {
		return
	}
	t.line("")
	t.line("%-5s %12s %10s", "Gap", "area", "widest")
	shown := gaps[:min(len(gaps), textGaps)]
	for _, g := range shown {
		t.line("%-5s %12s %10s", strconv.Itoa(g.ID), s.set.Units.area(g.AreaM2), s.set.Units.length(g.WidestM))
	}
	if n := len(gaps) - len(shown); n > 0 {
		t.line("  and %s", count(n, "more gap"))
	}
}

// ShareSchema names the form of a ShareCopyDoc; it changes when a field changes its
// meaning.
const ShareSchema = "untrod-share-1"

// ShareCopyDoc is a share copy in numbers: areas in square metres to three digits,
// percents to 0.1 (the least ones rounded down), metres to 0.1, hours to 0.1.
type ShareCopyDoc struct {
	Schema       string        `json:"schema"`
	Place        string        `json:"place"` // always withheld
	SearchableM2 Number        `json:"searchable_m2"`
	KeepoutM2    Number        `json:"keepout_m2"`
	SwathM       Number        `json:"swath_m"`
	Coverage     ShareCoverage `json:"coverage"`
	Visits       ShareVisits   `json:"visits"`
	Gaps         []ShareGap    `json:"gaps"`
}

// ShareCoverage is as CoverageDoc has it, but rounded.
type ShareCoverage struct {
	AsLoggedPercent    Number         `json:"as_logged_percent"`
	AtLeastPercent     Number         `json:"at_least_percent"`
	ExpectedPercent    Number         `json:"expected_percent"`
	Interval90Percent  *[2]Number     `json:"interval_90_percent"`
	SurelySweptPercent Number         `json:"surely_swept_percent"`
	InDoubtPercent     Number         `json:"in_doubt_percent"`
	UntroddenPercent   Number         `json:"untrodden_percent"`
	Passes             []PassShareDoc `json:"passes"`
	RewalkedPercent    Number         `json:"rewalked_percent"`
}

// ShareVisits are all visits together. The first and the last are months, 2006-01, or
// days where those may be told; null when not known.
type ShareVisits struct {
	Count      int     `json:"count"`
	First      *string `json:"first"`
	Last       *string `json:"last"`
	SearchingH Number  `json:"searching_h"`
}

// ShareGap is a gap to go to.
type ShareGap struct {
	ID      int    `json:"id"`
	AreaM2  Number `json:"area_m2"`
	WidestM Number `json:"widest_m"`
}

// doc puts s in the form that JSON writes.
func (s *Share) doc() ShareCopyDoc {
	d := ShareCopyDoc{
		Schema: ShareSchema, Place: "withheld", Gaps: []ShareGap{},
		SearchableM2: Number(sig3(s.r.SearchableM2)), KeepoutM2: Number(sig3(s.r.KeepoutM2)),
		SwathM: to(swathM(s.r.Settings), 2), Coverage: s.coverage(),
	}
	for _, v := range s.r.Sessions {
		d.Visits.Count++
		d.Visits.SearchingH += Number(v.Seconds[track.Searching] / 3600)
	}
	d.Visits.SearchingH = to(float64(d.Visits.SearchingH), 1)
	if first, last := s.span(); first.Known() {
		layout := "2006-01"
		if s.set.Dates {
			layout = "2006-01-02"
		}
		from, to := first.Time().UTC().Format(layout), last.Time().UTC().Format(layout)
		d.Visits.First, d.Visits.Last = &from, &to
	}
	for _, g := range s.r.Untrodden() {
		d.Gaps = append(d.Gaps, ShareGap{g.ID, Number(sig3(g.AreaM2)), to(g.WidestM, 1)})
	}
	return d
}

func (s *Share) coverage() ShareCoverage {
	c := coverageDoc(s.r)
	tenth := func(n Number) Number { return to(float64(n), 1) }
	d := ShareCoverage{
		AsLoggedPercent: tenth(c.AsLoggedPercent), AtLeastPercent: Number(math.Floor(float64(c.AtLeastPercent)*10) / 10),
		ExpectedPercent: tenth(c.ExpectedPercent), SurelySweptPercent: tenth(c.SurelySweptPercent),
		InDoubtPercent: tenth(c.InDoubtPercent), UntroddenPercent: tenth(c.UntroddenPercent),
		RewalkedPercent: to(s.r.RewalkedPercent, 1), Passes: []PassShareDoc{},
	}
	if i := c.Interval90Percent; i != nil {
		d.Interval90Percent = &[2]Number{Number(math.Floor(float64(i[0])*10) / 10), Number(math.Ceil(float64(i[1])*10) / 10)}
	}
	for _, p := range c.Passes {
		d.Passes = append(d.Passes, PassShareDoc{p.Passes, tenth(p.Percent)})
	}
	return d
}

// JSON writes the figures, see ShareCopyDoc, indented by one space.
func (s *Share) JSON(w io.Writer) error {
	return writeIndented(w, s.doc())
}
