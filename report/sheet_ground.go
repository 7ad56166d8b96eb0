package report

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
)

const (
	hatchStep  = 2.4 * mm
	dotStep    = 1.5 * mm // from a row of dots to the next; half of it between dots of a row
	dotSize    = 0.55 * mm
	hatchLeast = 0.5 * mm // shorter strokes are left out
)

// ground is hatched where it was surely swept and dotted where that is in doubt; what
// is to be walked stays white.
func (v *mapView) ground() {
	class := func(at vg.Point) class { return v.s.ground.at(v.g.metres(at)) }
	hatch(v.c, hatchStep, line(0.5, hatchInk), func(at vg.Point) bool { k := class(at); return k == once || k == twice || k == more })
	dots(v.c, func(at vg.Point) bool { return class(at) == sliver })
}

// hatch draws strokes that rise to the right over c where on is true, a step apart.
func hatch(c draw.Canvas, step vg.Length, style draw.LineStyle, on func(vg.Point) bool) {
	const tread = 0.3 * mm
	var p vg.Path
	size, along := c.Size(), step*math.Sqrt2 // along is how far apart lines are on the level
	for i := math.Ceil(float64(-size.Y / along)); vg.Length(i)*along < size.X; i++ {
		x0 := vg.Length(i) * along // where the line meets the lower edge, from its left
		from, to := max(0, -x0), min(size.Y, size.X-x0)
		begun := vg.Length(-1)
		at := func(h vg.Length) vg.Point { return vg.Point{X: c.Min.X + x0 + h, Y: c.Min.Y + h} }
		for h := from; ; h += tread {
			covered := h < to && on(at(h))
			switch {
			case covered && begun < 0:
				begun = h
			case !covered && begun >= 0:
				if end := min(h, to); end-begun > hatchLeast {
					p.Move(at(begun))
					p.Line(at(end))
				}
				begun = -1
			}
			if h >= to {
				break
			}
		}
	}
	c.SetLineStyle(style)
	c.Stroke(p)
}

// dots sets dots on a lattice over c where on is true.
func dots(c draw.Canvas, on func(vg.Point) bool) {
	var p vg.Path
	const half = dotSize / 2
	for row := 0; ; row++ {
		y := c.Min.Y + half + vg.Length(row)*dotStep
		if y > c.Max.Y-half {
			break
		}
		for x := c.Min.X + half + vg.Length(row%2)*dotStep; x < c.Max.X-half; x += 2 * dotStep {
			if on(vg.Point{X: x, Y: y}) {
				p.Move(vg.Point{X: x - half, Y: y})
				p.Line(vg.Point{X: x + half, Y: y})
			}
		}
	}
	c.SetLineStyle(line(dotSize, hatchInk))
	c.Stroke(p)
}

// keepouts are white, crossed by lines both ways.
func (v *mapView) keepouts() {
	for _, k := range v.s.r.Local.Keepouts {
		if !v.shows(k.Outer) {
			continue
		}
		rings := v.g.rings(k)
		crossed(v.c, rings)
		v.g.outline(k, line(1.4, black))
	}
}

func crossed(c draw.Canvas, rings [][]vg.Point) {
	var path vg.Path
	for i, r := range rings {
		addRing(&path, c.ClipPolygonXY(r), i == 0)
	}
	c.SetColor(white)
	c.Fill(path)
	for _, turn := range []float64{hatchAngle, -hatchAngle} {
		for _, s := range chords(rings, 1.9*mm, turn) {
			c.StrokeLines(line(0.7, black), c.ClipLinesXY(s)...)
		}
	}
}

// shows reports whether something of a ring may lie in the window.
func (v *mapView) shows(r []grid.XY) bool {
	b := grid.EmptyBounds()
	for _, q := range r {
		b = b.Add(q)
	}
	w := v.window
	return b.Min.X <= w.Max.X && w.Min.X <= b.Max.X && b.Min.Y <= w.Max.Y && w.Min.Y <= b.Max.Y
}

func (v *mapView) landmarkLines() {
	for _, l := range v.s.r.Local.Landmarks {
		pts := v.g.line(l.XY)
		if l.Shape == site.PointShape || len(pts) == 0 {
			continue
		}
		if l.Shape == site.AreaShape {
			pts = append(pts, pts[0])
		}
		lines := v.c.ClipLinesXY(pts)
		v.c.StrokeLines(line(4.2, white), lines...)
		v.c.StrokeLines(line(2, hush), lines...)
	}
}

// gaps are outlined, those of the plan in bold, without a plan all; thick and thin are
// the widths.
func (v *mapView) gaps(thick, thin vg.Length) {
	planned := v.s.plannedGaps()
	for _, gp := range v.s.r.Gaps {
		bold := v.s.p == nil && !gp.InDoubt || slices.Contains(planned, gp.ID)
		if gp.InDoubt && !bold {
			continue
		}
		style := line(thin, black)
		if bold {
			style.Width = thick
		}
		v.outlineGap(gp, style)
	}
}

func (s *fieldSheet) plannedGaps() (out []int) {
	if s.p == nil {
		return nil
	}
	for _, stop := range s.p.Stops {
		out = append(out, stop.Gaps...)
	}
	return out
}

// outlineGap draws the outline as finely as print shows it.
func (v *mapView) outlineGap(gp coverage.Gap, style draw.LineStyle) {
	const fine, least = 0.15 * mm, 1.5 * mm
	for _, o := range gp.Outline {
		if !v.shows(o.Outer) {
			continue
		}
		for i, ring := range append([]grid.Ring{o.Outer}, o.Holes...) {
			if i > 0 && v.g.points(math.Sqrt(math.Abs(ring.Area()))) < least {
				continue
			}
			pts := simplified(v.g.ring(ring), fine)
			v.c.StrokeLines(style, v.c.ClipLinesXY(pts)...)
		}
	}
}

// simplified leaves out points of a closed line that lie within so much of it.
func simplified(pts []vg.Point, within vg.Length) []vg.Point {
	in := make(orb.LineString, len(pts))
	for i, p := range pts {
		in[i] = orb.Point{float64(p.X), float64(p.Y)}
	}
	out := make([]vg.Point, 0, len(pts))
	for _, p := range simplify.DouglasPeucker(float64(within)).LineString(in) {
		out = append(out, vg.Point{X: vg.Length(p[0]), Y: vg.Length(p[1])})
	}
	return out
}
