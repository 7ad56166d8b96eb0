package plan_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/plan"
)

// TestByFinds: of two gaps alike, with time for one, that beside the finds is taken.
func TestByFinds(t *testing.T) {
	f := strips()
	f.untimed = true
	r := f.assessed(t, treated)
	require.Len(t, r.Gaps, 2)
	at := func(x, y float64) grid.XY { return local(t, r, grid.XY{X: x, Y: y}) }
	for _, c := range []struct {
		name string
		x    float64
	}{{"west", 4}, {"east", 36}} {
		set := threeHours(at(20, -1))
		set.BudgetS = 170
		set.Finds = []grid.XY{at(c.x, 3), at(c.x, 5), at(c.x, 15), at(c.x, 17)}
		p := made(t, r, set)
		require.Len(t, p.Stops, 1, c.name)
		for _, g := range r.Gaps {
			if g.ID == p.Stops[0].Gaps[0] {
				require.Equal(t, c.x > 20, g.CentreXY.X > at(20, 0).X, c.name)
			}
		}
	}
}

// TestEvenFindsChangeNothing: where finds lie alike all over, every gap keeps its worth.
func TestEvenFindsChangeNothing(t *testing.T) {
	f := strips()
	f.untimed = true
	r := f.assessed(t, treated)
	set := threeHours(local(t, r, grid.XY{X: 20, Y: -1}))
	plain := made(t, r, set)
	for x := 1.0; x < 40; x += 2 {
		for y := 1.0; y < 20; y += 2 {
			q := local(t, r, grid.XY{X: x, Y: y})
			if c, _ := r.Spec.CellAt(q); r.Swept.Has(c) {
				set.Finds = append(set.Finds, q)
			}
		}
	}
	again := made(t, r, set)
	require.Len(t, again.Stops, len(plain.Stops))
	worth := func(p *plan.Plan) (sum float64) {
		for _, s := range p.Stops {
			sum += s.Worth
		}
		return sum
	}
	require.InEpsilon(t, worth(plain), worth(again), 0.03)
}
