package plan_test

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
)

// TestMakeMeadow holds what every plan must keep to on the meadow, with positions taken
// as perfect and not.
func TestMakeMeadow(t *testing.T) {
	for _, sky := range []string{"none", "open"} {
		t.Run(sky, func(t *testing.T) {
			r := meadow().assessed(t, canopy(sky))
			set := threeHours(local(t, r, grid.XY{X: -52, Y: -44}))
			set.Effort = 1000
			p := made(t, r, set)
			require.Greater(t, len(p.Stops), 10)
			holdsTrue(t, r, p)
			require.Equal(t, sky == "none", p.Guided)
			for _, s := range p.Stops {
				require.Len(t, s.Reach, 2)
				require.NotEmpty(t, s.Why)
			}
			cores := runtime.GOMAXPROCS(1)
			defer runtime.GOMAXPROCS(cores)
			require.Equal(t, p, made(t, r, set), "one seed, one plan, on one core too")
		})
	}
}

// holdsTrue checks a plan against its result by other means than it was made by.
func holdsTrue(t *testing.T, r *coverage.Result, p *plan.Plan) {
	t.Helper()
	require.LessOrEqual(t, p.UsedS, p.Settings.BudgetS)
	require.InDelta(t, p.UsedS, p.SearchS+p.WalkS+p.DigS, 1e-6)
	require.InDelta(t, p.DigS, p.Settings.DigShare*p.SearchS, 1e-6)
	at := p.Settings.Start
	used, laneM := 0.0, 0.0
	for i, s := range p.Stops {
		require.Equal(t, i+1, s.Number)
		require.Equal(t, at, s.Approach[0], "ways join up")
		require.Equal(t, lanesOf(s)[0].From, s.Approach[len(s.Approach)-1])
		require.InDelta(t, walkedM(s.Approach), s.ApproachM, 1e-6)
		require.LessOrEqual(t, s.FreshM2, s.AreaM2)
		at = lanesOf(s)[len(lanesOf(s))-1].To
		used += s.WalkS + s.SearchS + s.DigS
		for _, b := range s.Blocks {
			laneM += b.LengthM()
		}
		staysOn(t, r, s)
	}
	require.InDelta(t, laneM, p.LaneM, 1e-6)
	require.Equal(t, at, p.Home[0])
	require.Equal(t, p.Settings.End, p.Home[len(p.Home)-1])
	require.InDelta(t, p.UsedS, used+walkedM(p.Home)/p.Settings.WalkMS, 1e-6)
	sweepsGaps(t, r, p)
	bringsSo(t, r, p)
	for i := 1; i < len(p.Left); i++ {
		require.GreaterOrEqual(t, p.Left[i-1].Worth, p.Left[i].Worth)
	}
}

func lanesOf(s plan.Stop) (out []plan.Lane) {
	for _, b := range s.Blocks {
		out = append(append(out, b.Lanes...), b.Rim...)
	}
	return out
}

func walkedM(line []grid.XY) (m float64) {
	for i := 1; i < len(line); i++ {
		m += distance(line[i-1], line[i])
	}
	return m
}

// staysOn: no lane through a keep-out or over the boundary, no way through a keep-out.
func staysOn(t *testing.T, r *coverage.Result, s plan.Stop) {
	t.Helper()
	for _, l := range lanesOf(s) {
		n := math.Ceil(distance(l.From, l.To) / 0.05)
		for k := 0.0; k <= n; k++ {
			q := grid.XY{X: l.From.X + (l.To.X-l.From.X)*k/n, Y: l.From.Y + (l.To.Y-l.From.Y)*k/n}
			in := r.OwnOutline
			for _, b := range r.Local.Boundary {
				in = in || within(b, q)
			}
			require.True(t, in, "lane over the boundary at %v", q)
			for _, k := range r.Local.Keepouts {
				require.False(t, within(k, q), "lane in a keep-out at %v", q)
			}
		}
	}
	for i := 1; i < len(s.Approach); i++ {
		a, b := s.Approach[i-1], s.Approach[i]
		for k := 0.0; k <= 100; k++ {
			q := grid.XY{X: a.X + (b.X-a.X)*k/100, Y: a.Y + (b.Y-a.Y)*k/100}
			for _, k := range r.Local.Keepouts {
				require.False(t, within(k, q), "way in a keep-out at %v", q)
			}
		}
	}
}

