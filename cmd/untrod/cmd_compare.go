package main

import (
	"bufio"
	"context"
	"errors"
	"io"

	"github.com/spf13/cobra"

	"untrod/coverage"
	"untrod/report"
	"untrod/site"
)

const compareHelp = `compare tells whether the ground round a landmark is richer, or was merely
searched harder. Round every landmark it looks at rings of ground, and at the
rest of the site: how surely and how often each was swept, how long it was
searched, and what was found for that, with limits. It also tells what may be
left in the ground, what readings turned out to be, and how the finds are dated.

Finds come from the BOOK, or from tables named with --finds. What was searched
is worked out first, as cover does, from the BOOK or from loose LOG files, with
the same flags.`

const compareExample = `  untrod compare ford.gpkg
  untrod compare ford.gpkg --rings 3m,8m --overlap each --out compared
  untrod compare --site site.geojson --swath 1.5m --finds finds.csv walks/
  untrod compare ford.gpkg --no-finds --json`

func newCompare(std streams) *cobra.Command {
	o, f := newCoverOptions(usualCanopy), newCompareFlags()
	job := o.groups[0].flags
	job.Lookup("out").Usage = "`folder` for the charts, the maps and the numbers"
	job.Lookup("json").Usage = "print the comparison as JSON, all else on standard error"
	cmd := &cobra.Command{
		Use:     "compare [flags] BOOK|LOG...",
		Short:   "Landmarks by how hard their ground was searched, and what it gave",
		Long:    compareHelp,
		Example: compareExample,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return hint(usagef("no book or log files given"),
					"name a book, or GPX files or folders: untrod compare --swath 1.5m --finds finds.csv walks/")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return runCompare(cmd.Context(), o, f, args, std) },
	}
	useGroups(cmd, append([]flagGroup{f.group}, o.groups...))
	return cmd
}

// compareJob is a compare command line that was understood, with its files found.
type compareJob struct {
	job
	finds []site.Find
}

func runCompare(ctx context.Context, o *coverOptions, f *compareFlags, args []string, std streams) error {
	j, err := f.prepare(o, args, std)
	if err != nil {
		return err
	}
	defer j.close()
	if j.out != nil {
		defer j.out.discard()
	}
	show, done := progressBar(std.err)
	r, err := coverage.Assess(ctx, coverage.Input{Site: j.site, Logs: j.logs, Finds: j.finds}, j.set, show)
	done()
	if err != nil {
		return err
	}
	if err := j.save(ctx, j.outputs(r)); err != nil {
		return err
	}
	if err := j.print(std, o.json, r); err != nil {
		return err
	}
	return j.tellOdd(std.err, r)
}

// prepare does everything that can go wrong before the long work.
func (f *compareFlags) prepare(o *coverOptions, args []string, std streams) (j *compareJob, err error) {
	g, err := openGround(args, o, std)
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			g.close()
		}
	}()
	j = &compareJob{job: job{ground: g}}
	if err := j.read(o); err != nil {
		return nil, err
	}
	if j.set.Zones, err = f.settings(); err != nil {
		return nil, err
	}
	if err := j.set.Validate(); err != nil {
		return nil, err
	}
	if j.finds, err = f.finds(j.ground, std.err); err != nil {
		return nil, err
	}
	j.inputs = append(j.inputs, f.tables...)
	return j, j.openOut(o.out, j.outputs(nil))
}

// outputs are the files of a comparison, in the order they are listed; all there can
// be when r is nil.
func (j *compareJob) outputs(r *coverage.Result) []output {
	outs := []output{
		{"compare.txt", "what is printed here", func(w io.Writer) error { return report.CompareText(w, r, j.units) }},
		{"compare.json", "every number", func(w io.Writer) error { return report.CompareJSON(w, r) }},
		{"zones.png", "the rings side by side, with limits", func(w io.Writer) error { return report.ZonesPNG(w, r, j.units) }},
		{"effort.png", "map of how hard the ground was searched", func(w io.Writer) error { return report.EffortPNG(w, r, j.units) }},
	}
	if r == nil || len(r.Comparison.Placed) > 0 {
		outs = append(outs, output{"finds.png", "map of finds for the searching done", func(w io.Writer) error { return report.FindsPNG(w, r, j.units) }})
	}
	if r == nil || r.Comparison.Dates.Dated > 0 {
		outs = append(outs, output{"dates.png", "the finds by decade", func(w io.Writer) error { return report.DatesPNG(w, r) }})
	}
	return outs
}

// print writes the comparison to standard output, as text or as JSON alone.
func (j *compareJob) print(std streams, asJSON bool, r *coverage.Result) error {
	w := bufio.NewWriter(std.out)
	if asJSON {
		return errors.Join(report.CompareJSON(w, r), w.Flush())
	}
	if err := report.CompareText(w, r, j.units); err != nil {
		return err
	}
	return errors.Join(j.tellWritten(w, j.outputs(r), "the charts and maps"), w.Flush())
}
