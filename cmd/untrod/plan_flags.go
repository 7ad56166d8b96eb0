package main

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"untrod/plan"
	"untrod/site"
)

// hoursOf is time as a visit is planned: a bare number is hours.
var hoursOf = &quantity{"a time", "3, 2.5h or 90min", map[string]float64{"": 3600, "h": 3600, "min": 60}}

const usualHours = "3"

// planFlags are what plan takes beyond the flags of cover.
type planFlags struct {
	hours                   quantityFlag
	start, end, date        string
	overlap, paceLength     quantityFlag
	searchSpeed, walkSpeed  quantityFlag
	digShare                quantityFlag
	interest, compareHours  []string
	byFinds                 bool
	effort                  countFlag
	walked                  bool
	visit, afterwards, fine flagGroup
}

func newPlanFlags() *planFlags {
	f := &planFlags{
		hours: quantityFlag{of: hoursOf}, overlap: quantityFlag{of: lengths}, paceLength: quantityFlag{of: lengths},
		searchSpeed: quantityFlag{of: speeds}, walkSpeed: quantityFlag{of: speeds}, digShare: quantityFlag{of: shares},
	}
	v, a, p := newFlagSet(), newFlagSet(), newFlagSet()
	v.Var(&f.hours, "hours", "from leaving the start to being at the end: 3, 2.5h or 90min (default "+usualHours+")")
	v.StringVar(&f.start, "start", "", "`place` to set out from: a landmark's name, or latitude,longitude (default the gate, car or parking place among the landmarks, else the corner of the site nearest to where the last visit began)")
	v.StringVar(&f.end, "end", "", "`place` to end at, named in the same way (default the start)")
	v.StringVar(&f.date, "date", "", "`day` of the visit, such as 2026-05-30, for the compass (default today)")
	v.StringArrayVar(&f.interest, "interest", nil, "`NAME=WEIGHT@DISTANCE`: how much more ground by a landmark, or a kind of them, is worth, and how far off that ends; 'well=3@8m', 'wall=0'; may be repeated")
	v.BoolVar(&f.byFinds, "by-finds", false, "ground where the book's finds lie dense for the searching done there is worth more")
	v.StringSliceVar(&f.compareHours, "compare-hours", []string{"1", "2", "3", "5"}, "`times` whose yield is set side by side")
	a.BoolVar(&f.walked, "walked", false, "compare an earlier plan, next.json named or in --out, with the last visit")
	p.Var(&f.overlap, "overlap", "by which the swaths of neighbouring lanes overlap (default 0)")
	p.Var(&f.paceLength, "pace-length", "length of one of your paces (default 75cm)")
	p.Var(&f.searchSpeed, "search-speed", "how fast you search (default as on your visits)")
	p.Var(&f.walkSpeed, "walk-speed", "how fast you walk between gaps (default as on your visits)")
	p.Var(&f.digShare, "dig-share", "time standing to dig for each time searching, such as 0.3 or 30% (default as on your visits)")
	p.Var(&f.effort, "effort", fmt.Sprintf("rounds of the search for the best route (default %d)", plan.DefaultEffort))
	f.visit, f.afterwards, f.fine = flagGroup{"The next visit", v}, flagGroup{"Afterwards", a}, flagGroup{"How you walk", p}
	return f
}

// settings turns the flags into those of a plan, all but start and end.
func (f *planFlags) settings(s *site.Site, seed uint64, today time.Time) (plan.Settings, error) {
	set := plan.DefaultSettings()
	if !f.hours.given() {
		if err := f.hours.Set(usualHours); err != nil {
			return set, err
		}
	}
	for _, q := range []struct {
		name string
		quantityFlag
		to *float64
	}{
		{"hours", f.hours, &set.BudgetS},
		{"pace-length", f.paceLength, &set.PaceM},
		{"search-speed", f.searchSpeed, &set.SearchMS},
		{"walk-speed", f.walkSpeed, &set.WalkMS},
	} {
		if q.given() && q.si <= 0 { // in Settings a 0 here means "not given"
			return set, usagef("--%s %q: must be above 0", q.name, q.text)
		}
		*q.to = q.or(*q.to)
	}
	if f.digShare.given() && f.digShare.si < 0 {
		return set, usagef("--dig-share %q: must not be below 0", f.digShare.text)
	}
	set.OverlapM, set.DigShare = f.overlap.si, f.digShare.or(set.DigShare)
	set.Effort, set.Seed = f.effort.or(0), seed
	var err error
	if set.Year, err = f.year(today); err != nil {
		return set, err
	}
	if set.Hours, err = f.budgets(); err != nil {
		return set, err
	}
	set.Interest, err = f.interests(landmarksOf(s))
	return set, err
}

