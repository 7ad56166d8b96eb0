package plan

import (
	"context"
	"errors"
	"fmt"
	"math"

	"untrod/grid"
)

// Tour is an orienteering problem: walk from Start to End within Budget and visit
// the stops that bring most. In Go, Start is len(Worth) and End is len(Worth)+1;
// they may be one place.
//
// A stop is visited whole or not at all. Large ground is divided by the caller
// into several stops, a block of lanes each, so that part of it can be taken.
type Tour struct {
	Worth []float64 // of each stop, 0 or more; a stop worth 0 is never visited
	Stay  []float64 // seconds spent at each stop, 0 or more; +Inf: never visited

	// Go gives the seconds from i to j, 0 or more. It may differ from j to i and
	// need not obey the triangle inequality. +Inf and NaN: there is no way. It is
	// asked about a pair more than once when there are more than about 1,400 stops.
	Go func(i, j int) float64

	// At says roughly where each stop lies, in metres, so that near stops are found
	// without asking Go for every pair. Nil: every pair is asked, once.
	At []grid.XY

	Budget float64 // seconds
}

// ErrBudget is returned when the budget does not even reach from Start straight
// to End.
var ErrBudget = errors.New("time too short to get from start to end")

// DefaultEffort is the number of rounds when none is given: half a second to a
// second on one core for 40 to 100 stops.
const DefaultEffort = 20_000

// Solve returns the stops to visit in order, their worth and the seconds used,
// which are at most the budget: way, stays and way to the end, added in order.
//
// A greedy choice (worth per added second) is improved by effort rounds, each of
// which takes some stops out, puts others in and shortens the way; 0 or less is
// [DefaultEffort]. The same tour, effort and seed give the same answer on every
// machine whose Go answers the same to the bit. It is not proved best: see
// TestPublishedTours for how near it comes.
//
// Cost: 20 to 200 microseconds a round, more when more stops are visited, and Go's
// own: with At about 100 questions for each stop. The error is ErrBudget, ctx's, or
// names a number that cannot be.
func (t Tour) Solve(ctx context.Context, effort int, seed uint64) (order []int, worth, used float64, err error) {
	if err := t.check(); err != nil {
		return nil, 0, 0, err
	}
	s := newSearch(t, seed)
	if !(s.used <= t.Budget) {
		return nil, 0, 0, fmt.Errorf("%w: %.0f s, needs %.0f s", ErrBudget, t.Budget, s.used)
	}
	if effort <= 0 {
		effort = DefaultEffort
	}
	s.construct()
	best, err := s.anneal(ctx, effort)
	if err != nil {
		return nil, 0, 0, err
	}
	return best.order(), best.worth, best.used, nil
}

func (t Tour) check() error {
	n := len(t.Worth)
	if len(t.Stay) != n || t.At != nil && len(t.At) != n {
		return fmt.Errorf("tour of %d stops with %d stays and %d places", n, len(t.Stay), len(t.At))
	}
	for i := range n {
		if w := t.Worth[i]; !(w >= 0) || math.IsInf(w, 1) {
			return fmt.Errorf("stop %d: worth %g is not 0 or more", i, w)
		}
		if !(t.Stay[i] >= 0) {
			return fmt.Errorf("stop %d: stay of %g s is not 0 or more", i, t.Stay[i])
		}
	}
	if !(t.Budget >= 0) {
		return fmt.Errorf("budget of %g s is not 0 or more", t.Budget)
	}
	return nil
}

// route is a way through stops: Start, the stops in order, End.
type route struct {
	via         []int
	worth, used float64
}

func (r *route) order() []int { return append([]int{}, r.via[1:len(r.via)-1]...) }

// set makes r a copy of o in r's own memory.
func (r *route) set(o *route) {
	r.via = append(r.via[:0], o.via...)
	r.worth, r.used = o.worth, o.used
}

// better reports whether r brings more than o, or as much in less time.
func (r *route) better(o *route) bool {
	return r.worth > o.worth || r.worth == o.worth && r.used < o.used
}
