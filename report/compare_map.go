package report

import (
	"fmt"
	"io"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
)

// EffortPNG draws how hard the ground was searched, in seconds per square metre, and
// the rings round landmarks. Each place shows the mean of its surroundings, near ones
// weighing more, of ground that can be searched alone, so that the edge of the site
// looks no less searched for lying there. r.Comparison must be there.
func EffortPNG(w io.Writer, r *coverage.Result, u Units) error {
	return densityPNG(w, newDensitySheet(r, u, effortDensity(r), "how hard it was searched"), pngDPI)
}

// FindsPNG draws finds per 100 m2 swept, smoothed likewise, and the finds themselves.
func FindsPNG(w io.Writer, r *coverage.Result, u Units) error {
	s := newDensitySheet(r, u, findDensity(r), "finds for the ground swept")
	s.finds = true
	return densityPNG(w, s, pngDPI)
}

func densityPNG(w io.Writer, s *densitySheet, dpi int) error {
	return drawPNG(w, s.page.width, s.page.height, dpi, s.draw)
}

// densitySheet is the page of a density map.
type densitySheet struct {
	*sheet
	d     density
	what  string
	finds bool
}

func newDensitySheet(r *coverage.Result, u Units, d density, what string) *densitySheet {
	s := &densitySheet{sheet: &sheet{r: r, u: u, page: layout(groundShown(r))}, d: d, what: what}
	s.ground = raster{img: d.img, bounds: d.bounds}
	s.page.height += belowRoom
	return s
}

func (s *densitySheet) draw(c draw.Canvas) {
	box := draw.Canvas{Canvas: c.Canvas, Rectangle: s.page.mapBox}
	p := s.sheet.plot(box)
	p = s.over(p, box)
	p.Draw(box)
	ground := p.DataCanvas(box)
	s.title(c, ground.Min.X)
	s.legend(ground, ground.Size().X/vg.Length(p.X.Max-p.X.Min))
}

// over puts what this map shows in place of what the coverage map does.
func (s *densitySheet) over(like *plot.Plot, c draw.Canvas) *plot.Plot {
	p := plot.New()
	p.BackgroundColor, p.X, p.Y = nil, like.X, like.Y
	i := s.ground.bounds
	p.Add(plotter.NewImage(s.ground.img, i.Min.X, i.Min.Y, i.Max.X, i.Max.Y), densityFeatures{features{s.sheet}, s.finds})
	fit(p, c, groundShown(s.r))
	return p
}

func (s *densitySheet) title(c draw.Canvas, x vg.Length) {
	room := s.page.width - margin - x
	st := words(serifBold, 22, ink)
	for st.Font.Size > 14 && widthOf(st, siteName(s.r)) > room {
		st.Font.Size--
	}
	y := s.page.height - margin - 14
	write(c, st, x, y, shorten(st, siteName(s.r), room))
	write(c, words(sansBold, 12.5, ink), x, y-19, capital(s.what))
	write(c, words(sans, 9.5, softInk), x, y-19-belowRoom, s.below())
}

func (s *densitySheet) below() string {
	how := "each place the mean of some " + s.u.paces(2*s.d.sdM) + " about it"
	if s.finds {
		return "Finds per 100 m², " + how
	}
	return "Seconds per m², " + how
}

func (s *densitySheet) legend(ground draw.Canvas, points vg.Length) {
	bar, box := scaleBar{s.u, float64(points)}, s.page.legendBox
	if s.page.wide {
		box.Min.X = ground.Min.X
		s.key(part(ground, box, 0, 196))
		last := part(ground, box, 492, box.Size().X)
		last.down(12)
		bar.draw(last)
		s.notes(last)
		return
	}
	box.Max.Y, box.Min.Y = ground.Max.Y, ground.Min.Y
	at := part(ground, box, 0, box.Size().X)
	foot := box.Min.Y + noteStep*vg.Length(len(s.noteLines(at)))
	s.key(at)
	at.y = foot + 14
	bar.draw(at)
	s.notes(at)
}

func (s *densitySheet) key(c *column) {
	heading := "Seconds of searching per m²"
	if s.finds {
		heading = "Finds per 100 m² swept"
	}
	write(c.Canvas, words(sansBold, 8.5, ink), c.Min.X, c.y, heading)
	write(c.Canvas, right(words(sansBold, 8.5, ink)), c.Max.X, c.y, "ground")
	c.down(rowStep)
	for i := len(washes) - 1; i >= 0; i-- {
		s.row(c, s.band(i), percent(s.d.share[i+1]), func(r vg.Rectangle) {
			fill(c.Canvas, r, washes[i])
			frame(c.Canvas, r, line(0.5, softInk))
		})
	}
	if s.finds {
		s.row(c, "too little swept to tell", "", func(r vg.Rectangle) { frame(c.Canvas, r, line(0.5, softInk)) })
		s.row(c, "keeper", "", func(r vg.Rectangle) { findMark(c.Canvas, middlePoint(r), true) })
		s.row(c, "any other find", "", func(r vg.Rectangle) { findMark(c.Canvas, middlePoint(r), false) })
	}
	if len(s.r.Settings.Zones.RingsM) > 0 && len(s.r.Local.Landmarks) > 0 {
		words := "rings compared"
		if s.r.Settings.Zones.Nearest {
			words = "rings; ground in two is the nearest's"
		}
		s.row(c, words, "", func(r vg.Rectangle) {
			y := (r.Min.Y + r.Max.Y) / 2
			c.StrokeLine2(ringLine(), r.Min.X, y, r.Max.X, y)
		})
	}
	if len(s.r.Local.Keepouts) > 0 {
		s.row(c, "keep-out", "", func(r vg.Rectangle) { hatched(c.Canvas, r) })
	}
}

