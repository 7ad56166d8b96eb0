package plan

import (
	"cmp"
	"math"
	"slices"

	"untrod/grid"
)

// axis is the direction of lanes, given by the sine and cosine of its bearing
// clockwise from the frame's north. In its own coordinates X runs across the lanes,
// to the right, and Y along them.
type axis struct{ sin, cos float64 }

// along is the axis from a to b, which are not equal.
func along(a, b grid.XY) axis {
	d := between(a, b)
	return axis{(b.X - a.X) / d, (b.Y - a.Y) / d}
}

func (a axis) into(q grid.XY) grid.XY {
	return grid.XY{X: q.X*a.cos - q.Y*a.sin, Y: q.X*a.sin + q.Y*a.cos}
}

func (a axis) back(q grid.XY) grid.XY {
	return grid.XY{X: q.X*a.cos + q.Y*a.sin, Y: q.Y*a.cos - q.X*a.sin}
}

// deg is the axis's bearing, in [0, 180).
func (a axis) deg() float64 {
	return math.Mod(clockwise(math.Atan2(a.sin, a.cos)*180/math.Pi), 180)
}

// hull returns the places in ps of the corners of their convex hull,
// counter-clockwise, points on its sides left out. A. M. Andrew's monotone chain
// (1979). O(n log n).
func hull(ps []grid.XY) []int {
	places := make([]int, len(ps))
	for i := range places {
		places[i] = i
	}
	slices.SortFunc(places, func(i, j int) int {
		if by := ordered(ps[i].X, ps[j].X); by != 0 {
			return by
		}
		return ordered(ps[i].Y, ps[j].Y)
	})
	out := make([]int, 0, len(ps)+1)
	for _, side := range []int{0, 1} {
		least := max(1, len(out))
		for _, k := range places {
			for len(out) > least && turning(ps[out[len(out)-2]], ps[out[len(out)-1]], ps[k]) <= 0 {
				out = out[:len(out)-1]
			}
			if n := len(out); n == 0 || ps[out[n-1]] != ps[k] {
				out = append(out, k)
			}
		}
		if side == 0 {
			slices.Reverse(places)
		}
	}
	if len(out) > 1 { // it came back to where it began
		out = out[:len(out)-1]
	}
	return out
}

// turning is twice the area of the triangle a b c: positive when it turns left.
func turning(a, b, c grid.XY) float64 {
	return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X)
}

// breadth is how wide ground is across an axis.
type breadth struct {
	widthM float64
	axis   axis
}

// breadths returns the widths of a convex polygon, counter-clockwise, across each of
// its sides, in order of the sides, by rotating calipers. The least width of all
// directions is among them. Source: M. E. Houle and G. T. Toussaint (1988), Computing
// the width of a set, IEEE Trans. Pattern Anal. Mach. Intell. 10:761-765. Fewer than
// three corners have width 0. O(corners).
func breadths(corners []grid.XY) []breadth {
	n := len(corners)
	if n < 2 {
		return nil
	}
	out := make([]breadth, 0, n)
	for i, far := 0, 1; i < n; i++ {
		a, b := corners[i], corners[(i+1)%n]
		for range n { // the far corner only moves on
			if turning(a, b, corners[(far+1)%n]) < turning(a, b, corners[far%n]) {
				break
			}
			far++
		}
		out = append(out, breadth{turning(a, b, corners[far%n]) / between(a, b), along(a, b)})
	}
	return out
}

// narrowest returns up to most of the breadths that are no wider than those of the
// sides next to them, narrowest first.
func narrowest(all []breadth, most int) []breadth {
	var out []breadth
	for i, b := range all {
		before, after := all[(i+len(all)-1)%len(all)], all[(i+1)%len(all)]
		if b.widthM <= before.widthM && b.widthM <= after.widthM {
			out = append(out, b)
		}
	}
	slices.SortStableFunc(out, func(a, b breadth) int { return cmp.Compare(a.widthM, b.widthM) })
	return out[:min(most, len(out))]
}
