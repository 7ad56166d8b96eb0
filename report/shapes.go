package report

import (
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
)

const hatchAngle = math.Pi / 4

// addRing adds a ring, outer ones running counter-clockwise and holes
// clockwise, so that holes stay open under the non-zero rule.
func addRing(path *vg.Path, ring []vg.Point, outer bool) {
	if len(ring) < 3 {
		return
	}
	if (signedArea(ring) > 0) != outer {
		ring = slices.Clone(ring)
		slices.Reverse(ring)
	}
	path.Move(ring[0])
	for _, q := range ring[1:] {
		path.Line(q)
	}
	path.Close()
}

func signedArea(ring []vg.Point) (a vg.Length) {
	for i, q := range ring {
		n := ring[(i+1)%len(ring)]
		a += q.X*n.Y - n.X*q.Y
	}
	return a
}

// chords are the stretches within the rings (even-odd) of parallel lines a
// step apart at an angle to east. Lines of all polygons of a page line up.
func chords(rings [][]vg.Point, step vg.Length, angle float64) [][]vg.Point {
	sin, cos := math.Sincos(angle)
	s, co := vg.Length(sin), vg.Length(cos)
	lo, hi := math.Inf(1), math.Inf(-1)
	turned := make([][]vg.Point, len(rings))
	for i, r := range rings {
		turned[i] = make([]vg.Point, len(r))
		for j, q := range r {
			t := vg.Point{X: co*q.X + s*q.Y, Y: co*q.Y - s*q.X}
			turned[i][j] = t
			lo, hi = min(lo, float64(t.Y)), max(hi, float64(t.Y))
		}
	}
	var out [][]vg.Point
	for y := vg.Length(math.Ceil(lo/float64(step))) * step; float64(y) < hi; y += step {
		xs := crossings(turned, y)
		for i := 0; i+1 < len(xs); i += 2 {
			a, b := xs[i], xs[i+1]
			out = append(out, []vg.Point{{X: co*a - s*y, Y: s*a + co*y}, {X: co*b - s*y, Y: s*b + co*y}})
		}
	}
	return out
}

func crossings(rings [][]vg.Point, y vg.Length) (xs []vg.Length) {
	for _, r := range rings {
		for i := 0; i+1 < len(r); i++ {
			if a, b := r[i], r[i+1]; (a.Y <= y) != (b.Y <= y) {
				xs = append(xs, a.X+(y-a.Y)/(b.Y-a.Y)*(b.X-a.X))
			}
		}
	}
	slices.Sort(xs)
	return xs
}

// middleChord is the middle of a long level chord of the rings, near their
// middle: a place inside with room for words.
func middleChord(rings [][]vg.Point) (at vg.Point, ok bool) {
	all := chords(rings, 1.5, 0)
	longest, mean := vg.Length(0), vg.Length(0)
	for _, s := range all {
		longest = max(longest, s[1].X-s[0].X)
		mean += s[0].Y / vg.Length(len(all))
	}
	best := vg.Length(math.Inf(1))
	for _, s := range all {
		off := max(s[0].Y-mean, mean-s[0].Y)
		if s[1].X-s[0].X >= 0.85*longest && off < best {
			best, ok = off, true
			at = vg.Point{X: (s[0].X + s[1].X) / 2, Y: s[0].Y}
		}
	}
	return at, ok
}
