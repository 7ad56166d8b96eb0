package report

import (
	"fmt"
	"strings"

	"untrod/coverage"
	"untrod/track"
)

// section is a titled part of the statement, the same on paper and on a page.
type section struct {
	title string
	paras []string
	list  []string
	cols  []tableColumn
	rows  [][]string
	after []string // paragraphs below the table
}

// gapsStated is how many gaps a statement lists; its JSON has all.
const gapsStated = 60

// sections are all that comes after the first page.
func (s *Statement) sections() []section {
	out := []section{
		{title: "How coverage was worked out", paras: s.method()},
		{title: "Swath and coil", paras: s.swath()},
		{title: "How wrong the positions may be", paras: s.positions()},
		s.visitSection(), s.landmarkSection(), s.gapSection(),
	}
	if d := s.r.Detection; d != nil {
		out = append(out, section{title: "What would have been found", paras: s.detected(d)})
	}
	if s.Content.Finds != nil {
		out = append(out, s.findSection())
	}
	out = append(out, s.oddSection(),
		section{title: "Cautions", paras: []string{cautionsLead}, list: cautionLines()},
		section{title: "Words", list: glossary}, s.checkSection())
	out = append(out, s.inputSection(), s.settingsSection())
	return out
}

// mapWords say what the map shows, for those who cannot make it out.
func (s *Statement) mapWords() string {
	gaps := "no gaps."
	if n := len(s.r.Untrodden()); n > 0 {
		gaps = count(n, "gap") + " outlined, the largest numbered as below."
	}
	if c := s.r.Certainty; c != nil {
		return fmt.Sprintf("The map: surely swept (blue) %s, in doubt (pale, dotted) %s, untrodden (dark red) %s of the ground; %s",
			percent(c.SurelyPercent), percent(c.DoubtPercent), percent(c.UntroddenPercent), gaps)
	}
	return fmt.Sprintf("The map: swept (blues, the darker the more often) %s of the ground as logged; not swept (dark red or pale) the rest; %s",
		percent(s.r.AsLoggedPercent), gaps)
}

// facts are the table of the first page.
func (s *Statement) facts() [][]string {
	r, c := s.r, s.Content
	rows := [][]string{{"Site", nameOpens + siteName(r) + nameCloses}}
	add := func(what, words string) {
		if words != "" {
			rows = append(rows, []string{what, words})
		}
	}
	add("Searched by", asName(c.Searcher))
	add("For", asName(c.Owner))
	add("Note", asName(c.Note))
	add("Issued", c.issuedDay())
	if t := r.Certainty; t != nil {
		add("Swept at least", atLeast(t.AtLeastPercent)+", with a chance of 95 in 100")
		add("Most likely", percent(t.ExpectedPercent)+" (9 times in 10: "+between(t.Interval90[0], t.Interval90[1])+")")
	}
	add("As logged", percent(r.AsLoggedPercent)+", taking every position as true")
	ground := areaFine(s.u, r.SearchableM2)
	if r.KeepoutM2 > 0 {
		ground += "; keep-outs of " + squared(s.u.area(r.KeepoutM2)) + " not counted"
	}
	add("Ground", ground)
	visits := count(len(r.Sessions), "visit")
	if d := season(r.Sessions); d != "" {
		visits += ", " + d
	}
	visits += "; " + searched(r.Sessions)
	if n := len(r.LeftOut); n > 0 {
		visits += "; " + count(n, "more visit") + " left out"
	}
	add("Visits", visits)
	if c.Finds != nil {
		add("Finds", c.Finds.findFacts())
	}
	return rows
}

func searched(visits []coverage.Session) string {
	sec := 0.0
	for _, v := range visits {
		sec += v.Seconds[track.Searching]
	}
	if sec == 0 {
		return "searching not timed"
	}
	return duration(sec) + " of searching"
}

func (s *Statement) visitSection() section {
	out := section{title: "Visits", cols: []tableColumn{
		{"Start (UTC)", 16, false}, {"Visit", 26, false}, {"Searching", 14, true},
		{"Walked searching", 19, true}, {"New ground", 14, true}, {"Rewalked", 11, true},
	}}
	for _, v := range s.r.Sessions {
		start, time := "no date", duration(v.Seconds[track.Searching])
		if v.Start.Known() {
			start = v.Start.Time().UTC().Format("2006-01-02 15:04")
		} else if v.Metres[track.Searching] > 0 {
			time = "not timed"
		}
		name := asName(v.Name)
		if v.Walker != "" {
			name += ", " + asName(v.Walker)
		}
		out.rows = append(out.rows, []string{start, name, time, s.u.length(v.Metres[track.Searching]),
			squared(s.u.area(v.NewGroundM2)), percent(v.RewalkedPercent)})
	}
	if n := len(s.r.LeftOut); n > 0 {
		out.after = append(out.after, fmt.Sprintf("Left out by the searcher, so that they count for nothing here: %s. Their logs are among the inputs.", leftOutNames(s.r.LeftOut, n, asName)))
	}
	if n := len(s.r.Copies); n > 0 {
		out.after = append(out.after, fmt.Sprintf("Left out as told by another log too, so that it counts once: %s.", count(n, "recording")))
	}
	return out
}

