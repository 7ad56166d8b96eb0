package web

import (
	"fmt"
	"net/http"
	"path"
	"slices"
	"strings"

	"untrod/coverage"
	"untrod/site/book"
)

// listVisit puts a visit on the list that a setting is, or takes it off.
func (s *server) listVisit(setting string) asking {
	return func(w http.ResponseWriter, r *http.Request) error {
		var doc struct {
			ID  int64
			Yes bool
		}
		if err := readDoc(w, r, &doc); err != nil {
			return err
		}
		err := s.desk.change(func(path string) error {
			var v visitBook
			if err := withBook(path, book.View, func(b *book.Book) (err error) {
				v, err = readVisits(b)
				return err
			}); err != nil {
				return err
			}
			list, err := v.list(setting, doc.ID, doc.Yes)
			if err != nil {
				return err
			}
			_, err = s.run(r.Context(), append([]string{"set", "--", path}, pairs(setting, list)...)...)
			return err
		})
		if err != nil {
			return err
		}
		return s.state(w)
	}
}

// pairs are what set is to be told to make a list of a setting.
func pairs(setting string, list []string) (out []string) {
	if len(list) == 0 {
		return []string{setting, "default"}
	}
	for _, word := range list {
		out = append(out, setting, word)
	}
	return out
}

// list is a setting's list with a visit put on it or taken off. A word that means
// several visits stays only while all of them do.
func (v visitBook) list(setting string, id int64, yes bool) (out []string, err error) {
	at := slices.IndexFunc(v.visits, func(s book.Session) bool { return s.ID == id })
	if at < 0 {
		return nil, errNoVisit
	}
	want := v.listed(setting)
	want[at] = yes
	for i, in := range want {
		if !in {
			continue
		}
		word, ok := v.word(i)
		if !ok {
			return nil, refuse(http.StatusConflict, fmt.Sprintf("%q has the name and the file of another visit", v.visits[i].Name),
				"add the file again under another name")
		}
		out = append(out, word)
	}
	return out, nil
}

var errNoVisit = refuse(http.StatusNotFound, "there is no such visit any more")

// word is one that means this visit alone, or this file's visits where all are one.
func (v visitBook) word(i int) (string, bool) {
	visit := v.visits[i]
	for _, word := range []string{visit.Name, visit.Name + ", " + path.Base(visit.File), path.Base(visit.File), visit.File} {
		if word == "default" || strings.TrimSpace(word) != word || strings.ContainsAny(word, "\r\n") {
			continue // set would take it for something else
		}
		means, unknown := coverage.LeftOut(v.named(), []string{word})
		others := slices.Clone(means)
		others[i] = false
		if len(unknown) == 0 && means[i] && !slices.Contains(others, true) {
			return word, true
		}
	}
	return "", false
}
