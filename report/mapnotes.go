package report

import (
	"gonum.org/v1/plot/vg"

	"untrod/track"
)

const (
	noteStep vg.Length = 9 // between lines of the notes
	noteGap  vg.Length = 2 // more between paragraphs
)

// notes say what the reader must know not to be misled.
func (s *sheet) notes(c *column) {
	for _, para := range s.noteLines(c) {
		for _, l := range para {
			write(c.Canvas, words(sans, 7, softInk), c.Min.X, c.y, l)
			c.down(noteStep)
		}
		c.down(noteGap)
	}
}

func (s *sheet) notesHeight(c *column) (h vg.Length) {
	for _, para := range s.noteLines(c) {
		h += noteStep*vg.Length(len(para)) + noteGap
	}
	return h
}

func (s *sheet) noteLines(c *column) (out [][]string) {
	_, _, plural := s.u.unit()
	st := words(sans, 7, softInk)
	fits := func(t string) bool { return widthOf(st, t) <= c.Size().X }
	for _, para := range []string{
		s.trust(),
		"Up is true north. Ticks are " + plural + " east and north of the site's centre.",
		s.visits(),
	} {
		out = append(out, wrap(para, fits))
	}
	return out
}

// trust says how far to trust the map.
func (s *sheet) trust() string {
	if s.r.Certainty == nil {
		return "As logged: every fix is taken as true. Receiver error is not allowed for yet."
	}
	return receiver(s.r.Settings.Position, s.u) + " Surely swept: with a chance of 80 % or more. Untrodden: of 20 % or less. As logged: every fix taken as true."
}

// visits says on what the map rests.
func (s *sheet) visits() string {
	out := count(len(s.r.Sessions), "visit")
	first, last := track.NoTime, track.NoTime
	for _, v := range s.r.Sessions {
		for _, t := range []track.Instant{v.Start, v.End} {
			if t.Known() && (!first.Known() || t < first) {
				first = t
			}
			last = max(last, t)
		}
	}
	if first.Known() {
		from, to := first.Time().Format("2006-01-02"), last.Time().Format("2006-01-02")
		if out += ", " + from; to != from {
			out += " to " + to
		}
	}
	return out + "; strip swept " + s.u.length(swathM(s.r.Settings)) + " wide."
}
