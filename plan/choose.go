package plan

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"

	"untrod/grid"
)

// trip is stops in walking order, each in the form that makes the way shortest.
type trip struct {
	stops        []int // places in draft.stops
	forms        []*form
	ways         []way // to each stop, and to the end
	usedS, worth float64
	brings       Expected
}

// choose finds the trips of all budgets and takes that of the plan's own.
func (d *draft) choose(ctx context.Context) error {
	d.reach()
	if err := d.enough(); err != nil {
		return err
	}
	budgets := []float64{d.set.BudgetS}
	for _, h := range d.set.Hours {
		budgets = append(budgets, h*3600)
	}
	slices.Sort(budgets)
	trips, last := map[float64]*trip{}, d.turned(nil)
	for i, b := range slices.Compact(budgets) {
		d.progress("choosing the way", int64(i), int64(len(budgets)))
		t, err := d.better(ctx, b, last)
		if err != nil {
			return err
		}
		trips[b], last = t, t
	}
	d.write(trips[d.set.BudgetS])
	for _, h := range d.set.Hours {
		t := trips[h*3600]
		d.plan.Budgets = append(d.plan.Budgets, Outlook{h, t.usedS, t.brings.FreshM2, t.brings.ExpectedPercentAfter, len(t.stops)})
	}
	return nil
}

// reach finds the way to each stop from the start, and from it to the end.
func (d *draft) reach() {
	for _, s := range d.stops {
		f := &s.forms[0]
		s.inS, s.outS = math.Inf(1), math.Inf(1)
		if w, err := d.walk.onward(grid.XY{}, f.from, &d.walk.start, nil); err == nil {
			s.inS = w.inS
		}
		if w, err := d.walk.onward(f.to, grid.XY{}, nil, &d.walk.end); err == nil {
			s.outS = w.inS
		}
	}
}

// leastS is the least time to visit the stop alone.
func (s *stop) leastS() float64 { return s.inS + s.forms[0].stayS() + s.outS }

// enough is a *BudgetError when stops can be reached, but none in time.
func (d *draft) enough() error {
	e := &BudgetError{d.set.BudgetS, math.Inf(1), math.Inf(1)}
	for _, s := range d.stops {
		if n := s.leastS(); n < e.NeededS {
			e.WayS, e.NeededS = s.inS+s.outS, n
		}
	}
	if e.NeededS > d.set.BudgetS && !math.IsInf(e.NeededS, 1) {
		return e
	}
	return nil
}

// better solves for a budget so that neither worth nor fresh ground is less than on the
// trip of a smaller budget: where the best found is, that trip is added to instead.
func (d *draft) better(ctx context.Context, budgetS float64, least *trip) (*trip, error) {
	if d.gotAll(least) {
		return least, nil
	}
	t, err := d.solve(ctx, budgetS, nil)
	if err != nil || t.noLess(least) {
		return t, err
	}
	t, err = d.solve(ctx, budgetS, least.stops)
	if err != nil || t.noLess(least) {
		return t, err
	}
	return least, nil
}

// gotAll reports whether a trip holds every stop there is a way to.
func (d *draft) gotAll(t *trip) bool {
	n := 0
	for _, s := range d.stops {
		if !math.IsInf(s.leastS(), 1) {
			n++
		}
	}
	return n == len(t.stops)
}

func (t *trip) noLess(o *trip) bool {
	return t.worth >= o.worth && t.brings.FreshM2 >= o.brings.FreshM2
}

// solve finds the trip for a budget, with stops that are to be in it. The lanes of each
// stop can be walked from several corners. The route is first found for lanes as laid,
// then again with those of its stops turned to suit it; half the effort goes into
// either, and for budgets that are only compared an eighth.
func (d *draft) solve(ctx context.Context, budgetS float64, kept []int) (*trip, error) {
	forms := make([]*form, len(d.stops))
	for i, s := range d.stops {
		forms[i] = &s.forms[0]
	}
	effort := cmp.Or(d.set.Effort, DefaultEffort) / 2
	if budgetS != d.set.BudgetS {
		effort /= 4
	}
	var best *trip
	for range 2 {
		t := d.tour(forms, budgetS, kept)
		order, _, _, err := t.Solve(ctx, max(1, effort), d.set.Seed)
		if errors.Is(err, ErrBudget) {
			return d.turned(nil), nil
		}
		if err != nil {
			return nil, err
		}
		got := d.turned(order)
		if best == nil || got.worth > best.worth || got.worth == best.worth && got.usedS < best.usedS {
			best = got
		}
		for k, i := range got.stops {
			forms[i] = got.forms[k]
		}
	}
	return best, nil
}

// tour is the choice as an orienteering problem. Kept stops are worth more than all
// others together.
func (d *draft) tour(forms []*form, budgetS float64, kept []int) Tour {
	n := len(d.stops)
	t := Tour{Budget: budgetS, Worth: make([]float64, n), Stay: make([]float64, n), At: make([]grid.XY, n)}
	all := 0.0
	for i, s := range d.stops {
		t.Worth[i], t.Stay[i] = s.worth, forms[i].stayS()
		if math.IsInf(s.leastS(), 1) {
			t.Stay[i] = math.Inf(1)
		}
		t.At[i] = grid.XY{X: (forms[i].from.X + forms[i].to.X) / 2, Y: (forms[i].from.Y + forms[i].to.Y) / 2}
		all += s.worth
	}
	for _, i := range kept {
		t.Worth[i] += all
	}
	t.Go = func(i, j int) float64 {
		w, err := d.leg(i, j, forms)
		if err != nil {
			return math.Inf(1)
		}
		return w.inS
	}
	return t
}

// leg is the way from one place of a tour to another.
func (d *draft) leg(i, j int, forms []*form) (way, error) {
	var from, to grid.XY
	var first, last *gate
	if i < len(forms) {
		from = forms[i].to
	} else {
		first = &d.walk.start
	}
	if j < len(forms) {
		to = forms[j].from
	} else {
		last = &d.walk.end
	}
	return d.walk.onward(from, to, first, last)
}