// notes say what the reader must know not to be misled.
func (s *densitySheet) notes(c *column) {
	for _, l := range s.noteLines(c) {
		write(c.Canvas, words(sans, 7, softInk), c.Min.X, c.y, l)
		c.down(noteStep)
	}
}

func (s *densitySheet) noteLines(c *column) []string {
	_, _, plural := s.u.unit()
	st := words(sans, 7, softInk)
	why := "As logged: every fix is taken as true. Each place shows the mean of the ground about it, near ground weighing more; what lies beyond the edge plays no part."
	if s.finds {
		why += " A few finds make a dark spot: whether a ring is truly richer is in the chart of rings."
	}
	return wrap(why+" Up is true north. Ticks are "+plural+" east and north of the site's centre. "+s.visits(),
		func(t string) bool { return widthOf(st, t) <= c.Size().X })
}

func (s *densitySheet) band(i int) string {
	from, to := tickLabel(float64(i)*s.d.step), tickLabel(float64(i+1)*s.d.step)
	switch i {
	case 0:
		return "under " + to
	case len(washes) - 1:
		return from + " or more"
	}
	return fmt.Sprintf("%s to %s", from, to)
}

func ringLine() draw.LineStyle {
	l := line(0.8, ink)
	l.Dashes = []vg.Length{3, 2.4}
	return l
}

// findMark is a find, dark with a rim when it was a keeper, else open.
func findMark(c draw.Canvas, at vg.Point, keeper bool) {
	if keeper {
		disc(c, at, 2.7, classColour[gap], line(0.9, paper))
		return
	}
	disc(c, at, 2.1, paper, line(0.9, ink))
}

// densityFeatures are what lies over a density map.
type densityFeatures struct {
	features
	finds bool
}

// Plot implements plot.Plotter.
func (f densityFeatures) Plot(c draw.Canvas, p *plot.Plot) {
	g := toPage{p, c}
	for _, k := range f.r.Local.Keepouts {
		g.keepout(k)
	}
	crosses(c, g)
	f.rings(g)
	for _, b := range f.r.Local.Boundary {
		g.outline(b, line(1.5, ink))
	}
	f.landmarkLines(g)
	l := &labels{c: c}
	f.landmarkSymbols(g, l)
	if f.finds {
		f.drawFinds(g)
	}
	f.names(g, l)
	frame(c, c.Rectangle, line(0.8, ink))
}

// rings draws the outlines of the zones.
func (f densityFeatures) rings(g toPage) {
	for _, m := range f.r.Local.Landmarks {
		for _, reach := range f.r.Settings.Zones.RingsM {
			for _, ring := range around(m, reach) {
				g.c.StrokeLines(ringLine(), g.c.ClipLinesXY(g.ring(ring))...)
			}
		}
	}
}

// around is the outline of the ground within reach of a landmark.
func around(m site.LocalLandmark, reachM float64) (out []grid.Ring) {
	switch {
	case len(m.XY) == 0:
		return nil
	case len(m.XY) == 1:
		var ring grid.Ring
		for i := range 72 {
			sin, cos := math.Sincos(float64(i) * math.Pi / 36)
			ring = append(ring, grid.XY{X: m.XY[0].X + reachM*cos, Y: m.XY[0].Y + reachM*sin})
		}
		return []grid.Ring{ring}
	}
	b := grid.EmptyBounds()
	for _, q := range m.XY {
		b = b.Add(q)
	}
	cell := max(reachM, b.Width(), b.Height()) / 200
	mask := grid.NewMask(grid.SpecFor(b.Pad(reachM+2*cell), cell))
	l := m.XY
	if m.Shape == site.AreaShape {
		mask.FillPolygon(grid.Polygon{Outer: m.XY})
		l = append(slices.Clone(l), l[0])
	}
	mask.FillLine(l, grid.NewBrush(cell, reachM))
	for _, p := range grid.Outlines(mask) {
		out = append(out, p.Simplify(1.5*cell).Outer)
	}
	return out
}

// drawFinds draws keepers over the others.
func (f densityFeatures) drawFinds(g toPage) {
	for _, keeper := range []bool{false, true} {
		for _, p := range f.r.Comparison.Placed {
			if at := g.point(p.XY); (p.Verdict == site.Keeper) == keeper && g.c.Contains(at) {
				findMark(g.c, at, keeper)
			}
		}
	}
}
