package coverage

import (
	"math"

	"untrod/grid"
	"untrod/track"
)

// fenceCellM is the cell in which the way back over the edge is worked out.
const fenceCellM = 0.5

// fence turns back drawn walks that stray off the searchable ground. Nobody
// searches inside a pond, and seldom beyond the boundary; a walker who comes to
// the edge turns round. So a place drawn beyond it is mirrored at the edge. To
// leave such draws out instead would tell against walks along the edge, since
// of those every draw strays.
type fence struct {
	spec grid.Spec
	in   *grid.Mask
	way  []grid.XY // for each cell within reach outside, the way to the mirrored place
}

// newFence lays the fence round the ground inside the boundary less the
// keep-outs, effective to reachM beyond it.
func newFence(boundary, keepouts []grid.Polygon, reachM float64) *fence {
	b := grid.EmptyBounds()
	for _, p := range boundary {
		for _, q := range p.Outer {
			b = b.Add(q)
		}
	}
	cell := fenceCellM
	for b.Width()*b.Height()/(cell*cell) > 4e6 {
		cell *= 2
	}
	f := &fence{spec: grid.SpecFor(b.Pad(reachM+2*cell), cell)}
	f.in = searchable(f.spec, boundary, keepouts)
	out := grid.NewMask(f.spec)
	for row := range f.spec.Rows {
		out.SetSpan(row, 0, f.spec.Cols)
	}
	out.AndNot(f.in)
	f.mirror(out, reachM)
	return f
}

// mirror finds, for each cell outside, the way over the edge: twice the distance
// to it, the way the distance falls fastest.
func (f *fence) mirror(out *grid.Mask, reachM float64) {
	// The rim of the cells counts as inside to DistanceSquared; the pad keeps
	// it out of reach.
	runs, cell := out.Runs(), f.spec.CellM
	d2 := runs.DistanceSquared()
	dist := make([]float64, f.spec.Cols*f.spec.Rows)
	for _, r := range runs.All {
		for c := r.Lo; c < r.Hi; c++ {
			dist[r.Row*f.spec.Cols+c] = math.Sqrt(float64(d2[r.At+c-r.Lo])) - 0.5
		}
	}
	f.way = make([]grid.XY, len(dist))
	at := func(c, r int) float64 {
		return dist[min(max(r, 0), f.spec.Rows-1)*f.spec.Cols+min(max(c, 0), f.spec.Cols-1)]
	}
	for r := range f.spec.Rows {
		for c := range f.spec.Cols {
			d := at(c, r)
			if d <= 0 || d*cell > reachM {
				continue
			}
			gx, gy := at(c+1, r)-at(c-1, r), at(c, r+1)-at(c, r-1)
			if n := math.Hypot(gx, gy); n > 0 {
				f.way[r*f.spec.Cols+c] = grid.XY{X: -2 * d * cell * gx / n, Y: -2 * d * cell * gy / n}
			}
		}
	}
}

// back returns p, or its mirror image where it lies beyond the edge.
func (f *fence) back(p grid.XY) grid.XY {
	c, ok := f.spec.CellAt(p)
	if !ok {
		return p
	}
	w := f.way[c.Row*f.spec.Cols+c.Col]
	return grid.XY{X: p.X + w.X, Y: p.Y + w.Y}
}

// strays reports whether a session's searching went beyond the edge on purpose:
// over a twentieth of it is logged further out than two standard deviations of
// the receiver's error.
func (f *fence) strays(w track.Walk, errM float64) bool {
	beyond, all := 0, 0
	for _, p := range w.Paths {
		for _, l := range p.Legs {
			if l.Kind != track.Searching {
				continue
			}
			for _, q := range p.Points[l.From:l.To] {
				all++
				c, ok := f.spec.CellAt(q.XY)
				if !ok {
					beyond++
				} else if w := f.way[c.Row*f.spec.Cols+c.Col]; math.Hypot(w.X, w.Y)/2 > 2*errM {
					beyond++
				}
			}
		}
	}
	return beyond*20 > all
}

// searchable is the cells of s inside the boundary less the keep-outs.
func searchable(s grid.Spec, boundary, keepouts []grid.Polygon) *grid.Mask {
	in, keep := grid.NewMask(s), grid.NewMask(s)
	for _, p := range boundary {
		in.FillPolygon(p)
	}
	for _, p := range keepouts {
		keep.FillPolygon(p)
	}
	in.AndNot(keep)
	return in
}
