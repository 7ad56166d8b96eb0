package report

import (
	"fmt"
	"slices"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
)

// Plan puts a plan that was read back into a frame: what a map and a list of it need.
// Its budgets, interest and what was left out are not taken over, nor are lanes and
// corners of ways without a valid position.
func (d *PlanDoc) Plan(f grid.Frame) *plan.Plan {
	s, e, m := d.Settings, d.Expected, d.Magnetic
	p := &plan.Plan{
		Settings: plan.Settings{
			BudgetS: float64(d.BudgetS), Start: f.ToXY(s.Start.place()), End: f.ToXY(s.End.place()),
			SearchMS: float64(s.SearchMS), WalkMS: float64(s.WalkMS), DigShare: float64(s.DigShare),
			OverlapM: float64(s.OverlapM), PaceM: float64(s.PaceM), Effort: s.Effort, Seed: s.Seed, Year: float64(s.Year),
		},
		UsedS: float64(d.UsedS), SearchS: float64(d.SearchS), WalkS: float64(d.WalkS), DigS: float64(d.DigS),
		LaneM: float64(d.LaneM), WalkM: float64(d.WalkM), Home: places(f, d.Home), Guided: d.Guided, NoGaps: d.NoGaps, Notes: d.Notes,
		Expected: plan.Expected{
			FreshM2: float64(e.FreshM2), AsLoggedPercentAfter: float64(e.AsLoggedPercentAfter),
			AtLeastPercentAfter: float64(e.AtLeastPercentAfter), ExpectedPercentAfter: float64(e.ExpectedPercentAfter),
		},
		Magnetic: plan.Magnetic{
			DeclinationDeg: float64(m.DeclinationDeg), ErrorDeg: float64(m.ErrorDeg),
			HorizontalNT: float64(m.HorizontalNT), Expired: m.Expired,
		},
	}
	for _, stop := range d.Stops {
		p.Stops = append(p.Stops, stop.stop(f))
	}
	return p
}

func (d PlanStopDoc) stop(f grid.Frame) plan.Stop {
	s := plan.Stop{
		Number: d.Stop, Gaps: d.Gaps, Part: d.Part, Why: d.Why,
		Worth: float64(d.Worth), FreshM2: float64(d.FreshM2), AreaM2: float64(d.AreaM2),
		WalkS: float64(d.WalkS), SearchS: float64(d.SearchS), DigS: float64(d.DigS),
		ApproachM: float64(d.ApproachM), Approach: places(f, d.Approach), Blocks: make([]plan.Block, len(d.Blocks)),
	}
	for i, b := range d.Blocks {
		if spacing := float64(b.SpacingM); spacing > 0 { // null for a single lane
			s.Blocks[i].SpacingM = spacing
		}
	}
	for _, l := range d.Lanes {
		if l.Block < 1 || l.Block > len(s.Blocks) {
			continue
		}
		ends := places(f, []LonLatDoc{l.From, l.To})
		if len(ends) < 2 {
			continue
		}
		b, lane := &s.Blocks[l.Block-1], plan.Lane{From: ends[0], To: ends[1]}
		if l.Rim {
			b.Rim = append(b.Rim, lane)
		} else {
			b.Lanes = append(b.Lanes, lane)
		}
	}
	for _, b := range d.Reach {
		s.Reach = append(s.Reach, plan.Bearing{Landmark: b.Landmark, Mark: b.Mark, From: f.ToXY(b.From.place()),
			DistanceM: float64(b.DistanceM), TrueDeg: float64(b.BearingTrueDeg)})
	}
	return s
}

func places(f grid.Frame, ps []LonLatDoc) (out []grid.XY) {
	for _, p := range ps {
		if at := p.place(); at.Valid() {
			out = append(out, f.ToXY(at))
		}
	}
	return out
}

// Stale says why a plan does not fit a result any more: a stop whose gaps have no
// ground left where its lanes run, because of later visits or another site. It is
// empty when all stops fit.
func (d *PlanDoc) Stale(r *coverage.Result) string {
	p := d.Plan(r.Frame)
	var gone []string
	for _, s := range p.Stops {
		if !fitsGaps(r, s) {
			gone = append(gone, fmt.Sprint(s.Number))
		}
	}
	if len(gone) == 0 {
		return ""
	}
	noun := "stops "
	if len(gone) == 1 {
		noun = "stop "
	}
	return "the ground has changed since the plan was made: where " + noun + listed(gone) + " was, its gap is no more, or has another number"
}

// fitsGaps reports whether the middle of one of a stop's lanes lies on a gap of its
// numbers.
func fitsGaps(r *coverage.Result, s plan.Stop) bool {
	for _, l := range stopLanes(s) {
		k, ok := r.Spec.CellAt(grid.XY{X: (l.From.X + l.To.X) / 2, Y: (l.From.Y + l.To.Y) / 2})
		if !ok {
			continue
		}
		for _, g := range r.Gaps {
			if slices.Contains(s.Gaps, g.ID) && slices.ContainsFunc(g.Cells, func(run grid.Run) bool { return run.Row == k.Row && run.Lo <= k.Col && k.Col < run.Hi }) {
				return true
			}
		}
	}
	return false
}
