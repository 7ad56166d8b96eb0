package plan

import (
	"math"

	"untrod/grid"
)

// clearM is how far outside the grown keep-outs ways run, so that a way that may be
// walked touches none of them and rounding decides nothing.
const clearM = 1e-6

type wayEdge struct{ a, b grid.XY }

// right reports whether a ray from p eastwards meets e; half-open in Y.
func (e wayEdge) right(p grid.XY) bool {
	if (e.a.Y > p.Y) == (e.b.Y > p.Y) {
		return false
	}
	if e.a.Y > e.b.Y {
		e.a, e.b = e.b, e.a
	}
	return orient(e.a, e.b, p) > 0
}

// orient is twice the area of the triangle: positive when a, b, c turn left.
func orient(a, b, c grid.XY) float64 {
	return float64((b.X-a.X)*(c.Y-a.Y)) - float64((b.Y-a.Y)*(c.X-a.X))
}

func dist(a, b grid.XY) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	return math.Sqrt(float64(dx*dx) + float64(dy*dy))
}

func finite(p grid.XY) bool { return p.X-p.X == 0 && p.Y-p.Y == 0 }

func inBox(b grid.Bounds, p grid.XY) bool {
	return p.X >= b.Min.X && p.X <= b.Max.X && p.Y >= b.Min.Y && p.Y <= b.Max.Y
}

func inRing(r grid.Ring, p grid.XY) bool {
	in := false
	for i, a := range r {
		in = in != wayEdge{a, r[(i+1)%len(r)]}.right(p)
	}
	return in
}

// nearestOn is the point of a-b nearest to p, and its share of the way to b.
func nearestOn(a, b, p grid.XY) (grid.XY, float64) {
	dx, dy := b.X-a.X, b.Y-a.Y
	share := (float64(dx*(p.X-a.X)) + float64(dy*(p.Y-a.Y))) / (float64(dx*dx) + float64(dy*dy))
	if !(share > 0) { // a is b, too
		return a, 0
	}
	if share >= 1 {
		return b, 1
	}
	return grid.XY{X: a.X + float64(share*dx), Y: a.Y + float64(share*dy)}, share
}

// toward is p moved m metres towards q, at most to q.
func toward(p, q grid.XY, m float64) grid.XY {
	d := dist(p, q)
	if d <= m {
		return q
	}
	return grid.XY{X: p.X + float64((q.X-p.X)*m)/d, Y: p.Y + float64((q.Y-p.Y)*m)/d}
}

// touches reports whether p-q and e have a point in common.
func (e wayEdge) touches(p, q grid.XY) bool {
	o1, o2 := orient(p, q, e.a), orient(p, q, e.b)
	if o1 > 0 && o2 > 0 || o1 < 0 && o2 < 0 {
		return false
	}
	o3, o4 := orient(e.a, e.b, p), orient(e.a, e.b, q)
	if o3 > 0 && o4 > 0 || o3 < 0 && o4 < 0 {
		return false
	}
	return max(e.a.X, e.b.X) >= min(p.X, q.X) && min(e.a.X, e.b.X) <= max(p.X, q.X) &&
		max(e.a.Y, e.b.Y) >= min(p.Y, q.Y) && min(e.a.Y, e.b.Y) <= max(p.Y, q.Y)
}

// edgeGrid finds edges by the square cells they pass through.
type edgeGrid struct {
	edges      []wayEdge
	box        grid.Bounds
	cellM      float64
	cols, rows int
	first      []int32 // of each cell, in in; one more at the end
	in         []int32
}

// newEdgeGrid makes about one cell for each edge.
func newEdgeGrid(edges []wayEdge) *edgeGrid {
	g := &edgeGrid{edges: edges, box: grid.EmptyBounds()}
	for _, e := range edges {
		g.box = g.box.Add(e.a).Add(e.b)
	}
	if len(edges) == 0 {
		return g
	}
	w, h := g.box.Width(), g.box.Height()
	g.cellM = max(math.Sqrt(w*h/float64(len(edges))), max(w, h)/4096, 1e-3)
	g.cols, g.rows = int(w/g.cellM)+1, int(h/g.cellM)+1
	g.first = make([]int32, g.cols*g.rows+1)
	for _, e := range edges {
		g.along(e.a, e.b, func(c int) bool { g.first[c+1]++; return false })
	}
	for c := range g.cols * g.rows {
		g.first[c+1] += g.first[c]
	}
	next := append([]int32{}, g.first...)
	g.in = make([]int32, g.first[len(g.first)-1])
	for i, e := range edges {
		g.along(e.a, e.b, func(c int) bool { g.in[next[c]] = int32(i); next[c]++; return false })
	}
	return g
}

// along visits the cells that p-q passes through, row by row from p on, until visit
// returns true. Cells beside the line by a rounding are visited too.
func (g *edgeGrid) along(p, q grid.XY, visit func(cell int) bool) bool {
	slack := g.cellM * 1e-6
	from, to := g.row(min(p.Y, q.Y)-slack), g.row(max(p.Y, q.Y)+slack)
	if from >= g.rows || to < 0 {
		return false
	}
	from, to = max(from, 0), min(to, g.rows-1)
	step, at, n := 1, from, to-from+1
	if q.Y < p.Y {
		step, at = -1, to
	}
	for ; n > 0; at, n = at+step, n-1 {
		x0, x1 := g.span(p, q, at)
		c0, c1 := max(g.col(x0-slack), 0), min(g.col(x1+slack), g.cols-1)
		for c := c0; c <= c1; c++ {
			if visit(at*g.cols + c) {
				return true
			}
		}
	}
	return false
}

func (g *edgeGrid) row(y float64) int {
	return int(math.Floor(min(max((y-g.box.Min.Y)/g.cellM, -1), float64(g.rows))))
}

func (g *edgeGrid) col(x float64) int {
	return int(math.Floor(min(max((x-g.box.Min.X)/g.cellM, -1), float64(g.cols))))
}

// span is the stretch of X that p-q covers in a row.
func (g *edgeGrid) span(p, q grid.XY, row int) (x0, x1 float64) {
	if p.Y > q.Y {
		p, q = q, p
	}
	slack := g.cellM * 1e-6
	lo := g.box.Min.Y + float64(float64(row)*g.cellM) - slack
	hi := lo + g.cellM + 2*slack
	x0, x1 = p.X, q.X
	if h := q.Y - p.Y; h > 0 {
		if p.Y < lo {
			x0 = p.X + (q.X-p.X)*((lo-p.Y)/h)
		}
		if q.Y > hi {
			x1 = p.X + (q.X-p.X)*((hi-p.Y)/h)
		}
	}
	return min(x0, x1), max(x0, x1)
}

// touched reports whether p-q has a point in common with an edge.
func (g *edgeGrid) touched(p, q grid.XY) bool {
	return g.along(p, q, func(c int) bool {
		for _, i := range g.in[g.first[c]:g.first[c+1]] {
			if g.edges[i].touches(p, q) {
				return true
			}
		}
		return false
	})
}

// within reports whether an edge comes within m metres, less than a cell, of p.
func (g *edgeGrid) within(p grid.XY, m float64) bool {
	near := func(c int) bool {
		for _, i := range g.in[g.first[c]:g.first[c+1]] {
			if q, _ := nearestOn(g.edges[i].a, g.edges[i].b, p); dist(p, q) <= m {
				return true
			}
		}
		return false
	}
	for _, dy := range [2]float64{-m, m} {
		if g.along(grid.XY{X: p.X - m, Y: p.Y + dy}, grid.XY{X: p.X + m, Y: p.Y + dy}, near) {
			return true
		}
	}
	return false
}
