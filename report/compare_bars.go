package report

import (
	"fmt"
	"io"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/coverage"
)

// ZonesPNG draws the zones one below the other: how long each square metre was
// searched, finds for the ground swept, and that against the rest of the site, the
// last two with limits. r.Comparison must be there.
func ZonesPNG(w io.Writer, r *coverage.Result, u Units) error { return zonesPNG(w, r, u, pngDPI) }

func zonesPNG(w io.Writer, r *coverage.Result, u Units, dpi int) error {
	s := newZoneChart(r, u)
	return drawPNG(w, zonesWidth, s.height(), dpi, s.draw)
}

const (
	zonesWidth vg.Length = 640
	zoneStep   vg.Length = 15
	zoneNames  vg.Length = 132 // room for names
	panelGap   vg.Length = 22
	maxBars              = 60 // zones drawn
)

type zoneChart struct {
	r    *coverage.Result
	u    Units
	rows []zoneRow
	left int // zones not drawn
}

// zoneRow is a zone, or the heading of a landmark.
type zoneRow struct {
	label string
	zone  *coverage.Zone
	rest  bool
}

func newZoneChart(r *coverage.Result, u Units) *zoneChart {
	s := &zoneChart{r: r, u: u}
	c, at, bars := r.Comparison, "", 0
	for i := range c.Zones {
		z := &c.Zones[i]
		if z.Cells == 0 {
			continue
		}
		if bars++; bars > maxBars {
			s.left++
			continue
		}
		if z.Landmark != at {
			at = z.Landmark
			s.rows = append(s.rows, zoneRow{label: at})
		}
		s.rows = append(s.rows, zoneRow{ringWords(u, *z), z, false})
	}
	s.rows = append(s.rows, zoneRow{"rest of the site", &c.Rest, true})
	return s
}

func (s *zoneChart) height() vg.Length {
	return 2*margin + titleRoom + belowRoom + 34 + vg.Length(len(s.rows))*zoneStep
}

func (s *zoneChart) draw(c draw.Canvas) {
	y := c.Max.Y - margin - 14
	st := words(serifBold, 20, ink)
	write(c, st, margin, y, shorten(st, siteName(s.r)+": landmarks compared", zonesWidth-2*margin))
	write(c, words(sansBold, 11.5, ink), margin, y-19, shorten(words(sansBold, 11.5, ink), s.headline(), zonesWidth-2*margin))
	write(c, words(sans, 9, softInk), margin, y-19-belowRoom, s.below())
	top := y - 19 - belowRoom - 30
	bottom := top - vg.Length(len(s.rows))*zoneStep
	s.names(c, top)
	w := (zonesWidth - 2*margin - zoneNames - 2*panelGap) / 3
	x := margin + zoneNames
	for i, p := range s.panels() {
		p.box = vg.Rectangle{Min: vg.Point{X: x + vg.Length(i)*(w+panelGap), Y: bottom}, Max: vg.Point{X: x + vg.Length(i)*(w+panelGap) + w, Y: top}}
		s.panel(c, p)
	}
	if s.left > 0 {
		write(c, words(sans, 8, softInk), margin, bottom-24, "and "+count(s.left, "more ring")+", in the list")
	}
}

func (s *zoneChart) headline() string {
	var richer, poorer []string
	c := s.r.Comparison
	for _, z := range c.Zones {
		if z.PHolm < alpha && z.RatioAsLogged.Value > 1 {
			richer = append(richer, zoneWords(s.u, z))
		} else if z.PHolm < alpha {
			poorer = append(poorer, zoneWords(s.u, z))
		}
	}
	switch {
	case len(c.Placed) == 0:
		return "No finds on the site: only the searching is compared"
	case len(richer) > 0 && len(poorer) > 0:
		return "Richer than the rest: " + listed(richer) + "; poorer: " + listed(poorer)
	case len(richer) > 0:
		return "Richer than the rest: " + listed(richer)
	case len(poorer) > 0:
		return "Poorer than the rest: " + listed(poorer)
	}
	return "No ring differs from the rest more than chance would make it"
}

func (s *zoneChart) below() string {
	return fmt.Sprintf("%s on the site. Lines: 95 times in 100 the true figure lies within.", capital(count(len(s.r.Comparison.Placed), "find")))
}

func (s *zoneChart) names(c draw.Canvas, top vg.Length) {
	for i, r := range s.rows {
		y := top - vg.Length(i)*zoneStep - 10.5
		switch {
		case r.zone == nil:
			st := words(serifItalic, 10, ink)
			write(c, st, margin, y, shorten(st, r.label, zoneNames-6))
		case r.rest:
			write(c, words(sansBold, 8.5, ink), margin, y, r.label)
		default:
			write(c, words(sans, 8.5, ink), margin+10, y, r.label)
		}
	}
}

// panel is one column of the chart.
type panel struct {
	title  string
	of     func(*coverage.Zone) (value, lo, hi float64) // NaN: nothing to draw
	ratio  bool                                         // on a scale of ratios about 1
	lo, hi float64
	box    vg.Rectangle
}

