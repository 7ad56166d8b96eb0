package main

import (
	"context"
	"math"
	"slices"
	"strconv"
	"strings"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
	"untrod/site"
	"untrod/track"
)

// placed is the place that a flag names; false when it was not given.
func placed(flag, text string, marks []site.Landmark) (grid.LonLat, bool, error) {
	if text == "" {
		return grid.LonLat{}, false, nil
	}
	i := slices.IndexFunc(marks, func(l site.Landmark) bool { return len(l.Points) > 0 && sameName(l.Name, text) })
	if i >= 0 {
		return marks[i].Points[0], true, nil // of a line or area, where it begins
	}
	lat, lon, two := strings.Cut(text, ",")
	p, err := degreesOf(lat, lon)
	switch {
	case !two || err != nil:
		return p, false, hint(usagef("--%s %q: no landmark of that name", flag, text), landmarkNames(marks))
	case !p.Valid():
		return p, false, usagef("--%s %q: latitude is from -90 to 90, longitude from -180 to 180, in this order", flag, text)
	}
	return p, true, nil
}

func degreesOf(lat, lon string) (p grid.LonLat, err error) {
	if p.Lat, err = strconv.ParseFloat(strings.TrimSpace(lat), 64); err == nil {
		p.Lon, err = strconv.ParseFloat(strings.TrimSpace(lon), 64)
	}
	return p, err
}

// usualStart is the landmark to set out from; false when none is one.
func usualStart(marks []site.Landmark) (grid.LonLat, bool) {
	for _, word := range plan.StartWords {
		for _, l := range marks {
			if len(l.Points) > 0 && (sameName(l.Kind, word) || sameName(l.Name, word)) {
				return l.Points[0], true
			}
		}
	}
	return grid.LonLat{}, false
}

// ends are where the plan starts and ends.
type ends struct {
	start, end         grid.LonLat
	hasStart, hasEnd   bool
	startText, endText string
}

// ends finds what can be told before the long work.
func (f *planFlags) ends(marks []site.Landmark) (e ends, err error) {
	e.startText, e.endText = f.start, f.end
	if e.start, e.hasStart, err = placed("start", f.start, marks); err != nil {
		return e, err
	}
	if !e.hasStart {
		e.start, e.hasStart = usualStart(marks)
	}
	e.end, e.hasEnd, err = placed("end", f.end, marks)
	return e, err
}

// put sets start and end in the frame of a result. Without a start it is the corner of
// the boundary nearest to where the last visit began, or that place itself.
func (e ends) put(ctx context.Context, set *plan.Settings, r *coverage.Result, logs []coverage.Source) error {
	if e.hasStart {
		set.Start = r.Frame.ToXY(e.start)
	} else {
		at, err := whereBegan(ctx, r, logs)
		if err != nil {
			return err
		}
		set.Start = plan.WayIn(r.Local.Boundary, at)
	}
	set.End = set.Start
	if e.hasEnd {
		set.End = r.Frame.ToXY(e.end)
	}
	return nil
}

// whereBegan is the first fix of the last visit that has one near the site.
func whereBegan(ctx context.Context, r *coverage.Result, logs []coverage.Source) (grid.XY, error) {
	v, err := lastVisit(ctx, r.Settings, logs, func(src coverage.Source) bool {
		return len(r.Sessions) == 0 || src.Name == r.Sessions[len(r.Sessions)-1].File
	})
	if err != nil {
		return grid.XY{}, err
	}
	for _, s := range v.Segments {
		for _, f := range s {
			if q := r.Frame.ToXY(f.Pos); f.Pos.Valid() && math.Hypot(q.X, q.Y) < r.Settings.Track.FarM {
				return q, nil
			}
		}
	}
	return grid.XY{}, nil
}

// lastVisit reads the visit that began last of those in the sources wanted; of visits
// without times the last one.
func lastVisit(ctx context.Context, set coverage.Settings, logs []coverage.Source, wanted func(coverage.Source) bool) (coverage.Visit, error) {
	var last coverage.Visit
	var failed error
	found, begun := false, track.NoTime
	for _, src := range logs {
		if !wanted(src) {
			continue
		}
		visits, err := visitsOf(ctx, src, set.VisitGapS)
		if err != nil {
			failed = err
		}
		for _, v := range visits {
			if at := beginOf(v); !found || at >= begun {
				last, begun, found = v, at, true
			}
		}
	}
	if !found {
		return last, failed
	}
	return last, ctx.Err()
}

// beginOf is the first time in a visit; NoTime, before all others, without any.
func beginOf(v coverage.Visit) track.Instant {
	for _, s := range v.Segments {
		for _, f := range s {
			if f.T.Known() {
				return f.T
			}
		}
	}
	return track.NoTime
}

func visitsOf(ctx context.Context, src coverage.Source, gapS float64) ([]coverage.Visit, error) {
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if src.Visits != nil {
		return src.Visits()
	}
	in, err := src.Open()
	if err != nil {
		return nil, err
	}
	defer in.Close()
	logs, err := track.Opener{CSV: src.CSV}.Read(in, src.Name)
	if err != nil {
		return nil, err
	}
	return coverage.VisitsOf(logs, src.Name, "", gapS), nil
}
