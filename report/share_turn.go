package report

import (
	"math"
	"slices"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
)

// shareCells is the most cells the turned ground has on its long side.
const shareCells = 1500

// turner turns the ground of a result counter-clockwise and moves it so that its box
// begins at 0, 0.
//
// The cells of the result lie north: a picture that showed their edges, turned, would
// tell the angle. So every turned cell is made from samples over a disc 2.5 of those
// cells wide, which rounds the edges off, and outlines are drawn anew along the turned
// cells.
type turner struct {
	r        *coverage.Result
	sin, cos float64
	move     grid.XY
	spec     grid.Spec
	disc     []grid.XY
}

func newTurner(r *coverage.Result, deg float64) *turner {
	t := &turner{r: r}
	t.sin, t.cos = math.Sincos(math.Mod(deg, 360) * math.Pi / 180)
	b := grid.EmptyBounds()
	for _, p := range r.Local.Boundary {
		for _, q := range p.Outer {
			b = b.Add(t.to(q))
		}
	}
	t.move = grid.XY{X: -b.Min.X, Y: -b.Min.Y}
	size := grid.Bounds{Max: grid.XY{X: b.Width(), Y: b.Height()}}
	cell := r.Spec.CellM
	t.spec = grid.SpecFor(size, max(cell, max(b.Width(), b.Height())/shareCells))
	if r.Certainty != nil {
		cell = max(cell, r.Certainty.Chance.Spec().CellM)
	}
	t.disc = disc19(1.25 * cell)
	return t
}

// disc19 is the middle of a disc and 18 places spread evenly over it.
func disc19(radius float64) []grid.XY {
	out := []grid.XY{{}}
	for _, ring := range []struct{ n, at float64 }{{6, 0.5}, {12, 0.92}} {
		for i := range int(ring.n) {
			sin, cos := math.Sincos((float64(i) + 0.5) * 2 * math.Pi / ring.n)
			out = append(out, grid.XY{X: radius * ring.at * cos, Y: radius * ring.at * sin})
		}
	}
	return out
}

// to turns and moves a place of the result.
func (t *turner) to(q grid.XY) grid.XY {
	return grid.XY{X: t.cos*q.X - t.sin*q.Y + t.move.X, Y: t.sin*q.X + t.cos*q.Y + t.move.Y}
}

// back undoes to.
func (t *turner) back(q grid.XY) grid.XY {
	x, y := q.X-t.move.X, q.Y-t.move.Y
	return grid.XY{X: t.cos*x + t.sin*y, Y: t.cos*y - t.sin*x}
}

func (t *turner) line(qs []grid.XY) []grid.XY {
	out := make([]grid.XY, len(qs))
	for i, q := range qs {
		out[i] = t.to(q)
	}
	return out
}

func (t *turner) polygons(ps []grid.Polygon) []grid.Polygon {
	var out []grid.Polygon
	for _, p := range ps {
		n := grid.Polygon{Outer: t.line(p.Outer)}
		for _, h := range p.Holes {
			n.Holes = append(n.Holes, t.line(h))
		}
		out = append(out, n)
	}
	return out
}

// ground fills in the turned geometry and cells of out, and returns its passes. With
// names landmarks keep theirs.
func (t *turner) ground(out *coverage.Result, p passes, names bool) passes {
	out.Spec = t.spec
	out.Local = site.Local{Boundary: t.polygons(t.r.Local.Boundary), Keepouts: t.polygons(t.r.Local.Keepouts), Landmarks: t.landmarks(names)}
	out.Searchable, out.Swept = grid.NewMask(t.spec), grid.NewMask(t.spec)
	for _, p := range out.Local.Boundary {
		out.Searchable.FillPolygon(p)
	}
	keep := grid.NewMask(t.spec)
	for _, p := range out.Local.Keepouts {
		keep.FillPolygon(p)
	}
	out.Searchable.AndNot(keep)
	t.gaps(out)
	if out.Certainty != nil {
		out.Certainty.Chance = t.chance(out.Searchable)
		return turnedPasses{}
	}
	return t.passes(out, p)
}

// landmarks are those of the result under the names that may be shown. Marks are
// landmarks like others: how well their place is known concerns the owner alone.
func (t *turner) landmarks(names bool) []site.LocalLandmark {
	var out []site.LocalLandmark
	for _, l := range t.r.Local.Landmarks {
		name := kindOf(l.Landmark)
		if names {
			name = Printable(l.Name)
		}
		out = append(out, site.LocalLandmark{Landmark: site.Landmark{Name: name, Shape: l.Shape}, XY: t.line(l.XY)})
	}
	return out
}

// chance is the mean over the disc about every cell, of what can be searched there.
func (t *turner) chance(can *grid.Mask) *grid.Field {
	old, out := t.r.Certainty.Chance, grid.NewField(t.spec)
	can.Cells(func(c grid.Cell) {
		q, sum, n := t.back(t.spec.Centre(c)), float32(0), 0
		for _, d := range t.disc {
			k, _ := old.Spec().CellAt(q.Plus(d))
			v := old.At(k)
			if v == 0 && !t.can(q.Plus(d)) {
				continue // nothing is known of the far side of the edge
			}
			sum, n = sum+v, n+1
		}
		if n > 0 {
			out.Set(c, sum/float32(n))
		}
	})
	return out
}

func (t *turner) can(q grid.XY) bool {
	c, in := t.r.Spec.CellAt(q)
	return in && t.r.Searchable.Has(c)
}

// turnedPasses are passes in plain rows.
type turnedPasses struct {
	cols int
	n    []uint16
}

// RowPasses implements passes.
func (p turnedPasses) RowPasses(row, colLo int, dst []uint16) {
	copy(dst, p.n[row*p.cols+colLo:(row+1)*p.cols])
}

// passes are the median over the disc about every cell; where it is not 0 the cell is
// swept.
func (t *turner) passes(out *coverage.Result, p passes) turnedPasses {
	n := turnedPasses{t.spec.Cols, make([]uint16, t.spec.Cols*t.spec.Rows)}
	var one [1]uint16
	around := make([]uint16, 0, len(t.disc))
	out.Searchable.Cells(func(c grid.Cell) {
		q := t.back(t.spec.Centre(c))
		around = around[:0]
		for _, d := range t.disc {
			if k, in := t.r.Spec.CellAt(q.Plus(d)); in && t.r.Searchable.Has(k) {
				p.RowPasses(k.Row, k.Col, one[:])
				around = append(around, one[0])
			}
		}
		if len(around) == 0 {
			return
		}
		slices.Sort(around)
		if m := around[len(around)/2]; m > 0 {
			n.n[c.Row*n.cols+c.Col] = m
			out.Swept.Set(c)
		}
	})
	return n
}
