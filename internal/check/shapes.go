package check

import (
	"math"

	"untrod/grid"
)

func distance(a, b grid.XY) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }

// lanes runs east and west across b in lanes laneM apart, from the south up.
func lanes(b grid.Bounds, laneM float64) []grid.XY {
	n := max(1, int(math.Ceil(b.Width()/spacingM)))
	var out []grid.XY
	for row := 0; ; row++ {
		y := b.Min.Y + laneM*(float64(row)+0.5)
		if y > b.Max.Y {
			return out
		}
		for i := 0; i <= n; i++ {
			f := float64(i) / float64(n)
			if row%2 == 1 {
				f = 1 - f
			}
			out = append(out, grid.XY{X: b.Min.X + f*b.Width(), Y: y})
		}
	}
}

// spiral winds inwards to the middle of b with rings laneM apart.
func spiral(b grid.Bounds, laneM float64) []grid.XY {
	c := grid.XY{X: (b.Min.X + b.Max.X) / 2, Y: (b.Min.Y + b.Max.Y) / 2}
	var out []grid.XY
	a := 0.0
	for r := math.Min(b.Width(), b.Height()) / 2; r > laneM/2; {
		sin, cos := math.Sincos(a)
		out = append(out, grid.XY{X: c.X + r*cos, Y: c.Y + r*sin})
		da := math.Min(spacingM/r, 0.8)
		a += da
		r -= laneM * da / (2 * math.Pi)
	}
	return out
}

// inside reports whether q lies in p and in none of its holes.
func inside(p grid.Polygon, q grid.XY) bool {
	if !inRing(p.Outer, q) {
		return false
	}
	for _, h := range p.Holes {
		if inRing(h, q) {
			return false
		}
	}
	return true
}

func inRing(r grid.Ring, q grid.XY) bool {
	in := false
	for i, a := range r {
		b := r[(i+1)%len(r)]
		if (a.Y > q.Y) != (b.Y > q.Y) && q.X < a.X+(q.Y-a.Y)*(b.X-a.X)/(b.Y-a.Y) {
			in = !in
		}
	}
	return in
}
