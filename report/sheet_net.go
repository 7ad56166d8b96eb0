package report

import (
	"math"
	"strconv"

	"gonum.org/v1/plot/vg/draw"

	"untrod/grid"
)

// net is the squares that places are named by: letters count columns from the west,
// numbers rows from the north. It is the same on all maps of a sheet.
type net struct{ west, north, stepM float64 }

// netOver lays squares over the ground, 20 mm or more wide at a scale and a round
// number of the units' lengths.
func netOver(b grid.Bounds, scale int, u Units) net {
	unitM, _, _ := u.unit()
	step := niceAbove(20*float64(scale)/1000/unitM) * unitM
	return net{math.Floor(b.Min.X/step) * step, math.Ceil(b.Max.Y/step) * step, step}
}

// niceAbove is the smallest of 1, 2, 5 times a power of ten that is not under x.
func niceAbove(x float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
		if m*p >= x*(1-1e-9) {
			return m * p
		}
	}
	return 10 * p
}

// square names the square that q lies in, as in C4; what is west or north of the
// first is counted to it.
func (n net) square(q grid.XY) string {
	return columnName(int(math.Floor((q.X-n.west)/n.stepM))) + strconv.Itoa(1+max(0, int(math.Floor((n.north-q.Y)/n.stepM))))
}

// columnName counts A, B ... Z, AA, AB ...
func columnName(i int) string {
	i = max(i, 0)
	if i < 26 {
		return string(rune('A' + i))
	}
	return columnName(i/26-1) + string(rune('A'+i%26))
}

// lines are the places of lines on an axis from lo to hi.
func (n net) lines(origin, lo, hi float64) (out []float64) {
	for i := math.Ceil((lo - origin) / n.stepM); origin+i*n.stepM <= hi; i++ {
		out = append(out, origin+i*n.stepM)
	}
	return out
}

// narrowest is how wide squares are at least where they are drawn.
const narrowest = 7 * mm

// drawn reports whether squares are drawn at a scale.
func (n net) drawn(scale int) bool { return windowM(narrowest, scale) <= n.stepM }

// squares draws the lines of the net.
func (v *mapView) squares() {
	n, c := v.s.net, v.c
	for _, x := range n.lines(n.west, v.window.Min.X, v.window.Max.X) {
		at := v.g.point(grid.XY{X: x}).X
		c.StrokeLine2(line(0.35, netInk), at, c.Min.Y, at, c.Max.Y)
	}
	for _, y := range n.lines(n.north, v.window.Min.Y, v.window.Max.Y) {
		at := v.g.point(grid.XY{Y: y}).Y
		c.StrokeLine2(line(0.35, netInk), c.Min.X, at, c.Max.X, at)
	}
}

// letters stand around the map, in the middle of what shows of each column and row.
func (v *mapView) letters(page draw.Canvas) {
	n, c, w := v.s.net, v.c, v.window
	st := middle(words(sansBold, 9.5, black))
	for i := max(0, math.Floor((w.Min.X-n.west)/n.stepM)); n.west+i*n.stepM < w.Max.X; i++ {
		from := v.g.point(grid.XY{X: max(n.west+i*n.stepM, w.Min.X)}).X
		to := v.g.point(grid.XY{X: min(n.west+(i+1)*n.stepM, w.Max.X)}).X
		if name := columnName(int(i)); to-from > widthOf(st, name)+2 {
			write(page, st, (from+to)/2, c.Max.Y+1.6*mm, name)
			write(page, st, (from+to)/2, c.Min.Y-4*mm, name)
		}
	}
	for i := max(0, math.Floor((n.north-w.Max.Y)/n.stepM)); n.north-i*n.stepM > w.Min.Y; i++ {
		to := v.g.point(grid.XY{Y: min(n.north-i*n.stepM, w.Max.Y)}).Y
		from := v.g.point(grid.XY{Y: max(n.north-(i+1)*n.stepM, w.Min.Y)}).Y
		if to-from > 10 {
			name := strconv.Itoa(1 + int(i))
			write(page, st, c.Min.X-labelSpace/2-1, (from+to)/2-3.4, name)
			write(page, st, c.Max.X+labelSpace/2+1, (from+to)/2-3.4, name)
		}
	}
}
