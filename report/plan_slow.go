package report

import (
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/plan"
)

// Slow ground is hatched across the hatching of keep-outs and much wider, with a dotted
// edge: it may be walked and what lies under it is to be seen.
const (
	slowAngle           = math.Pi - hatchAngle
	slowStep  vg.Length = 10
)

var (
	slowLine = line(0.6, softInk)
	slowEdge = draw.LineStyle{Width: 0.9, Color: softInk, Dashes: []vg.Length{1.2, 2.4}}
)

func (g toPage) slow(s plan.SlowGround) {
	rings := g.rings(s.Polygon)
	for _, h := range chords(rings, slowStep, slowAngle) {
		g.c.StrokeLines(slowLine, g.c.ClipLinesXY(h)...)
	}
	g.outline(s.Polygon, slowEdge)
}

// slowNames come last: what is slow shows without its name too.
func (f planFeatures) slowNames(g toPage, l *labels) {
	for _, s := range f.p.Settings.Slow {
		if at, ok := middleChord(g.rings(s.Polygon)); ok && g.c.Contains(at) {
			l.name(at, s.Name, false)
		}
	}
}

// slowKey is the row of the key, where there is slow ground.
func (s *planSheet) slowKey(c *column) {
	if len(s.p.Settings.Slow) == 0 {
		return
	}
	s.row(c, "slow ground", "", func(r vg.Rectangle) {
		pts := []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}, r.Min}
		for _, h := range chords([][]vg.Point{pts}, slowStep, slowAngle) {
			c.StrokeLines(slowLine, h)
		}
		c.StrokeLines(slowEdge, pts)
	})
}
