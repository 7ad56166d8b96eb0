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
	spec  grid.Spec
	depth []float64 // of each cell inside the edge, metres; negative outside
	way   []grid.XY // for each cell within reach outside, the way to the mirrored place
}

// newFence lays the fence insetM inside the edge of the boundary, effective to
// reachM beyond the edge.
func newFence(boundary []grid.Polygon, insetM, reachM float64) *fence {
	b := grid.EmptyBounds()
	for _, p := range boundary {
		for _, q := range p.Outer {
			b = b.Add(q)
		}
	}
	cell, around := fenceCellM, b.Pad(reachM)
	for around.Width()*around.Height()/(cell*cell) > 4e6 {
		cell *= 2
	}
	f := &fence{spec: grid.SpecFor(around.Pad(2*cell), cell)}
	f.depth = f.depths(searchable(f.spec, boundary, nil))
	f.mirror(insetM, reachM)
	return f
}

// depths is how far each cell lies inside the edge in metres, negative outside.
func (f *fence) depths(in *grid.Mask) []float64 {
	out := grid.NewMask(f.spec)
	for row := range f.spec.Rows {
		out.SetSpan(row, 0, f.spec.Cols)
	}
	out.AndNot(in)
	depth := make([]float64, f.spec.Cols*f.spec.Rows)
	put := func(m *grid.Mask, sign float64) {
		runs := m.Runs()
		d2 := runs.DistanceSquared()
		for _, r := range runs.All {
			for c := r.Lo; c < r.Hi; c++ {
				d := math.Sqrt(float64(d2[r.At+c-r.Lo])) - 0.5
				depth[r.Row*f.spec.Cols+c] = sign * d * f.spec.CellM
			}
		}
	}
	put(in, 1)
	put(out, -1)
	return depth
}

// mirror finds, for each cell beyond the fence, the way over it: twice the
// distance to it, the way the depth grows fastest.
func (f *fence) mirror(insetM, reachM float64) {
	f.way = make([]grid.XY, len(f.depth))
	at := func(c, r int) float64 {
		return f.depth[min(max(r, 0), f.spec.Rows-1)*f.spec.Cols+min(max(c, 0), f.spec.Cols-1)]
	}
	for r := range f.spec.Rows {
		for c := range f.spec.Cols {
			d := at(c, r)
			if d >= insetM || d < -reachM {
				continue
			}
			gx, gy := at(c+1, r)-at(c-1, r), at(c, r+1)-at(c, r-1)
			if n := math.Hypot(gx, gy); n > 0 {
				f.way[r*f.spec.Cols+c] = grid.XY{X: 2 * (insetM - d) * gx / n, Y: 2 * (insetM - d) * gy / n}
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
				} else if f.depth[c.Row*f.spec.Cols+c.Col] < -2*errM-f.spec.CellM {
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