func (s *zoneChart) panels() []panel {
	per := (&compareTexter{texter{r: s.r, u: s.u}, s.r.Comparison})
	times, name := per.per100()
	none := math.NaN()
	out := []panel{
		{title: "Searched: " + secondsPer[s.u], of: func(z *coverage.Zone) (float64, float64, float64) {
			return z.SearchSPerM2 * per.perM2(), none, none
		}},
		{title: "Finds " + squared(name) + " swept", of: func(z *coverage.Zone) (float64, float64, float64) {
			r := z.FindsPer100M2
			return r.Value * times, r.Lo * times, r.Hi * times
		}},
		{title: "Times the finds of the rest", ratio: true, of: func(z *coverage.Zone) (float64, float64, float64) {
			return z.RatioToRest.Value, z.RatioToRest.Lo, z.RatioToRest.Hi
		}},
	}
	for i := range out {
		s.scale(&out[i])
	}
	return out
}

// secondsPer is how searching is measured.
var secondsPer = map[Units]string{Metric: "seconds per m²", Imperial: "seconds per sq ft"}

// scale makes a panel reach to all values, and to limits as far as these leave the
// values room.
func (s *zoneChart) scale(p *panel) {
	most, limit := 0.0, 0.0
	for _, r := range s.rows {
		if r.zone == nil {
			continue
		}
		v, _, hi := p.of(r.zone)
		if !math.IsNaN(v) && !math.IsInf(v, 1) {
			most = max(most, v)
		}
		if !math.IsNaN(hi) && !math.IsInf(hi, 1) {
			limit = max(limit, hi)
		}
	}
	if p.ratio {
		p.lo, p.hi = 1.0/8, 8
		if most > p.hi {
			p.hi = 64
		}
		return
	}
	p.hi = max(most, min(limit, 3*most)) * 1.05
	if p.hi == 0 {
		p.hi = 1
	}
}

// at is where a value stands, and whether it lies beyond the panel.
func (p *panel) at(v float64) (x vg.Length, beyond bool) {
	part := v / p.hi
	if p.ratio {
		part = math.Log(v/p.lo) / math.Log(p.hi/p.lo)
	}
	beyond = !(part >= 0 && part <= 1)
	return p.box.Min.X + vg.Length(min(max(part, 0), 1))*p.box.Size().X, beyond
}

func (s *zoneChart) panel(c draw.Canvas, p panel) {
	write(c, words(sansBold, 8.5, ink), p.box.Min.X, p.box.Max.Y+8, p.title)
	s.grid(c, &p)
	for i, r := range s.rows {
		if r.zone != nil {
			s.bar(c, &p, r, p.box.Max.Y-vg.Length(i)*zoneStep-zoneStep/2)
		}
	}
	c.StrokeLine2(line(0.8, ink), p.box.Min.X, p.box.Min.Y, p.box.Max.X, p.box.Min.Y)
}

func (s *zoneChart) grid(c draw.Canvas, p *panel) {
	tick := func(v float64, label string, l draw.LineStyle) {
		x, _ := p.at(v)
		c.StrokeLine2(l, x, p.box.Min.Y, x, p.box.Max.Y)
		write(c, middle(words(sans, 7.5, softInk)), x, p.box.Min.Y-10, label)
	}
	if p.ratio {
		for v := p.lo; v <= p.hi; v *= 2 {
			if v == 1 || p.hi > 8 && math.Abs(math.Log2(v)) != 3 && v < 64 {
				continue
			}
			label := tickLabel(v)
			if v < 1 {
				label = "1/" + tickLabel(1/v)
			}
			tick(v, label, line(0.4, keepout))
		}
		tick(1, "1", line(0.9, softInk))
		return
	}
	step := niceBelow(p.hi / 3)
	for i := 0; float64(i)*step <= p.hi; i++ {
		tick(float64(i)*step, tickLabel(float64(i)*step), line(0.4, keepout))
	}
}

func (s *zoneChart) bar(c draw.Canvas, p *panel, r zoneRow, y vg.Length) {
	v, lo, hi := p.of(r.zone)
	if math.IsNaN(v) {
		if !(p.ratio && r.rest) {
			write(c, words(sans, 7.5, softInk), p.box.Min.X+4, y-2.5, "cannot be told")
		}
		return
	}
	x, _ := p.at(v)
	if !p.ratio {
		col := classColour[twice]
		if r.rest {
			col = keepoutInk
		}
		fill(c, vg.Rectangle{Min: vg.Point{X: p.box.Min.X, Y: y - 4}, Max: vg.Point{X: x, Y: y + 4}}, col)
	}
	if math.IsNaN(lo) {
		return
	}
	s.whisker(c, p, y, lo, hi)
	if !p.ratio {
		return
	}
	col := ink
	if r.zone.PHolm < alpha {
		col = classColour[gap]
	}
	disc(c, vg.Point{X: x, Y: y}, 3.2, col, line(1, paper))
}

// whisker is a line from one limit to the other, with an arrow where one lies beyond
// the panel.
func (s *zoneChart) whisker(c draw.Canvas, p *panel, y vg.Length, lo, hi float64) {
	a, under := p.at(lo)
	b, over := p.at(hi)
	under, over = under && a == p.box.Min.X, over && b == p.box.Max.X // else both lie beyond one end
	l := line(1.1, ink)
	c.StrokeLine2(l, a, y, b, y)
	for _, end := range []struct {
		x      vg.Length
		beyond bool
		way    vg.Length
	}{{a, under, -1}, {b, over, 1}} {
		if !end.beyond {
			c.StrokeLine2(l, end.x, y-3, end.x, y+3)
			continue
		}
		tip := vg.Point{X: end.x + end.way*4, Y: y}
		shape(c, ink, draw.LineStyle{}, tip, vg.Point{X: end.x, Y: y + 3}, vg.Point{X: end.x, Y: y - 3})
	}
}
