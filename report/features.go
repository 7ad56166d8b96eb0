package report

import (
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/grid"
	"untrod/site"
)

// features draws all that lies over the swept ground.
type features struct{ *sheet }

// speck is the side of the smallest hole in a gap that is outlined.
const speck vg.Length = 5

// Plot implements plot.Plotter.
func (f features) Plot(c draw.Canvas, p *plot.Plot) {
	g := toPage{p, c}
	if f.r.Certainty != nil {
		stipple(c, c.Rectangle, func(at vg.Point) bool { return f.ground.at(g.metres(at)) == doubt })
	}
	for _, k := range f.r.Local.Keepouts {
		g.keepout(k)
	}
	crosses(c, g)
	for _, b := range f.r.Local.Boundary {
		g.outline(b, line(1.5, ink))
	}
	f.landmarkLines(g)
	for _, gp := range f.r.Untrodden() {
		for _, o := range gp.Outline {
			o.Holes = slices.DeleteFunc(slices.Clone(o.Holes), func(h grid.Ring) bool {
				return g.points(math.Sqrt(math.Abs(h.Area()))) < speck
			})
			g.outline(o, line(0.9, gapEdge))
		}
	}
	l := &labels{c: c}
	f.landmarkSymbols(g, l)
	f.numberGaps(g, l)
	f.names(g, l)
	frame(c, c.Rectangle, line(0.8, ink))
}

// toPage turns metres into points of the page.
type toPage struct {
	p *plot.Plot
	c draw.Canvas
}

func (g toPage) point(q grid.XY) vg.Point {
	return vg.Point{X: g.c.X(g.p.X.Norm(q.X)), Y: g.c.Y(g.p.Y.Norm(q.Y))}
}

// metres is the place drawn at a point.
func (g toPage) metres(at vg.Point) grid.XY {
	part := vg.Point{X: (at.X - g.c.Min.X) / g.c.Size().X, Y: (at.Y - g.c.Min.Y) / g.c.Size().Y}
	return grid.XY{
		X: g.p.X.Min + float64(part.X)*(g.p.X.Max-g.p.X.Min),
		Y: g.p.Y.Min + float64(part.Y)*(g.p.Y.Max-g.p.Y.Min),
	}
}

// points gives a length on the page.
func (g toPage) points(m float64) vg.Length {
	return vg.Length(m/(g.p.X.Max-g.p.X.Min)) * g.c.Size().X
}

func (g toPage) line(qs []grid.XY) []vg.Point {
	out := make([]vg.Point, len(qs))
	for i, q := range qs {
		out[i] = g.point(q)
	}
	return out
}

func (g toPage) ring(r grid.Ring) []vg.Point {
	if len(r) == 0 {
		return nil
	}
	pts := g.line(r)
	return append(pts, pts[0])
}

// rings are the outer ring and the holes, closed.
func (g toPage) rings(p grid.Polygon) [][]vg.Point {
	out := [][]vg.Point{g.ring(p.Outer)}
	for _, h := range p.Holes {
		out = append(out, g.ring(h))
	}
	return out
}

func (g toPage) outline(p grid.Polygon, l draw.LineStyle) {
	for _, r := range g.rings(p) {
		g.c.StrokeLines(l, g.c.ClipLinesXY(r)...)
	}
}

func (g toPage) keepout(p grid.Polygon) {
	rings := g.rings(p)
	var path vg.Path
	for i, r := range rings {
		addRing(&path, g.c.ClipPolygonXY(r), i == 0)
	}
	g.c.SetColor(keepout)
	g.c.Fill(path)
	for _, s := range chords(rings, 4.2, hatchAngle) {
		g.c.StrokeLines(line(0.5, keepoutInk), g.c.ClipLinesXY(s)...)
	}
	g.outline(p, line(0.8, keepoutInk))
}

// crosses marks where tick lines meet, to read positions off by.
func crosses(c draw.Canvas, g toPage) {
	const arm vg.Length = 2.5
	for _, x := range g.p.X.Tick.Marker.Ticks(g.p.X.Min, g.p.X.Max) {
		for _, y := range g.p.Y.Tick.Marker.Ticks(g.p.Y.Min, g.p.Y.Max) {
			q := g.point(grid.XY{X: x.Value, Y: y.Value})
			c.StrokeLine2(line(0.4, softInk), q.X-arm, q.Y, q.X+arm, q.Y)
			c.StrokeLine2(line(0.4, softInk), q.X, q.Y-arm, q.X, q.Y+arm)
		}
	}
}

func (f features) landmarkLines(g toPage) {
	for _, lm := range f.r.Local.Landmarks {
		pts := g.line(lm.XY)
		if lm.Shape == site.PointShape || len(pts) == 0 {
			continue
		}
		if lm.Shape == site.AreaShape {
			pts = append(pts, pts[0])
		}
		g.c.StrokeLines(line(2.6, paper), g.c.ClipLinesXY(pts)...)
		g.c.StrokeLines(line(1.2, softInk), g.c.ClipLinesXY(pts)...)
	}
}

// landmarkSymbols come before all words, so that none lies on one.
func (f features) landmarkSymbols(g toPage, l *labels) {
	for _, lm := range f.r.Local.Landmarks {
		if at := g.point(middleOf(lm)); lm.Shape == site.PointShape && g.c.Contains(at) {
			symbol(g.c, at, lm.Mark)
			l.take(box(at, 4.5, 4.5))
		}
	}
}

// names writes those of landmarks, then those of keep-outs.
func (f features) names(g toPage, l *labels) {
	for _, lm := range f.r.Local.Landmarks {
		if at := g.point(middleOf(lm)); g.c.Contains(at) {
			l.name(at, lm.Name, lm.Shape == site.PointShape)
		}
	}
	for i, k := range f.r.Local.Keepouts {
		if i >= len(f.r.Site.Keepouts) {
			return
		}
		if at, ok := middleChord(g.rings(k)); ok && g.c.Contains(at) {
			l.name(at, f.r.Site.Keepouts[i].Name, false)
		}
	}
}

// middleOf is where a landmark's symbol or name goes: the point, the middle
// vertex of a line, the mean of an area's vertices; NaN without any.
func middleOf(lm site.LocalLandmark) grid.XY {
	if len(lm.XY) == 0 {
		return grid.XY{X: math.NaN(), Y: math.NaN()}
	}
	if lm.Shape != site.AreaShape {
		return lm.XY[len(lm.XY)/2]
	}
	var sum grid.XY
	for _, q := range lm.XY {
		sum.X += q.X / float64(len(lm.XY))
		sum.Y += q.Y / float64(len(lm.XY))
	}
	return sum
}

// symbol draws a landmark as a dot and a mark as a triangle with a dot, the
// sign of a surveyed point.
func symbol(c draw.Canvas, at vg.Point, mark bool) {
	if !mark {
		disc(c, at, 3, ink, line(1, paper))
		return
	}
	pts := []vg.Point{{X: at.X, Y: at.Y + 5.6}, {X: at.X - 4.9, Y: at.Y - 2.8}, {X: at.X + 4.9, Y: at.Y - 2.8}}
	shape(c, paper, line(2.6, paper), pts...)
	shape(c, paper, line(1.2, ink), pts...)
	disc(c, at, 1.1, ink, draw.LineStyle{})
}
