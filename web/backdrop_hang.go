package web

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"

	"untrod/grid"
	"untrod/site/backdrop"
	"untrod/site/book"
)

// wall is where the backdrop hangs, made ready to be drawn.
type wall struct {
	mu  sync.Mutex // held by whoever makes the next
	now atomic.Pointer[hung]
}

// hung is the backdrop of one book, at one place, in one frame. It is never changed.
type hung struct {
	rev     int64 // of all that its tiles depend on
	given   book.Backdrop
	picture *backdrop.Picture
	drawing *backdrop.Drawing
	place   *backdrop.Place // nil: it has none
	offM    []float64       // of the ties
	frame   grid.Frame      // of the page
	framed  bool            // there is one
	says    string
	once    lazy
}

// hang is the backdrop as the open book has it now; nil for none. It is read anew only
// where it is another one.
func (s *server) hang() (next *hung, err error) {
	s.wall.mu.Lock()
	defer s.wall.mu.Unlock()
	err = s.desk.look(func(b *book.Book) error {
		given, err := b.Backdrop()
		if err != nil || given == nil {
			return err
		}
		next = &hung{given: *given}
		next.frame, next.framed = s.pageFrame(b)
		next.rev = next.number()
		old := s.wall.now.Load()
		if old != nil && old.rev == next.rev {
			next = old
			return nil
		}
		return next.make(old, b)
	})
	if err != nil {
		next = nil
	}
	s.wall.now.Store(next)
	return next, err
}

// pageFrame is the frame the page shows things in: that of the result or, without one,
// of the site.
func (s *server) pageFrame(b *book.Book) (f grid.Frame, ok bool) {
	if now, err := s.desk.current(); err == nil {
		return now.result.Frame, true
	}
	drawn, err := b.Site()
	if err != nil || drawn == nil {
		return f, false
	}
	f, err = drawn.Frame()
	return f, err == nil
}

// number is a number for all that tiles depend on, under 2^48 so that a browser can
// hold it.
func (h *hung) number() int64 {
	sum := sha256.Sum256(fmt.Appendf(nil, "%s %q %v %v %v", h.given.SHA256, h.given.World, h.given.Ties, h.framed, h.frame.Datum()))
	return int64(binary.BigEndian.Uint64(sum[:]) >> 16)
}

// make reads and places the backdrop, with what can be taken over from the one before.
func (h *hung) make(old *hung, b *book.Book) error {
	if old != nil && old.given.SHA256 == h.given.SHA256 && old.given.World == h.given.World {
		h.picture = old.picture
	} else {
		old = nil
		data, err := b.BackdropBytes(&h.given)
		if err != nil {
			return err
		}
		if h.picture, err = backdrop.Read(data, []byte(h.given.World)); err != nil {
			return fmt.Errorf("%s: %w", h.given.Name, err)
		}
	}
	h.settle()
	shadedSo := h.picture.Terrain() && (old == nil || (old.place == nil) != (h.place == nil) || h.place != nil && *h.place != *old.place)
	if old != nil && !shadedSo {
		h.drawing = old.drawing
	} else {
		h.drawing = h.picture.Drawing(h.place)
	}
	return nil
}

// settle finds out where the backdrop lies, and what there is to say of that.
func (h *hung) settle() {
	var near *grid.LonLat
	if h.framed {
		datum := h.frame.Datum()
		near = &datum
	}
	var place backdrop.Place
	var guessed bool
	var err error
	if len(h.given.Ties) > 0 {
		place, h.offM, err = backdrop.FromTies(h.picture.Width, h.picture.Height, tiesOf(h.given.Ties))
	} else {
		place, guessed, err = h.picture.Place(near)
	}
	if err != nil {
		h.says = sentence(err)
		return
	}
	h.place = &place
	if !h.framed { // nothing else is shown: the page is about the picture
		middle := place.LonLat(float64(h.picture.Width)/2, float64(h.picture.Height)/2)
		h.frame, err = grid.NewFrame(middle)
		h.framed = err == nil
		return
	}
	switch m := place.FromM(*near); {
	case guessed:
		h.says = "It does not say in which system its numbers are. Taken as " + place.System.Name + ", it lies at the site: check that it fits."
	case m > 1e6:
		h.says = "It lies over 1000 km from the site."
	case m > 1000:
		h.says = fmt.Sprintf("It lies %.0f km from the site.", m/1000)
	}
}

// sentence is an error as a sentence.
func sentence(err error) string {
	text := err.Error()
	return strings.ToUpper(text[:1]) + text[1:] + "."
}

func tiesOf(in []book.Tie) []backdrop.Tie {
	out := make([]backdrop.Tie, len(in))
	for i, t := range in {
		out[i] = backdrop.Tie(t)
	}
	return out
}
