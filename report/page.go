package report

import (
	"gonum.org/v1/plot/vg"

	"untrod/grid"
)

// page is where things go, in points from the lower left corner.
type page struct {
	width, height vg.Length
	mapBox        vg.Rectangle // the map with its tick labels
	legendBox     vg.Rectangle
	wide          bool // the legend lies below the map, not beside it
}

const (
	margin    vg.Length = 22
	titleRoom vg.Length = 44
	axisRoom  vg.Length = 30 // about what tick labels take
)

// layout suits the page to the ground: the legend below what is long east to
// west, beside anything else. What is very long is shown with room around it.
func layout(b grid.Bounds) page {
	aspect := vg.Length(b.Width() / b.Height())
	if aspect >= 1.7 {
		const strip vg.Length = 126
		w := vg.Length(720)
		h := max((w-2*margin-axisRoom)/aspect, 140)
		return newPage(w, h+axisRoom+strip, true, strip)
	}
	const column vg.Length = 188
	h := vg.Length(470)
	w := h * aspect
	switch {
	case aspect > 1:
		w = 470
		h = max(w/aspect, 372)
	case aspect < 0.85:
		h = 620
		w = max(h*aspect, 345)
	}
	return newPage(w+axisRoom+column+3*margin, h+axisRoom, false, column)
}

// newPage makes a page of the given width with room for a title above below
// points, and size points for the legend.
func newPage(width, below vg.Length, wide bool, size vg.Length) page {
	p := page{width: width, height: below + titleRoom + 2*margin, wide: wide}
	p.mapBox = vg.Rectangle{
		Min: vg.Point{X: margin, Y: margin},
		Max: vg.Point{X: width - margin, Y: p.height - margin - titleRoom},
	}
	p.legendBox = p.mapBox
	if wide {
		p.mapBox.Min.Y += size
		p.legendBox.Max.Y = p.legendBox.Min.Y + size - 14
		return p
	}
	p.mapBox.Max.X -= size + margin
	p.legendBox.Min.X = p.legendBox.Max.X - size
	return p
}
