package plan

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
)

// TestRichnessTwin: the same from every find and every swept cell in turn, on ground
// far from its rim.
func TestRichnessTwin(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	r := &coverage.Result{Spec: grid.SpecFor(grid.Bounds{Max: grid.XY{X: 200, Y: 200}}, 0.5)}
	r.Local.Boundary = []grid.Polygon{{Outer: grid.Ring{{X: 0, Y: 0}, {X: 200, Y: 0}, {X: 200, Y: 200}, {X: 0, Y: 200}}}}
	r.Swept = grid.NewMask(r.Spec)
	r.Swept.FillPolygon(grid.Polygon{Outer: grid.Ring{{X: 20, Y: 20}, {X: 120, Y: 40}, {X: 110, Y: 150}, {X: 60, Y: 120}}})
	r.SweptM2 = r.Swept.AreaM2()
	var finds []grid.XY
	for range 12 {
		finds = append(finds, grid.XY{X: 40 + 60*rng.Float64(), Y: 50 + 50*rng.Float64()})
	}
	h := newRichness(r, finds)
	for _, p := range []grid.XY{{X: 70, Y: 70}, {X: 100, Y: 90}, {X: 130, Y: 90}, {X: 90, Y: 140}} {
		c, _ := h.finds.Spec().CellAt(p)
		p = h.finds.Spec().Centre(c)
		weight := func(q grid.XY) float64 { // 2 at no distance; over the plane it adds up to 4 pi sd^2
			d := (q.X-p.X)*(q.X-p.X) + (q.Y-p.Y)*(q.Y-p.Y)
			return 2 * math.Exp(-d/(2*richReachM*richReachM))
		}
		found, due := 0.0, 0.0
		for _, q := range finds {
			found += weight(q)
		}
		r.Swept.Cells(func(c grid.Cell) { due += weight(r.Spec.Centre(c)) * r.Spec.CellAreaM2() })
		due *= float64(len(finds)) / r.SweptM2
		require.InEpsilon(t, (found+richDoubt)/(due+richDoubt), h.at(p), 0.05)
	}
	require.InDelta(t, 1, h.at(grid.XY{X: 180, Y: 180}), 1e-6, "nothing was swept about it")
	require.Equal(t, 1.0, (*richness)(nil).at(grid.XY{}))
	require.Nil(t, newRichness(r, nil))
}
