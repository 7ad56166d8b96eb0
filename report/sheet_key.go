package report

import (
	"fmt"
	"math"
	"strconv"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/grid"
)

// keyMap shows the whole ground, and which part of it is on which map.
func (s *fieldSheet) keyMap() {
	page := s.page(false)
	b := sheetGround(s.r, s.p)
	for _, w := range s.maps {
		b = b.Add(s.cut.windows[w].Min).Add(s.cut.windows[w].Max)
	}
	frameBox := s.mapBox(false)
	scale := keyScale(b, frameBox.Size())
	mid := grid.XY{X: (b.Min.X + b.Max.X) / 2, Y: (b.Min.Y + b.Max.Y) / 2}
	w, h := windowM(frameBox.Size().X, scale)/2, windowM(frameBox.Size().Y, scale)/2
	v := s.view(page, frameBox, grid.Bounds{Min: grid.XY{X: mid.X - w, Y: mid.Y - h}, Max: grid.XY{X: mid.X + w, Y: mid.Y + h}})
	v.overview(page, scale)
	s.head(page, "Key map, 1:"+thousands(scale))
	s.mapFoot(page, scale)
	if note := s.leftOutMaps(); note != "" {
		st := words(sansBold, 9.5, black)
		write(page, st, sheetSide, frameBox.Max.Y+labelSpace+1.5, shorten(st, note, page.Size().X-2*sheetSide))
	}
}

// keyScale is the largest round scale at which the ground fits.
func keyScale(b grid.Bounds, size vg.Point) int {
	need := max(b.Width()/float64(size.X/mm), b.Height()/float64(size.Y/mm)) * 1000
	p := math.Pow(10, math.Floor(math.Log10(need)))
	for _, m := range []float64{1, 1.5, 2, 2.5, 3, 4, 5, 6, 8} {
		if m*p >= need {
			return int(math.Round(m * p))
		}
	}
	return int(math.Round(10 * p))
}

// overview draws the maps' windows on the ground in outline.
func (v *mapView) overview(page draw.Canvas, scale int) {
	s := v.s
	v.ground()
	v.keepouts()
	lettered := s.net.drawn(scale)
	if lettered {
		v.squares()
	}
	for _, b := range s.r.Local.Boundary {
		v.g.outline(b, line(2, black))
	}
	v.gaps(s.keyGaps(), 0.5)
	if s.p != nil {
		v.ways()
	}
	for i, w := range s.maps {
		r := v.onMap(s.cut.windows[w])
		frame(v.c, r, line(3, white))
		frame(v.c, r, line(1.5, black))
		st := words(sansBold, min(22, r.Size().Y/3), black)
		halo(v.c, middle(st), (r.Min.X+r.Max.X)/2, (r.Min.Y+r.Max.Y)/2-0.36*st.Font.Size, strconv.Itoa(i+1))
		v.names.take(box(middlePoint(r), st.Font.Size, st.Font.Size/2))
	}
	v.symbols()
	v.placeNames()
	frame(v.c, v.c.Rectangle, line(1, black))
	if lettered {
		v.letters(page)
	}
}

// keyGaps is the width of bold outlines on the key map, where there may be hundreds.
func (s *fieldSheet) keyGaps() vg.Length {
	if s.p == nil {
		return 0.5
	}
	return 1.4
}

func (v *mapView) onMap(b grid.Bounds) vg.Rectangle {
	return vg.Rectangle{Min: v.g.point(b.Min), Max: v.g.point(b.Max)}
}

// leftOutMaps says what of the ground has no map of its own.
func (s *fieldSheet) leftOutMaps() string {
	what := "a gap"
	if s.p != nil {
		what = "lanes of the plan"
	}
	switch n, scale := len(s.cut.windows), thousands(s.cut.scale); {
	case s.useful == 0:
		return fmt.Sprintf("Of %d maps at 1:%s none has %s on it: none is drawn.", n, scale, what)
	case len(s.maps) < s.useful:
		return fmt.Sprintf("Of %d maps at 1:%s with %s on them the %d with most are drawn; a smaller scale takes fewer.", s.useful, scale, what, len(s.maps))
	case len(s.maps) < n:
		return fmt.Sprintf("Of %d maps at 1:%s only those with %s on them are drawn: %d.", n, scale, what, len(s.maps))
	}
	return ""
}
