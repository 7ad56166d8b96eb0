package plan

import (
	"context"

	"untrod/coverage"
	"untrod/grid"
)

// Plan is the next visit. Places are in the frame of the result it was made from.
type Plan struct {
	Settings                    Settings // as used: paces and shares filled in
	Stops                       []Stop   // in walking order
	UsedS, SearchS, WalkS, DigS float64
	LaneM, WalkM                float64
	Home                        []grid.XY // the way from the last stop to End; nil without stops
	Expected                    Expected
	Budgets                     []Outlook // one per Hours, as given there
	Left                        []LeftOut // gaps not in the plan, or not all of them, best first
	Magnetic                    Magnetic  // at the middle of the site
	Guided                      bool      // the receiver's error, per axis, is at most half a swath: it can lead to the lanes
	Notes                       []string  // what the walker should know, in plain words
	NoGaps                      bool
	SecondPass                  *SecondPass // nil when there are gaps
}

// Stop is ground to search in one go.
type Stop struct {
	Number int    // 1, 2, 3 in order of walking
	Gaps   []int  // Gap.IDs it lies in: several when slivers were joined
	Part   string // "a", "b" ... when the ground was divided into several stops
	// Of the gaps' cells that its lanes sweep; FreshM2 is the expected area of them
	// that was not yet swept, Worth that times the chance of a find and interest.
	Worth, FreshM2, AreaM2 float64
	Blocks                 []Block // in walking order
	ApproachM              float64
	Approach               []grid.XY // the way from the stop before
	WalkS, SearchS, DigS   float64   // WalkS is of the approach and between blocks
	Reach                  []Bearing // from up to two landmarks to the first lane's start
	Why                    string    // plain words: why it is here in the list
}

// LeftOut is a gap that is not in the plan, or of which a part is not.
type LeftOut struct {
	Gap           int
	AreaM2, Worth float64 // of what is left out
	Why           string
}

// Make works out the next visit: the stops that bring most worth within the budget.
//
// Worth is expected fresh square metres: the sum over a gap's cells of the chance that
// they were not swept, times the chance that a pass finds what is there (when known),
// times interest (see [Interest]). Slivers that lie close together are joined, large
// ground is divided into stops of at most 15 minutes of searching where its lanes are
// not longer than that, so that part of it can be taken. Lanes stay off keep-outs and
// inside the boundary, unless the site's outline was only drawn round the walks; ways
// go round keep-outs but may leave the boundary.
//
// Lanes are laid where it can matter: in the ground that brings most worth for its
// time, until that would take four times the longest budget, and in the 20 gaps
// nearest to the start. The rest is left out, with that as the reason. Of a gap larger
// than four times the longest budget can search, only the ground nearest to the start
// is planned for.
//
// On ground the site marks as slow, walking and searching take as much longer as its
// pace says, unless the settings name slow ground of their own.
//
// Settings out of range give a *coverage.SettingsError, a budget in which no gap can be
// searched and the end reached a *[BudgetError], and a cancelled ctx its own error. A
// result without gaps gives a plan without stops. One seed gives one plan, whatever the
// number of cores.
func Make(ctx context.Context, r *coverage.Result, set Settings, progress coverage.Progress) (*Plan, error) {
	s, err := NewSurvey(ctx, r, set, progress)
	if err != nil {
		return nil, err
	}
	return s.Plan(ctx, set.BudgetS, set.Hours...)
}

// draft is a plan being made.
type draft struct {
	r        *coverage.Result
	set      Settings
	gain     *gain
	progress coverage.Progress
	plan     *Plan
	walk     *walker
	grounds  []*ground
	stops    []*stop
}

// survey works out what could be walked: grounds, their lanes and stops, and the ways.
func (d *draft) survey(ctx context.Context) error {
	var err error
	if d.walk, err = newWalker(d.r.Local.Keepouts, d.set, d.r.Settings.SwathM); err != nil {
		return err
	}
	d.noteEnds()
	d.grounds = d.gain.grounds(d.set)
	if err := d.layLanes(ctx, d.shortlist()); err != nil {
		return err
	}
	for i, g := range d.grounds {
		d.progress("dividing ground into stops", int64(i), int64(len(d.grounds)))
		d.stops = append(d.stops, d.divide(g)...)
	}
	return ctx.Err()
}

func (d *draft) note(s string) { d.plan.Notes = append(d.plan.Notes, s) }

func (d *draft) noteEnds() {
	if !d.walk.start.free {
		d.note("the start is inside a keep-out: the way begins where that is soonest left")
	}
	if !d.walk.end.free {
		d.note("the end is inside a keep-out: the way leads in where that is nearest")
	}
}

// instruments says what receiver and compass are good for.
func (d *draft) instruments() error {
	p, b := d.plan, d.r.Spec.Bounds()
	p.Guided = d.r.Settings.Position.Receiver.TotalM() <= d.r.Settings.SwathM/2
	middle := d.r.Frame.ToLonLat(grid.XY{X: (b.Min.X + b.Max.X) / 2, Y: (b.Min.Y + b.Max.Y) / 2})
	var err error
	if p.Magnetic, err = Declination(middle, 0, d.set.Year); err != nil {
		return err
	}
	switch {
	case p.Magnetic.Expired:
		d.note("the magnetic model holds from 2025 to 2030 only: magnetic bearings are less sure than stated")
	case p.Magnetic.Blackout():
		d.note("so near a magnetic pole a compass is of no use: do without magnetic bearings")
	case p.Magnetic.Caution():
		d.note("so near a magnetic pole a compass may mislead: check magnetic bearings")
	}
	return nil
}
