package main

import (
	"bufio"
	"context"
	"errors"
	"io"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"untrod/coverage"
	"untrod/plan"
	"untrod/report"
	"untrod/site"
)

const planHelp = `plan works out the next visit: which gaps to walk in the hours there are, in
which order, along which lanes, and how to find those lanes from landmarks where
the receiver cannot lead. Coverage is worked out first, as cover does, from a
BOOK or from loose LOG files, with the same flags.

Ground is worth what is likely to be new in it, more so near landmarks. Paces
and time to dig are those of your own visits; ground marked slow in the site
file takes as much longer. With --out the plan is written as routes and
waypoints for a handheld (next.gpx), for map programs (next.kml, next.geojson),
as a table (next.csv), a map (next.png) and a list to print (next.txt).

After the visit, --walked compares the plan with it: which lanes were walked,
which left, and how far off.`

const planExample = `  untrod plan ford.gpkg --hours 3 --start gate --out next
  untrod plan ford.gpkg --hours 90min --interest 'old well=4@10m'
  untrod plan --site site.geojson --swath 1.5m --start 44.90731,-27.61280 walks/
  untrod plan ford.gpkg --walked next/next.json`

const nextJSON = "next.json"

func newPlan(std streams) *cobra.Command {
	o, f := newCoverOptions(usualCanopy), newPlanFlags()
	job := o.groups[0].flags
	job.Lookup("out").Usage = "`folder` for the routes, the map and the list"
	job.Lookup("json").Usage = "print the plan as JSON, all else on standard error"
	groups := append([]flagGroup{f.visit, f.afterwards, o.groups[0], f.fine}, o.groups[1:]...)
	cmd := &cobra.Command{
		Use:     "plan [flags] BOOK|LOG...",
		Short:   "What to walk on the next visit, and along which lines",
		Long:    planHelp,
		Example: planExample,
		Args:    planArgs(f),
		RunE: func(cmd *cobra.Command, args []string) error {
			if f.walked {
				return runWalked(cmd.Context(), o, args, std)
			}
			return runPlan(cmd.Context(), o, f, args, std)
		},
	}
	useGroups(cmd, groups)
	return cmd
}

func planArgs(f *planFlags) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) == 0 {
			return hint(usagef("no book or log files given"),
				"name a book, or GPX files or folders: untrod plan --swath 1.5m walks/")
		}
		return nil
	}
}

// planJob is a plan command line that was understood, with its files found.
type planJob struct {
	job
	next  plan.Settings // all but start, end and finds
	finds []site.Find
	ends  ends
}

func runPlan(ctx context.Context, o *coverOptions, f *planFlags, args []string, std streams) error {
	j, err := f.prepare(o, args, std)
	if err != nil {
		return err
	}
	defer j.close()
	if j.out != nil {
		defer j.out.discard()
	}
	r, p, err := j.work(ctx, std)
	if err != nil {
		return f.explain(err)
	}
	if err := j.save(ctx, j.outputs(r, p)); err != nil {
		return err
	}
	if err := j.print(std, o.json, r, p); err != nil {
		return err
	}
	return j.tellOdd(std.err, r)
}

// prepare does everything that can go wrong before the long work.
func (f *planFlags) prepare(o *coverOptions, args []string, std streams) (*planJob, error) {
	g, err := openGround(args, o, std)
	if err != nil {
		return nil, err
	}
	j := &planJob{job: job{ground: g}}
	if err := j.settle(o, f); err != nil {
		return nil, errors.Join(err, g.close())
	}
	return j, nil
}

func (j *planJob) settle(o *coverOptions, f *planFlags) (err error) {
	if err := j.read(o); err != nil {
		return err
	}
	if j.next, err = f.settings(j.site, j.set.Position.Seed, time.Now()); err != nil {
		return err
	}
	if j.ends, err = f.ends(landmarksOf(j.site)); err != nil {
		return err
	}
	if j.finds, err = f.goBy(j.ground); err != nil {
		return err
	}
	return j.openOut(o.out, j.outputs(nil, &plan.Plan{Budgets: make([]plan.Outlook, 1)}))
}

