package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"untrod/report"
)

const sheetHelp = `sheet writes pages to print and carry: maps that can be read in grey and in
rain, a list of what to walk with bearings and paces, lines for finds, cautions
and a box for emergencies.

With --plan it shows a plan that untrod plan wrote (its next.json); with --hours
it plans the visit itself, as plan does with the same flags. With neither it
shows the gaps alone. Print it at full size, or the scale is not what it says.

Where the site lies is not told in degrees, in case the sheet is lost, unless
--place asks for it: then the emergency box holds your words and the position.`

const sheetExample = `  untrod sheet ford.gpkg --hours 3 --start gate --out paper
  untrod sheet ford.gpkg --plan next/next.json --out paper --paper letter
  untrod sheet --site site.geojson --swath 1.5m --scale 1:500 --out paper walks/`

const sheetFile = "sheet.pdf"

// Scales of maps, 1 to so many.
const (
	largestScale  = 20
	smallestScale = 10_000
)

// sheetFlags are what sheet takes beyond the flags of plan and cover.
type sheetFlags struct {
	*planFlags
	plan, paper, scale, place string
	group                     flagGroup
}

func newSheetFlags() *sheetFlags {
	f := &sheetFlags{planFlags: newPlanFlags()}
	s := newFlagSet()
	s.StringVar(&f.plan, "plan", "", "`file` of a plan to show, the next.json that plan wrote")
	s.StringVar(&f.paper, "paper", "a4", "`size` of the pages: a4 or letter")
	s.StringVar(&f.scale, "scale", "", "`scale` of the maps, such as 1:500 (default chosen from 1:200 to 1:2000)")
	s.StringVar(&f.place, "place", "", "`words` for the emergency box that tell where the site is; its position is put beside them")
	f.group = flagGroup{"The sheet", s}
	return f
}

// planGroups are the flags of plan that a sheet has a use for.
func (f *sheetFlags) planGroups() []flagGroup {
	visit := newFlagSet()
	f.visit.flags.VisitAll(func(fl *pflag.Flag) {
		if fl.Name != "compare-hours" {
			visit.AddFlag(fl)
		}
	})
	visit.Lookup("hours").Usage = "plan a visit of so long, from leaving the start to being at the end: 3, 2.5h or 90min"
	visit.Lookup("date").Usage = "`day` of the visit, such as 2026-05-30, for the sheet and the compass (default today)"
	f.compareHours = nil
	return []flagGroup{{"The next visit", visit}, f.fine}
}

func newSheet(std streams) *cobra.Command {
	o, f := newCoverOptions(usualCanopy), newSheetFlags()
	job := o.groups[0].flags
	job.Lookup("out").Usage = "`folder` for " + sheetFile
	next := f.planGroups()
	groups := append([]flagGroup{f.group, next[0], o.groups[0], next[1]}, o.groups[1:]...)
	cmd := &cobra.Command{
		Use:     "sheet [flags] BOOK|LOG... --out DIR",
		Short:   "Pages for the pocket: maps, what to walk, lines for finds",
		Long:    sheetHelp,
		Example: sheetExample,
		Args:    someLogs,
		RunE:    func(cmd *cobra.Command, args []string) error { return runSheet(cmd.Context(), o, f, args, std) },
	}
	useGroups(cmd, groups)
	job.Lookup("json").Hidden = true
	return cmd
}

// sheetJob is a sheet command line that was understood, with its files found.
type sheetJob struct {
	planJob
	doc   *report.PlanDoc // nil unless a plan was named
	plans bool            // the visit is to be planned
	sheet report.SheetSettings
}

func runSheet(ctx context.Context, o *coverOptions, f *sheetFlags, args []string, std streams) error {
	j, err := f.prepare(o, args, std)
	if err != nil {
		return err
	}
	defer j.close()
	defer j.out.discard()
	r, p, err := j.work(ctx, std)
	if err != nil {
		return f.explain(err)
	}
	if err := j.save(ctx, j.outputs(r, p)); err != nil {
		return err
	}
	if _, err := fmt.Fprintf(std.out, "Written: %s\n", j.out.path(sheetFile)); err != nil {
		return err
	}
	return j.tellOdd(std.err, r)
}

// prepare does everything that can go wrong before the long work.
func (f *sheetFlags) prepare(o *coverOptions, args []string, std streams) (*sheetJob, error) {
	j := &sheetJob{}
	if err := f.settle(j, o); err != nil {
		return nil, err
	}
	g, err := openGround(args, o, std)
	if err != nil {
		return nil, err
	}
	j.ground = g
	if err := j.fill(o, f); err != nil {
		return nil, errors.Join(err, g.close())
	}
	return j, nil
}

// settle reads what does not depend on the ground.
func (f *sheetFlags) settle(j *sheetJob, o *coverOptions) (err error) {
	switch {
	case o.out == "":
		return hint(usagef("where to? --out is missing"), "name a folder: --out paper")
	case o.json:
		return usagef("--json: a sheet is a PDF")
	case f.plan != "" && f.hours.given():
		return usagef("--plan shows a plan, --hours makes one: give one of the two")
	}
	j.plans = f.hours.given()
	if !j.plans {
		if name := f.aboutVisit(); name != "" {
			return usagef("--%s is for a visit to be planned: give --hours too", name)
		}
	}
	paper := slices.Index(report.Papers, strings.ToLower(f.paper))
	if paper < 0 {
		return usagef("--paper %q: not %s", f.paper, strings.Join(report.Papers, " or "))
	}
	j.sheet.Paper, j.sheet.Place = report.Paper(paper), f.place
	if j.sheet.Scale, err = scaleOf(f.scale); err != nil {
		return err
	}
	if j.sheet.Day, err = f.day(time.Now()); err != nil {
		return err
	}
	j.doc, err = readPlan(f.plan)
	return err
}

// aboutVisit is the first flag given that is about a visit to plan, its day left aside.
func (f *planFlags) aboutVisit() (name string) {
	for _, g := range []flagGroup{f.visit, f.fine} {
		g.flags.VisitAll(func(fl *pflag.Flag) {
			if fl.Changed && fl.Name != "date" && name == "" {
				name = fl.Name
			}
		})
	}
	return name
}

// day is the date given, or today, at midnight UTC: one day makes one sheet.
func (f *planFlags) day(today time.Time) (time.Time, error) {
	if f.date == "" {
		y, m, d := today.Date()
		return time.Date(y, m, d, 0, 0, 0, 0, time.UTC), nil
	}
	day, err := time.Parse(time.DateOnly, f.date)
	if err != nil {
		return day, usagef("--date %q: not a day such as 2026-05-30", f.date)
	}
	return day, nil
}

// scaleOf reads 1:500 or 500; 0 for nothing.
func scaleOf(text string) (int, error) {
	if text == "" {
		return 0, nil
	}
	number := strings.Join(strings.Fields(text), "")
	if one, rest, ok := strings.Cut(number, ":"); ok && one == "1" {
		number = rest
	}
	n, err := strconv.Atoi(number)
	if err != nil {
		return 0, usagef("--scale %q: not a scale such as 1:500", text)
	}
	if n < largestScale || n > smallestScale {
		return 0, usagef("--scale %q: must be from 1:%d to 1:%d", text, largestScale, smallestScale)
	}
	return n, nil
}

func readPlan(path string) (*report.PlanDoc, error) {
	if path == "" {
		return nil, nil
	}
	f, err := openNamed(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	doc, err := report.ReadPlan(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return doc, nil
}