func within(p grid.Polygon, q grid.XY) bool {
	in := false
	for _, r := range append([]grid.Ring{p.Outer}, p.Holes...) {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			if (a.Y > q.Y) != (b.Y > q.Y) && q.X < a.X+(q.Y-a.Y)*(b.X-a.X)/(b.Y-a.Y) {
				in = !in
			}
		}
	}
	return in
}

// sweepsGaps: of each gap that is planned whole at least 98 % is swept, and at most 25 %
// of the lanes' length lies off the gaps of their stop.
func sweepsGaps(t *testing.T, r *coverage.Result, p *plan.Plan) {
	t.Helper()
	swept := grid.NewMask(r.Spec)
	left := map[int]bool{}
	for _, l := range p.Left {
		left[l.Gap] = true
	}
	long, off := 0.0, 0.0
	for _, s := range p.Stops {
		var ground []grid.Polygon
		for _, id := range s.Gaps {
			ground = append(ground, r.Gaps[id-1].Outline...)
		}
		_, share := plan.Covered(s.Blocks, ground, r.Settings.SwathM)
		for _, l := range lanesOf(s) {
			coverage.Sweep(swept, []grid.XY{l.From, l.To}, r.Settings.SwathM/2)
			long, off = long+distance(l.From, l.To), off+share*distance(l.From, l.To)
		}
	}
	require.LessOrEqual(t, off, 0.25*long)
	for _, g := range r.Gaps {
		if left[g.ID] {
			continue
		}
		n, got := 0, 0
		for _, run := range g.Cells {
			for c := run.Lo; c < run.Hi; c++ {
				if n++; swept.Has(grid.Cell{Col: c, Row: run.Row}) {
					got++
				}
			}
		}
		if g.AreaM2 > 10*r.Settings.MinGapM2 { // a part below the least gap is no stop
			require.GreaterOrEqual(t, float64(got), 0.98*float64(n), "gap %d of %.1f m2", g.ID, g.AreaM2)
		}
	}
}

// bringsSo counts anew, cell by cell, what the lanes bring.
func bringsSo(t *testing.T, r *coverage.Result, p *plan.Plan) {
	t.Helper()
	var lanes []plan.Lane
	for _, s := range p.Stops {
		lanes = append(lanes, lanesOf(s)...)
	}
	all, swept, fresh, left := 0, 0, 0.0, 0.0
	r.Searchable.Cells(func(c grid.Cell) {
		q := r.Spec.Centre(c)
		bare := 1.0
		if r.Certainty != nil {
			bare = 1 - r.Certainty.ChanceAt(q)
		} else if r.Swept.Has(c) {
			bare = 0
		}
		all++
		left += bare
		hit := false
		for _, l := range lanes {
			hit = hit || fromLane(l, q) <= r.Settings.SwathM/2
		}
		if hit {
			fresh += bare
		}
		if hit || r.Swept.Has(c) {
			swept++
		}
	})
	a, e := r.Spec.CellAreaM2(), p.Expected
	require.InEpsilon(t, fresh*a, e.FreshM2, 5e-3)
	require.InDelta(t, 100*float64(swept)/float64(all), e.AsLoggedPercentAfter, 0.1)
	if c := r.Certainty; c != nil {
		require.InDelta(t, c.ExpectedPercent+(100-c.ExpectedPercent)*fresh/left, e.ExpectedPercentAfter, 0.05)
		require.Greater(t, e.AtLeastPercentAfter, c.AtLeastPercent)
		require.Less(t, e.AtLeastPercentAfter, e.ExpectedPercentAfter)
	} else {
		require.Equal(t, e.AsLoggedPercentAfter, e.ExpectedPercentAfter)
		require.Equal(t, e.AsLoggedPercentAfter, e.AtLeastPercentAfter)
	}
	require.LessOrEqual(t, e.ExpectedPercentAfter, 100.0)
}

func fromLane(l plan.Lane, q grid.XY) float64 {
	dx, dy := l.To.X-l.From.X, l.To.Y-l.From.Y
	k := math.Max(0, math.Min(1, ((q.X-l.From.X)*dx+(q.Y-l.From.Y)*dy)/(dx*dx+dy*dy)))
	return distance(q, grid.XY{X: l.From.X + k*dx, Y: l.From.Y + k*dy})
}

