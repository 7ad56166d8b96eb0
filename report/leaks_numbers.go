package report

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// written is a number as it stands in a text.
type written struct {
	value    float64
	decimals int
	from, to int
}

var (
	numberForm = regexp.MustCompile(`\d+(?:[.,]\d+)?(?:[eE][-+]?\d{1,2}\b)?`)
	// Thousands set apart: 5,678,901.2 or 5 678 901.
	groupedForm = regexp.MustCompile(`\d{1,3}(?:[ ,'’_\x{a0}\x{202f}]\d{3})+(?:\.\d+)?`)
)

// numbers finds all numbers of a text, in order, without their signs: those are often
// letters.
func numbers(text string, form *regexp.Regexp) (out []written) {
	for _, at := range form.FindAllStringIndex(text, -1) {
		digits := text[at[0]:at[1]]
		if form == groupedForm {
			digits = strings.Map(func(r rune) rune {
				if r == '.' || r >= '0' && r <= '9' {
					return r
				}
				return -1
			}, digits)
		}
		digits = strings.Replace(digits, ",", ".", 1)
		v, err := strconv.ParseFloat(digits, 64)
		if err != nil {
			continue
		}
		out = append(out, written{v, decimalsOf(digits), at[0], at[1]})
	}
	return out
}

// decimalsOf are the digits after the point, once the exponent is worked in.
func decimalsOf(digits string) int {
	mantissa, exp, _ := strings.Cut(strings.ToLower(digits), "e")
	_, frac, _ := strings.Cut(mantissa, ".")
	e, _ := strconv.Atoi(exp)
	return max(0, len(frac)-e)
}

func (l *looker) positions(where, text string) {
	for _, form := range []*regexp.Regexp{numberForm, groupedForm} {
		all := numbers(text, form)
		for i, n := range all {
			found := l.alone(n)
			if i+1 < len(all) && all[i+1].from-n.to <= pairGap {
				found = found || l.pair(n, all[i+1])
			}
			if found {
				l.leak(where, LeakPosition, text[n.from:min(len(text), n.to+24)])
			}
		}
	}
	l.sexagesimal(where, text)
}

// pairGap is how many bytes may lie between the two numbers of a place: `", "longitude": "`
// and the like.
const pairGap = 28

// inSpan reports whether v, either sign, lies in a range.
func inSpan(v float64, span [2]float64) bool {
	return v >= span[0] && v <= span[1] || -v >= span[0] && -v <= span[1]
}

// alone reports whether a number gives the site away all by itself.
func (l *looker) alone(n written) bool {
	for _, p := range l.places {
		if p.metres {
			// An easting has too few digits to tell it from other numbers.
			if n.value >= 1e6 && (inSpan(n.value, p.north) || inSpan(n.value, p.east)) {
				return true
			}
			continue
		}
		least := 3
		if n.value < 1 {
			least = 4
		}
		if n.decimals >= least && (inSpan(n.value, p.north) || inSpan(n.value, p.east)) {
			return true
		}
		for _, unit := range []float64{1e6, 1e7, (1 << 31) / 180.0} {
			if v := n.value / unit; n.value >= 1e6 && n.decimals == 0 && (inSpan(v, p.north) || inSpan(v, p.east)) {
				return true
			}
		}
	}
	return false
}

// pair reports whether two numbers next to each other are a place.
func (l *looker) pair(a, b written) bool {
	for _, p := range l.places {
		here := inSpan(a.value, p.north) && inSpan(b.value, p.east) || inSpan(a.value, p.east) && inSpan(b.value, p.north)
		if here && (p.metres && max(a.value, b.value) >= 1e5 || a.decimals >= 2 && b.decimals >= 2) {
			return true
		}
	}
	return false
}

var (
	degreeForm = regexp.MustCompile(`(?i)(\d{1,3})\s*(?:°|º|deg|d)\s*(\d{1,2}(?:[.,]\d+)?)\s*(?:['′’m]|min)?\s*(?:(\d{1,2}(?:[.,]\d+)?)\s*(?:["″”s']|sec)?)?`)
	// With a letter for the hemisphere the signs may be missing.
	letteredForm = regexp.MustCompile(`(?i)(?:\b[NSEW]\s*(\d{1,3})[ :_-](\d{1,2}(?:[.,]\d+)?)(?:[ :_-](\d{1,2}(?:[.,]\d+)?))?)|(?:(\d{1,3})[ :_-](\d{1,2}(?:[.,]\d+)?)(?:[ :_-](\d{1,2}(?:[.,]\d+)?))?\s*[NSEW]\b)`)
	// Degrees and minutes in one, as receivers speak: 5114.074,N.
	runTogether = regexp.MustCompile(`\b(\d{1,3})(\d{2}\.\d{2,})\s*,?\s*[NSEWnsew]\b`)
)

// sexagesimal finds degrees with minutes.
func (l *looker) sexagesimal(where, text string) {
	for _, form := range []*regexp.Regexp{degreeForm, letteredForm, runTogether} {
		for _, m := range form.FindAllStringSubmatch(text, -1) {
			v, scale := 0.0, 1.0
			for _, part := range m[1:] {
				if part != "" {
					x, _ := strconv.ParseFloat(strings.Replace(part, ",", ".", 1), 64)
					v += x / scale
					scale *= 60
				}
			}
			for _, p := range l.places {
				if !p.metres && (inSpan(v, p.north) || inSpan(v, p.east)) && !math.IsNaN(v) {
					l.leak(where, LeakPosition, m[0])
				}
			}
		}
	}
}
