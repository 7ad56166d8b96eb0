package plan_test

import (
	"container/heap"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
	"untrod/plan"
)

// rect is a box as a keep-out.
func rect(x0, y0, x1, y1 float64) grid.Polygon {
	return grid.Polygon{Outer: grid.Ring{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}}
}

func waysRound(t require.TestingT, padM float64, keepouts ...grid.Polygon) *plan.Ways {
	w, err := plan.NewWays(keepouts, padM)
	require.NoError(t, err)
	return w
}

// frameOf is a square ring round (0, 0): four boxes that touch or overlap by lap.
func frameOf(lap float64) []grid.Polygon {
	return []grid.Polygon{
		rect(-10, -10, 10, -8+lap), rect(-10, 8-lap, 10, 10),
		rect(-10, -8, -8, 8), rect(8, -8, 10, 8),
	}
}

func TestWaysClosedForms(t *testing.T) {
	square := rect(-10, -10, 10, 10)
	holed := rect(-10, -10, 10, 10)
	holed.Holes = []grid.Ring{rect(-5, -5, 5, 5).Outer}
	island := rect(-2, -2, 2, 2)
	clockwise := grid.Polygon{Outer: grid.Ring{{X: -10, Y: -10}, {X: -10, Y: 10}, {X: 10, Y: 10}, {X: 10, Y: -10}}}
	for _, c := range []struct {
		name     string
		keepouts []grid.Polygon
		padM     float64
		a, b     grid.XY
		want     float64 // -1: closed off
		corners  int
	}{
		{"no keep-outs", nil, 0.5, grid.XY{X: 0, Y: 0}, grid.XY{X: 3, Y: 4}, 5, 0},
		{"same place", nil, 0.5, grid.XY{X: 1, Y: 2}, grid.XY{X: 1, Y: 2}, 0, 0},
		{"beside a square", []grid.Polygon{square}, 0, grid.XY{X: -20, Y: 11}, grid.XY{X: 20, Y: 11}, 40, 0},
		{"round a square", []grid.Polygon{square}, 0, grid.XY{X: -20, Y: 0}, grid.XY{X: 20, Y: 0}, 20 + 2*math.Hypot(10, 10), 2},
		{"round a square given clockwise", []grid.Polygon{clockwise}, 0, grid.XY{X: -20, Y: 0}, grid.XY{X: 20, Y: 0}, 20 + 2*math.Hypot(10, 10), 2},
		{"round one corner", []grid.Polygon{square}, 0, grid.XY{X: -20, Y: 0}, grid.XY{X: 0, Y: 20}, 2 * math.Hypot(10, 10), 1},
		{"with a margin", []grid.Polygon{square}, 2, grid.XY{X: -20, Y: 0}, grid.XY{X: 20, Y: 0}, 24 + 2*math.Hypot(8, 12), 2},
		{"along a side", []grid.Polygon{square}, 0, grid.XY{X: -9, Y: 10}, grid.XY{X: 9, Y: 10}, 18, 0},
		{"corner to corner", []grid.Polygon{square}, 0, grid.XY{X: -10, Y: -10}, grid.XY{X: 10, Y: 10}, 40, 1},
		{"from within the margin", []grid.Polygon{square}, 2, grid.XY{X: 0, Y: 11}, grid.XY{X: 0, Y: 20}, 9, 0},
		{"between two within the margin", []grid.Polygon{square}, 2, grid.XY{X: -5, Y: 11}, grid.XY{X: 5, Y: 11}, 12, 0},
		{"between two keep-outs", []grid.Polygon{rect(-30, -10, -1, 10), rect(1, -10, 30, 10)}, 0.5, grid.XY{X: 0, Y: -20}, grid.XY{X: 0, Y: 20}, 40, 0},
		{"too narrow between", []grid.Polygon{rect(-30, -10, -1, 10), rect(1, -10, 30, 10)}, 1.1, grid.XY{X: 0, Y: -20}, grid.XY{X: 0, Y: 20}, 2*math.Hypot(31.1, 8.9) + 22.2, 2},
		{"out of a slot, not through its thin wall", []grid.Polygon{rect(0, -50, 0.2, 50), rect(-20, -50, -0.8, 50)}, 0.5, grid.XY{X: -0.4, Y: 40}, grid.XY{X: 5, Y: 40}, 10.5 + 1.1 + math.Hypot(4.3, 10.5), 2},
		{"inside a keep-out", []grid.Polygon{square}, 0.5, grid.XY{X: 0, Y: 0}, grid.XY{X: 20, Y: 0}, -1, 0},
		{"into a hole", []grid.Polygon{holed}, 0.5, grid.XY{X: 0, Y: 0}, grid.XY{X: 20, Y: 0}, -1, 0},
		{"within a hole", []grid.Polygon{holed}, 0.5, grid.XY{X: -4, Y: 0}, grid.XY{X: 4, Y: 0}, 8, 0},
		{"round an island in a hole", []grid.Polygon{holed, island}, 0.5, grid.XY{X: -4, Y: 0}, grid.XY{X: 4, Y: 0}, 5 + 2*math.Hypot(1.5, 2.5), 2},
		{"ring that overlaps", frameOf(1), 0, grid.XY{X: 0, Y: 0}, grid.XY{X: 20, Y: 0}, -1, 0},
		{"ring that touches", frameOf(0), 0, grid.XY{X: 0, Y: 0}, grid.XY{X: 20, Y: 0}, -1, 0},
		{"ring with a gap closed by the margin", frameOf(-0.5), 0.3, grid.XY{X: 0, Y: 0}, grid.XY{X: 20, Y: 0}, -1, 0},
		{"ring with a gap", frameOf(-0.5), 0.1, grid.XY{X: 0, Y: 0}, grid.XY{X: 0, Y: 1}, 1, 0},
		{"not finite", []grid.Polygon{square}, 0.5, grid.XY{X: math.NaN(), Y: 0}, grid.XY{X: 20, Y: 0}, -1, 0},
		{"keep-out without area", []grid.Polygon{{Outer: grid.Ring{{X: 0, Y: -5}, {X: 0, Y: 5}}}}, 0.5, grid.XY{X: -5, Y: 0}, grid.XY{X: 5, Y: 0}, 10, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			line, got, ok := waysRound(t, c.padM, c.keepouts...).Between(c.a, c.b)
			require.Equal(t, c.want >= 0, ok)
			if !ok {
				require.Nil(t, line)
				return
			}
			assert.InDelta(t, c.want, got, 1e-4)
			assert.Equal(t, c.a, line[0])
			assert.Equal(t, c.b, line[len(line)-1])
			assert.InDelta(t, got, lineLength(line), 1e-4)
			if c.corners > 0 {
				assert.Len(t, line, 2+c.corners)
			}
		})
	}
}

