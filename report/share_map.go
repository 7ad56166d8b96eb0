package report

import (
	"image/png"
	"io"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
)

// listener hands on all that is drawn, and keeps the words.
type listener struct {
	vg.CanvasSizer
	words *[]string
}

// FillString implements vg.Canvas.
func (l listener) FillString(f font.Face, at vg.Point, text string) {
	*l.words = append(*l.words, text)
	l.CanvasSizer.FillString(f, at, text)
}

// draw draws the map as MapPNG does, but without north.
func (s *Share) draw(w io.Writer, sh *sheet, dpi int) error {
	img := vgimg.NewWith(vgimg.UseWH(sh.page.width, sh.page.height), vgimg.UseDPI(dpi), vgimg.UseBackgroundColor(paper))
	c := draw.New(listener{sampler{img}, &s.Drawn})
	box := draw.Canvas{Canvas: c.Canvas, Rectangle: sh.page.mapBox}
	p := sh.plot(box)
	p.Draw(box)
	ground := p.DataCanvas(box)
	sh.title(c, ground.Min.X)
	s.legend(sh, ground, float64(ground.Size().X)/(p.X.Max-p.X.Min))
	enc := png.Encoder{CompressionLevel: png.BestSpeed}
	return enc.Encode(w, img.Image())
}

// legend is that of the map, without north.
func (s *Share) legend(sh *sheet, ground draw.Canvas, points float64) {
	box := sh.page.legendBox
	if sh.page.wide {
		box.Min.X = ground.Min.X
		sh.key(part(ground, box, 0, 196))
		sh.gapList(part(ground, box, 222, 244), box.Min.Y)
		last := part(ground, box, 492, box.Size().X)
		last.down(12)
		scaleBar{sh.u, points}.alone(last, 30)
		s.notes(last)
		return
	}
	box.Max.Y, box.Min.Y = ground.Max.Y, ground.Min.Y
	at := part(ground, box, 0, box.Size().X)
	foot := box.Min.Y
	for _, para := range s.noteLines(at) {
		foot += noteStep*vg.Length(len(para)) + noteGap
	}
	sh.key(at)
	at.down(10)
	sh.gapList(at, foot+40)
	at.y = foot + 14
	scaleBar{sh.u, points}.alone(at, 30)
	s.notes(at)
}

func (s *Share) notes(c *column) {
	for _, para := range s.noteLines(c) {
		for _, l := range para {
			write(c.Canvas, words(sans, 7, softInk), c.Min.X, c.y, l)
			c.down(noteStep)
		}
		c.down(noteGap)
	}
}

func (s *Share) noteLines(c *column) (out [][]string) {
	st := words(sans, 7, softInk)
	fits := func(t string) bool { return widthOf(st, t) <= c.Size().X }
	_, _, plural := s.set.Units.unit()
	for _, para := range []string{
		s.trust(),
		"The place is withheld: the ground is turned by a random angle, so up is not north. Ticks are " + plural + " from a corner of the map.",
		s.visits(),
	} {
		out = append(out, wrap(para, fits))
	}
	return out
}

// trust says how far to trust the figures.
func (s *Share) trust() string {
	if s.r.Certainty == nil {
		return "As logged: every fix is taken as true. Receiver error is not allowed for."
	}
	return receiver(s.r.Settings.Position, s.set.Units) + " Surely swept: with a chance of 80 % or more. Untrodden: of 20 % or less."
}

// visits says on what all of it rests.
func (s *Share) visits() string {
	out := count(len(s.r.Sessions), "visit")
	if when := s.when(); when != "" {
		out += ", " + when
	}
	return out + "; strip swept " + s.set.Units.length(swathM(s.r.Settings)) + " wide."
}
