package report

import (
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/grid"
)

const badgeSize vg.Length = 6.2

// badge is the number of a stop.
func badge(c draw.Canvas, at vg.Point, number string) {
	size := 8.2 - 1.2*vg.Length(len(number)-1)
	disc(c, at, badgeSize, ink, line(1.1, paper))
	write(c, middle(words(sansBold, size, paper)), at.X, at.Y-0.36*size, number)
}

// badges stand where stops begin, just before the first lane; where that has no room
// nearby, at the end of a line.
func (f planFeatures) badges(g toPage, l *labels) {
	for _, s := range f.p.Stops {
		all := stopLanes(s)
		if len(all) == 0 {
			continue
		}
		from, to := g.point(all[0].From), g.point(all[0].To)
		if g.c.Contains(from) {
			l.badge(from, math.Atan2(float64(from.Y-to.Y), float64(from.X-to.X)), strconv.Itoa(s.Number))
		}
	}
}

// badge puts a number near at, first of all in the direction back.
func (l *labels) badge(at vg.Point, back float64, number string) {
	for _, reach := range []vg.Length{7, 10, 14, 20, 28, 38} {
		for i := range 12 {
			turn := float64((i+1)/2) * math.Pi / 6 * float64(1-2*(i%2))
			sin, cos := math.Sincos(back + turn)
			to := vg.Point{X: at.X + reach*vg.Length(cos), Y: at.Y + reach*vg.Length(sin)}
			if !l.free(box(to, badgeSize+0.8, badgeSize+0.8)) {
				continue
			}
			l.take(box(to, badgeSize+0.8, badgeSize+0.8))
			l.c.StrokeLines(line(2.2, paper), []vg.Point{at, to})
			l.c.StrokeLines(line(1, ink), []vg.Point{at, to})
			badge(l.c, to, number)
			return
		}
	}
}

// endMark is where to set out, or where it ends.
func endMark(c draw.Canvas, at vg.Point) {
	const r vg.Length = 4
	pts := []vg.Point{{X: at.X, Y: at.Y + r*1.3}, {X: at.X + r*1.3, Y: at.Y}, {X: at.X, Y: at.Y - r*1.3}, {X: at.X - r*1.3, Y: at.Y}}
	shape(c, paper, line(2.6, paper), pts...)
	shape(c, paper, line(1.4, ink), pts...)
	disc(c, at, 1.5, ink, draw.LineStyle{})
}

// ends marks start and end; what lies off the map is told of where the way to it
// leaves the map.
func (f planFeatures) ends(g toPage, l *labels) {
	s := f.p.Settings
	out, home := []grid.XY(nil), slices.Clone(f.p.Home)
	if len(f.p.Stops) > 0 {
		out = slices.Clone(f.p.Stops[0].Approach)
	}
	slices.Reverse(out)
	if s.Start == s.End {
		f.end(g, l, "start and end", append(out, s.Start))
		return
	}
	f.end(g, l, "start", append(out, s.Start))
	f.end(g, l, "end", append(home, s.End))
}

// end marks the last place of a way.
func (f planFeatures) end(g toPage, l *labels, what string, way []grid.XY) {
	place := way[len(way)-1]
	at := g.point(place)
	if g.c.Contains(at) {
		endMark(g.c, at)
		f.keepWaysFree(g, l, at)
		l.name(at, what, true)
		return
	}
	c := g.c.Rectangle
	edge := at
	if pieces := g.c.ClipLinesXY(g.line(way)); len(pieces) > 0 {
		last := pieces[len(pieces)-1]
		edge = last[len(last)-1]
	}
	edge = vg.Point{X: min(max(edge.X, c.Min.X+9), c.Max.X-9), Y: min(max(edge.Y, c.Min.Y+9), c.Max.Y-9)}
	arrowHead(g.c, edge, edge, at, 6)
	l.take(box(edge, 7, 7))
	l.name(edge, what+", "+f.u.paces(apart(g.metres(edge), place))+" off", true)
}

// keepWaysFree keeps words off the ways near at.
func (f planFeatures) keepWaysFree(g toPage, l *labels, at vg.Point) {
	const near, step vg.Length = 90, 4
	ways := [][]grid.XY{f.p.Home}
	for _, s := range f.p.Stops {
		ways = append(ways, s.Approach)
	}
	for _, w := range ways {
		pts := g.line(w)
		for i := 1; i < len(pts); i++ {
			d := length(pts[i-1], pts[i])
			for m := vg.Length(0); m < d; m += step {
				q := vg.Point{X: pts[i-1].X + m/d*(pts[i].X-pts[i-1].X), Y: pts[i-1].Y + m/d*(pts[i].Y-pts[i-1].Y)}
				if length(q, at) < near {
					l.take(box(q, 1, 1))
				}
			}
		}
	}
}
