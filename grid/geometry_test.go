package grid_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
)

func TestFromSegment(t *testing.T) {
	a, b := grid.XY{X: 1, Y: 1}, grid.XY{X: 5, Y: 1}
	for _, c := range []struct {
		p    grid.XY
		want float64
	}{{grid.XY{X: 3, Y: 4}, 3}, {grid.XY{X: 9, Y: 4}, 5}, {grid.XY{X: -2, Y: -3}, 5}, {grid.XY{X: 5, Y: 1}, 0}} {
		require.InDelta(t, c.want, c.p.FromSegment(a, b), 1e-15)
		require.InDelta(t, c.want, c.p.FromSegment(b, a), 1e-15)
	}
	require.InDelta(t, 5, grid.XY{X: 4, Y: 5}.FromSegment(a, a), 1e-15, "one point")
}
