package main

import (
	"context"
	"fmt"
	"io"
	"strconv"

	"untrod/coverage"
	"untrod/plan"
	"untrod/report"
)

// fill settles what depends on the ground.
func (j *sheetJob) fill(o *coverOptions, f *sheetFlags) (err error) {
	if j.doc != nil && !o.swath.given() && !o.coil.given() && !o.swing.given() { // that of the plan does
		if err := o.swath.Set(strconv.FormatFloat(float64(j.doc.Settings.SwathM), 'f', -1, 64) + "m"); err != nil {
			return err
		}
	}
	if err := j.read(o); err != nil {
		return err
	}
	j.sheet.Units = j.units
	if j.plans {
		if j.next, err = f.settings(j.site, j.set.Position.Seed, j.sheet.Day); err != nil {
			return err
		}
		if j.ends, err = f.ends(landmarksOf(j.site)); err != nil {
			return err
		}
	}
	j.inputs = append(j.inputs, f.plan)
	return j.openOut(o.out, j.outputs(nil, nil))
}

// outputs is the one file.
func (j *sheetJob) outputs(r *coverage.Result, p *plan.Plan) []output {
	return []output{{sheetFile, "pages to print", func(w io.Writer) error { return report.SheetPDF(w, r, p, j.sheet) }}}
}

// work assesses the ground, and plans the visit or takes the plan that was named.
func (j *sheetJob) work(ctx context.Context, std streams) (*coverage.Result, *plan.Plan, error) {
	if j.plans {
		return j.planJob.work(ctx, std)
	}
	show, done := progressBar(std.err)
	r, err := coverage.Assess(ctx, coverage.Input{Site: j.site, Logs: j.logs}, j.set, show)
	done()
	if err != nil || j.doc == nil {
		return r, nil, err
	}
	if why := j.doc.Stale(r); why != "" {
		fmt.Fprintf(std.err, "untrod: %s; make the plan anew\n", why)
	}
	return r, j.doc.Plan(r.Frame), nil
}
