package plan_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/plan"
)

// TestWayIn: the nearest corner, but none that is over 100 m off.
func TestWayIn(t *testing.T) {
	field := []grid.Polygon{{Outer: grid.Ring{{X: 0, Y: 0}, {X: 400, Y: 0}, {X: 400, Y: 400}, {X: 0, Y: 400}}}}
	require.Equal(t, grid.XY{X: 400}, plan.WayIn(field, grid.XY{X: 330, Y: 20}))
	require.Equal(t, grid.XY{X: 200, Y: 10}, plan.WayIn(field, grid.XY{X: 200, Y: 10}))
	require.Equal(t, grid.XY{X: 7}, plan.WayIn(nil, grid.XY{X: 7}))
}
