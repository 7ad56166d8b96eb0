package report

import (
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// scaleBar is drawn in units u where a metre is so many points long.
type scaleBar struct {
	u      Units
	points float64
}

// draw draws the bar and, to its right, the north arrow.
func (b scaleBar) draw(c *column) {
	foot := vg.Point{X: c.Max.X - 10, Y: c.y - barHeight}
	b.alone(c, 58)
	northArrow(c.Canvas, foot)
}

// barHeight is that of the bar without its numbers.
const barHeight vg.Length = 4.5

// alone draws the bar, and keeps so much room free to its right.
func (b scaleBar) alone(c *column, free vg.Length) {
	unitM, short, _ := b.u.unit()
	length := niceBelow(float64(c.Size().X-free) / b.points / unitM)
	w := vg.Length(length * unitM * b.points)
	x := c.Min.X + 4
	for i := range 4 {
		col := ink
		if i%2 == 1 {
			col = paper
		}
		r := vg.Rectangle{Min: vg.Point{X: x + w*vg.Length(i)/4, Y: c.y - barHeight}, Max: vg.Point{X: x + w*vg.Length(i+1)/4, Y: c.y}}
		fill(c.Canvas, r, col)
		frame(c.Canvas, r, line(0.6, ink))
	}
	st := middle(words(sans, 7.5, ink))
	write(c.Canvas, st, x, c.y+4, "0")
	write(c.Canvas, st, x+w/2, c.y+4, tickLabel(length/2))
	write(c.Canvas, st, x+w, c.y+4, tickLabel(length)+" "+short)
	c.down(20)
}

// northArrow stands on foot, its west half dark.
func northArrow(c draw.Canvas, foot vg.Point) {
	const h, w, notch vg.Length = 21, 6, 5
	tip, mid := vg.Point{X: foot.X, Y: foot.Y + h}, vg.Point{X: foot.X, Y: foot.Y + notch}
	west, east := vg.Point{X: foot.X - w, Y: foot.Y}, vg.Point{X: foot.X + w, Y: foot.Y}
	shape(c, ink, line(0.7, ink), tip, west, mid)
	shape(c, paper, line(0.7, ink), tip, mid, east)
	write(c, middle(words(serifBold, 11, ink)), foot.X, foot.Y+h+3, "N")
}
