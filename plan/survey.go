package plan

import (
	"context"
	"fmt"
	"math"
	"slices"

	"untrod/coverage"
)

// Survey is all of a plan that does not depend on the hours there are: ground, lanes
// and ways, which take most of the time of [Make]. It is for asking for one budget
// after another. Not for use by several goroutines at once.
type Survey struct {
	draft    *draft
	longestS float64
}

// NewSurvey surveys for budgets of up to the longest in set.BudgetS and set.Hours, by
// which the ground that gets lanes is chosen. Errors are those of [Make], but a
// *[BudgetError].
func NewSurvey(ctx context.Context, r *coverage.Result, set Settings, progress coverage.Progress) (*Survey, error) {
	if progress == nil {
		progress = func(string, int64, int64) {}
	}
	set, notes, err := set.filled(r)
	if err != nil {
		return nil, err
	}
	r, large := withinReach(r, set, set.longestS())
	d := &draft{r: r, set: set, gain: newGain(r, set), progress: progress}
	d.plan = &Plan{Settings: set, Notes: notes, Expected: d.expected(nil)}
	if err := d.instruments(); err != nil {
		return nil, err
	}
	d.plan.Notes = append(append(d.plan.Notes, d.gain.notes...), large...)
	if len(r.Gaps) == 0 {
		d.plan.NoGaps, d.plan.SecondPass = true, d.secondPass()
		return &Survey{d, math.Inf(1)}, ctx.Err()
	}
	return &Survey{d, set.longestS()}, d.survey(ctx)
}

// Plan is what [Make] gives for this budget, with hours to compare, where the survey
// chose ground for the same longest budget. Errors are a *coverage.SettingsError for a
// budget longer than that, a *[BudgetError] and ctx's.
func (s *Survey) Plan(ctx context.Context, budgetS float64, hours ...float64) (*Plan, error) {
	d, p := *s.draft, *s.draft.plan
	d.set.BudgetS, d.set.Hours = budgetS, hours
	if err := d.set.validate(d.r.Settings.SwathM); err != nil {
		return nil, err
	}
	if m := d.set.longestS(); m > s.longestS {
		return nil, &coverage.SettingsError{Flag: "hours", Value: fmt.Sprint(m / 3600), Allowed: fmt.Sprintf("at most the %g h surveyed for", s.longestS/3600)}
	}
	p.Settings, p.Notes = d.set, slices.Clone(p.Notes)
	d.plan = &p
	if p.NoGaps {
		return d.plan, ctx.Err()
	}
	for _, one := range d.stops {
		one.planned = false
	}
	if err := d.choose(ctx); err != nil {
		return nil, err
	}
	d.leaveOut()
	return d.plan, ctx.Err()
}

// longestS is the longest budget asked for, in seconds.
func (s Settings) longestS() float64 {
	longest := s.BudgetS
	for _, h := range s.Hours {
		longest = math.Max(longest, 3600*h)
	}
	return longest
}
