package report

import (
	"fmt"
	"html/template"
	"io"

	"untrod/coverage"
)

// sharePage works from one file: the map is inside it. Only photos lie beside it.
var sharePage = template.Must(template.New("share").Parse(`<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>{{.Title}}: {{.Headline}}</title>
<style>
:root { color-scheme: light; }
body { margin: 0 auto; padding: 1rem; max-width: 62rem; background: #fcfaf3; color: #1f2a2c; font: 1rem/1.5 "Liberation Sans", Arial, Helvetica, sans-serif; }
h1, h2 { font-family: "Liberation Serif", "Times New Roman", serif; line-height: 1.2; margin: 1.5rem 0 .5rem; }
h1 { font-size: 2rem; margin-top: .5rem; }
.claim { font-size: 1.25rem; font-weight: bold; margin: .5rem 0; }
.soft { color: #4c5557; }
figure { margin: 1rem 0; }
img { max-width: 100%; height: auto; border: 1px solid #8a8375; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; margin: .5rem 0; }
caption { text-align: left; font-weight: bold; padding-bottom: .25rem; }
th, td { padding: .2rem .9rem .2rem 0; text-align: left; border-bottom: 1px solid #e4dfd3; font-weight: normal; }
th[scope=col] { font-weight: bold; }
.n { text-align: right; font-variant-numeric: tabular-nums; }
@media print { body { max-width: none; background: none; } figure, table { break-inside: avoid; } }
</style>
</head>
<body>
<main>
<h1>{{.Title}}</h1>
<p class="claim">{{.Lead}}</p>
<p>{{.Trust}}</p>
<figure>
<img src="{{.Map}}" alt="{{.Alt}}">
<figcaption class="soft">The ground, turned by a random angle: up is not north.</figcaption>
</figure>
<h2>Figures</h2>
<div class="scroll"><table>
<caption>Where the searchable ground went</caption>
<tr><th scope="col">Ground</th><th scope="col" class="n">Area</th><th scope="col" class="n">Share</th></tr>
{{range .Rows}}<tr><th scope="row">{{.What}}</th><td class="n">{{.Area}}</td><td class="n">{{.Share}}</td></tr>
{{end}}</table></div>
<p>{{.Effort}}</p>
{{if .Gaps}}<div class="scroll"><table>
<caption>Gaps, by their numbers on the map</caption>
<tr><th scope="col" class="n">Gap</th><th scope="col" class="n">Area</th><th scope="col" class="n">Widest</th></tr>
{{range .Gaps}}<tr><th scope="row" class="n">{{.What}}</th><td class="n">{{.Area}}</td><td class="n">{{.Share}}</td></tr>
{{end}}</table></div>
{{end}}{{if .Photos}}<h2>Finds</h2>
{{range .Photos}}<figure><img src="{{.File}}" alt="{{.Alt}}"></figure>
{{end}}{{end}}<h2>What is not here</h2>
<p>{{.Withheld}}</p>
<p>Swept does not mean empty: a coil passing over says nothing of what lies too deep or gives no signal.</p>
</main>
</body>
</html>
`))

type shareRow struct{ What, Area, Share string }

// HTML writes the page: map, figures and gaps. It needs no network and no script.
func (s *Share) HTML(w io.Writer) error {
	line, _ := headline(s.r)
	return sharePage.Execute(w, map[string]any{
		"Title": shareTitle, "Headline": line, "Lead": squared(s.lead()), "Trust": s.trust(), "Effort": s.effort(),
		"Map":  pictureURL(s.png),
		"Alt":  fmt.Sprintf("Map of the searched ground, turned: %s. Gaps are numbered and listed below.", line),
		"Rows": groundRows(s.r, s.set.Units), "Gaps": s.gapList(), "Photos": s.photos(), "Withheld": withheld,
	})
}

// groundRows say where the ground went.
func groundRows(r *coverage.Result, u Units) (out []shareRow) {
	row := func(what string, share float64) {
		out = append(out, shareRow{what, squared(u.area(share / 100 * r.SearchableM2)), percent(share)})
	}
	if c := r.Certainty; c != nil {
		row("surely swept", c.SurelyPercent)
		row("in doubt", c.DoubtPercent)
		row("untrodden", c.UntroddenPercent)
	} else {
		for _, p := range passRows(r.Passes) {
			row(p.what, p.share)
		}
	}
	if r.KeepoutM2 > 0 {
		out = append(out, shareRow{"keep-outs, not counted", squared(u.area(r.KeepoutM2)), ""})
	}
	return out
}

type passRow struct {
	what  string
	share float64
}

// passRows are the shares swept never, once, twice and more often.
func passRows(all []coverage.PassShare) []passRow {
	out := []passRow{{"not swept", 0}, {"swept once", 0}, {"swept twice", 0}, {"three times or more", 0}}
	for _, p := range all {
		out[min(p.Passes, 3)].share += p.Percent
	}
	return out
}

func (s *Share) gapList() (out []shareRow) {
	for _, g := range s.r.Untrodden() {
		out = append(out, shareRow{fmt.Sprint(g.ID), squared(s.set.Units.area(g.AreaM2)), s.set.Units.length(g.WidestM)})
	}
	return out
}

type pagePhoto struct{ File, Alt string }

func (s *Share) photos() (out []pagePhoto) {
	for i, name := range s.set.Photos {
		out = append(out, pagePhoto{name, fmt.Sprintf("Photo %d of a find", i+1)})
	}
	return out
}