// goBy are the finds to go by: those with a place that are not scrap.
func (f *planFlags) goBy(g *ground) ([]site.Find, error) {
	if !f.byFinds {
		return nil, nil
	}
	if g.book == nil {
		return nil, hint(usagef("--by-finds: loose files hold no finds"), "keep them in a book: "+self()+" find BOOK import finds.csv")
	}
	finds, err := g.book.Finds()
	if err != nil {
		return nil, err
	}
	finds = slices.DeleteFunc(finds, func(f site.Find) bool { return !f.Placed() || f.Verdict == site.Scrap })
	if len(finds) == 0 {
		return nil, usagef("--by-finds: the book has no finds with a place, scrap left out")
	}
	return finds, nil
}

// work assesses the ground and plans the visit.
func (j *planJob) work(ctx context.Context, std streams) (*coverage.Result, *plan.Plan, error) {
	show, done := progressBar(std.err)
	defer done()
	r, err := coverage.Assess(ctx, coverage.Input{Site: j.site, Logs: j.logs}, j.set, show)
	if err != nil {
		return nil, nil, err
	}
	p, err := j.plan(ctx, r, show)
	return r, p, err
}

// plan plans the visit on ground that was assessed.
func (j *planJob) plan(ctx context.Context, r *coverage.Result, show coverage.Progress) (*plan.Plan, error) {
	if err := j.ends.put(ctx, &j.next, r, j.logs); err != nil {
		return nil, err
	}
	for _, f := range j.finds {
		j.next.Finds = append(j.next.Finds, r.Frame.ToXY(f.Pos))
	}
	return plan.Make(ctx, r, j.next, show)
}

// explain adds advice to what plan.Make refuses.
func (f *planFlags) explain(err error) error {
	var short *plan.BudgetError
	var setting *coverage.SettingsError
	switch {
	case errors.As(err, &short):
		return hint(usagef("--hours %q: %w", f.hours.text, err), "give more hours, or a --start and --end nearer to the gaps")
	case errors.As(err, &setting) && (setting.Flag == "start" || setting.Flag == "end"):
		return hint(err, "latitude comes first, then longitude: 44.90731,-27.61280")
	}
	return err
}

// outputs are the files of a plan, in the order they are listed.
func (j *planJob) outputs(r *coverage.Result, p *plan.Plan) []output {
	outs := []output{
		{"next.txt", "the list to walk by", func(w io.Writer) error { return report.PlanText(w, r, p, j.units) }},
		{"next.png", "the map of it", func(w io.Writer) error { return report.PlanPNG(w, r, p, j.units) }},
		{"next.gpx", "routes and waypoints for a phone or handheld", func(w io.Writer) error { return report.PlanGPX(w, r, p, j.units) }},
		{"next.kml", "the same for a globe", func(w io.Writer) error { return report.PlanKML(w, r, p, j.units) }},
		{"next.geojson", "the same for a map program", func(w io.Writer) error { return report.PlanGeoJSON(w, r, p, j.units) }},
		{"next.csv", "every lane, for a spreadsheet", func(w io.Writer) error { return report.PlanCSV(w, r, p) }},
		{nextJSON, "every number; keep it for --walked", func(w io.Writer) error { return report.PlanJSON(w, r, p) }},
	}
	if len(p.Budgets) > 0 {
		outs = append(outs, output{"next-hours.png", "what more hours would bring", func(w io.Writer) error { return report.HoursPNG(w, r, p, j.units) }})
	}
	return outs
}

// print writes the plan to standard output, as text or as JSON alone.
func (j *planJob) print(std streams, asJSON bool, r *coverage.Result, p *plan.Plan) error {
	w := bufio.NewWriter(std.out)
	if asJSON {
		return errors.Join(report.PlanJSON(w, r, p), w.Flush())
	}
	if err := report.PlanText(w, r, p, j.units); err != nil {
		return err
	}
	return errors.Join(j.tellWritten(w, j.outputs(r, p), "the routes, the map and this list as files"), w.Flush())
}
