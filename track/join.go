package track

import (
	"cmp"
	"slices"
)

// Join adds to a what b logged, its times shifted by shiftS, while a was silent for
// over silenceS: within a, before its first fix and after its last. It returns the
// joint walk and how many points it took; the rest of b says nothing new. Paths
// are in order of time, cut where a goes on; a's own are left as they are. Paths of
// b without times are not taken. O(points).
func Join(a, b Walk, shiftS, silenceS float64) (Walk, int) {
	logged, shift := stretchesOf(clockedOf(a), silenceS), Instant(shiftS*1000)
	taken := 0
	paths := slices.Clone(a.Paths)
	for _, p := range clockedOf(b).paths {
		for i := 0; i < len(p.Points); {
			gap, inside := logged.gapAt(p.Points[i].T + shift)
			j := i + 1
			for j < len(p.Points) {
				if g, in := logged.gapAt(p.Points[j].T + shift); g != gap || in != inside {
					break
				}
				j++
			}
			outer := gap == 0 || gap == len(logged)
			if inside && (!outer || p.Points[j-1].T.Sub(p.Points[i].T) > silenceS) {
				paths = append(paths, p.part(i, j, shift))
				taken += j - i
			}
			i = j
		}
	}
	if taken > 0 {
		slices.SortStableFunc(paths, byStart)
		a.Paths, a.Fixes = paths, a.Fixes+taken
	}
	return a, taken
}

// part is the points [from, to) of a path with their legs, times shifted.
func (p Path) part(from, to int, shift Instant) Path {
	out := Path{Points: slices.Clone(p.Points[from:to]), Timed: p.Timed}
	for i := range out.Points {
		out.Points[i].T += shift
	}
	for _, l := range p.Legs {
		if a, b := max(l.From, from), min(l.To, to); a < b {
			out.Legs = append(out.Legs, Leg{l.Kind, a - from, b - from})
		}
	}
	return out
}

// byStart orders paths by their first time; NoTime is before all others.
func byStart(a, b Path) int {
	start := func(p Path) Instant {
		if len(p.Points) == 0 {
			return NoTime
		}
		return p.Points[0].T
	}
	return cmp.Compare(start(a), start(b))
}

// stretches are the times in which a walk was logged, in order and apart.
type stretches [][2]Instant

func stretchesOf(c clocked, silenceS float64) stretches {
	var out stretches
	for _, p := range c.paths {
		from, to := p.Points[0].T, p.Points[len(p.Points)-1].T
		if n := len(out); n > 0 && from.Sub(out[n-1][1]) <= silenceS {
			out[n-1][1] = max(out[n-1][1], to)
			continue
		}
		out = append(out, [2]Instant{from, to})
	}
	return out
}

// gapAt numbers the gaps, 0 before the first stretch, and reports whether t is in
// gap i or in the stretch after it.
func (s stretches) gapAt(t Instant) (i int, inside bool) {
	i, _ = slices.BinarySearchFunc(s, t, func(x [2]Instant, t Instant) int { return cmp.Compare(x[1], t) })
	return i, i == len(s) || t < s[i][0]
}
