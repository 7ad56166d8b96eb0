package web

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"time"

	"untrod/coverage"
	"untrod/plan"
	"untrod/report"
)

// planFile is a file of a plan.
type planFile struct {
	kind  string // of its content
	write func(io.Writer, *coverage.Result, *plan.Plan, report.Units) error
}

var planFiles = map[string]planFile{
	"next.txt":     {"text/plain; charset=utf-8", report.PlanText},
	"next.png":     {"image/png", report.PlanPNG},
	"next.gpx":     {"application/gpx+xml", report.PlanGPX},
	"next.kml":     {"application/vnd.google-earth.kml+xml", report.PlanKML},
	"next.geojson": {"application/geo+json", report.PlanGeoJSON},
	"next.csv": {"text/csv; charset=utf-8", func(w io.Writer, r *coverage.Result, p *plan.Plan, _ report.Units) error {
		return report.PlanCSV(w, r, p)
	}},
	"next.json": {"application/json", func(w io.Writer, r *coverage.Result, p *plan.Plan, _ report.Units) error {
		return report.PlanJSON(w, r, p)
	}},
	"hours.png": {"image/png", report.HoursPNG},
}

// otherHours are set side by side in a plan's files.
var otherHours = []float64{1, 2, 3, 5}

// file answers GET /plan/{id}/{file}.
func (p *planning) file(w http.ResponseWriter, r *http.Request) error {
	made, err := p.find(r.PathValue("id"))
	if err != nil {
		return err
	}
	name, next := r.PathValue("file"), made.plan
	f, known := planFiles[name]
	switch {
	case name == "sheet.pdf":
		f, err = p.sheetFile(r.FormValue("paper"))
	case !known:
		err = refuse(http.StatusNotFound, "a plan has no such file")
	default:
		next, err = p.withHours(r.Context(), made)
	}
	if err != nil {
		return err
	}
	if name == "hours.png" && len(next.Budgets) == 0 {
		return refuse(http.StatusNotFound, "there are no hours to compare: nothing is left to plan")
	}
	var b bytes.Buffer
	if err := f.write(&b, made.from.result, next, made.from.units); err != nil {
		return err
	}
	attachment(w, name, f.kind)
	_, _ = w.Write(b.Bytes())
	return nil
}

// withHours is the plan with what other hours would bring, for which the slider does
// not wait. It is worked out once.
func (p *planning) withHours(ctx context.Context, made *planned) (*plan.Plan, error) {
	p.making.Lock()
	defer p.making.Unlock()
	if made.whole != nil {
		return made.whole, nil
	}
	survey, err := p.surveyFor(ctx, made.from, made.of, made.plan.Settings)
	if err != nil {
		return nil, err
	}
	compared, err := survey.Plan(ctx, made.plan.Settings.BudgetS, otherHours...)
	if err != nil {
		return nil, err
	}
	whole := *made.plan // the very lanes that were shown
	whole.Budgets = compared.Budgets
	made.whole = &whole
	return made.whole, nil
}

// sheetFile is the field sheet of a plan, on paper of a size.
func (p *planning) sheetFile(paper string) (planFile, error) {
	size := max(0, slices.Index(report.Papers, strings.ToLower(paper)))
	if paper != "" && !strings.EqualFold(report.Papers[size], paper) {
		return planFile{}, refuse(http.StatusBadRequest, fmt.Sprintf("paper %q: not %s", paper, strings.Join(report.Papers, " or ")))
	}
	y, m, d := p.s.cfg.Now().Date()
	set := report.SheetSettings{Paper: report.Paper(size), Day: time.Date(y, m, d, 0, 0, 0, 0, time.UTC)}
	return planFile{"application/pdf", func(w io.Writer, r *coverage.Result, next *plan.Plan, u report.Units) error {
		set.Units = u
		return report.SheetPDF(w, r, next, set)
	}}, nil
}
