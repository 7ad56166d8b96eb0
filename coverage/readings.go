package coverage

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// ParseReading reads a detector's target number as people write it, into the
// lowest and the highest number meant; ok is false when it is none of these.
//
//	76, 12.5, 12,5        that number
//	72-78, 72 to 78,      all between; also with /, .., "72, 78" and any dash;
//	72/78, 78-72          the ends may come in either order
//	70s, 70's             70 to 79
//	low 70s               70 to 73; also lower, low-70s
//	mid 80s               84 to 86; also middle
//	high 60s              67 to 69; also upper
//	low to mid 70s        70 to 76
//	70s-80s, low 70s-82   from the lowest of the first to the highest of the second
//	~75, about 75         73 to 77; also ≈, around, ca, ca.; wider by 2 either way
//
// A comma between digits is a decimal comma. A number may be negative (iron, on
// many detectors), but not the tens of "70s". Where low, mid and high end, and how
// much "about" is, is common practice, no source: show the user what was read.
// O(length).
func ParseReading(text string) (lo, hi float64, ok bool) {
	m := readingForm.FindStringSubmatch(plain(text))
	if m == nil {
		return math.NaN(), math.NaN(), false
	}
	first := term{part: m[2], number: m[3], tens: m[4] != ""}
	last := term{part: m[5], number: m[6], tens: m[7] != ""}
	if last == (term{}) {
		last = first
	}
	if first.number == "" && first.part != "" && last.part != "" { // low to mid 70s
		first.number, first.tens = last.number, last.tens
	}
	a, b, fine := first.ends()
	c, d, too := last.ends()
	if !fine || !too {
		return math.NaN(), math.NaN(), false
	}
	lo, hi = min(a, c), max(b, d)
	if m[1] != "" {
		lo, hi = lo-2, hi+2
	}
	return lo, hi, true
}

var readingForm = regexp.MustCompile(`^(~|≈|about |around |ca\.? )? *` +
	`(?:(low|mid|high)[ -]*)?(-?\d+(?:[.,]\d+)?)?(s)?` +
	`(?: *(?:-to-|-|/|\.\.|, |to) *(?:(low|mid|high)[ -]*)?(-?\d+(?:[.,]\d+)?)(s)?)?$`)

// plain is the text in lower case with one kind of space, dash and part of ten.
func plain(text string) string {
	text = strings.ToLower(strings.Join(strings.Fields(text), " "))
	return oneWay.Replace(text)
}

var oneWay = strings.NewReplacer(
	"‐", "-", "‑", "-", "‒", "-", "–", "-", "—", "-", "―", "-", "−", "-",
	"'", "", "’", "", "…", "..",
	"lower", "low", "middle", "mid", "upper", "high",
)

// term is one end of a reading: "high 60s" has part high, number 60, tens.
type term struct {
	part, number string
	tens         bool
}

// ends are the lowest and highest number a term means.
func (t term) ends() (lo, hi float64, ok bool) {
	v, err := strconv.ParseFloat(strings.Replace(t.number, ",", ".", 1), 64)
	if err != nil || t.part != "" && !t.tens {
		return 0, 0, false
	}
	if !t.tens {
		return v, v, true
	}
	within := map[string][2]float64{"": {0, 9}, "low": {0, 3}, "mid": {4, 6}, "high": {7, 9}}[t.part]
	return v + within[0], v + within[1], v >= 0 && math.Mod(v, 10) == 0
}
