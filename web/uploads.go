package web

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"untrod/site"
	"untrod/site/book"
)

const (
	fieldBytes = 64 << 10 // of a form's field that is no file
	maxFiles   = 2000     // of one question
)

// uploaded is what came with a question: files in a folder of their own, and fields.
type uploaded struct {
	folder string
	files  []string // paths, in the order they came
	fields map[string][]string
}

// receive writes the files of a question to a new folder as they come. Whoever calls
// it calls discard when done, also after an error.
func (s *server) receive(w http.ResponseWriter, r *http.Request) (u *uploaded, err error) {
	u = &uploaded{fields: map[string][]string{}}
	limit := s.cfg.Limits.UploadBytes
	if r.ContentLength > limit { // before anything is read
		return u, arriveProblem(&http.MaxBytesError{Limit: limit})
	}
	mustArrive(w, r, s.cfg.Limits.Upload)
	r.Body = http.MaxBytesReader(w, r.Body, limit)
	parts, err := r.MultipartReader()
	if err != nil {
		return u, refuse(http.StatusBadRequest, "no files came with it")
	}
	if u.folder, err = os.MkdirTemp("", "untrod-*"); err != nil {
		return u, refuse(http.StatusInsufficientStorage, "there is no room for the files: "+err.Error())
	}
	for {
		part, err := parts.NextPart()
		if err == io.EOF {
			break
		}
		if err != nil {
			return u, arriveProblem(err)
		}
		if err := u.take(part); err != nil {
			return u, err
		}
	}
	if len(u.files) == 0 {
		return u, refuse(http.StatusBadRequest, "no files came with it")
	}
	if _, err := io.Copy(io.Discard, r.Body); err != nil { // to its end, which ends its time limit
		return u, arriveProblem(err)
	}
	return u, nil
}

func (u *uploaded) discard() {
	if u.folder != "" {
		_ = os.RemoveAll(u.folder) // the system clears its folder for passing files too
	}
}

// take takes one file or field.
func (u *uploaded) take(part *multipart.Part) error {
	if part.FileName() == "" {
		b, err := io.ReadAll(io.LimitReader(part, fieldBytes))
		if err != nil {
			return arriveProblem(err)
		}
		u.fields[part.FormName()] = append(u.fields[part.FormName()], string(b))
		return nil
	}
	if len(u.files) == maxFiles {
		return refuse(http.StatusRequestEntityTooLarge, fmt.Sprintf("that is more than the page takes at a time, %d files", maxFiles),
			"give fewer files at a time")
	}
	path := u.free(fileName(part.FileName()))
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return refuse(http.StatusInsufficientStorage, "a file cannot be kept: "+err.Error())
	}
	u.files = append(u.files, path)
	_, err = io.Copy(f, part)
	closed := f.Close()
	var disk *os.PathError
	if errors.As(cmp.Or(err, closed), &disk) && disk.Path == path {
		return refuse(http.StatusInsufficientStorage, "there is no room for the files: "+disk.Err.Error())
	}
	if err != nil {
		return arriveProblem(err)
	}
	return closed
}

// free is the path for a file of that name; the second of a name has a number.
func (u *uploaded) free(name string) string {
	ext := filepath.Ext(name)
	path := filepath.Join(u.folder, name)
	for n := 2; slices.ContainsFunc(u.files, func(p string) bool { return strings.EqualFold(p, path) }); n++ {
		path = filepath.Join(u.folder, fmt.Sprintf("%s (%d)%s", strings.TrimSuffix(name, ext), n, ext))
	}
	return path
}

// DoneDoc is what a command said that may have been done in part.
type DoneDoc struct {
	Text    string `json:"text"`
	Problem string `json:"problem"` // what could not be used; "" when all was
}

// doneDoc is the answer to run for a command whose failure in part is no failure.
func doneDoc(text string, err error) (DoneDoc, error) {
	var p *problem
	if errors.As(err, &p) && p.partly {
		return DoneDoc{text, strings.Join(append([]string{p.text}, p.hints...), "\n")}, nil
	}
	return DoneDoc{Text: text}, err
}

// logs takes logs into the book, as add does.
func (s *server) logs(w http.ResponseWriter, r *http.Request) error {
	if _, err := s.desk.bookPath(); err != nil {
		return err
	}
	u, err := s.receive(w, r)
	defer u.discard()
	if err != nil {
		return err
	}
	var doc DoneDoc
	err = s.desk.change(func(path string) error {
		args := append(append(append([]string{"add"}, u.addFlags()...), "--", path), u.files...)
		doc, err = doneDoc(s.run(r.Context(), args...))
		return err
	})
	if err != nil {
		return err
	}
	return answer(w, doc)
}

// addFlags are the flags of add that the fields of a form stand for.
func (u *uploaded) addFlags() (flags []string) {
	for _, name := range []string{"walker", "column"} {
		for _, v := range u.fields[name] {
			if v != "" {
				flags = append(flags, "--"+name+"="+v)
			}
		}
	}
	if slices.Contains(u.fields["anywhere"], "true") {
		flags = append(flags, "--anywhere")
	}
	return flags
}

// siteFile takes the outline, keep-outs and landmarks of a file, as set --site does.
func (s *server) siteFile(w http.ResponseWriter, r *http.Request) error {
	u, err := s.receive(w, r)
	defer u.discard()
	if err != nil {
		return err
	}
	name := filepath.Base(u.files[0])
	ground, err := readOutline(u.files[0], name)
	if err != nil {
		return err
	}
	err = s.desk.edit("took the outline of "+name, func(b *book.Book) error { return b.SetSite(ground) })
	if err != nil {
		return err
	}
	return s.state(w)
}

func readOutline(path, name string) (*site.Site, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	out, err := site.Read(f, name)
	if err == nil {
		err = out.Validate()
	}
	return out, err
}
