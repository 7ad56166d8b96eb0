package report

import (
	"image"
	"image/color"
	"math"
	"slices"

	"untrod/coverage"
	"untrod/grid"
)

// Washes of the density maps, light to dark, each 12 L* darker than the one before or
// more.
var washes = [...]color.RGBA{hex(0xD9E6E4), hex(0xA8C4C4), hex(0x7AA1A8), hex(0x4F7B87), hex(0x27505C)}

// density is something per area, in bands of a step from 0; the last is open.
type density struct {
	img    *image.Paletted
	bounds grid.Bounds
	step   float64
	sdM    float64 // smoothed by
	share  [len(washes) + 1]float64
}

// What the density maps are smoothed by at least, metres, standard deviation (our
// choice); more where the receiver is worse, and on large ground.
const (
	effortSdM = 2
	findsSdM  = 6
)

// maxDensityCells is the most cells on the long side of a density map.
const maxDensityCells = 500

// densityCells are cells coarse enough to smooth by sdM, and sdM itself, raised to
// what such cells can show.
func densityCells(r *coverage.Result, sdM float64) (grid.Spec, float64) {
	sdM = max(sdM, r.Settings.Position.Receiver.TotalM())
	b := r.Spec.Bounds()
	cell := max(sdM/5, r.Spec.CellM, max(b.Width(), b.Height())/maxDensityCells)
	return grid.SpecFor(b.Pad(-r.Spec.CellM/2), cell), max(sdM, 3*cell)
}

// gathered is what lies in each cell of a coarser grid.
type gathered struct {
	over          *grid.Mask  // cells with ground to search
	ground, swept *grid.Field // m2
	seconds       *grid.Field
	finds         *grid.Field
}

func gather(r *coverage.Result, s grid.Spec) gathered {
	g := gathered{grid.NewMask(s), grid.NewField(s), grid.NewField(s), grid.NewField(s), grid.NewField(s)}
	a := r.Spec.CellAreaM2()
	r.Searchable.Cells(func(c grid.Cell) {
		k, ok := s.CellAt(r.Spec.Centre(c))
		if !ok {
			return
		}
		g.over.Set(k)
		g.ground.Set(k, g.ground.At(k)+float32(a))
		if r.Swept.Has(c) {
			g.swept.Set(k, g.swept.At(k)+float32(a))
			g.seconds.Set(k, g.seconds.At(k)+float32(r.Tally.SecondsPerM2(c)*a))
		}
	})
	for _, f := range r.Comparison.Placed {
		if k, ok := s.CellAt(f.XY); ok && g.over.Has(k) {
			g.finds.Set(k, g.finds.At(k)+1)
		}
	}
	return g
}

// effortDensity is seconds of searching per square metre, smoothed.
func effortDensity(r *coverage.Result) density {
	s, sd := densityCells(r, effortSdM)
	g := gather(r, s)
	return newDensity(r, coverage.PerEffort(g.seconds, g.ground, g.over, sd), g.over, sd)
}

// findDensity is finds per 100 m2 swept, smoothed; nothing where hardly any ground
// within reach was swept.
func findDensity(r *coverage.Result) density {
	s, sd := densityCells(r, findsSdM)
	g := gather(r, s)
	f := coverage.PerEffort(g.finds, g.swept, g.over, sd)
	f.Scale(100)
	known := coverage.PerEffort(g.swept, g.ground, g.over, sd)
	over := grid.NewMask(s)
	g.over.Cells(func(c grid.Cell) {
		if known.At(c) >= leastKnown {
			over.Set(c)
		}
	})
	return newDensity(r, f, over, sd)
}

// leastKnown is the share of the ground about that must be swept to tell what is in
// it (our choice).
const leastKnown = 0.2

