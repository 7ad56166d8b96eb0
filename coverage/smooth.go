package coverage

import (
	"math"

	"untrod/grid"
)

// Smooth returns f averaged over the neighbourhood of every cell of over, near
// cells weighing more: a Gaussian of standard deviation sdM metres, cut off at
// three of them along rows and along columns. Cells outside over neither give nor
// get; what the Gaussian would reach there is made up by dividing by its mass
// inside over, so an even field stays even up to the rim (Diggle 1985, Appl. Stat.
// 34:138, divides so at the point the density is wanted for; Jones 1993, Stat.
// Comput. 3:135, calls it renormalising; both from memory).
//
// A value per square metre stays one, in the same unit. The sum over cells is kept
// only where over has no rim near. With sdM so small that no other cell is within
// reach, f comes back as it is. It panics when f and over are over different
// Specs, or sdM is not finite or below 0.
//
// O(cells of over x 12 sdM / cell side); memory 16 bytes x columns x 6 sdM / cell
// side. So smooth on cells not much smaller than sdM / 4: coarser ones show the
// same.
func Smooth(f *grid.Field, over *grid.Mask, sdM float64) *grid.Field {
	out := grid.NewField(f.Spec())
	smooth(f, over, sdM, func(c grid.Cell, value, mass float64) {
		out.Set(c, float32(value/mass))
	})
	return out
}

// PerEffort returns, for every cell of over, finds divided by effort, each smoothed
// as Smooth does; the rim needs no making up, for it takes the same from both. NaN
// where no effort is within reach. finds is a count and effort the effort in each
// cell, of any unit, so the result is finds per that unit. It panics as Smooth, and
// costs twice as much.
func PerEffort(finds, effort *grid.Field, over *grid.Mask, sdM float64) *grid.Field {
	out := Smooth(effort, over, sdM)
	top := Smooth(finds, over, sdM)
	over.Cells(func(c grid.Cell) {
		value := float32(math.NaN())
		if e := out.At(c); e > 0 {
			value = top.At(c) / e
		}
		out.Set(c, value)
	})
	return out
}

// smooth hands every cell of over the weighted sum of f around it, and of over.
func smooth(f *grid.Field, over *grid.Mask, sdM float64, emit func(c grid.Cell, value, mass float64)) {
	s := newSmoother(f, over, sdM)
	from, to := s.runs.Rows()
	for row := from; row < from+len(s.weights)-1; row++ {
		s.along(row)
	}
	value, mass := make([]float64, s.width), make([]float64, s.width)
	for row := from; row < to; row++ {
		s.along(row + len(s.weights) - 1)
		for _, r := range s.runs.Row(row) {
			v, m := value[:r.Hi-r.Lo], mass[:r.Hi-r.Lo]
			s.across(r, v, m)
			for i := range v {
				emit(grid.Cell{Col: r.Lo + i, Row: row}, v[i], m[i])
			}
		}
	}
}

// smoother holds the rows about the one being made, smoothed along themselves.
type smoother struct {
	field   *grid.Field
	runs    *grid.Runs
	weights []float64 // by distance in cells
	west    int       // column of the first cell of a row
	width   int
	rows    []smoothRow // row r stands at r modulo their number
}

// smoothRow is one row's sums; nothing when the row has no cell.
type smoothRow struct {
	any         bool
	value, mass []float64
}

func newSmoother(f *grid.Field, over *grid.Mask, sdM float64) *smoother {
	if f.Spec() != over.Spec() {
		panic("coverage: field and mask over different cells")
	}
	s := &smoother{field: f, runs: over.Runs(), weights: gauss(sdM/f.Spec().CellM, max(f.Spec().Cols, f.Spec().Rows))}
	east := math.MinInt
	s.west = math.MaxInt
	for _, r := range s.runs.All {
		s.west, east = min(s.west, r.Lo), max(east, r.Hi)
	}
	if len(s.runs.All) > 0 {
		s.width = east - s.west
	}
	s.rows = make([]smoothRow, 2*len(s.weights)-1)
	for i := range s.rows {
		s.rows[i] = smoothRow{value: make([]float64, s.width), mass: make([]float64, s.width)}
	}
	return s
}

// gauss is the weights of cells 0, 1, 2 ... away, as far as three sd and at most
// so many.
func gauss(sd float64, most int) []float64 {
	if !(sd >= 0) || math.IsInf(sd, 1) {
		panic("coverage: smoothing needs a finite width of 0 or more")
	}
	weights := []float64{1}
	for d := 1.0; d <= min(3*sd, float64(most)); d++ {
		weights = append(weights, math.Exp(-d*d/(2*sd*sd)))
	}
	return weights
}

// along smooths a row in itself and puts it in place of the oldest.
func (s *smoother) along(row int) {
	out := &s.rows[row%len(s.rows)]
	if out.any {
		clear(out.value)
		clear(out.mass)
		out.any = false
	}
	reach := len(s.weights) - 1
	for _, r := range s.runs.Row(row) {
		out.any = true
		for col := r.Lo; col < r.Hi; col++ {
			v, at := float64(s.field.At(grid.Cell{Col: col, Row: row})), col-s.west
			for x := max(0, at-reach); x <= min(s.width-1, at+reach); x++ {
				w := s.weights[max(x-at, at-x)]
				out.value[x] += float64(w * v)
				out.mass[x] += w
			}
		}
	}
}

// across adds up the rows about a run.
func (s *smoother) across(r grid.Run, value, mass []float64) {
	clear(value)
	clear(mass)
	for d := 1 - len(s.weights); d < len(s.weights); d++ {
		row := r.Row + d
		if row < 0 || !s.rows[row%len(s.rows)].any {
			continue
		}
		from, w := &s.rows[row%len(s.rows)], s.weights[max(d, -d)]
		fv, fm := from.value[r.Lo-s.west:r.Hi-s.west], from.mass[r.Lo-s.west:r.Hi-s.west]
		for i := range value {
			value[i] += float64(w * fv[i])
			mass[i] += float64(w * fm[i])
		}
	}
}
