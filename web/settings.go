package web

import (
	"bytes"
	"cmp"
	"maps"
	"net/http"
	"slices"

	"untrod/report"
	"untrod/site/book"
)

// SettingsDoc is what the book says, and all that it could.
type SettingsDoc struct {
	Says  map[string]string `json:"says"`
	Known []Setting         `json:"known"`
}

func (s *server) settings(w http.ResponseWriter, _ *http.Request) error {
	doc := SettingsDoc{Known: s.cfg.Lent.Known}
	err := s.desk.look(func(b *book.Book) (err error) {
		doc.Says, err = b.Settings()
		return err
	})
	if err != nil {
		return err
	}
	return answer(w, doc)
}

// putSettings sets some settings: all of them, or none. An empty value is as good as
// "default".
func (s *server) putSettings(w http.ResponseWriter, r *http.Request) error {
	var doc map[string]string
	if err := readDoc(w, r, &doc); err != nil {
		return err
	}
	if len(doc) == 0 {
		return s.state(w)
	}
	err := s.desk.change(func(path string) error {
		_, err := s.run(r.Context(), append([]string{"set", "--", path}, s.settingWords(doc)...)...)
		return err
	})
	if err != nil {
		return err
	}
	return s.state(w)
}

// settingWords are settings as set takes them, those that are taken out first: one
// way of saying a thing may drive out the other.
func (s *server) settingWords(doc map[string]string) (out []string) {
	var later []string
	for _, name := range slices.Sorted(maps.Keys(doc)) {
		value := cmp.Or(doc[name], "default")
		switch {
		case value == "default":
			out = append(out, name, value)
		case s.isList(name):
			later = append(later, pairs(name, words(value))...)
		default:
			later = append(later, name, value)
		}
	}
	return append(out, later...)
}

func (s *server) isList(name string) bool {
	return slices.ContainsFunc(s.cfg.Lent.Known, func(k Setting) bool { return k.Name == name && k.List })
}

// coverage answers with every number, as cover --json prints them.
func (s *server) coverage(w http.ResponseWriter, _ *http.Request) error {
	now, err := s.desk.current()
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := report.WriteJSON(&b, now.result); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(b.Bytes())
	return nil
}

// notes answers with the summary in words, as cover prints it.
func (s *server) notes(w http.ResponseWriter, _ *http.Request) error {
	now, err := s.desk.current()
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := report.Text(&b, now.result, now.units); err != nil {
		return err
	}
	return answer(w, map[string]string{"text": b.String()})
}

// CautionDoc is one thing to mind before and on a search.
type CautionDoc struct {
	Title  string `json:"title"`
	Text   string `json:"text"`
	Source string `json:"source"`
}

func (s *server) cautions(w http.ResponseWriter, _ *http.Request) error {
	var out []CautionDoc
	for _, c := range report.Cautions() {
		out = append(out, CautionDoc{c.About, c.Words, c.Source})
	}
	return answer(w, out)
}
