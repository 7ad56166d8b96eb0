package report

import (
	_ "embed"
	"encoding/base64"
	"html/template"
	"io"
	"strings"
)

//go:embed statement.html
var statementHTML string

var statementPage = pageOf(statementHTML, template.FuncMap{"tight": tight})

//go:embed page_head.html
var pageHead string

// pageOf is a page made of its own text and the head that all pages have.
func pageOf(text string, words template.FuncMap) *template.Template {
	return template.Must(template.Must(template.New("page").Funcs(words).Parse(pageHead)).Parse(text))
}

// pageSection is a section as the template takes it.
type pageSection struct {
	Title       string
	Paras, List []string
	Heads       []string
	Right       []bool
	Rows        [][]string
	After       []string
}

// WriteHTML writes the statement as one file that needs no network and no script.
// Names stand in isolates of their own direction.
func (s *Statement) WriteHTML(w io.Writer) error {
	page := struct {
		Title, Claim, MapWords string
		Map                    template.URL
		Facts                  [][]string
		Not                    []string
		Sections               []pageSection
	}{
		Title: "Statement of coverage: " + nameOpens + siteName(s.r) + nameCloses, Claim: s.Content.Claim,
		MapWords: s.mapWords(), Map: pictureURL(s.png),
		Not: s.notClaimed(), Facts: s.facts(),
	}
	for _, sec := range s.sections() {
		page.Sections = append(page.Sections, sectionOf(sec))
	}
	return statementPage.Execute(w, page)
}

func sectionOf(sec section) pageSection {
	p := pageSection{Title: sec.title, Paras: sec.paras, List: sec.list, Rows: sec.rows, After: sec.after}
	for _, c := range sec.cols {
		p.Heads, p.Right = append(p.Heads, c.head), append(p.Right, c.right)
	}
	return p
}

// pictureURL is a PNG as it stands inside a page.
func pictureURL(png []byte) template.URL {
	return template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(png))
}

// tight keeps a percent sign with its number.
func tight(s string) string { return strings.ReplaceAll(s, " %", "\u00a0%") }