func TestWaysRefusesWhatCannotBe(t *testing.T) {
	_, err := plan.NewWays(nil, -1)
	require.ErrorContains(t, err, "margin of -1 m")
	bad := rect(0, 0, 1, 1)
	bad.Outer[2].X = math.Inf(1)
	_, err = plan.NewWays([]grid.Polygon{rect(0, 0, 1, 1), bad}, 1)
	require.ErrorContains(t, err, "keep-out 1")
}

func lineLength(line []grid.XY) (m float64) {
	for i := 1; i < len(line); i++ {
		m += math.Hypot(line[i].X-line[i-1].X, line[i].Y-line[i-1].Y)
	}
	return m
}

// TestWaysAgainstCells walks the same ground cell by cell, in the eight directions.
// Keep-outs are whole metres wide, so passages are closed or four cells wide. A walk
// over cells in eight directions is longer by at most the factor of the eighth of a
// circle, 1 / cos(22.5 degrees).
func TestWaysAgainstCells(t *testing.T) {
	const cellsPerM, side = 4, 24
	rng := rand.New(rand.NewPCG(3, 4))
	around, closed := 0, 0
	for range 25 {
		var boxes []grid.Polygon
		for range 4 + rng.IntN(28) {
			x, y := float64(rng.IntN(side-2)+1), float64(rng.IntN(side-2)+1)
			boxes = append(boxes, rect(x, y, min(side-1, x+1+float64(rng.IntN(6))), min(side-1, y+1+float64(rng.IntN(6)))))
		}
		w, c := waysRound(t, 0, boxes...), newCellWalk(boxes, side, cellsPerM)
		from := grid.XY{X: 0.125 + float64(rng.IntN(side*4))/4, Y: 0.125 + float64(rng.IntN(side*4))/4}
		metres := c.from(from)
		for range 40 {
			to := grid.XY{X: 0.125 + float64(rng.IntN(side*4))/4, Y: 0.125 + float64(rng.IntN(side*4))/4}
			_, got, ok := w.Between(from, to)
			want := metres[c.cell(to)]
			if c.blocked[c.cell(from)] || c.blocked[c.cell(to)] {
				want = math.Inf(1)
			}
			require.Equal(t, !math.IsInf(want, 1), ok, "%v to %v round %v", from, to, boxes)
			if !ok {
				closed++
				continue
			}
			if got > 1.01*math.Hypot(from.X-to.X, from.Y-to.Y) {
				around++
			}
			// Cells keep half a cell off corners, twice for each of a few corners.
			require.LessOrEqual(t, got, want+1e-6, "%v to %v round %v", from, to, boxes)
			require.LessOrEqual(t, want, got/math.Cos(math.Pi/8)+2, "%v to %v round %v", from, to, boxes)
		}
	}
	require.Greater(t, around, 100)
	require.Greater(t, closed, 50)
}

