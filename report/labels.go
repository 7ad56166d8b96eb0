package report

import (
	"math"
	"strconv"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

const (
	maxNumbers           = 30 // gaps numbered on the map
	maxName    vg.Length = 120
)

// labels places words so that none lies on another; what finds no room is
// left out.
type labels struct {
	c     draw.Canvas
	taken []vg.Rectangle
}

func (l *labels) take(r vg.Rectangle) { l.taken = append(l.taken, r) }

// free reports whether r lies on the map and on nothing taken.
func (l *labels) free(r vg.Rectangle) bool {
	b := l.c.Rectangle
	if r.Min.X < b.Min.X+2 || r.Max.X > b.Max.X-2 || r.Min.Y < b.Min.Y+2 || r.Max.Y > b.Max.Y-2 {
		return false
	}
	for _, t := range l.taken {
		if r.Min.X < t.Max.X && t.Min.X < r.Max.X && r.Min.Y < t.Max.Y && t.Min.Y < r.Max.Y {
			return false
		}
	}
	return true
}

// box is the rectangle about at, that far to either side.
func box(at vg.Point, dx, dy vg.Length) vg.Rectangle {
	return vg.Rectangle{
		Min: vg.Point{X: at.X - dx, Y: at.Y - dy},
		Max: vg.Point{X: at.X + dx, Y: at.Y + dy},
	}
}

// name writes a name near at: beside it when a symbol stands there, on it
// otherwise where that is free.
func (l *labels) name(at vg.Point, name string, beside bool) {
	if name == "" {
		return
	}
	const size, up vg.Length = 8.5, 6 // up: about the height of its letters
	s := words(serifItalic, size, ink)
	name = shorten(s, name, maxName)
	w := widthOf(s, name)
	var corners []vg.Point // lower left, on the baseline
	if !beside {
		corners = append(corners, vg.Point{X: at.X - w/2, Y: at.Y - up/2})
	}
	for _, gap := range []vg.Length{6, 12, 20} {
		corners = append(corners,
			vg.Point{X: at.X + gap, Y: at.Y - up/2},
			vg.Point{X: at.X - gap - w, Y: at.Y - up/2},
			vg.Point{X: at.X - w/2, Y: at.Y + gap},
			vg.Point{X: at.X - w/2, Y: at.Y - gap - up},
			vg.Point{X: at.X + gap*0.7, Y: at.Y + gap*0.7},
			vg.Point{X: at.X + gap*0.7, Y: at.Y - gap*0.7 - up},
			vg.Point{X: at.X - gap*0.7 - w, Y: at.Y + gap*0.7},
			vg.Point{X: at.X - gap*0.7 - w, Y: at.Y - gap*0.7 - up},
		)
	}
	for _, q := range corners {
		r := vg.Rectangle{Min: vg.Point{X: q.X - 1.5, Y: q.Y - 2.5}, Max: vg.Point{X: q.X + w + 1.5, Y: q.Y + up + 1.5}}
		if l.free(r) {
			l.take(r)
			writeOver(l.c, s, q.X, q.Y, name)
			return
		}
	}
}

// numberGaps puts its number in every gap with room for it, and the others'
// numbers on a tag beside the gap.
func (f features) numberGaps(g toPage, l *labels) {
	numbered := f.r.Untrodden()
	numbered = numbered[:min(len(numbered), maxNumbers)]
	var outside []int
	for i, gp := range numbered {
		at := g.point(gp.CentreXY)
		half := g.points(gp.WidestM) / 2
		s := words(sansBold, numberSize(gp.ID, half), paper)
		if s.Font.Size == 0 {
			outside = append(outside, i)
			l.take(box(at, max(half, 2), max(half, 2)))
			continue
		}
		y := at.Y - 0.36*s.Font.Size
		if f.allUntrodden(g, box(at, widthOf(s, strconv.Itoa(gp.ID))/2, 0.5*s.Font.Size)) {
			write(g.c, middle(s), at.X, y, strconv.Itoa(gp.ID))
		} else {
			s.Color = gapEdge
			writeOver(g.c, middle(s), at.X, y, strconv.Itoa(gp.ID))
		}
		l.take(box(at, min(half, 12), min(half, 12)))
	}
	for _, i := range outside {
		l.tag(g.point(numbered[i].CentreXY), strconv.Itoa(numbered[i].ID))
	}
}

// allUntrodden reports whether r, which holds a gap's number, is dark ground
// all over; the middle of a gap may be in doubt.
func (f features) allUntrodden(g toPage, r vg.Rectangle) bool {
	for i := range 9 {
		x, y := vg.Length(i%3)/2, vg.Length(i/3)/2
		at := vg.Point{X: r.Min.X + x*r.Size().X, Y: r.Min.Y + y*r.Size().Y}
		if f.ground.at(g.metres(at)) != untrodden {
			return false
		}
	}
	return true
}

// numberSize is the size at which a number fits a circle, 0 when it would be
// too small to read.
func numberSize(id int, radius vg.Length) vg.Length {
	digits := vg.Length(len(strconv.Itoa(id)))
	perPoint := vg.Length(math.Hypot(float64(0.28*digits), 0.36))
	size := min(0.86*radius/perPoint, 15)
	if size < 7 {
		return 0
	}
	return size
}

// tag writes a number beside at, a line leading from it to the place meant.
func (l *labels) tag(at vg.Point, number string) {
	s := words(sansBold, 7, gapEdge)
	dx := widthOf(s, number)/2 + 2.6
	const dy vg.Length = 5
	for _, reach := range []vg.Length{11, 15, 20, 27, 35} {
		for i := range 12 {
			sin, cos := math.Sincos(math.Pi * (1.0/3 + float64(i)/6))
			to := vg.Point{X: at.X + reach*vg.Length(cos), Y: at.Y + reach*vg.Length(sin)}
			r := box(to, dx, dy)
			if !l.free(box(to, dx+1, dy+1)) {
				continue
			}
			l.take(r)
			l.c.StrokeLines(line(2, paper), []vg.Point{at, to})
			l.c.StrokeLines(line(0.9, gapEdge), []vg.Point{at, to})
			fill(l.c, r, paper)
			frame(l.c, r, line(0.9, gapEdge))
			write(l.c, middle(s), to.X, to.Y-2.5, number)
			return
		}
	}
}
