package main

import (
	"errors"

	"untrod/coverage"
	"untrod/report"
	"untrod/track"
)

// coverOptions are the flags of cover. A quantity that was not given leaves
// the default of coverage.DefaultSettings.
type coverOptions struct {
	site, out, units, treatAs string
	json, gis                 bool
	swath, coil, swing, cell  quantityFlag
	minGapWidth, minGapArea   quantityFlag
	searchPace                quantityFlag
	position                  *positionFlags
	coils                     coilFlags
	laidOut, without          []string
	adopted                   map[string]bool // flags taken from a book
	columns                   columnsFlag
	groups                    []flagGroup
}

func newCoverOptions(canopy string) *coverOptions {
	o := &coverOptions{position: newPositionFlags(canopy), coils: newCoilFlags()}
	for _, f := range []*quantityFlag{&o.swath, &o.coil, &o.swing, &o.cell, &o.minGapWidth} {
		f.of = lengths
	}
	o.minGapArea.of, o.searchPace.of = areas, speeds
	o.groups = append([]flagGroup{o.jobGroup(), o.position.group}, append(o.coils.groups(), o.fineGroup())...)
	return o
}

func (o *coverOptions) jobGroup() flagGroup {
	f := newFlagSet()
	f.StringVar(&o.site, "site", "", "`file` with the site's boundary, keep-outs and landmarks")
	f.Var(&o.swath, "swath", "width one forward walk sweeps, such as 1.5m or 5ft")
	f.Var(&o.coil, "coil", "instead of --swath: size of the coil, with --swing")
	f.Var(&o.swing, "swing", "instead of --swath: width of the swing, with --coil")
	f.StringVar(&o.out, "out", "", "`folder` for the map, the gaps and the summary")
	f.BoolVar(&o.json, "json", false, "print the summary as JSON, all else on standard error")
	f.StringVar(&o.units, "units", "metric", "`units` of the result: metric or imperial")
	f.StringArrayVar(&o.laidOut, "laid-out", nil, "`visit`, by name or file, whose lanes found in the log were walked to lines or flags; may be repeated")
	f.StringArrayVar(&o.without, "without", nil, "`visit`, by name or file, that stays where it is but counts for nothing; may be repeated")
	return flagGroup{"The job", f}
}

func (o *coverOptions) fineGroup() flagGroup {
	f := newFlagSet()
	f.Var(&o.minGapWidth, "min-gap-width", "least width of a gap (default one swath)")
	f.Var(&o.minGapArea, "min-gap-area", "least area of a gap (default 2m2)")
	f.Var(&o.searchPace, "search-pace", "fastest pace that still counts as searching")
	f.StringVar(&o.treatAs, "treat-as", "", "`what` logs without times are: searching or walking")
	o.columns.addTo(f)
	f.Var(&o.cell, "cell", "side of a grid cell (default 10cm, coarser on large ground)")
	return flagGroup{"Finer settings", f}
}

// settings turns the flags into the settings of an assessment.
func (o *coverOptions) settings() (coverage.Settings, error) {
	set := coverage.DefaultSettings()
	if err := o.needSwath(); err != nil {
		return set, err
	}
	set.LaidOut, set.Without = o.laidOut, o.without
	set.CoilM, set.SwingM, set.MinGapM2 = o.coil.si, o.swing.si, o.minGapArea.or(set.MinGapM2)
	for _, f := range []struct {
		name string
		quantityFlag
		to *float64
	}{
		{"swath", o.swath, &set.SwathM},
		{"cell", o.cell, &set.CellM},
		{"min-gap-width", o.minGapWidth, &set.MinGapM},
		{"search-pace", o.searchPace, &set.Track.Legs.SearchMaxMS},
	} {
		if f.given() && f.si <= 0 { // in Settings a 0 here means "not given"
			return set, usagef("--%s %q: must be above 0", f.name, f.text)
		}
		*f.to = f.or(*f.to)
	}
	var err error
	if set.Position, err = o.position.settings(); err != nil {
		return set, err
	}
	if err := o.coils.settings(&set); err != nil {
		return set, err
	}
	switch o.treatAs {
	case "":
	case "searching":
		set.Track.TreatAs = track.Searching
	case "walking":
		set.Track.TreatAs = track.Walking
	default:
		return set, usagef("--treat-as %q: not searching or walking", o.treatAs)
	}
	return set, set.Validate()
}

var errNoSwath = errors.New("how wide is the swath?")

// needSwath wants the width by --swath, or by --coil and --swing.
func (o *coverOptions) needSwath() error {
	var err error
	coil, swing := o.coil.given(), o.swing.given()
	switch {
	case o.swath.given() && (coil || swing):
		err = usagef("--swath and --coil with --swing say the same thing: give one of the two")
	case !o.swath.given() && coil != swing:
		err = usagef("--coil and --swing go together")
	case !o.swath.given() && !coil:
		err = &usageError{errNoSwath}
	default:
		return nil
	}
	return hint(err,
		"the swath is how wide a strip one forward walk sweeps: the swing and the coil together",
		"give it as --swath 1.5m, or as --coil 28cm --swing 1.2m")
}

func (o *coverOptions) reportUnits() (report.Units, error) {
	switch o.units {
	case "metric":
		return report.Metric, nil
	case "imperial":
		return report.Imperial, nil
	}
	return report.Metric, usagef("--units %q: not metric or imperial", o.units)
}