// cellWalk is Dijkstra over square cells, never diagonally past a blocked corner.
type cellWalk struct {
	n       int
	cellM   float64
	blocked []bool
	best    []float64
}

func newCellWalk(boxes []grid.Polygon, side, perM int) *cellWalk {
	c := &cellWalk{n: side * perM, cellM: 1 / float64(perM)}
	c.blocked = make([]bool, c.n*c.n)
	for i := range c.blocked {
		x, y := (float64(i%c.n)+0.5)*c.cellM, (float64(i/c.n)+0.5)*c.cellM
		for _, b := range boxes {
			lo, hi := b.Outer[0], b.Outer[2]
			c.blocked[i] = c.blocked[i] || x > lo.X && x < hi.X && y > lo.Y && y < hi.Y
		}
	}
	return c
}

func (c *cellWalk) cell(p grid.XY) int { return int(p.Y/c.cellM)*c.n + int(p.X/c.cellM) }

func (c *cellWalk) free(x, y int) bool {
	return x >= 0 && y >= 0 && x < c.n && y < c.n && !c.blocked[y*c.n+x]
}

func (c *cellWalk) from(p grid.XY) []float64 {
	c.best = make([]float64, c.n*c.n)
	for i := range c.best {
		c.best[i] = math.Inf(1)
	}
	c.best[c.cell(p)] = 0
	q := &cellQueue{{c.cell(p), 0}}
	for q.Len() > 0 {
		top := heap.Pop(q).(cellAt)
		x, y := top.cell%c.n, top.cell/c.n
		for dy := -1; dy <= 1; dy++ {
			for dx := -1; dx <= 1; dx++ {
				if !c.free(x+dx, y+dy) || !c.free(x+dx, y) || !c.free(x, y+dy) {
					continue
				}
				to, d := (y+dy)*c.n+x+dx, top.m+c.cellM*math.Hypot(float64(dx), float64(dy))
				if d < c.best[to] {
					c.best[to] = d
					heap.Push(q, cellAt{to, d})
				}
			}
		}
	}
	return c.best
}

type cellAt struct {
	cell int
	m    float64
}
type cellQueue []cellAt

func (q cellQueue) Len() int           { return len(q) }
func (q cellQueue) Less(i, j int) bool { return q[i].m < q[j].m }
func (q cellQueue) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *cellQueue) Push(x any)        { *q = append(*q, x.(cellAt)) }
func (q *cellQueue) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}

