package plan

import (
	"cmp"
	"math"
	"slices"

	"untrod/grid"
)

// Join groups gaps to be covered in one go by [Lanes]: every sliver, a gap of at most
// 2 withinM^2, goes with the gap whose outline comes nearest to its own, when that is
// withinM metres or less; of equals with the first. Other gaps are not joined to one
// another, or a walked site would be one group. Groups hold places in gaps, ascending,
// and stand in order of their first; every gap is in one. Two swaths, which is what
// Lanes lets a turn cost, suit for withinM. About O(gaps x those beside them in the
// east-west direction + vertices near each other).
func Join(gaps [][]grid.Polygon, withinM float64) [][]int {
	group := make([]int, len(gaps))
	for i := range gaps {
		group[i] = i
	}
	for i, j := range neighbours(gaps, withinM) {
		a, b := head(group, i), head(group, j)
		group[max(a, b)] = min(a, b)
	}
	var out [][]int
	at := make([]int, len(gaps)) // of each head's group in out
	for i := range gaps {
		h := head(group, i)
		if h == i {
			at[i], out = len(out), append(out, nil)
		}
		out[at[h]] = append(out[at[h]], i)
	}
	return out
}

// neighbours returns, for each sliver among gaps, the gap it goes with; itself for
// those that stay alone.
func neighbours(gaps [][]grid.Polygon, withinM float64) []int {
	boxes, order := make([]grid.Bounds, len(gaps)), make([]int, len(gaps))
	to, apart := make([]int, len(gaps)), make([]float64, len(gaps))
	for i, g := range gaps {
		boxes[i], order[i], to[i], apart[i] = bounds(allRings(g)), i, i, math.Inf(1)
	}
	closer := func(i, j int, d float64) {
		if sliver(gaps[i], withinM) && (d < apart[i] || d == apart[i] && j < to[i]) {
			to[i], apart[i] = j, d
		}
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(boxes[i].Min.X, boxes[j].Min.X) })
	for k, i := range order {
		reach := boxes[i].Pad(withinM)
		for _, j := range order[k+1:] {
			if boxes[j].Min.X > reach.Max.X {
				break
			}
			if !near(reach, boxes[j]) || !sliver(gaps[i], withinM) && !sliver(gaps[j], withinM) {
				continue
			}
			if d := outlinesApart(gaps[i], gaps[j], withinM); d <= withinM {
				closer(i, j, d)
				closer(j, i, d)
			}
		}
	}
	return to
}

func sliver(g []grid.Polygon, withinM float64) bool {
	area := 0.0
	for _, p := range g {
		area += p.Area()
	}
	return area <= 2*withinM*withinM
}

// head is the first of the group of i.
func head(group []int, i int) int {
	for group[i] != i {
		group[i] = group[group[i]]
		i = group[i]
	}
	return i
}

type edge struct{ a, b grid.XY }

// outlinesApart is the distance between the outlines of two gaps where it is at most
// m metres, else more than that.
func outlinesApart(a, b []grid.Polygon, m float64) float64 {
	others, least := edgesIn(b, bounds(allRings(a)).Pad(m)), math.Inf(1)
	for _, e := range edgesIn(a, bounds(allRings(b)).Pad(m)) {
		for _, o := range others {
			least = math.Min(least, e.apart(o))
		}
	}
	return least
}

// edgesIn returns the edges whose boxes meet a box.
func edgesIn(g []grid.Polygon, box grid.Bounds) (out []edge) {
	for _, r := range allRings(g) {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			if near(grid.EmptyBounds().Add(a).Add(b), box) {
				out = append(out, edge{a, b})
			}
		}
	}
	return out
}

// apart is the distance between two edges.
func (e edge) apart(o edge) float64 {
	if (turning(e.a, e.b, o.a) > 0) != (turning(e.a, e.b, o.b) > 0) &&
		(turning(o.a, o.b, e.a) > 0) != (turning(o.a, o.b, e.b) > 0) {
		return 0
	}
	return min(
		between(o.a, closestOn(e.a, e.b, o.a)), between(o.b, closestOn(e.a, e.b, o.b)),
		between(e.a, closestOn(o.a, o.b, e.a)), between(e.b, closestOn(o.a, o.b, e.b)),
	)
}
