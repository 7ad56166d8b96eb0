package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// papersKept is how many sets of papers are kept for their files to be fetched.
const papersKept = 10

// PaperDoc asks for papers.
type PaperDoc struct {
	Kind    string                     `json:"kind"`
	Options map[string]json.RawMessage `json:"options"` // texts, numbers, true or false
}

// PapersDoc is a set of papers that was made.
type PapersDoc struct {
	ID      int            `json:"id"`
	Kind    string         `json:"kind"`
	Text    string         `json:"text"`
	Problem string         `json:"problem"` // what could not be used, "" when all could
	Files   []PaperFileDoc `json:"files"`
}

// PaperFileDoc is one of them.
type PaperFileDoc struct {
	Name  string `json:"name"`
	What  string `json:"what"`
	Bytes int64  `json:"bytes"`
	Href  string `json:"href"`
}

// papers makes papers, one set at a time, and keeps the last few in a folder of its
// own.
type papers struct {
	s    *server
	turn chan struct{} // has an element while papers are made

	mu     sync.Mutex
	folder string // "" as long as there is none
	kept   []*paperSet
	last   int
}

// paperSet is a folder with papers.
type paperSet struct {
	doc    PapersDoc
	folder string
}

func (s *server) paperRoutes(m *http.ServeMux) {
	p := &papers{s: s, turn: make(chan struct{}, 1)}
	m.Handle("POST /api/papers", asking(p.make))
	m.Handle("GET /papers/{id}/{name}", asking(p.file))
	s.ended = append(s.ended, p.clear)
}

// make answers POST /api/papers. It ends when the browser leaves.
func (p *papers) make(w http.ResponseWriter, r *http.Request) error {
	var ask PaperDoc
	if err := readDoc(w, r, &ask); err != nil {
		return err
	}
	kind, known := paperKinds[ask.Kind]
	if !known {
		return refuse(http.StatusBadRequest, fmt.Sprintf("there is no paper %q", shortened(ask.Kind, 60)))
	}
	path, err := p.s.desk.bookPath()
	if err != nil {
		return err
	}
	select {
	case p.turn <- struct{}{}:
		defer func() { <-p.turn }()
	case <-r.Context().Done():
		return r.Context().Err()
	}
	set, err := p.begin(ask.Kind)
	if err != nil {
		return err
	}
	line, err := kind.line(path, set.folder, ask.Options)
	if err == nil {
		set.doc.Text, err = p.s.runReading(r.Context(), line...)
	}
	_ = os.Remove(filepath.Join(filepath.Dir(set.folder), keyFile)) // there is one only for a statement that is signed
	var partly *problem
	if errors.As(err, &partly) && partly.partly {
		set.doc.Problem, err = partly.Error(), nil
	}
	if err == nil {
		err = set.list()
	}
	if err != nil {
		return errors.Join(err, os.RemoveAll(filepath.Dir(set.folder)))
	}
	p.keep(set)
	return answer(w, set.doc)
}

// begin makes a folder for a set of papers, named by what it is for, since the
// commands tell of it.
func (p *papers) begin(kind string) (*paperSet, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.folder == "" {
		dir, err := os.MkdirTemp("", "untrod-papers-")
		if err != nil {
			return nil, fmt.Errorf("no room for papers: %w", err)
		}
		p.folder = dir
	}
	p.last++
	folder := filepath.Join(p.folder, strconv.Itoa(p.last), kind)
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, fmt.Errorf("no room for papers: %w", err)
	}
	return &paperSet{PapersDoc{ID: p.last, Kind: kind}, folder}, nil
}

// list tells of the files in the folder, in the words of the command where it has any.
func (s *paperSet) list() error {
	entries, err := os.ReadDir(s.folder)
	if err != nil {
		return err
	}
	said := toldOf(s.doc.Text)
	s.doc.Files = []PaperFileDoc{}
	for _, e := range entries {
		info, err := e.Info()
		if err != nil {
			return err
		}
		if !info.Mode().IsRegular() {
			continue
		}
		s.doc.Files = append(s.doc.Files, PaperFileDoc{e.Name(), said[e.Name()], info.Size(), s.href(e.Name())})
	}
	return nil
}

func (s *paperSet) href(name string) string {
	return fmt.Sprintf("/papers/%d/%s", s.doc.ID, url.PathEscape(name))
}

// toldOf finds what a command says of the files it wrote: lines of a path and, three
// blanks on, what it is.
func toldOf(text string) map[string]string {
	out := map[string]string{}
	for line := range strings.Lines(text) {
		path, what, two := strings.Cut(strings.TrimSpace(line), "   ")
		if two && strings.HasPrefix(line, "  ") {
			out[filepath.Base(path)] = strings.TrimSpace(what)
		}
	}
	return out
}

// keep keeps a set, and drops the oldest.
func (p *papers) keep(set *paperSet) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.kept = append(p.kept, set); len(p.kept) > papersKept {
		_ = os.RemoveAll(filepath.Dir(p.kept[0].folder)) // the system clears what stays
		p.kept = slices.Delete(p.kept, 0, 1)
	}
}

// clear takes the folder away, when the program ends.
func (p *papers) clear() {
	p.turn <- struct{}{} // what is being made ends with the program
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.folder != "" {
		_ = os.RemoveAll(p.folder)
	}
	p.kept = nil
}
