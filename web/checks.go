package web

import (
	"context"
	"errors"
	"net/http"
)

func (s *server) checkRoutes(m *http.ServeMux) {
	m.Handle("POST /api/check", asking(func(w http.ResponseWriter, r *http.Request) error {
		return s.tell(w, r.Context(), func(path string) []string { return []string{"check", "--", path} })
	}))
	m.Handle("POST /api/verify", s.checkFile(func(path, file string) []string { return []string{"verify", "--", file, path} }))
	m.Handle("POST /api/walked", s.checkFile(func(path, file string) []string { return []string{"plan", "--walked=" + file, "--", path} }))
}

// checkFile runs a command on the book and one file that came with the question.
func (s *server) checkFile(line func(path, file string) []string) asking {
	return func(w http.ResponseWriter, r *http.Request) error {
		u, err := s.receive(w, r)
		defer u.discard()
		if err != nil {
			return err
		}
		return s.tell(w, r.Context(), func(path string) []string { return line(path, u.files[0]) })
	}
}

// tell answers with what a command on the book says, be it good or bad: that a
// statement differs is an answer too.
func (s *server) tell(w http.ResponseWriter, ctx context.Context, line func(path string) []string) error {
	path, err := s.desk.bookPath()
	if err != nil {
		return err
	}
	text, err := s.runReading(ctx, line(path)...)
	doc := DoneDoc{Text: text}
	var p *problem
	if errors.As(err, &p) {
		doc.Problem, err = p.Error(), nil
	}
	if err != nil {
		return err
	}
	return answer(w, doc)
}
