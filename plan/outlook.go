package plan

import (
	"math"

	"untrod/coverage"
	"untrod/grid"
)

// Expected is what the plan brings when its lanes are walked where they are drawn.
type Expected struct {
	// FreshM2 is the expected area, on all searchable ground the lanes sweep, that was
	// not swept before: a little more than the stops' together, since lanes overhang
	// their gaps.
	FreshM2 float64
	// AsLoggedPercentAfter counts every cell swept so far or by a lane.
	AsLoggedPercentAfter float64
	// ExpectedPercentAfter is the expected coverage so far, and of what it leaves the
	// share that FreshM2 is of all that is left cell by cell.
	ExpectedPercentAfter float64
	// AtLeastPercentAfter keeps the proportion that at least has to expected coverage so
	// far, as for lanes walked by the receiver alone; it is no more than as logged. When
	// the lanes are walked to lines or flags and declared as laid-out, they count in full
	// and it will be more. 0 when nothing was swept so far.
	//
	// It and ExpectedPercentAfter equal AsLoggedPercentAfter when positions are taken as
	// perfect.
	AtLeastPercentAfter float64
}

// Outlook is what a budget would bring.
type Outlook struct {
	Hours, UsedS, FreshM2, ExpectedPercentAfter float64
	Stops                                       int // 0: the time is too short for any
}

// SecondPass is what one more pass over all the searchable ground would bring, in lanes
// at right angles to those walked.
type SecondPass struct {
	// With Detection the percents are the chance to find what lies anywhere, and each
	// cell gets one more look, independent of those before. Without it they are expected
	// coverage, and the second pass misses as large a share as was missed so far,
	// elsewhere.
	Detection                bool
	NowPercent, AfterPercent float64
	LaneM, SearchS           float64 // what it takes; digging left out
}

// expected sweeps the lanes of a trip.
func (d *draft) expected(forms []*form) Expected {
	r, e := d.r, Expected{}
	var blocks []Block
	for _, f := range forms {
		blocks = append(blocks, f.blocks...)
	}
	swept := sweptBy(r.Spec, blocks, r.Settings.SwathM/2)
	swept.And(r.Searchable)
	a := r.Spec.CellAreaM2()
	swept.Cells(func(c grid.Cell) { e.FreshM2 += a * d.gain.fresh(r.Spec.Centre(c)) })
	logged := swept.Count() - swept.CountAnd(r.Swept)
	e.AsLoggedPercentAfter = 100 * float64(r.Swept.Count()+logged) / float64(r.Searchable.Count())
	e.AtLeastPercentAfter, e.ExpectedPercentAfter = e.AsLoggedPercentAfter, e.AsLoggedPercentAfter
	if c := r.Certainty; c != nil {
		e.ExpectedPercentAfter = c.ExpectedPercent
		if left := d.gain.leftM2(); left > 0 {
			e.ExpectedPercentAfter += (100 - c.ExpectedPercent) * e.FreshM2 / left
		}
		e.AtLeastPercentAfter = atLeastAfter(c, r.AsLoggedPercent, e)
	}
	return e
}

func atLeastAfter(c *coverage.Certainty, loggedPercent float64, after Expected) float64 {
	if c.ExpectedPercent == 0 {
		return 0
	}
	least := c.AtLeastPercent / c.ExpectedPercent * after.ExpectedPercentAfter
	if c.AtLeastPercent <= loggedPercent { // else a declaration claims more than the log shows
		least = math.Min(least, after.AsLoggedPercentAfter)
	}
	return least
}

// leftM2 is the expected area of searchable ground not swept so far, by its cells.
func (g *gain) leftM2() float64 {
	if g.left == 0 {
		a := g.r.Spec.CellAreaM2()
		g.r.Searchable.Cells(func(c grid.Cell) {
			g.left += a * (1 - g.r.Certainty.ChanceAt(g.r.Spec.Centre(c)))
		})
	}
	return g.left
}

// secondPass is for a result without gaps.
func (d *draft) secondPass() *SecondPass {
	s := &SecondPass{LaneM: d.r.SearchableM2 / (d.r.Settings.SwathM - d.set.OverlapM)}
	s.SearchS = s.LaneM / d.set.SearchMS
	if t := d.r.Detection; t != nil {
		s.Detection, s.NowPercent = true, t.AnywherePercent
		s.AfterPercent = 100 - (1-t.PerPass)*(100-t.AnywherePercent)
		return s
	}
	s.NowPercent = d.plan.Expected.ExpectedPercentAfter
	s.AfterPercent = 100 - (100-s.NowPercent)*(100-s.NowPercent)/100
	return s
}