// winding is a 40 m square with two keep-outs, some of it walked in random curves.
func winding(rng *rand.Rand) field {
	f := field{
		boundary: []grid.Polygon{boxOf(0, 0, 40, 40)},
		keepouts: []grid.Polygon{{Outer: randomRing(rng, grid.XY{X: 12, Y: 12}, 2, 5)}, {Outer: randomRing(rng, grid.XY{X: 30, Y: 25}, 2, 5)}},
	}
	for range 6 {
		at, h := grid.XY{X: 40 * rng.Float64(), Y: 40 * rng.Float64()}, 2*math.Pi*rng.Float64()
		var line []grid.XY
		for range 120 {
			line = append(line, at)
			h += 0.15 * rng.NormFloat64()
			at = at.Plus(grid.XY{X: 0.5 * math.Cos(h), Y: 0.5 * math.Sin(h)})
		}
		f.lines = append(f.lines, line)
	}
	return f
}

// TestMakeHolds: the same on small random fields and budgets.
func TestMakeHolds(t *testing.T) {
	for seed := range uint64(8) {
		rng := rand.New(rand.NewPCG(seed, 11))
		r := winding(rng).assessed(t, nil)
		set := threeHours(local(t, r, grid.XY{X: -5, Y: 20}))
		set.End = local(t, r, grid.XY{X: 45, Y: 45})
		set.BudgetS, set.Effort, set.OverlapM = 900+5000*rng.Float64(), 500, 0.3*rng.Float64()
		holdsTrue(t, r, made(t, r, set))
	}
}

// TestBudgets: more time never brings less, and each budget is kept.
func TestBudgets(t *testing.T) {
	r := meadow().assessed(t, nil)
	set := threeHours(local(t, r, grid.XY{X: -52, Y: -44}))
	set.Effort, set.Hours = 400, []float64{3, 0.01, 0.1, 0.25, 0.5, 0.75, 1, 1.1, 1.2, 1.3, 2, 2.5, 5}
	p := made(t, r, set)
	require.Len(t, p.Budgets, len(set.Hours))
	require.Equal(t, plan.Outlook{Hours: 0.01, ExpectedPercentAfter: r.AsLoggedPercent}, p.Budgets[1], "too short for any stop")
	same := p.Budgets[0]
	require.Equal(t, plan.Outlook{Hours: 3, UsedS: same.UsedS, FreshM2: p.Expected.FreshM2, ExpectedPercentAfter: p.Expected.ExpectedPercentAfter, Stops: len(p.Stops)}, same)
	require.InDelta(t, p.UsedS, same.UsedS, 1e-9)
	last := plan.Outlook{}
	for _, b := range append(p.Budgets[1:11:11], same, p.Budgets[12]) {
		require.LessOrEqual(t, b.UsedS, b.Hours*3600)
		require.GreaterOrEqual(t, b.FreshM2, last.FreshM2)
		require.GreaterOrEqual(t, b.ExpectedPercentAfter, last.ExpectedPercentAfter)
		last = b
	}
}

// TestMakeMany: of hundreds of gaps those get lanes that can matter.
func TestMakeMany(t *testing.T) {
	r := lattice(24, 4).assessed(t, nil)
	require.Len(t, r.Gaps, 23*23+4*23+4)
	set := threeHours(local(t, r, grid.XY{X: -5, Y: -5}))
	set.BudgetS, set.Hours, set.Effort = 900, []float64{0.25}, 1000
	p := made(t, r, set)
	holdsTrue(t, r, p)
	require.GreaterOrEqual(t, len(p.Stops), 3)
	require.Greater(t, len(p.Stops[0].Gaps), 5, "slivers close together are joined")
	why := map[string]int{}
	for _, l := range p.Left {
		why[l.Why]++
	}
	require.Greater(t, why["too little for the time it takes: other ground brings more"], 200)
	require.Greater(t, why["too little for the time and way it takes: other ground brings more"], 30)
}

func TestMakeStops(t *testing.T) {
	r := lattice(5, 4).assessed(t, nil)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := plan.Make(ctx, r, threeHours(grid.XY{}), nil)
	require.ErrorIs(t, err, context.Canceled)
}