// year is the date as a decimal year.
func (f *planFlags) year(today time.Time) (float64, error) {
	if f.date != "" {
		var err error
		if today, err = time.Parse(time.DateOnly, f.date); err != nil {
			return 0, usagef("--date %q: not a day such as 2026-05-30", f.date)
		}
	}
	day := func(y int) time.Time { return time.Date(y, 1, 1, 0, 0, 0, 0, time.UTC) }
	y := today.Year()
	return float64(y) + today.Sub(day(y)).Hours()/day(y+1).Sub(day(y)).Hours(), nil
}

func (f *planFlags) budgets() (out []float64, err error) {
	for _, text := range f.compareHours {
		s, err := hoursOf.parse(text)
		if err == nil && !(s > 0 && s <= 24*3600) {
			err = errors.New("must be more than 0 and at most 24 hours")
		}
		if err != nil {
			return nil, usagef("--compare-hours %q: %w", text, err)
		}
		out = append(out, s/3600)
	}
	slices.Sort(out)
	return slices.Compact(out), nil
}

func (f *planFlags) interests(marks []site.Landmark) (out []plan.Interest, err error) {
	for _, text := range f.interest {
		i, err := interestOf(text)
		if err != nil {
			return nil, hint(usagef("--interest %q: %w", text, err), "such as 'old well=3@8m', or 'wall=0' for none")
		}
		name := i.Landmark
		known := slices.ContainsFunc(marks, func(l site.Landmark) bool { return sameName(l.Name, name) })
		if !known { // then a kind
			i.Landmark, i.Kind = "", name
			known = slices.ContainsFunc(marks, func(l site.Landmark) bool { return holdsWord(l, name) })
		}
		if !known {
			return nil, hint(usagef("--interest %q: no landmark of that name or kind", text), landmarkNames(marks))
		}
		out = append(out, i)
	}
	return out, nil
}

// interestOf reads NAME=WEIGHT@DISTANCE; the distance may be left out of a weight of
// 0. A name may hold an equals sign.
func interestOf(text string) (plan.Interest, error) {
	at := strings.LastIndex(text, "=")
	if at <= 0 {
		return plan.Interest{}, errors.New("not NAME=WEIGHT@DISTANCE")
	}
	weight, distance, far := strings.Cut(text[at+1:], "@")
	i := plan.Interest{Landmark: strings.TrimSpace(text[:at])}
	var err error
	if i.Weight, err = strconv.ParseFloat(strings.TrimSpace(weight), 64); err != nil || math.IsNaN(i.Weight) {
		return i, fmt.Errorf("the weight %q is not a number", weight)
	}
	if far {
		i.FadeM, err = lengths.parse(distance)
		return i, err
	}
	if i.Weight != 0 {
		return i, errors.New("the distance at which it ends is missing")
	}
	return i, nil
}

func sameName(a, b string) bool { return strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b)) }

// holdsWord reports whether a landmark's kind, else its name, holds a text.
func holdsWord(l site.Landmark, text string) bool {
	of := strings.ToLower(l.Kind)
	if of == "" {
		of = strings.ToLower(l.Name)
	}
	return strings.Contains(of, strings.TrimSuffix(strings.ToLower(strings.TrimSpace(text)), "s"))
}

func landmarksOf(s *site.Site) []site.Landmark {
	if s == nil {
		return nil
	}
	return s.Landmarks
}

// landmarkNames is advice on what can be named.
func landmarkNames(marks []site.Landmark) string {
	var names []string
	for _, l := range marks {
		if l.Name != "" {
			names = append(names, fmt.Sprintf("%q", l.Name))
		}
	}
	if len(names) == 0 {
		return "the site has no named landmarks; give the place as latitude,longitude, such as 44.90731,-27.61280"
	}
	return "the site's landmarks: " + firstFew(names, 12) + "; else give latitude,longitude"
}
