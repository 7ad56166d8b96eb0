// Package report turns a coverage.Result into what people read and carry: the
// map as PNG and SVG, the gaps as GeoJSON and GPX, the summary as JSON, the
// passes as GeoTIFF, and plain text. Everything is written to an io.Writer;
// the package opens no files. Start at [MapPNG], [Text] or [Summary].
//
// Files for machines hold SI units and WGS 84 degrees; only the map, the text
// and the words in the GPX file follow [Units].
package report

import (
	"math"
	"strconv"
	"strings"
)

// Units are the units that people are shown.
type Units int

const (
	Metric   Units = iota // metres, square metres, hectares
	Imperial              // feet, square feet, acres
)

const (
	footM   = 0.3048        // exact: international yard and pound agreement, 1959
	acreM2  = 4046.8564224  // exact: 43,560 square feet
	footM2  = footM * footM // 0.09290304
	maxPlot = 100_000       // areas from here on are given in hectares, m2
)

// area gives square metres in words, rounded to what a reader can use.
func (u Units) area(m2 float64) string {
	switch {
	case u == Imperial && m2 >= maxPlot:
		return rounded(m2/acreM2) + " acres"
	case u == Imperial:
		return rounded(m2/footM2) + " sq ft"
	case m2 >= maxPlot:
		return rounded(m2/10_000) + " ha"
	}
	return rounded(m2) + " m2"
}

// length gives metres in words.
func (u Units) length(m float64) string {
	if u == Imperial {
		return rounded(m/footM) + " ft"
	}
	return rounded(m) + " m"
}

// small gives a length of a hand or two in words.
func (u Units) small(m float64) string {
	if u == Imperial {
		return rounded(m/footM*12) + " in"
	}
	return rounded(m*100) + " cm"
}

// fine gives metres in words to a hundredth.
func (u Units) fine(m float64) string {
	if u == Imperial {
		return grouped(m/footM, 2) + " ft"
	}
	return grouped(m, 2) + " m"
}

// pace gives metres a second in words.
func (u Units) pace(ms float64) string { return u.fine(ms) + "/s" }

// paces gives a distance to walk in words, to a whole metre or foot.
func (u Units) paces(m float64) string {
	if u == Imperial {
		return grouped(math.Round(m/footM), 0) + " ft"
	}
	return grouped(math.Round(m), 0) + " m"
}

// unit is the length that map ticks and the scale bar count in, and its name.
func (u Units) unit() (m float64, short, plural string) {
	if u == Imperial {
		return footM, "ft", "feet"
	}
	return 1, "m", "metres"
}

// rounded gives one decimal below 10 and three significant digits, but no
// decimals, from there on.
func rounded(x float64) string {
	switch {
	case math.IsNaN(x) || math.IsInf(x, 0):
		return "?"
	case math.Abs(x) < 9.95:
		return grouped(x, 1)
	case math.Abs(x) < 100:
		return grouped(x, 0)
	}
	step := math.Pow(10, math.Floor(math.Log10(math.Abs(x)))-2)
	return grouped(math.Round(x/step)*step, 0)
}

// grouped writes x with commas between thousands.
func grouped(x float64, decimals int) string {
	s := strconv.FormatFloat(math.Abs(x), 'f', decimals, 64)
	whole, frac, _ := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if decimals > 0 {
		whole += "." + frac
	}
	if x < 0 && strings.Trim(whole, "0.") != "" {
		return "-" + whole
	}
	return whole
}

// percent never rounds to all or nothing what is neither.
func percent(p float64) string {
	switch {
	case math.IsNaN(p) || math.IsInf(p, 0):
		return "?"
	case p > 0 && p < 0.5:
		return "under 1 %"
	case p < 100 && p >= 99.5:
		return "over 99 %"
	}
	return strconv.FormatFloat(math.Round(p), 'f', 0, 64) + " %"
}

// count writes "no gaps", "1 gap", "12 gaps".
func count(n int, noun string) string {
	switch n {
	case 0:
		return "no " + noun + "s"
	case 1:
		return "1 " + noun
	}
	return grouped(float64(n), 0) + " " + noun + "s"
}
