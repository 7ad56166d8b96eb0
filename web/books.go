package web

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"untrod/site/book"
)

const (
	bookEnding = ".gpkg"
	demoFile   = "quillon-green" + bookEnding
)

// shelf is the folder of the books, with the one that the program was started with
// from elsewhere.
type shelf struct {
	folder string
	extra  string // path of the one from elsewhere; ""
}

func newShelf(folder, book string) *shelf {
	s := &shelf{folder: folder}
	if book != "" && filepath.Dir(book) != folder {
		s.extra = book
	}
	return s
}

// names are the books' paths by the names the page has for them.
func (s *shelf) names() map[string]string {
	out := map[string]string{}
	entries, _ := os.ReadDir(s.folder) // it may not be there yet
	for _, e := range entries {
		if strings.EqualFold(filepath.Ext(e.Name()), bookEnding) && !strings.HasPrefix(e.Name(), ".") {
			out[e.Name()] = filepath.Join(s.folder, e.Name())
		}
	}
	if s.extra != "" {
		out[s.name(s.extra)] = s.extra
	}
	return out
}

// name is what the page calls the book at path: its file's name, with that of its
// folder where it lies elsewhere and the folder of the books has one of the name.
func (s *shelf) name(path string) string {
	name := filepath.Base(path)
	if path != s.extra {
		return name
	}
	if _, err := os.Lstat(filepath.Join(s.folder, name)); err == nil {
		name += " in " + filepath.Base(filepath.Dir(path))
	}
	return name
}

// list is all books by name.
func (s *shelf) list() []BookDoc {
	out := []BookDoc{}
	for name, path := range s.names() {
		if info, err := os.Stat(path); err == nil && info.Mode().IsRegular() {
			out = append(out, BookDoc{File: name, Changed: info.ModTime().UTC()})
		}
	}
	slices.SortFunc(out, func(a, b BookDoc) int { return strings.Compare(a.File, b.File) })
	return out
}

// free is the path of a new book of that name: where there is one, a number is added.
func (s *shelf) free(name string) string {
	for n := 1; ; n++ {
		path := filepath.Join(s.folder, name+bookEnding)
		if n > 1 {
			path = filepath.Join(s.folder, fmt.Sprintf("%s-%d%s", name, n, bookEnding))
		}
		if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
			return path
		}
	}
}

// make makes the folder.
func (s *shelf) make() error {
	if err := os.MkdirAll(s.folder, 0o700); err != nil {
		return refuse(http.StatusForbidden, "the folder of the books cannot be made: "+err.Error(), "start untrod open with another one: --folder DIR")
	}
	return nil
}

func (s *server) bookRoutes(m *http.ServeMux) {
	m.Handle("POST /api/books", asking(s.newBook))
	m.Handle("POST /api/books/open", asking(s.openBook))
	m.Handle("POST /api/books/demo", asking(s.demoBook))
	m.Handle("POST /api/books/close", asking(func(w http.ResponseWriter, _ *http.Request) error { return s.put(w, "") }))
	m.Handle("GET /api/book.gpkg", asking(s.bookFile))
}

// put puts a book on the desk and answers with the state.
func (s *server) put(w http.ResponseWriter, path string) error {
	if err := s.desk.open(path); err != nil {
		return err
	}
	return s.state(w)
}

// firstSettings let a first picture of a new book come at once; the page asks to put
// them right.
var firstSettings = []string{"coil", "28cm", "swing", "1.2m", "canopy", "light"}

func (s *server) newBook(w http.ResponseWriter, r *http.Request) error {
	var doc struct{ Name string }
	if err := readDoc(w, r, &doc); err != nil {
		return err
	}
	name := bookName(doc.Name)
	if name == "" {
		return refuse(http.StatusBadRequest, "a book needs a name", "such as that of the ground")
	}
	if err := s.shelf.make(); err != nil {
		return err
	}
	path := s.shelf.free(name)
	b, err := book.Create(path, nil)
	if err == nil {
		err = b.Close()
	}
	if err == nil {
		_, err = s.run(r.Context(), append([]string{"set", "--", path}, firstSettings...)...)
	}
	if err != nil {
		return errors.Join(bookProblem(path, err), removed(path))
	}
	return s.put(w, path)
}

// removed takes a book away that was not made whole.
func removed(path string) error {
	if err := os.Remove(path); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

func (s *server) openBook(w http.ResponseWriter, r *http.Request) error {
	var doc struct{ File string }
	if err := readDoc(w, r, &doc); err != nil {
		return err
	}
	path, known := s.shelf.names()[doc.File]
	if !known {
		return refuse(http.StatusNotFound, fmt.Sprintf("there is no book %q", doc.File), "it may have been moved: look at the list again")
	}
	return s.put(w, path)
}

func (s *server) demoBook(w http.ResponseWriter, r *http.Request) error {
	path := filepath.Join(s.shelf.folder, demoFile)
	if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
		if err := s.shelf.make(); err != nil {
			return err
		}
		if err := s.cfg.Lent.Demo(r.Context(), path); err != nil {
			return err
		}
	}
	return s.put(w, path)
}

// bookFile answers with the book as it is on disk.
func (s *server) bookFile(w http.ResponseWriter, _ *http.Request) error {
	return s.desk.look(func(*book.Book) error { // which opens it once, so that what a killed program left is told of
		path, err := s.desk.bookPath()
		if err != nil {
			return err
		}
		f, err := os.Open(path)
		if err != nil {
			return err
		}
		defer f.Close()
		attachment(w, filepath.Base(path), "application/geopackage+sqlite3")
		_, _ = io.Copy(w, f) // an error is that of a browser that left
		return nil
	})
}