// star draws a keep-out of n corners round (x, y), often with dents.
func star(t *rapid.T, n int) grid.Polygon {
	x, y := rapid.Float64Range(0, 100).Draw(t, "x"), rapid.Float64Range(0, 100).Draw(t, "y")
	var p grid.Polygon
	for k := range n {
		r := rapid.Float64Range(1, 15).Draw(t, "r")
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / float64(n))
		p.Outer = append(p.Outer, grid.XY{X: x + r*cos, Y: y + r*sin})
	}
	return p
}

// TestWaysProperties: symmetric, never shorter than straight, as long as its line,
// never inside a keep-out, bends outside its margin, and no shorter by way of a third place.
func TestWaysProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var keepouts []grid.Polygon
		for range rapid.IntRange(0, 8).Draw(t, "keep-outs") {
			keepouts = append(keepouts, star(t, rapid.IntRange(3, 12).Draw(t, "corners")))
		}
		padM := rapid.SampledFrom([]float64{0, 0.1, 0.5, 2}).Draw(t, "pad")
		w := waysRound(t, padM, keepouts...)
		var p [4]grid.XY
		var d [4][4]float64
		for i := range p {
			p[i] = grid.XY{X: rapid.Float64Range(-10, 110).Draw(t, "px"), Y: rapid.Float64Range(-10, 110).Draw(t, "py")}
		}
		for i, a := range p {
			for j, b := range p {
				line, m, ok := w.Between(a, b)
				if d[i][j] = m; !ok {
					d[i][j] = math.Inf(1)
					continue
				}
				require.GreaterOrEqual(t, m, math.Hypot(a.X-b.X, a.Y-b.Y)-1e-9)
				require.InDelta(t, m, lineLength(line), 2e-3)
				requireOutside(t, line, keepouts)
				for _, bend := range line[1 : len(line)-1] {
					require.GreaterOrEqual(t, offKeepouts(keepouts, bend), 0.99*padM-1e-5)
				}
			}
		}
		for i := range p {
			for j := range p {
				require.Equal(t, d[i][j], d[j][i])
				for k := range p {
					require.LessOrEqual(t, d[i][k], d[i][j]+d[j][k]+1e-4)
				}
			}
		}
	})
}

// requireOutside steps along the line; 10 micrometres inside is outside still.
func requireOutside(t *rapid.T, line []grid.XY, keepouts []grid.Polygon) {
	const steps = 40
	for i := 1; i < len(line); i++ {
		for k := range steps + 1 {
			s := float64(k) / steps
			p := grid.XY{X: line[i-1].X + s*(line[i].X-line[i-1].X), Y: line[i-1].Y + s*(line[i].Y-line[i-1].Y)}
			for _, q := range keepouts {
				require.False(t, deepInside(q.Outer, p, 1e-5), "%v of %v inside %v", p, line, q.Outer)
			}
		}
	}
}

// deepInside reports whether p is inside r and more than m from its sides.
func deepInside(r grid.Ring, p grid.XY, m float64) bool {
	in := false
	for i, a := range r {
		if b := r[(i+1)%len(r)]; (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
			in = !in
		}
	}
	return in && offKeepouts([]grid.Polygon{{Outer: r}}, p) > m
}

// offKeepouts is the distance from p to the nearest side of a keep-out.
func offKeepouts(keepouts []grid.Polygon, p grid.XY) float64 {
	least := math.Inf(1)
	for _, k := range keepouts {
		for i, a := range k.Outer {
			b := k.Outer[(i+1)%len(k.Outer)]
			dx, dy := b.X-a.X, b.Y-a.Y
			s := ((p.X-a.X)*dx + (p.Y-a.Y)*dy) / (dx*dx + dy*dy)
			s = min(max(s, 0), 1)
			least = min(least, math.Hypot(a.X+s*dx-p.X, a.Y+s*dy-p.Y))
		}
	}
	return least
}
