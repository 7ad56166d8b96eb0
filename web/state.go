package web

import (
	"cmp"
	"context"
	"errors"
	"net/http"
	"time"

	"untrod/report"
	"untrod/site/book"
)

// StateDoc is what the page always knows.
type StateDoc struct {
	Version string    `json:"version"`
	Books   []BookDoc `json:"books"`
	Book    *OpenDoc  `json:"book"`
	Changes int       `json:"changes"`
	Rev     int       `json:"rev"`
	Stage   string    `json:"stage"`
	Claim   string    `json:"claim"`
	Units   string    `json:"units"`
	Work    WorkDoc   `json:"work"`
}

// BookDoc is one book that can be opened.
type BookDoc struct {
	File    string    `json:"file"`
	Changed time.Time `json:"changed"`
}

// OpenDoc is the open book.
type OpenDoc struct {
	File string `json:"file"`
	Name string `json:"name"`
	Undo string `json:"undo"` // what undo would take back
}

// WorkDoc is how far the work is.
type WorkDoc struct {
	Running bool        `json:"running"`
	Stage   string      `json:"stage"`
	Doing   string      `json:"doing"`
	Done    int64       `json:"done"`
	Total   int64       `json:"total"`
	Stopped bool        `json:"stopped"`
	Problem *ProblemDoc `json:"problem"`
}

func (s *server) stateRoutes(m *http.ServeMux) {
	m.Handle("GET /api/state", asking(func(w http.ResponseWriter, _ *http.Request) error { return s.state(w) }))
	m.Handle("POST /api/stop", asking(func(w http.ResponseWriter, _ *http.Request) error {
		s.desk.stop()
		return s.state(w)
	}))
	m.Handle("POST /api/again", asking(func(w http.ResponseWriter, _ *http.Request) error {
		if err := s.desk.again(); err != nil {
			return err
		}
		return s.state(w)
	}))
	m.Handle("POST /api/undo", asking(s.undo))
}

// state answers with the state.
func (s *server) state(w http.ResponseWriter) error { return answer(w, s.stateDoc()) }

// stateDoc is the state now. It reads no book, for it is asked for often.
func (s *server) stateDoc() StateDoc {
	d := s.desk
	d.mu.Lock()
	path, about, shown, work := d.path, d.about, d.shown, d.work
	doc := StateDoc{Version: s.cfg.Version, Changes: d.changes, Units: cmp.Or(about.units, "metric"), Work: workDoc(work)}
	d.mu.Unlock()
	doc.Books = s.shelf.list()
	if path != "" {
		doc.Book = &OpenDoc{File: s.shelf.name(path), Name: about.name, Undo: about.undo}
	}
	if shown != nil {
		doc.Rev, doc.Stage = shown.rev, shown.stage
		doc.Claim, _ = make1(&shown.once, "claim", func() (string, error) { return report.Claim(shown.result, shown.units), nil })
	}
	return doc
}

func workDoc(w work) WorkDoc {
	doc := WorkDoc{Running: w.Running, Stage: w.Stage, Doing: w.Doing, Done: w.Done, Total: w.Total, Stopped: w.Stopped}
	if w.Failed != nil && !errors.Is(w.Failed, context.Canceled) {
		p := problemOf(w.Failed)
		doc.Problem = &ProblemDoc{p.text, p.hints}
	}
	return doc
}

func (s *server) undo(w http.ResponseWriter, _ *http.Request) error {
	var what string
	err := s.desk.change(func(path string) error {
		return withBook(path, book.Open, func(b *book.Book) (err error) {
			what, err = b.Undo()
			return err
		})
	})
	if errors.Is(err, book.ErrNothingToUndo) {
		return refuse(http.StatusConflict, "there is nothing to undo")
	}
	if err != nil {
		return err
	}
	return answer(w, map[string]string{"undone": what})
}
