package plan

import (
	"math"

	"untrod/grid"
)

// StartWords are what people call the place they set out from, in the order they are
// looked for among names and kinds of landmarks.
var StartWords = []string{"gate", "car", "car park", "parking", "parking place"}

// wayInM is how far a corner of the boundary may be to be taken for the way in.
const wayInM = 100

// WayIn is the corner of the boundary, in metres, nearest to where a visit began, or that
// place itself when no corner is within 100 m.
func WayIn(boundary []grid.Polygon, began grid.XY) grid.XY {
	best, near := began, float64(wayInM)
	for _, p := range boundary {
		for _, q := range p.Outer {
			if d := math.Hypot(q.X-began.X, q.Y-began.Y); d < near {
				best, near = q, d
			}
		}
	}
	return best
}
