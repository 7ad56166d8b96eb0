package plan

import (
	"math"

	"untrod/grid"
)

// corner is a vertex of a polygon's ring; ring 0 is the outer one.
type corner struct{ ring, at int }

// chord is a cut through a polygon, from a corner to a point on the edge that begins
// at another.
type chord struct {
	from, to corner
	end      grid.XY
	longM    float64
}

// shot returns the chord from a corner in a direction, which must lead into the
// ground there; rings run with the ground on their left. O(vertices).
func shot(rings []grid.Ring, c corner, d grid.XY) (chord, bool) {
	r := rings[c.ring]
	n := len(r)
	p, before, after := r[c.at], r[(c.at+n-1)%n], r[(c.at+1)%n]
	if !leadsIn(before, p, after, d) {
		return chord{}, false
	}
	best := chord{longM: math.Inf(1)}
	for k, ring := range rings {
		for i, a := range ring {
			if k == c.ring && (i == c.at || i == (c.at+n-1)%n) {
				continue
			}
			b := ring[(i+1)%len(ring)]
			if t := hit(p, d, a, b); t < best.longM {
				best = chord{c, corner{k, i}, grid.XY{X: p.X + t*d.X, Y: p.Y + t*d.Y}, t}
			}
		}
	}
	return best, !math.IsInf(best.longM, 1)
}

// leadsIn reports whether direction d from p points strictly between the edge to
// after and that from before, on their left.
func leadsIn(before, p, after, d grid.XY) bool {
	q := p.Plus(d)
	left, right := turning(p, after, q) > 0, turning(before, p, q) > 0
	if turning(before, p, after) > 0 {
		return left && right
	}
	return left || right
}

// hit is how far along the unit direction d from p the edge from a to b is met; +Inf
// when it is not, or hardly a step away.
func hit(p, d, a, b grid.XY) float64 {
	const step = 1e-6
	// Sides of the ray's line on which the ends lie; an end on it counts as right.
	sa, sb := d.X*(a.Y-p.Y)-d.Y*(a.X-p.X), d.X*(b.Y-p.Y)-d.Y*(b.X-p.X)
	if (sa > 0) == (sb > 0) {
		return math.Inf(1)
	}
	f := sa / (sa - sb)
	t := (a.X+f*(b.X-a.X)-p.X)*d.X + (a.Y+f*(b.Y-a.Y)-p.Y)*d.Y
	if t < step {
		return math.Inf(1)
	}
	return t
}

// parted cuts a polygon, given as its rings with the outer one first, along a chord:
// in two where both ends are on the outer ring, else into one polygon of one ring
// less, two rings joined by the chord there and back. The parts make up the whole.
// It returns nil where that leaves a part without ground, and for a chord from a
// hole to itself.
func parted(rings []grid.Ring, c chord) [][]grid.Ring {
	a, b := rings[c.from.ring], rings[c.to.ring]
	if c.from.ring != c.to.ring {
		joined := tidied(around(a, c.from.at, c.from.at), []grid.XY{c.end}, around(b, (c.to.at+1)%len(b), c.to.at), []grid.XY{c.end})
		out := []grid.Ring{joined}
		if c.from.ring != 0 && c.to.ring != 0 {
			out = []grid.Ring{rings[0], joined}
		}
		for i, r := range rings {
			if i != 0 && i != c.from.ring && i != c.to.ring {
				out = append(out, r)
			}
		}
		return [][]grid.Ring{out}
	}
	if c.from.ring != 0 {
		return nil
	}
	one := tidied(around(a, c.from.at, c.to.at), []grid.XY{c.end})
	two := tidied(around(a, (c.to.at+1)%len(a), c.from.at), []grid.XY{c.end})
	if !(one.Area() > 1e-6) || !(two.Area() > 1e-6) {
		return nil
	}
	out := [][]grid.Ring{{one}, {two}}
	for _, h := range rings[1:] {
		i := 1
		if holds([]grid.Ring{one}, h[0]) {
			i = 0
		}
		out[i] = append(out[i], h)
	}
	return out
}

// around is the vertices of a ring from one to another, onward, both included; once
// round and back to the first when they are the same.
func around(r grid.Ring, from, to int) []grid.XY {
	if from < to {
		return r[from : to+1]
	}
	out := append([]grid.XY{}, r[from:]...)
	return append(out, r[:to+1]...)
}

// tidied is lines as one ring, without vertices that repeat the one before.
func tidied(lines ...[]grid.XY) (out grid.Ring) {
	for _, l := range lines {
		for _, q := range l {
			if n := len(out); n == 0 || out[n-1] != q {
				out = append(out, q)
			}
		}
	}
	for len(out) > 1 && out[0] == out[len(out)-1] {
		out = out[:len(out)-1]
	}
	return out
}

// holds reports whether q is inside rings, odd-even.
func holds(rings []grid.Ring, q grid.XY) bool {
	in := false
	for _, r := range rings {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			if (a.Y <= q.Y) != (b.Y <= q.Y) && q.X < a.X+(q.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
				in = !in
			}
		}
	}
	return in
}
