package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"untrod/coverage"
	"untrod/plan"
	"untrod/report"
	"untrod/site"
)

const reportHelp = `report writes all there is to know of a site as one page, report.html: the map,
how sure the figures are, the visits, the landmarks compared, the finds, a plan
for the next visit, the gaps and what to mind. It opens in any browser, on a
phone or from a stick, with no network, and prints well.

Coverage is worked out first, as cover does, from a BOOK or from loose LOG
files; the comparison and the plan are those of compare and plan, with the same
flags. The same book, flags and --date give the same bytes.

The page tells where the site and the finds lie. To show a map without the
place, use share.`

const reportExample = `  untrod report ford.gpkg --out report
  untrod report ford.gpkg --hours 90min --start gate --rings 3m,8m --out report
  untrod report --site site.geojson --swath 1.5m --finds finds.csv \
      --out report walks/`

const reportFile = "report.html"

// reportFlags are what report takes beyond the flags of cover.
type reportFlags struct {
	*planFlags
	compare *compareFlags
	noPlan  bool
}

func newReport(std streams) *cobra.Command {
	o, f := newCoverOptions(usualCanopy), &reportFlags{planFlags: newPlanFlags(), compare: newCompareFlags()}
	job := o.groups[0].flags
	job.Lookup("out").Usage = "`folder` for " + reportFile
	job.Lookup("json").Hidden = true
	f.visit.flags.Lookup("date").Usage = "`day` of the report and of the visit, such as 2026-05-30 (default today)"
	f.fine.flags.Lookup("overlap").Usage = "by which the swaths of neighbouring lanes of the plan overlap (default 0)"
	compared := newFlagSet()
	for _, name := range []string{"rings", "finds", "no-finds"} {
		compared.AddFlag(f.compare.group.flags.Lookup(name))
	}
	compared.BoolVar(&f.noPlan, "no-plan", false, "leave the next visit out; on ground of kilometres planning it takes minutes")
	groups := append([]flagGroup{o.groups[0], f.visit, {"What to compare, and to leave out", compared}, f.fine}, o.groups[1:]...)
	cmd := &cobra.Command{
		Use:     "report [flags] BOOK|LOG... --out DIR",
		Short:   "One page with all there is to know of a site",
		Long:    reportHelp,
		Example: reportExample,
		Args:    someLogs,
		RunE:    func(cmd *cobra.Command, args []string) error { return runReport(cmd.Context(), o, f, args, std) },
	}
	useGroups(cmd, groups)
	return cmd
}

// reportJob is a report command line that was understood, with its files found.
type reportJob struct {
	planJob
	all  []site.Find // those of the book and of the tables
	says report.ReportSays
}

func runReport(ctx context.Context, o *coverOptions, f *reportFlags, args []string, std streams) error {
	j, err := f.prepare(o, args, std)
	if err != nil {
		return err
	}
	defer j.close()
	defer j.out.discard()
	r, err := j.work(ctx, f, std)
	if err != nil {
		return err
	}
	if err := j.save(ctx, j.outputs(r)); err != nil {
		return err
	}
	if _, err := fmt.Fprintf(std.out, "Written: %s\n", j.out.path(reportFile)); err != nil {
		return err
	}
	return j.tellOdd(std.err, r)
}

// prepare does everything that can go wrong before the long work.
func (f *reportFlags) prepare(o *coverOptions, args []string, std streams) (*reportJob, error) {
	switch {
	case o.out == "":
		return nil, hint(usagef("where to? --out is missing"), "name a folder: --out report")
	case o.json:
		return nil, usagef("--json: a report is a page; untrod cover, compare and plan give the numbers")
	}
	if name := f.aboutVisit(); f.noPlan && name != "" {
		return nil, usagef("--no-plan leaves out what --%s is for: give one of the two", name)
	}
	day, err := f.day(time.Now())
	if err != nil {
		return nil, err
	}
	g, err := openGround(args, o, std)
	if err != nil {
		return nil, err
	}
	j := &reportJob{planJob: planJob{job: job{ground: g}}}
	j.says.Made, j.says.Program = day.Format(time.DateOnly), version()
	if err := j.settle(o, f, day, std); err != nil {
		return nil, errors.Join(err, g.close())
	}
	return j, nil
}

func (j *reportJob) settle(o *coverOptions, f *reportFlags, day time.Time, std streams) (err error) {
	if err := j.read(o); err != nil {
		return err
	}
	j.says.Units = j.units
	if j.set.Zones, err = f.compare.settings(); err != nil {
		return err
	}
	if err := j.set.Validate(); err != nil {
		return err
	}
	if j.next, err = f.settings(j.site, j.set.Position.Seed, day); err != nil {
		return err
	}
	if j.ends, err = f.ends(landmarksOf(j.site)); err != nil {
		return err
	}
	if j.finds, err = f.goBy(j.ground); err != nil {
		return err
	}
	if j.all, err = f.compare.finds(j.ground, std.err); err != nil {
		return err
	}
	j.inputs = append(j.inputs, f.compare.tables...)
	return j.openOut(o.out, j.outputs(nil))
}

// work assesses the ground and plans the visit. A visit that nobody asked for need not
// be possible: the report then says why it is not.
func (j *reportJob) work(ctx context.Context, f *reportFlags, std streams) (*coverage.Result, error) {
	show, done := progressBar(std.err)
	defer done()
	r, err := coverage.Assess(ctx, coverage.Input{Site: j.site, Logs: j.logs, Finds: j.all}, j.set, show)
	if err != nil {
		return nil, err
	}
	j.says.Finds = j.all
	if f.noPlan {
		j.says.NoPlan = "left out of this report"
		return r, nil
	}
	if j.says.Plan, err = j.plan(ctx, r, show); err == nil {
		return r, nil
	}
	var short *plan.BudgetError
	var setting *coverage.SettingsError
	if f.aboutVisit() != "" || !errors.As(err, &short) && !errors.As(err, &setting) {
		return nil, f.explain(err)
	}
	j.says.Plan, j.says.NoPlan = nil, fmt.Sprintf("no visit of %s h could be planned: %v", usualHours, err)
	return r, nil
}

// outputs is the one file.
func (j *reportJob) outputs(r *coverage.Result) []output {
	return []output{{reportFile, "one page, for any browser", func(w io.Writer) error { return report.WriteReport(w, r, j.says) }}}
}
