package report

import (
	"strings"
	"sync"
	"unicode"

	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/unicode/bidi"
)

// noGlyph stands for a letter that the font of a document does not have.
const noGlyph = '□'

// A name within a sentence is set apart by these, so that one that runs from right
// to left leaves the words about it where they are (Unicode UAX 9, isolates).
const (
	nameOpens  = "\u2068"
	nameCloses = "\u2069"
)

// asName is a user's text within words of ours.
func asName(s string) string {
	if s = Printable(s); s == "" {
		return ""
	}
	return nameOpens + s + nameCloses
}

// plainText is s without the signs that set names apart.
func plainText(s string) string {
	return strings.NewReplacer(nameOpens, "", nameCloses, "").Replace(s)
}

var parsedFont = sync.OnceValue(func() *sfnt.Font {
	f, err := sfnt.Parse(liberationsansregular.TTF)
	if err != nil {
		panic(err) // embedded
	}
	return f
})

// inFont reports whether the font draws r: Latin, Greek, Cyrillic and Hebrew
// letters, but few others.
func inFont(r rune) bool {
	if r > 0xFFFF {
		return false // the PDF library holds no more
	}
	var buf sfnt.Buffer
	i, err := parsedFont().GlyphIndex(&buf, r)
	return err == nil && i != 0
}

// drawable puts a box in place of each letter that cannot be drawn, and reports
// whether there was any. Marks that combine with a letter are left out with no box.
func drawable(s string) (out string, lacking bool) {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\u2068' || r == '\u2069' || inFont(r):
			return r
		case unicode.Is(unicode.M, r) || unicode.Is(unicode.Cf, r):
			lacking = true
			return -1
		}
		lacking = true
		return noGlyph
	}, s), lacking
}

// lines breaks text into what fits a width in mm in the font that is set, in the
// order in which it is drawn from left to right.
func (d *pdfDoc) lines(text string, width float64) []string {
	text, _ = drawable(text)
	fits := func(s string) bool { return d.pdf.GetStringWidth(plainText(s)) <= width }
	var out []string
	for _, l := range wrap(text, fits) {
		for _, piece := range brokenUp(l, fits) {
			out = append(out, drawnOrder(piece))
		}
	}
	return out
}

// brokenUp cuts a line that does not fit, for want of spaces, wherever it must be.
func brokenUp(l string, fits func(string) bool) []string {
	var out []string
	for rest := []rune(l); len(rest) > 0; {
		n := len(rest)
		if !fits(string(rest)) {
			for n = 1; n < len(rest) && fits(string(rest[:n+1])); n++ {
			}
		}
		out = append(out, string(rest[:n]))
		rest = rest[n:]
	}
	return out
}

// cut shortens text to a width in mm.
func (d *pdfDoc) cut(text string, width float64) string {
	l := d.lines(text, width)
	switch len(l) {
	case 0:
		return ""
	case 1:
		return l[0]
	}
	return d.lines(text, width-3)[0] + "…"
}

// drawnOrder puts the letters of a line in the order in which they stand from left
// to right. Each name is a piece of its own, and runs as its first letter does.
func drawnOrder(line string) string {
	var out strings.Builder
	for _, piece := range strings.FieldsFunc(line, func(r rune) bool { return r == '\u2068' || r == '\u2069' }) {
		out.WriteString(drawnPiece(piece))
	}
	return out.String()
}

func drawnPiece(s string) string {
	if !strings.ContainsFunc(s, func(r rune) bool { return r >= 0x590 }) {
		return s
	}
	var p bidi.Paragraph
	if _, err := p.SetString(s); err != nil {
		return s
	}
	o, err := p.Order()
	if err != nil {
		return s
	}
	var out string
	for i := range o.NumRuns() {
		run := o.Run(i)
		text := run.String()
		if run.Direction() == bidi.RightToLeft {
			text = bidi.ReverseString(text)
		}
		if !startsRight(s) {
			out += text
		} else {
			out = text + out
		}
	}
	return out
}

// startsRight reports whether the first letter with a direction runs to the left.
func startsRight(s string) bool {
	for _, r := range s {
		switch p, _ := bidi.LookupRune(r); p.Class() {
		case bidi.L:
			return false
		case bidi.R, bidi.AL:
			return true
		}
	}
	return false
}