func (s *Statement) landmarkSection() section {
	out := section{title: "Ground within " + s.u.length(nearM) + " of each landmark"}
	if len(s.Content.Landmarks) == 0 {
		out.paras = []string{"The site has no landmarks."}
		return out
	}
	out.cols = []tableColumn{{"Landmark", 34, false}, {"Ground", 16, true}, {"As logged", 13, true}}
	if s.r.Certainty != nil {
		out.cols = append(out.cols, tableColumn{"Mean chance swept", 15, true}, tableColumn{"Surely swept", 13, true}, tableColumn{"Untrodden", 13, true})
	}
	for _, l := range s.Content.Landmarks {
		name := asName(l.Landmark)
		if name == "" {
			name = "without a name"
		}
		row := []string{name, squared(s.u.area(float64(l.SearchableM2)))}
		for _, p := range []Number{l.AsLoggedPercent, l.MeanChancePercent, l.SurelySweptPercent, l.UntroddenPercent}[:len(out.cols)-2] {
			row = append(row, shareOr(p))
		}
		out.rows = append(out.rows, row)
	}
	return out
}

// shareOr is a share in words, a dash for one that is not known.
func shareOr(p Number) string {
	if s := percent(float64(p)); s != "?" {
		return s
	}
	return "–"
}

func (s *Statement) gapSection() section {
	out := section{title: "Gaps left"}
	gaps := s.r.Untrodden()
	if len(gaps) == 0 {
		out.paras = []string{"No gap is left that is worth a walk."}
	} else {
		out.paras = []string{fmt.Sprintf("%s as the map numbers them. North and east are true, latitude and longitude WGS 84.", count(len(gaps), "gap"))}
		out.cols = []tableColumn{{"Gap", 6, true}, {"Area", 14, true}, {"Widest", 12, true}, {"Middle", 30, false}, {"Latitude, longitude", 26, false}}
	}
	t := texter{r: s.r, u: s.u}
	for _, g := range gaps[:min(len(gaps), gapsStated)] {
		out.rows = append(out.rows, []string{fmt.Sprint(g.ID), squared(s.u.area(g.AreaM2)), s.u.length(g.WidestM),
			t.where(g.CentreXY), fmt.Sprintf("%.6f, %.6f", g.Centre.Lat, g.Centre.Lon)})
	}
	if n := len(gaps) - gapsStated; n > 0 {
		out.after = append(out.after, "And "+count(n, "more gap")+", smaller than these.")
	}
	if doubt := s.r.Gaps[len(gaps):]; len(doubt) > 0 {
		m2 := 0.0
		for _, g := range doubt {
			m2 += g.AreaM2
		}
		out.after = append(out.after, fmt.Sprintf("Besides, %s in doubt, %s in all: swept or not, the receiver cannot tell.", count(len(doubt), "piece"), squared(s.u.area(m2))))
	}
	return out
}

// oddSection tells what was odd in the files, and what was not used.
func (s *Statement) oddSection() section {
	out := section{title: "Odd in the files"}
	for _, k := range s.r.Skipped {
		out.list = append(out.list, "Not used: "+asName(k.Err.Error()))
	}
	for _, n := range s.r.Notes {
		what, ok := noteWords[n.Kind]
		if !ok {
			what = string(n.Kind)
		}
		out.list = append(out.list, fmt.Sprintf("%s: %s in %s", what, grouped(float64(n.Count), 0), asName(n.File)))
	}
	if len(out.list) == 0 {
		out.paras = []string{"Nothing."}
	}
	return out
}

func (s *Statement) checkSection() section {
	signed := "It is not signed: whoever has the logs could have made it."
	if s.Signature != nil {
		signed = "It is signed (Ed25519) with the key " + s.Signature.PublicKey + ". Ask the issuer for the key by another way, and compare."
	}
	return section{title: "How to check this statement", paras: []string{
		"The file statement.json holds every number above and below, the site, the settings and the fingerprints of the logs. With the same logs, or the book they are in, anybody can work the result out again: untrod verify statement.json BOOK (or the LOGS). It says whether all matches, or exactly what differs.",
		fmt.Sprintf("Content of statement.json, SHA-256: %s. %s", s.SHA256, signed),
		fmt.Sprintf("Made by untrod %s, seed %d, issued %s.", Printable(s.Content.Program), s.Content.Seed, s.Content.issuedDay()),
		"Letters that the paper's font does not have are printed as a box; statement.json has them.",
	}}
}

func (s *Statement) inputSection() section {
	out := section{title: "Inputs and their SHA-256", cols: []tableColumn{{"File", 30, false}, {"Visits used", 9, true}, {"SHA-256", 61, false}}}
	unused := map[string]int{}
	for _, v := range s.r.LeftOut {
		unused[v.File]++
	}
	for _, in := range s.Content.Inputs {
		out.rows = append(out.rows, []string{asName(in.Name), fmt.Sprint(len(in.Visits) - unused[in.Name]), in.SHA256})
	}
	if f := s.Content.Finds; f != nil {
		out.rows = append(out.rows, []string{"the table of " + count(f.Count, "find"), "–", f.SHA256})
		out.after = []string{"The finds are checked against the book they are in, or against the table that untrod export writes of them, finds.csv."}
	}
	return out
}

// settingsSection has every setting as given, in SI units.
func (s *Statement) settingsSection() section {
	out := section{title: "Every setting, as given", cols: []tableColumn{{"Setting", 50, false}, {"Value", 50, false}}}
	text, err := StatementContent{Settings: s.Content.Settings}.JSON()
	if err != nil {
		return out
	}
	all, _ := leaves(text)
	for _, l := range all {
		if name, ok := strings.CutPrefix(l.path, "settings."); ok {
			out.rows = append(out.rows, []string{name, asName(strings.Trim(l.value, `"`))})
		}
	}
	out.after = []string{"The unit is the end of the name: m, m2, s, ms for metres a second. What is 0 was left to be chosen; what was chosen stands in the summary of statement.json."}
	return out
}
