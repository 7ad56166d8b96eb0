package report

import (
	"math"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
)

// PlanOf puts a plan in the form that PlanJSON writes.
func PlanOf(r *coverage.Result, p *plan.Plan) PlanDoc {
	e := p.Expected
	d := PlanDoc{
		Schema: PlanSchema, Site: r.Site.Name,
		BudgetS: seconds(p.Settings.BudgetS), UsedS: seconds(p.UsedS),
		SearchS: seconds(p.SearchS), WalkS: seconds(p.WalkS), DigS: seconds(p.DigS),
		LaneM: round2(p.LaneM), WalkM: round2(p.WalkM),
		Settings: planSettings(r, p), Stops: []PlanStopDoc{}, Home: lonLats(r.Frame, p.Home),
		Expected: PlanExpectedDoc{round2(e.FreshM2), round3(e.AsLoggedPercentAfter), round3(e.AtLeastPercentAfter), round3(e.ExpectedPercentAfter)},
		Budgets:  []OutlookDoc{}, Left: []LeftOutDoc{}, Magnetic: magneticDoc(p.Magnetic),
		Guided: p.Guided, NoGaps: p.NoGaps, Notes: append([]string{}, p.Notes...),
	}
	for _, s := range p.Stops {
		d.Stops = append(d.Stops, stopDoc(r, p, s))
	}
	for _, b := range p.Budgets {
		d.Budgets = append(d.Budgets, OutlookDoc{to(b.Hours, 4), seconds(b.UsedS), b.Stops, round2(b.FreshM2), round3(b.ExpectedPercentAfter)})
	}
	for _, l := range p.Left {
		d.Left = append(d.Left, LeftOutDoc{l.Gap, round2(l.AreaM2), to(l.Worth, 4), l.Why})
	}
	if s := p.SecondPass; s != nil {
		d.SecondPass = &SecondPassDoc{s.Detection, round3(s.NowPercent), round3(s.AfterPercent), round2(s.LaneM), seconds(s.SearchS)}
	}
	return d
}

func planSettings(r *coverage.Result, p *plan.Plan) PlanSettingsDoc {
	s := p.Settings
	d := PlanSettingsDoc{
		SwathM: exact(swathM(r.Settings)), OverlapM: exact(s.OverlapM), PaceM: exact(s.PaceM),
		SearchMS: to(s.SearchMS, 4), WalkMS: to(s.WalkMS, 4), DigShare: to(s.DigShare, 4),
		Start: lonLat(r.Frame.ToLonLat(s.Start)), End: lonLat(r.Frame.ToLonLat(s.End)),
		Interest: []InterestDoc{}, Effort: s.Effort, Seed: s.Seed, Year: to(s.Year, 3),
	}
	for _, i := range s.Interest {
		d.Interest = append(d.Interest, InterestDoc{i.Landmark, i.Kind, exact(i.Weight), exact(i.FadeM)})
	}
	return d
}

func stopDoc(r *coverage.Result, p *plan.Plan, s plan.Stop) PlanStopDoc {
	d := PlanStopDoc{
		Stop: s.Number, Gaps: append([]int{}, s.Gaps...), Part: s.Part,
		Worth: to(s.Worth, 4), FreshM2: round2(s.FreshM2), AreaM2: round2(s.AreaM2), Why: s.Why,
		WalkS: seconds(s.WalkS), SearchS: seconds(s.SearchS), DigS: seconds(s.DigS),
		ApproachM: round2(s.ApproachM), Approach: lonLats(r.Frame, s.Approach),
		Blocks: []PlanBlockDoc{}, Lanes: []PlanLaneDoc{}, Reach: []ReachDoc{},
	}
	if len(s.Gaps) > 0 {
		d.Gap = s.Gaps[0]
	}
	for _, b := range s.Blocks {
		spacing := unknown
		if b.SpacingM > 0 {
			spacing = to(b.SpacingM, 3)
		}
		d.Blocks = append(d.Blocks, PlanBlockDoc{len(b.Lanes), len(b.Rim), spacing, round2(b.LengthM())})
	}
	for _, l := range stopLanes(s) {
		d.Lanes = append(d.Lanes, laneDoc(r, p, l))
	}
	for _, b := range s.Reach {
		doc := reachDoc(b, p.Magnetic)
		doc.From = lonLat(r.Frame.ToLonLat(b.From))
		d.Reach = append(d.Reach, doc)
	}
	return d
}

func laneDoc(r *coverage.Result, p *plan.Plan, l stopLane) PlanLaneDoc {
	b := bearingOf(r, p, l.From, l.To)
	return PlanLaneDoc{
		Lane: l.number, Block: l.block, Rim: l.rim,
		From: lonLat(r.Frame.ToLonLat(l.From)), To: lonLat(r.Frame.ToLonLat(l.To)),
		BearingTrueDeg: turned(b.trueDeg), BearingMagneticDeg: turned(b.magneticDeg), LengthM: round2(laneM(l.Lane)),
	}
}

func reachDoc(b plan.Bearing, m plan.Magnetic) ReachDoc {
	at := compassed(b.TrueDeg, m)
	return ReachDoc{
		Landmark: b.Landmark, Mark: b.Mark, DistanceM: round2(b.DistanceM),
		BearingTrueDeg: turned(at.trueDeg), BearingMagneticDeg: turned(at.magneticDeg),
	}
}

func magneticDoc(m plan.Magnetic) MagneticDoc {
	return MagneticDoc{
		Model: "WMM2025", DeclinationDeg: round2(m.DeclinationDeg), ErrorDeg: round2(m.ErrorDeg),
		HorizontalNT: to(m.HorizontalNT, 0), ValidFrom: plan.MagneticFrom, ValidUntil: plan.MagneticUntil,
		Expired: m.Expired, Caution: m.Caution(), Blackout: m.Blackout(),
	}
}

// turned is a bearing to 0.01, in [0, 360).
func turned(deg float64) Number { return Number(math.Mod(roundTo(deg, 2), 360)) }

func seconds(s float64) Number { return to(s, 1) }

func lonLats(f grid.Frame, xy []grid.XY) []LonLatDoc {
	out := []LonLatDoc{}
	for _, q := range xy {
		out = append(out, lonLat(f.ToLonLat(q)))
	}
	return out
}
