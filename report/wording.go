package report

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"untrod/coverage"
)

func siteName(r *coverage.Result) string {
	if n := Printable(r.Site.Name); n != "" {
		return n
	}
	return "Unnamed site"
}

// Printable puts s on one line without control characters, which no map and
// no terminal should be handed, and with its accents composed.
func Printable(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r) || r == utf8.RuneError || unicode.Is(unicode.Bidi_Control, r):
			return -1
		}
		return r
	}, s)
	return norm.NFC.String(strings.Join(strings.Fields(s), " "))
}

// wrap breaks txt into lines that fit; a word that does not has a line to itself.
// A percent sign stays with its number.
func wrap(txt string, fits func(string) bool) []string {
	var lines []string
	at := ""
	for _, w := range strings.Fields(strings.ReplaceAll(txt, " %", "\x00%")) {
		w = strings.ReplaceAll(w, "\x00", " ")
		if at != "" && !fits(at+" "+w) {
			lines = append(lines, at)
			at = ""
		}
		at = strings.TrimSpace(at + " " + w)
	}
	if at != "" {
		lines = append(lines, at)
	}
	return lines
}
