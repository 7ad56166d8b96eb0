package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"untrod/coverage"
	"untrod/plan"
	"untrod/report"
	"untrod/track"
)

// runWalked compares a plan written before with the last visit.
func runWalked(ctx context.Context, o *coverOptions, args []string, std streams) error {
	doc, rest, err := planAmong(args, o.out)
	if err != nil {
		return err
	}
	g, err := openGround(rest, o, std)
	if err != nil {
		return err
	}
	defer g.close()
	if !o.swath.given() && !o.coil.given() && !o.swing.given() { // that of the plan does
		if err := o.swath.Set(strconv.FormatFloat(float64(doc.Settings.SwathM), 'f', -1, 64) + "m"); err != nil {
			return err
		}
	}
	set, err := o.settings()
	if err != nil {
		return err
	}
	units, err := o.reportUnits()
	if err != nil {
		return err
	}
	v, err := lastVisit(ctx, set, g.logs, func(coverage.Source) bool { return true })
	if err != nil {
		return err
	}
	compared, err := compare(doc, v, set)
	if err != nil {
		return err
	}
	w := bufio.NewWriter(std.out)
	if o.json {
		return errors.Join(report.WalkedJSON(w, compared), w.Flush())
	}
	return errors.Join(report.WalkedText(w, compared, units), w.Flush())
}

// compare sets the lanes of a plan beside a visit.
func compare(doc *report.PlanDoc, v coverage.Visit, set coverage.Settings) (report.WalkedDoc, error) {
	f, err := doc.Frame()
	if err != nil {
		return report.WalkedDoc{}, fmt.Errorf("the plan has no lanes to compare with: %w", err)
	}
	walk := track.NewWalk(f, v.Segments, set.Track)
	lanes := plan.Walked(doc.Lanes(f), walk, float64(doc.Settings.SwathM))
	name := v.Name
	if at := beginOf(v); at.Known() {
		name += ", " + at.Time().Format("2006-01-02 15:04") + " UTC"
	}
	return report.Walked(doc, name, lanes), nil
}

// planAmong takes the plan out of the arguments: the one file that ends in .json, else
// next.json in the folder of --out.
func planAmong(args []string, out string) (doc *report.PlanDoc, rest []string, err error) {
	path := ""
	for _, arg := range args {
		if !strings.EqualFold(filepath.Ext(arg), ".json") {
			rest = append(rest, arg)
			continue
		}
		if path != "" {
			return nil, nil, usagef("two plans given, %q and %q: which one?", path, arg)
		}
		path = arg
	}
	if path == "" && out == "" {
		return nil, nil, hint(usagef("--walked: which plan?"),
			"name the next.json that plan wrote: untrod plan ford.gpkg --walked next/next.json",
			"or the folder it is in: --out next")
	}
	if len(rest) == 0 {
		return nil, nil, hint(usagef("--walked: which visit?"), "name the book, or the log of the visit")
	}
	if path == "" {
		path = filepath.Join(out, nextJSON)
	}
	f, err := openNamed(path)
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	if doc, err = report.ReadPlan(f); err != nil {
		return nil, nil, fmt.Errorf("%s: %w", path, err)
	}
	return doc, rest, nil
}