// newDensity puts a field into bands, so that a twentieth of the cells are in the last.
func newDensity(r *coverage.Result, f *grid.Field, over *grid.Mask, sdM float64) density {
	var all []float64
	over.Cells(func(c grid.Cell) {
		if v := float64(f.At(c)); !math.IsNaN(v) {
			all = append(all, v)
		}
	})
	slices.Sort(all)
	d := density{bounds: f.Spec().Bounds(), step: 1, sdM: sdM}
	if n := len(all); n > 0 && all[n-1] > 0 {
		top := max(all[n*19/20], all[n-1]/20)
		d.step = stepAbove(top / float64(len(washes)))
	}
	for _, v := range all {
		d.share[d.band(v)] += 100
	}
	for i := range d.share {
		d.share[i] /= max(1, float64(len(all)))
	}
	d.draw(r, f, over)
	return d
}

// stepAbove is the smallest of 1, 2, 5 times a power of ten that is not under x.
func stepAbove(x float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
		if m*p >= x*(1-1e-9) {
			return m * p
		}
	}
	return 10 * p
}

// band is the wash of a value, counted from 1.
func (d *density) band(v float64) int { return 1 + min(int(v/d.step), len(washes)-1) }

// maxDensityPixels is the most pixels on the long side of a density map.
const maxDensityPixels = 1400

// draw paints the field on ground that can be searched, between the middles of its
// cells in proportion.
func (d *density) draw(r *coverage.Result, f *grid.Field, over *grid.Mask) {
	p := color.Palette{color.RGBA{}}
	for _, w := range washes {
		p = append(p, w)
	}
	b := d.bounds
	px := max(b.Width(), b.Height()) / maxDensityPixels
	w, h := int(b.Width()/px), int(b.Height()/px)
	d.img = image.NewPaletted(image.Rect(0, 0, w, h), p)
	known := knownOf(f, over)
	columns := make([]along, w)
	for x := range columns {
		columns[x] = alongOf(b.Min.X+(float64(x)+0.5)*px, r.Spec.Origin.X, r.Spec.CellM, f.Spec().Origin.X, f.Spec().CellM)
	}
	for y := range h {
		row := alongOf(b.Max.Y-(float64(y)+0.5)*px, r.Spec.Origin.Y, r.Spec.CellM, f.Spec().Origin.Y, f.Spec().CellM)
		for x, col := range columns {
			if !r.Searchable.Has(grid.Cell{Col: col.cell, Row: row.cell}) || !over.Has(grid.Cell{Col: col.own, Row: row.own}) {
				continue
			}
			if v := known.between4(col, row); !math.IsNaN(v) {
				d.img.SetColorIndex(x, y, uint8(d.band(v)))
			}
		}
	}
}

// along is where a column or a row of pixels lies: in which cell of the site and in
// which of the field, and between which two of the field's middles, in cells.
type along struct {
	cell, own, first int
	past             float64 // the first of the two
}

func alongOf(at, origin, cellM, fieldOrigin, fieldCellM float64) along {
	x := (at-fieldOrigin)/fieldCellM - 0.5
	first := math.Floor(x)
	return along{
		cell: int(math.Floor((at - origin) / cellM)), own: int(math.Floor((at - fieldOrigin) / fieldCellM)),
		first: int(first), past: x - first,
	}
}

// known is a field row by row, NaN where nothing is known.
type known struct {
	cols, rows int
	v          []float64
}

func knownOf(f *grid.Field, over *grid.Mask) known {
	s := f.Spec()
	k := known{s.Cols, s.Rows, make([]float64, s.Cols*s.Rows)}
	for i := range k.v {
		k.v[i] = math.NaN()
	}
	over.Cells(func(c grid.Cell) { k.v[c.Row*k.cols+c.Col] = float64(f.At(c)) })
	return k
}

func (k known) at(col, row int) float64 {
	if uint(col) >= uint(k.cols) || uint(row) >= uint(k.rows) {
		return math.NaN()
	}
	return k.v[row*k.cols+col]
}

// between4 is the value by the four cells about a place, those not known left out; NaN
// where none is.
func (k known) between4(col, row along) float64 {
	sum, weight := 0.0, 0.0
	for i := range 4 {
		dc, dr := i%2, i/2
		v := k.at(col.first+dc, row.first+dr)
		if math.IsNaN(v) {
			continue
		}
		part := math.Abs(1-float64(dc)-col.past) * math.Abs(1-float64(dr)-row.past)
		sum, weight = sum+part*v, weight+part
	}
	return sum / weight
}
