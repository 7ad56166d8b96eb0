package report

import (
	"fmt"
	"math"
	"strconv"

	"untrod/coverage"
)

// readings says what each band of readings turned out to be, and what skipping all
// below would have cost.
func (t *compareTexter) readings() {
	for _, r := range t.c.Readings {
		t.line("")
		name := "Readings"
		if d := Printable(r.Detector); d != "" {
			name += ", " + cutTo(d, 40)
		}
		t.line("%s", name)
		t.line("%-14s %5s %8s %22s   %s", "", "", "", "", "skip all under its end:")
		t.line("  %-12s %5s %8s %22s %13s %13s", "band", "dug", "keepers", "share (limits)", "keepers lost", "scrap spared")
		for i, b := range r.Bands {
			w := bandWords(b, r.Rules[i])
			t.line("  %-12s %5s %8s %22s %13s %13s", w[0], w[1], w[2], w[3], w[4], w[5])
		}
		if r.Without > 0 {
			t.para("  ", "%s without a reading.", capital(count(r.Without, "find")))
		}
	}
	if len(t.c.Readings) > 0 {
		t.para("", "Shares are of finds known to be keeper or scrap. They tell of what was dug here: of signals left in the ground nothing is known.")
	}
}

// bandWords are a band of readings, how many were dug and how many of them keepers, that
// share, and what skipping all under the band's end would have cost and spared.
func bandWords(b coverage.Band, rule coverage.SkipRule) [6]string {
	return [6]string{number(b.From) + " to " + number(b.To), strconv.Itoa(b.Dug), strconv.Itoa(b.Keepers.X),
		shareWords(b.Keepers), ofAll(rule.Lost), ofAll(rule.Spared)}
}

// number is one of a detector's numbers.
func number(x float64) string { return tickLabel(x) }

func shareWords(s coverage.Share) string {
	if s.N == 0 {
		return "-"
	}
	return fmt.Sprintf("%s (%s)", percent(100*s.Value), between(100*s.Lo, 100*s.Hi))
}

func ofAll(s coverage.Share) string { return fmt.Sprintf("%d of %d", s.X, s.N) }

func (t *compareTexter) dates() {
	d := t.c.Dates
	if d.Dated == 0 {
		return
	}
	t.line("")
	t.para("", "Dates: the mean of %s with a first and a last year is %s, each standing for its middle year (South).",
		count(d.Dated, "find"), yearWords(d.Mean))
	if d.Open+d.Undated+d.Odd > 0 {
		t.para("", "Not in it: %d with one end only, %d without a date, %d with years that cannot be.", d.Open, d.Undated, d.Odd)
	}
	most := 0.0
	for _, k := range d.Decades {
		most = max(most, k.Finds)
	}
	if n := len(d.Decades); n > textDecades {
		t.para("", "They spread over %d decades, from %s to %s.", n, yearWords(float64(d.Decades[0].From)), yearWords(float64(d.Decades[n-1].From+9)))
		return
	}
	for _, k := range d.Decades {
		t.line("  %-9s %6.1f  %s", decadeWords(k.From), k.Finds, bar(k.Finds/most, 50))
	}
	t.para("", "Each find is spread evenly over its years (aoristic).")
}

const textDecades = 40 // listed one by one

func yearWords(y float64) string {
	if y < 0 {
		return fmt.Sprintf("%.0f BCE", math.Round(-y))
	}
	return fmt.Sprintf("%.0f", math.Round(y))
}

func decadeWords(from int) string {
	if from < 0 {
		return fmt.Sprintf("%d BCE", -from)
	}
	return fmt.Sprintf("%ds", from)
}

// bar is a share of a row of marks.
func bar(share float64, width int) string {
	n := int(math.Round(share * float64(width)))
	out := make([]byte, n)
	for i := range out {
		out[i] = '#'
	}
	return string(out)
}
