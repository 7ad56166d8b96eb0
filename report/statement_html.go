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

var statementPage = template.Must(template.New("statement").Funcs(template.FuncMap{"tight": tight}).Parse(statementHTML))

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
		MapWords: s.mapWords(), Map: template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(s.png)),
		Not: s.notClaimed(), Facts: s.facts(),
	}
	for _, sec := range s.sections() {
		p := pageSection{Title: sec.title, Paras: sec.paras, List: sec.list, Rows: sec.rows, After: sec.after}
		for _, c := range sec.cols {
			p.Heads, p.Right = append(p.Heads, c.head), append(p.Right, c.right)
		}
		page.Sections = append(page.Sections, p)
	}
	return statementPage.Execute(w, page)
}

// tight keeps a percent sign with its number.
func tight(s string) string { return strings.ReplaceAll(s, " %", "\u00a0%") }
