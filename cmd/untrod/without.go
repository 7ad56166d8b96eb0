package main

import (
	"slices"
	"strings"

	"untrod/coverage"
	"untrod/site/book"
)

func visitNames(visits []book.Session) []coverage.VisitName {
	out := make([]coverage.VisitName, len(visits))
	for i, s := range visits {
		out[i] = coverage.VisitName{Name: s.Name, File: s.File}
	}
	return out
}

// checkWithout refuses the setting without where a word of it means no visit of the
// book; in a book that has none yet, any may come.
func checkWithout(b *book.Book, text string) error {
	visits, err := b.Sessions()
	if err != nil || text == "" || len(visits) == 0 {
		return err
	}
	if _, unknown := coverage.LeftOut(visitNames(visits), strings.Split(text, "\n")); len(unknown) > 0 {
		return hint(usagef("without %q: no such visit in the book", unknown[0]), "name it or its file as list shows them; where visits share a name, add the file: 'NAME, FILE'")
	}
	return nil
}

// forgetVisits takes the words that meant dropped visits alone out of the settings
// that name visits: left there, every later command would ask for them.
func forgetVisits(b *book.Book, before []book.Session) error {
	says, err := b.Settings()
	if err != nil {
		return err
	}
	after, err := b.Sessions()
	if err != nil {
		return err
	}
	for _, name := range []string{"without", "laid-out"} {
		if says[name] == "" {
			continue
		}
		words := strings.Split(says[name], "\n")
		_, never := coverage.LeftOut(visitNames(before), words)
		_, now := coverage.LeftOut(visitNames(after), words)
		kept := slices.DeleteFunc(slices.Clone(words), func(w string) bool { return slices.Contains(now, w) && !slices.Contains(never, w) })
		if len(kept) == len(words) {
			continue
		}
		if err := b.Set(name, strings.Join(kept, "\n")); err != nil {
			return err
		}
	}
	return nil
}
