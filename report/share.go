package report

import (
	"bytes"
	"io"
	"math"
	"strings"
	"time"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// ShareSettings say what a share copy may tell.
type ShareSettings struct {
	// TurnDeg is the angle the ground is turned by, counter-clockwise. It must come
	// from chance that nobody can repeat: who knows it has north back.
	TurnDeg float64
	Names   bool     // landmarks keep their names; all other names stay out
	Dates   bool     // days are told, not months only
	Photos  []string // names of the pictures that go with the copy
	Units   Units
}

// Share is what of a result may be shown in public: the ground turned by some angle
// and moved to metres of its own, never mirrored, and figures rounded to what a reader
// can use. It knows nothing of where the site is, or of files, hashes, walkers and
// visits by name. The shape of the ground is as it is, so who knows the place may still
// tell it by that.
type Share struct {
	r   *coverage.Result // turned, and rid of all names
	set ShareSettings
	png []byte
	// Drawn are the words on the map, for the check: they cannot be read back from its
	// pixels.
	Drawn []string
}

// NewShare makes the share copy of a result, which it leaves alone. Figures are those
// of r, not of the turned picture. It takes about a second for ground drawn on 1,500 by
// 1,500 cells.
func NewShare(r *coverage.Result, set ShareSettings) (*Share, error) {
	return newShare(newTurner(r, set.TurnDeg), r.Tally, set, pngDPI)
}

func newShare(t *turner, p passes, set ShareSettings, dpi int) (*Share, error) {
	s := &Share{r: bared(t.r, set), set: set}
	turned := t.ground(s.r, p, set.Names)
	sh := newSheet(s.r, turned, set.Units)
	if t.r.Certainty == nil {
		sh.ground.cells = rasterise(t.r, p).cells // shares are counted on the cells of r
	}
	var pic bytes.Buffer
	err := s.draw(&pic, sh, dpi)
	s.png = pic.Bytes()
	return s, err
}

// PNG writes the map, without north and without metadata.
func (s *Share) PNG(w io.Writer) error {
	_, err := w.Write(s.png)
	return err
}

// shareTitle stands in for the site's name.
const shareTitle = "A searched site"

// bared is r without what tells of the place, the people or the files. Its geometry
// and cells are still missing.
func bared(r *coverage.Result, set ShareSettings) *coverage.Result {
	out := *r
	out.Site, out.Local, out.Frame, out.Spec = site.Site{Name: shareTitle}, site.Local{}, grid.Frame{}, grid.Spec{}
	out.Searchable, out.Swept, out.Tally, out.Comparison = nil, nil, nil, nil
	out.CellChosen, out.Settings.LaidOut, out.Settings.Position.Seed = "", nil, 0
	out.LeftOut, out.Settings.Without = nil, nil
	out.LaidOut, out.Lanes, out.Notes, out.Skipped, out.Copies = nil, nil, nil, nil, nil
	if r.Certainty != nil {
		c := *r.Certainty
		c.Chance, c.Strays = nil, nil
		out.Certainty = &c
	}
	out.Sessions, out.Gaps = nil, nil
	for _, v := range r.Sessions {
		out.Sessions = append(out.Sessions, coverage.Session{
			Start: coarse(v.Start, set.Dates), End: coarse(v.End, set.Dates),
			Seconds: v.Seconds, Metres: v.Metres, NewGroundM2: v.NewGroundM2, RewalkedPercent: v.RewalkedPercent,
		})
	}
	for _, g := range r.Gaps {
		out.Gaps = append(out.Gaps, coverage.Gap{ID: g.ID, AreaM2: g.AreaM2, InDoubt: g.InDoubt,
			ChanceSwept: g.ChanceSwept, UntroddenM2: g.UntroddenM2, WidestM: g.WidestM})
	}
	return &out
}

// coarse is the beginning of the month, or of the day, in UTC.
func coarse(i track.Instant, day bool) track.Instant {
	if !i.Known() {
		return i
	}
	t := i.Time().UTC()
	d := 1
	if day {
		d = t.Day()
	}
	return track.At(time.Date(t.Year(), t.Month(), d, 0, 0, 0, 0, time.UTC))
}

// when says when the ground was searched, as fine as may be told; "" when not known.
func (s *Share) when() string {
	first, last := s.span()
	if !first.Known() {
		return ""
	}
	layout := "January 2006"
	if s.set.Dates {
		layout = "2 January 2006"
	}
	from, to := first.Time().UTC().Format(layout), last.Time().UTC().Format(layout)
	if from == to {
		return from
	}
	if year := from[len(from)-5:]; strings.HasSuffix(to, year) {
		from = strings.TrimSuffix(from, year)
	}
	return from + " to " + to
}

// span is the first and the last moment told of.
func (s *Share) span() (first, last track.Instant) {
	first, last = track.NoTime, track.NoTime
	for _, v := range s.r.Sessions {
		for _, i := range []track.Instant{v.Start, v.End} {
			if !i.Known() {
				continue
			}
			if !first.Known() || i < first {
				first = i
			}
			last = max(last, i)
		}
	}
	return first, last
}

// kindWords are the words of which what a landmark is may be shown. A kind may be
// anything that was typed, a person's name among them.
var kindWords = func() map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(`old big large small dry stone well tree wall path boulder gate gatepost ditch bank pond
hedge ruin foundation cellar hole fence rock log stump spring stream track building house barn shed post pit mound
oak beech ash pine fir birch apple pear willow chimney hearth step steps stair road lane bridge ford dam cairn
terrace field wood woods clearing corner heap pile dump trench hut tower marker sign bench pole of stones trees`) {
		out[w] = true
	}
	return out
}()

// kindOf is what a landmark is, when that is in plain words.
func kindOf(l site.Landmark) string {
	k := strings.ToLower(Printable(l.Kind))
	for _, w := range strings.Fields(k) {
		if !kindWords[w] {
			return ""
		}
	}
	return k
}

// sig3 keeps three digits: a figure as it stands in a land register would find the
// plot again.
func sig3(x float64) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return x
	}
	step := math.Pow(10, math.Floor(math.Log10(math.Abs(x)))-2)
	return roundTo(math.Round(x/step)*step, 6)
}
