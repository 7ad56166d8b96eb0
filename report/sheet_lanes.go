package report

import (
	"math"
	"strconv"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/grid"
	"untrod/plan"
)

const discSize = 3 * mm

// stopDisc is the number of a stop, white on black.
func stopDisc(c draw.Canvas, at vg.Point, number int) {
	text := strconv.Itoa(number)
	st := words(sansBold, 11-1.6*vg.Length(len(text)-1), white)
	disc(c, at, discSize, black, line(1.3, white))
	write(c, middle(st), at.X, at.Y-0.36*st.Font.Size, text)
}

// stops are numbered where the first lane begins, or beside it at the end of a line.
func (v *mapView) stops() {
	for _, s := range v.s.p.Stops {
		all := stopLanes(s)
		if len(all) == 0 {
			continue
		}
		from, to := v.g.point(all[0].From), v.g.point(all[0].To)
		if !v.c.Contains(from) {
			continue
		}
		back := math.Atan2(float64(from.Y-to.Y), float64(from.X-to.X))
		if at, ok := v.names.near(from, back, vg.Point{X: discSize + 1, Y: discSize + 1}, 4*mm, 6); ok {
			v.pins = append(v.pins, pin{from, at, func() { stopDisc(v.c, at, s.Number) }})
		}
	}
}

// ways between stops are dashed.
func (v *mapView) ways() {
	for _, s := range v.s.p.Stops {
		v.way(s.Approach)
	}
	v.way(v.s.p.Home)
}

func (v *mapView) way(xy []grid.XY) {
	for _, pts := range v.c.ClipLinesXY(v.g.line(xy)) {
		sheetWay(v.c, pts)
	}
}

func sheetWay(c draw.Canvas, pts []vg.Point) {
	over := line(1.5, black)
	over.Dashes = []vg.Length{6, 3.4}
	c.StrokeLines(line(3.6, white), pts)
	c.StrokeLines(over, pts)
	for i := 1; i < len(pts); i++ {
		if a, b := pts[i-1], pts[i]; length(a, b) > 30 {
			arrowHead(c, vg.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}, a, b, 5)
		}
	}
}

// lanes are drawn with the steps between them; of lanes closer than can be told apart
// only every so many-th.
func (v *mapView) lanes() {
	for _, s := range v.s.p.Stops {
		all := stopLanes(s)
		for i := 1; i < len(all); i++ {
			v.g.step(all[i-1].To, all[i].From, 1.6, 2)
		}
		at := 0
		for _, b := range s.Blocks {
			n := len(b.Lanes) + len(b.Rim)
			v.block(b, all[at:at+n])
			at += n
		}
	}
}

func (v *mapView) block(b plan.Block, lanes []stopLane) {
	spacing := v.g.points(spacingOf(b, swathM(v.s.r.Settings)))
	each := max(1, int(math.Ceil(float64(1.1*mm/spacing))))
	under, over := line(min(4, 0.55*spacing*vg.Length(each)), white), line(1.2, black)
	var lines [][]vg.Point
	for i, l := range lanes {
		if i%each == 0 || l.rim {
			lines = append(lines, v.g.line([]grid.XY{l.From, l.To}))
		}
	}
	strokes{v.c, under, over}.draw(lines)
	every := max(1, int(math.Ceil(float64(2.6*mm/spacing)/float64(each))))
	for i, l := range lines {
		at := vg.Point{X: (l[0].X + 3*l[1].X) / 4, Y: (l[0].Y + 3*l[1].Y) / 4}
		if i%every == 0 && length(l[0], l[1]) > 14 && v.c.Contains(at) {
			arrowHead(v.c, at, l[0], l[1], 3.4)
		}
	}
}

// laneNumbers stand before lanes, on as many as have room; a stop's lone lane needs
// none.
func (v *mapView) laneNumbers() {
	st := middle(words(sansBold, 8, black))
	for _, s := range v.s.p.Stops {
		all := stopLanes(s)
		for i, l := range all {
			from, to := v.g.point(l.From), v.g.point(l.To)
			d := length(from, to)
			if len(all) == 1 || d == 0 || !v.c.Contains(from) {
				continue
			}
			number := strconv.Itoa(all[i].number)
			at := vg.Point{X: from.X - 6.5*(to.X-from.X)/d, Y: from.Y - 6.5*(to.Y-from.Y)/d}
			r := box(at, widthOf(st, number)/2+0.8, 4)
			if v.names.free(r) {
				v.names.take(r)
				halo(v.c, st, at.X, at.Y-2.9, number)
			}
		}
	}
}
