package web

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"untrod/grid"
	"untrod/site"
	"untrod/site/book"
	"untrod/track"
)

func (s *server) findRoutes(m *http.ServeMux) {
	m.Handle("GET /api/comparison", asking(s.comparison))
	m.Handle("GET /pictures/{rev}/{name}", asking(s.picture))
	m.Handle("GET /api/finds", asking(s.finds))
	m.Handle("POST /api/finds", asking(s.addFind))
	m.Handle("PUT /api/finds/{id}", asking(s.setFind))
	m.Handle("DELETE /api/finds/{id}", asking(s.dropFind))
	m.Handle("POST /api/finds/file", asking(s.importFinds))
	m.Handle("POST /api/finds/{id}/photo", asking(s.addPhoto))
	album := &album{s: s}
	m.Handle("GET /photos/{name}", asking(album.photo))
}

// finds answers GET /api/finds, from the book itself: what is shown may be older.
func (s *server) finds(w http.ResponseWriter, _ *http.Request) error {
	var all []site.Find
	var drawn *site.Site
	if err := s.desk.look(func(b *book.Book) (err error) {
		if all, err = b.Finds(); err == nil {
			drawn, err = b.Site()
		}
		return err
	}); err != nil {
		return err
	}
	doc := FindsDoc{Finds: []FindDoc{}}
	f, ok := s.findFrame(drawn, all)
	if ok {
		d := datumDoc(f)
		doc.Datum = &d
	}
	for _, one := range all {
		doc.Finds = append(doc.Finds, findDoc(one, f))
	}
	return answer(w, doc)
}

// findFrame is the frame of what is shown or, before there is a result, that of the
// site, else one round the finds; false when none of them has a place either.
func (s *server) findFrame(drawn *site.Site, all []site.Find) (grid.Frame, bool) {
	if now, err := s.desk.current(); err == nil {
		return now.result.Frame, true
	}
	if drawn != nil {
		if f, err := drawn.Frame(); err == nil {
			return f, true
		}
	}
	var at []grid.LonLat
	for _, f := range all {
		if f.Placed() {
			at = append(at, f.Pos)
		}
	}
	f, err := grid.FrameAround(at)
	if err != nil && len(at) > 0 { // they are too far apart for one frame
		f, err = grid.NewFrame(at[0])
	}
	return f, err == nil
}

// addFind answers POST /api/finds.
func (s *server) addFind(w http.ResponseWriter, r *http.Request) error {
	var doc SentFindDoc
	if err := readDoc(w, r, &doc); err != nil {
		return err
	}
	f, err := doc.find()
	if err != nil {
		return err
	}
	kept := KeptFindDoc{}
	if err := s.desk.edit("added the find "+shortName(f), func(b *book.Book) (err error) {
		if kept.Said, err = placeFind(b, &f); err == nil {
			kept.ID, err = b.AddFind(f)
		}
		return err
	}); err != nil {
		return err
	}
	return answer(w, kept)
}

// setFind answers PUT /api/finds/{id}.
func (s *server) setFind(w http.ResponseWriter, r *http.Request) error {
	id, err := findID(r)
	if err != nil {
		return err
	}
	var doc SentFindDoc
	if err := readDoc(w, r, &doc); err != nil {
		return err
	}
	f, err := doc.find()
	if err != nil {
		return err
	}
	f.ID = id
	kept := KeptFindDoc{ID: id}
	if err := s.desk.edit("changed the find "+shortName(f), func(b *book.Book) error {
		before, err := findOf(b, id)
		if err != nil {
			return err
		}
		doc.keep(&f, before)
		if kept.Said, err = placeFind(b, &f); err != nil {
			return err
		}
		return b.SetFind(f)
	}); err != nil {
		return err
	}
	return answer(w, kept)
}

// dropFind answers DELETE /api/finds/{id}.
func (s *server) dropFind(w http.ResponseWriter, r *http.Request) error {
	id, err := findID(r)
	if err != nil {
		return err
	}
	if err := s.desk.edit("", func(b *book.Book) error {
		f, err := findOf(b, id)
		if err != nil {
			return err
		}
		return errors.Join(b.Begin("dropped the find "+shortName(f)), b.DropFind(id))
	}); err != nil {
		return err
	}
	return s.state(w)
}

func findID(r *http.Request) (int64, error) {
	id, err := strconv.ParseInt(r.PathValue("id"), 10, 64)
	if err != nil {
		return 0, refuse(http.StatusNotFound, "there is no such find")
	}
	return id, nil
}

// findOf is the find of an id.
func findOf(b *book.Book, id int64) (site.Find, error) {
	all, err := b.Finds()
	if err != nil {
		return site.Find{}, err
	}
	i := slices.IndexFunc(all, func(f site.Find) bool { return f.ID == id })
	if i < 0 {
		return site.Find{}, refuse(http.StatusNotFound, "there is no such find", "it may have been dropped meanwhile: look at the list again")
	}
	return all[i], nil
}

// shortName is what undo calls a find.
func shortName(f site.Find) string {
	name := strings.Join(strings.Fields(f.Name), " ")
	if runes := []rune(name); len(runes) > 40 {
		name = string(runes[:40])
	}
	return cmp.Or(name, "without a name")
}

// placeFind gives a find with a time its visit and, where it has no place, that where
// the walker then stood, as `untrod find` does; said is how that came about.
func placeFind(b *book.Book, f *site.Find) (said string, err error) {
	if !f.T.Known() || f.Placed() && f.Session != 0 {
		return "", nil
	}
	walks, err := b.Whereabouts([]track.Instant{f.T}, site.NearStopS)
	if err != nil {
		return "", err
	}
	stood, ok := walks.At(f.T, f.Session)
	switch {
	case !ok && !f.Placed():
		return "no visit holds that time: kept without a place", nil
	case !ok:
		return "", nil
	case f.Placed():
		f.Session = stood.Session
		return "", nil
	}
	f.Pos, f.SdM, f.Session = stood.Pos, math.NaN(), stood.Session
	switch {
	case stood.AwayS == 0:
		said = "put where you stood then"
	case stood.AwayS > 0:
		said = fmt.Sprintf("put where you stood %.0f s from that time", stood.AwayS)
	default:
		said = "no stop within 2 minutes of that time: put where the log has you"
	}
	if stood.Others > 0 {
		said += "; somebody else was elsewhere at that time: choose the visit if it was theirs"
	}
	return said, nil
}
