package report

import (
	"html/template"
	"regexp"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/unicode/bidi"
)

var areaUnit = regexp.MustCompile(`\bm2\b`)

// markup is text as it stands in a page: percent signs kept with their numbers, m² with
// its raised figure, and each name, and each run of letters written from right to left,
// in an element that lets it run its own way without moving the words about it.
func markup(s string) template.HTML {
	var out strings.Builder
	for s != "" {
		plain, own, rest := cutOwn(s)
		out.WriteString(template.HTMLEscapeString(tight(areaUnit.ReplaceAllString(plain, "m²"))))
		if own != "" {
			out.WriteString(`<bdi>` + template.HTMLEscapeString(own) + `</bdi>`)
		}
		s = rest
	}
	return template.HTML(out.String())
}

// cutOwn cuts s about the first part that has a direction of its own; own is empty when
// there is none.
func cutOwn(s string) (plain, own, rest string) {
	from := strings.IndexFunc(s, func(r rune) bool { return string(r) == nameOpens || fromRight(r) })
	if from < 0 {
		return s, "", ""
	}
	plain, s = s[:from], s[from:]
	if name, is := strings.CutPrefix(s, nameOpens); is {
		own, rest, _ = strings.Cut(name, nameCloses)
		return plain, own, rest
	}
	end := 0
	for i, r := range s {
		if string(r) == nameOpens || fromLeft(r) {
			break
		}
		if fromRight(r) {
			end = i + utf8.RuneLen(r)
		}
	}
	return plain, s[:end], s[end:]
}

func fromRight(r rune) bool {
	p, _ := bidi.LookupRune(r)
	return p.Class() == bidi.R || p.Class() == bidi.AL
}

func fromLeft(r rune) bool {
	p, _ := bidi.LookupRune(r)
	return p.Class() == bidi.L
}
