package report

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
)

// visitOf is a made-up plan of so many stops on the gaps of a result: real lanes,
// nearest gap first, plain figures.
func visitOf(t testing.TB, r *coverage.Result, start grid.XY, stops int) *plan.Plan {
	m, err := plan.Declination(r.Frame.Datum(), 0, 2026.4)
	require.NoError(t, err)
	set := plan.DefaultSettings()
	set.BudgetS, set.Start, set.End, set.Year = 3*3600, start, start, 2026.4
	set.SearchMS, set.WalkMS, set.DigShare = 0.4, 1.2, 0.3
	set.Interest = []plan.Interest{{Landmark: "old well", Weight: 2, FadeM: 15}}
	p := &plan.Plan{Settings: set, Magnetic: m, Notes: []string{"gap 7 is closed off by keep-outs"}}
	left, at := slices.Clone(r.Gaps), start
	for len(p.Stops) < stops && len(left) > 0 {
		i := nearest(left, at)
		ids, outline := []int{left[i].ID}, left[i].Outline
		area := left[i].AreaM2
		left = slices.Delete(left, i, i+1)
		if len(p.Stops) == 1 && len(left) > 0 { // joined with the next
			k := nearest(left, at)
			ids, outline, area = append(ids, left[k].ID), slices.Concat(outline, left[k].Outline), area+left[k].AreaM2
			left = slices.Delete(left, k, k+1)
		}
		s := stopOn(p, r, outline, at)
		s.Gaps, s.AreaM2, s.FreshM2, s.Worth = ids, area, 0.9*area, area
		if len(p.Stops) == 2 {
			s.Part = "a"
		}
		p.Stops = append(p.Stops, s)
		at = endsAt(s)
	}
	p.Home = []grid.XY{at, start}
	finish(p, r, left)
	return p
}

func nearest(gaps []coverage.Gap, at grid.XY) int {
	best := 0
	for i, g := range gaps {
		if apart(g.CentreXY, at) < apart(gaps[best].CentreXY, at) {
			best = i
		}
	}
	return best
}

func endsAt(s plan.Stop) grid.XY {
	all := stopLanes(s)
	return all[len(all)-1].To
}

func stopOn(p *plan.Plan, r *coverage.Result, outline []grid.Polygon, at grid.XY) plan.Stop {
	blocks := plan.Lanes(outline, r.Local.Keepouts, plan.LaneSettings{SwathM: swathM(r.Settings), AlongRim: true})
	s := plan.Stop{Number: len(p.Stops) + 1, Blocks: blocks, Why: "most fresh ground for the walk there, near the old well"}
	begin := stopLanes(s)[0].From
	s.Approach = []grid.XY{at, begin}
	if len(p.Stops) == 2 { // round something
		s.Approach = []grid.XY{at, {X: (at.X+begin.X)/2 + 2, Y: (at.Y+begin.Y)/2 + 3}, begin}
	}
	s.ApproachM = wayM(s.Approach)
	s.WalkS = s.ApproachM / p.Settings.WalkMS
	for _, b := range blocks {
		s.SearchS += b.LengthM() / p.Settings.SearchMS
	}
	s.DigS = s.SearchS * p.Settings.DigShare
	s.Reach = plan.Bearings(r.Frame, r.Local.Landmarks, begin)
	return s
}

func finish(p *plan.Plan, r *coverage.Result, left []coverage.Gap) {
	for _, s := range p.Stops {
		p.SearchS, p.WalkS, p.DigS = p.SearchS+s.SearchS, p.WalkS+s.WalkS, p.DigS+s.DigS
		p.LaneM, p.WalkM = p.LaneM+s.SearchS*p.Settings.SearchMS, p.WalkM+s.ApproachM
		p.Expected.FreshM2 += s.FreshM2
	}
	p.UsedS = p.SearchS + p.WalkS + p.DigS
	gain := 100 * p.Expected.FreshM2 / r.SearchableM2
	p.Expected.AsLoggedPercentAfter = r.AsLoggedPercent + gain
	p.Expected.AtLeastPercentAfter, p.Expected.ExpectedPercentAfter = math.NaN(), r.AsLoggedPercent+gain
	if c := r.Certainty; c != nil {
		p.Expected.AtLeastPercentAfter, p.Expected.ExpectedPercentAfter = c.AtLeastPercent+gain, c.ExpectedPercent+gain
	} else {
		p.Guided = true
	}
	for _, h := range p.Settings.Hours {
		m2 := p.Expected.FreshM2 * (1 - math.Exp(-h/1.6)) * 1.2
		p.Budgets = append(p.Budgets, plan.Outlook{Hours: h, UsedS: 3500 * h, FreshM2: m2,
			ExpectedPercentAfter: r.AsLoggedPercent + 100*m2/r.SearchableM2, Stops: int(2 * h)})
	}
	for _, g := range left {
		p.Left = append(p.Left, plan.LeftOut{Gap: g.ID, AreaM2: g.AreaM2, Worth: g.AreaM2, Why: "no time left for it"})
	}
}
