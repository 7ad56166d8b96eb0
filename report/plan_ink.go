package report

import (
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
)

// planFeatures draws all that lies over the swept ground, and the plan.
type planFeatures struct {
	features
	p *plan.Plan
}

// Plot implements plot.Plotter.
func (f planFeatures) Plot(c draw.Canvas, p *plot.Plot) {
	g := toPage{p, c}
	if f.r.Certainty != nil {
		stipple(c, c.Rectangle, func(at vg.Point) bool { return f.ground.at(g.metres(at)) == doubt })
	}
	for _, s := range f.p.Settings.Slow {
		g.slow(s)
	}
	for _, k := range f.r.Local.Keepouts {
		g.keepout(k)
	}
	crosses(c, g)
	for _, b := range f.r.Local.Boundary {
		g.outline(b, line(1.5, ink))
	}
	f.landmarkLines(g)
	f.gaps(g)
	f.ways(g)
	f.lanes(g)
	l := &labels{c: c}
	f.landmarkSymbols(g, l)
	for _, q := range []grid.XY{f.p.Settings.Start, f.p.Settings.End} {
		l.take(box(g.point(q), 6, 6)) // before the badges, which can move
	}
	f.badges(g, l)
	f.ends(g, l)
	f.names(g, l)
	f.slowNames(g, l)
	frame(c, c.Rectangle, line(0.8, ink))
}

// gaps are outlined, those of the plan in bold.
func (f planFeatures) gaps(g toPage) {
	var planned []int
	for _, s := range f.p.Stops {
		planned = append(planned, s.Gaps...)
	}
	for _, gp := range f.r.Gaps {
		bold := slices.Contains(planned, gp.ID)
		if gp.InDoubt && !bold {
			continue
		}
		style := line(0.6, gapEdge)
		if bold {
			style.Width = 1.6
		}
		f.outlineGap(g, gp, style)
	}
}

func (f planFeatures) outlineGap(g toPage, gp coverage.Gap, style draw.LineStyle) {
	for _, o := range gp.Outline {
		o.Holes = slices.DeleteFunc(slices.Clone(o.Holes), func(h grid.Ring) bool {
			return g.points(math.Sqrt(math.Abs(h.Area()))) < speck
		})
		g.outline(o, style)
	}
}

// ways between stops, and the way home.
func (f planFeatures) ways(g toPage) {
	for _, s := range f.p.Stops {
		for _, piece := range g.c.ClipLinesXY(g.line(s.Approach)) {
			wayLine(g.c, piece)
		}
	}
	for _, piece := range g.c.ClipLinesXY(g.line(f.p.Home)) {
		wayLine(g.c, piece)
	}
}

// wayLine is dashed, with an arrow in the middle of its longest piece where that has
// room.
func wayLine(c draw.Canvas, pts []vg.Point) {
	if len(pts) < 2 {
		return
	}
	under, over := line(2.4, paper), line(0.9, ink)
	over.Dashes = []vg.Length{4, 2.4}
	c.StrokeLines(under, pts)
	c.StrokeLines(over, pts)
	long, at := vg.Length(0), 0
	for i := 1; i < len(pts); i++ {
		if d := length(pts[i-1], pts[i]); d > long {
			long, at = d, i
		}
	}
	if long > 22 {
		a, b := pts[at-1], pts[at]
		arrowHead(c, vg.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}, a, b, 3.6)
	}
}

func length(a, b vg.Point) vg.Length {
	return vg.Length(math.Hypot(float64(b.X-a.X), float64(b.Y-a.Y)))
}

// arrowHead points from a to b, its middle at at.
func arrowHead(c draw.Canvas, at, a, b vg.Point, size vg.Length) {
	d := length(a, b)
	if d == 0 {
		return
	}
	ux, uy := (b.X-a.X)/d, (b.Y-a.Y)/d
	tip := vg.Point{X: at.X + size*ux, Y: at.Y + size*uy}
	left := vg.Point{X: at.X - size*0.7*ux - size*0.72*uy, Y: at.Y - size*0.7*uy + size*0.72*ux}
	rightSide := vg.Point{X: at.X - size*0.7*ux + size*0.72*uy, Y: at.Y - size*0.7*uy - size*0.72*ux}
	shape(c, ink, line(0.7, paper), tip, left, rightSide)
}

// strokes are the two lines that a lane is drawn with, one on the other, so that it
// shows on any ground.
type strokes struct {
	c           draw.Canvas
	under, over draw.LineStyle
}

// laneStrokes suit lanes that lie so far apart on the page.
func laneStrokes(c draw.Canvas, spacing vg.Length) strokes {
	return strokes{c, line(min(2.8, 0.5*spacing), paper), line(max(0.3, min(1.1, 0.2*spacing)), ink)}
}

func (s strokes) draw(lanes [][]vg.Point) {
	for _, style := range []draw.LineStyle{s.under, s.over} {
		for _, l := range lanes {
			s.c.StrokeLines(style, s.c.ClipLinesXY(l)...)
		}
	}
}

// lanes are drawn with the short steps between them, and arrows on as many as have
// room for one.
func (f planFeatures) lanes(g toPage) {
	for _, s := range f.p.Stops {
		all := stopLanes(s)
		for i := 1; i < len(all); i++ {
			if all[i].block != all[i-1].block || all[i].rim {
				g.step(all[i-1].To, all[i].From, stepDashes...)
			}
		}
		for _, b := range s.Blocks {
			spacing := g.points(spacingOf(b, swathM(f.r.Settings)))
			f.block(g, b.Lanes, spacing)
			f.block(g, b.Rim, spacing)
		}
	}
}

// stepDashes are those of steps from one block to the next.
var stepDashes = []vg.Length{1.2, 2}

// step draws how one goes from lane to lane.
func (g toPage) step(from, to grid.XY, dashes ...vg.Length) {
	style := line(0.7, ink)
	style.Dashes = dashes
	g.c.StrokeLines(style, g.c.ClipLinesXY(g.line([]grid.XY{from, to}))...)
}

// spacingOf is how far apart lanes lie, swathM for a single one.
func spacingOf(b plan.Block, swathM float64) float64 {
	if b.SpacingM > 0 {
		return b.SpacingM
	}
	return swathM
}

// leastLaneStep is how far apart lanes are drawn at least: of lanes that lie closer on
// the page only every second, third ... is.
const leastLaneStep vg.Length = 2.4

func (f planFeatures) block(g toPage, lanes []plan.Lane, spacing vg.Length) {
	each := max(1, int(math.Ceil(float64(leastLaneStep/spacing))))
	spacing *= vg.Length(each)
	s := laneStrokes(g.c, spacing)
	var lines [][]vg.Point
	for i := 0; i < len(lanes); i += each {
		l := lanes[i]
		lines = append(lines, g.line([]grid.XY{l.From, l.To}))
		if i > 0 && each == 1 {
			g.step(lanes[i-1].To, l.From)
		}
	}
	s.draw(lines)
	every := max(1, int(math.Ceil(6.5/float64(spacing))))
	for i, l := range lines {
		at := vg.Point{X: (l[0].X + 3*l[1].X) / 4, Y: (l[0].Y + 3*l[1].Y) / 4}
		if i%every == 0 && length(l[0], l[1]) > 12 && g.c.Contains(at) {
			arrowHead(g.c, at, l[0], l[1], 2.6)
		}
	}
}
