package report

import (
	"bytes"
	"image/png"
	"io"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"untrod/coverage"
	"untrod/grid"
)

const pngDPI = 200 // makes the map 1,600 to 2,000 pixels wide

// MapPNG draws the map: the boundary, the keep-outs, the ground by how surely
// it was swept (by how often, when positions are taken as perfect), the gaps
// numbered largest first, landmarks and marks, scale bar, north arrow and a
// legend in plain words. It is 1,600 to 2,000 pixels
// wide. A pixel of the ground may stand for many cells: at least half of them
// then have to be searchable for it to be drawn, and it shows what most of
// them are.
func MapPNG(w io.Writer, r *coverage.Result, u Units) error {
	return mapPNG(w, newSheet(r, r.Tally, u), pngDPI)
}

// MapSVG draws the same map with its lines and words as vectors.
func MapSVG(w io.Writer, r *coverage.Result, u Units) error {
	return mapSVG(w, newSheet(r, r.Tally, u))
}

func mapPNG(w io.Writer, s *sheet, dpi int) error {
	c := vgimg.NewWith(vgimg.UseWH(s.page.width, s.page.height), vgimg.UseDPI(dpi), vgimg.UseBackgroundColor(paper))
	s.draw(draw.New(sampler{c}))
	enc := png.Encoder{CompressionLevel: png.BestSpeed}
	return enc.Encode(w, c.Image())
}

func mapSVG(w io.Writer, s *sheet) error {
	c := vgsvg.New(s.page.width, s.page.height)
	fill(draw.New(c), draw.New(c).Rectangle, paper)
	s.draw(draw.New(c))
	var buf bytes.Buffer
	if _, err := c.WriteTo(&buf); err != nil {
		return err
	}
	// The library calls the picture inside a JPEG, and names no font to fall
	// back on where its own are missing.
	text := buf.Bytes()
	for _, fix := range [][2]string{
		{"data:image/jpg;", "data:image/png;"},
		{"font-family:Liberation Serif;", "font-family:'Liberation Serif','Times New Roman',serif;"},
		{"font-family:Liberation Sans;", "font-family:'Liberation Sans',Arial,Helvetica,sans-serif;"},
	} {
		text = bytes.ReplaceAll(text, []byte(fix[0]), []byte(fix[1]))
	}
	_, err := w.Write(text)
	return err
}

// sheet is the page that the map is drawn on.
type sheet struct {
	r      *coverage.Result
	u      Units
	ground raster
	page   page
}

func newSheet(r *coverage.Result, p passes, u Units) *sheet {
	s := &sheet{r: r, u: u, ground: rasterise(r, p), page: layout(groundShown(r))}
	if r.Certainty != nil {
		s.page.height += belowRoom
	}
	return s
}

// draw fills the page, which is paper already.
func (s *sheet) draw(c draw.Canvas) {
	box := draw.Canvas{Canvas: c.Canvas, Rectangle: s.page.mapBox}
	p := s.plot(box)
	p.Draw(box)
	ground := p.DataCanvas(box)
	s.title(c, ground.Min.X)
	s.legend(ground, ground.Size().X/vg.Length(p.X.Max-p.X.Min))
}

// plot is the map itself, a metre as long east as north.
func (s *sheet) plot(c draw.Canvas) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = nil
	b := groundShown(s.r)
	unitM, _, _ := s.u.unit()
	marks := ticks{unitM, niceBelow(max(b.Width(), b.Height())/unitM/4.5) * unitM}
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Padding = 0
		a.Label.Text = ""
		a.LineStyle.Width = 0
		a.Tick.Length = 3
		a.Tick.LineStyle = line(0.6, softInk)
		font := a.Tick.Label
		a.Tick.Label = words(sans, 7, softInk)
		a.Tick.Label.XAlign, a.Tick.Label.YAlign = font.XAlign, font.YAlign
		a.Tick.Marker = marks
	}
	i := s.ground.bounds
	p.Add(plotter.NewImage(s.ground.img, i.Min.X, i.Min.Y, i.Max.X, i.Max.Y), features{s})
	fit(p, c, b) // last: Add grows the axes
	return p
}

// fit sets the axes so that ground is in the middle and scales are equal. The
// room for the axes depends on their labels, hence the few rounds.
func fit(p *plot.Plot, c draw.Canvas, ground grid.Bounds) {
	set := func(b grid.Bounds) {
		p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = b.Min.X, b.Max.X, b.Min.Y, b.Max.Y
	}
	set(ground)
	for range 4 {
		size := p.DataCanvas(c).Size()
		set(widen(ground, float64(size.X/size.Y)))
	}
}

// widen grows b about its middle until it is aspect times as wide as high.
func widen(b grid.Bounds, aspect float64) grid.Bounds {
	dx := max(0, b.Height()*aspect-b.Width()) / 2
	dy := max(0, b.Width()/aspect-b.Height()) / 2
	return grid.Bounds{Min: grid.XY{X: b.Min.X - dx, Y: b.Min.Y - dy}, Max: grid.XY{X: b.Max.X + dx, Y: b.Max.Y + dy}}
}

// groundShown is the site with a margin, and landmarks a little way off. A
// landmark further out does not make the site small.
func groundShown(r *coverage.Result) grid.Bounds {
	b := grid.EmptyBounds()
	for _, p := range r.Local.Boundary {
		for _, q := range p.Outer {
			b = b.Add(q)
		}
	}
	if b.Empty() {
		b = r.Spec.Bounds()
	}
	reach := b.Pad(0.12 * max(b.Width(), b.Height()))
	for _, l := range r.Local.Landmarks {
		for _, q := range l.XY {
			if inside(reach, q) {
				b = b.Add(q)
			}
		}
	}
	return b.Pad(max(0.04*max(b.Width(), b.Height()), 0.5))
}

func inside(b grid.Bounds, q grid.XY) bool {
	return q.X >= b.Min.X && q.X <= b.Max.X && q.Y >= b.Min.Y && q.Y <= b.Max.Y
}

// ticks puts tick marks a step of so many metres apart, and counts in a unit
// of so many.
type ticks struct{ unitM, stepM float64 }

// Ticks implements plot.Ticker.
func (t ticks) Ticks(lo, hi float64) []plot.Tick {
	var out []plot.Tick
	for i := math.Ceil(lo / t.stepM); i*t.stepM <= hi; i++ {
		out = append(out, plot.Tick{Value: i * t.stepM, Label: tickLabel(i * t.stepM / t.unitM)})
	}
	return out
}
