package plan

import (
	"math"

	"untrod/coverage"
	"untrod/grid"
)

// richReachM is the spread of what finds and searched ground about a place count for
// it, at least; a receiver's error widens it. A choice, no source.
const richReachM = 10

// richDoubt is how many finds of a site rich alike all over the guess is worth that
// this place is no richer than the rest: few finds move it little.
const richDoubt = 2

// richness is how many times as many finds as on the rest of the site the ground about
// a place gave for the ground swept there; 1 where nothing was swept.
type richness struct {
	finds, swept *grid.Field // smoothed: finds and m2 swept for each cell
	perM2        float64     // finds for each m2 swept, over the site
	cells        float64     // as many cells as a place's neighbourhood amounts to
}

// newRichness is nil when there are no finds on swept ground to go by.
func newRichness(r *coverage.Result, at []grid.XY) *richness {
	if len(at) == 0 || r.SweptM2 == 0 {
		return nil
	}
	sd := math.Max(richReachM, 2*r.Settings.Position.Receiver.TotalM())
	cell := math.Max(sd/4, r.Spec.CellM)
	over := grid.NewMask(grid.SpecFor(r.Spec.Bounds(), cell))
	for _, p := range r.Local.Boundary {
		over.FillPolygon(p)
	}
	finds, swept := grid.NewField(over.Spec()), grid.NewField(over.Spec())
	add := func(f *grid.Field, p grid.XY, v float64) {
		if c, in := over.Spec().CellAt(p); in {
			over.Set(c)
			f.Set(c, f.At(c)+float32(v))
		}
	}
	r.Swept.Cells(func(c grid.Cell) { add(swept, r.Spec.Centre(c), r.Spec.CellAreaM2()) })
	for _, p := range at {
		add(finds, p, 1)
	}
	return &richness{
		finds: coverage.Smooth(finds, over, sd), swept: coverage.Smooth(swept, over, sd),
		perM2: finds.Sum() / r.SweptM2,
		cells: 4 * math.Pi * sd * sd / over.Spec().CellAreaM2(), // 1 / the sum of the Gaussian's squares
	}
}

// at is the richness at p: the mean of the gamma distribution that a count of finds
// leaves when the guess before it has mean 1 and is worth richDoubt finds.
func (h *richness) at(p grid.XY) float64 {
	if h == nil {
		return 1
	}
	c, in := h.finds.Spec().CellAt(p)
	if !in {
		return 1
	}
	found := float64(h.finds.At(c)) * h.cells
	due := float64(h.swept.At(c)) * h.cells * h.perM2
	return (found + richDoubt) / (due + richDoubt)
}
