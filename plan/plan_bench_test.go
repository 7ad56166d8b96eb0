package plan_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/plan"
)

func BenchmarkMake(b *testing.B) {
	for _, c := range []struct {
		name string
		f    field
	}{{"meadow", meadow()}, {"5000 gaps", lattice(70, 4)}, {"5000 gaps apart", lattice(70, 6.5)}} {
		b.Run(c.name, func(b *testing.B) {
			r := c.f.assessed(b, nil)
			set := threeHours(local(b, r, grid.XY{X: -5, Y: -5}))
			b.Log(len(r.Gaps), "gaps")
			for b.Loop() {
				_, err := plan.Make(context.Background(), r, set, nil)
				require.NoError(b, err)
			}
		})
	}
}
