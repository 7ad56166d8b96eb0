package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"untrod/site/book"
)

const dropHelp = `drop takes visits out of a book. A visit is named by its number in the list, its
name or its file. undo brings them back.`

const dropExample = `  untrod drop ford.gpkg 3
  untrod drop ford.gpkg 'second visit' walk7.gpx`

func newDrop(std streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "drop BOOK VISIT...",
		Short:   "Take visits out of a book",
		Long:    dropHelp,
		Example: dropExample,
		Args:    bookAnd("the visits to drop", -1),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 1 {
				return hint(usagef("no visit given"), self()+" list "+quoted(args[0])+" shows them")
			}
			return changeBook(args[0], func(b *book.Book) error { return drop(b, args[1:], std) })
		},
	}
	useGroups(cmd, nil)
	return cmd
}

func drop(b *book.Book, words []string, std streams) error {
	all, err := b.Sessions()
	if err != nil {
		return err
	}
	var ids []int64
	var names []string
	for _, word := range words {
		s, err := findVisits(all, word)
		if err != nil {
			return err
		}
		for _, v := range s {
			ids, names = append(ids, v.ID), append(names, v.Name)
		}
	}
	if err := b.Begin("dropped " + strings.Join(names, ", ")); err != nil {
		return err
	}
	if err := b.Drop(ids...); err != nil {
		return err
	}
	if err := forgetVisits(b, all); err != nil {
		return err
	}
	fmt.Fprintf(std.out, "Dropped %s.\n", strings.Join(names, ", "))
	return nil
}

// findVisits are the visits a word means: the one of that number or name, or all
// of that file.
func findVisits(all []book.Session, word string) ([]book.Session, error) {
	same := func(s string) bool { return strings.EqualFold(s, word) }
	var byName, byFile []book.Session
	for _, s := range all {
		if id, err := strconv.ParseInt(word, 10, 64); err == nil && id == s.ID {
			return []book.Session{s}, nil
		}
		if same(s.Name) {
			byName = append(byName, s)
		}
		if same(s.File) || same(baseName(s.File)) {
			byFile = append(byFile, s)
		}
	}
	switch {
	case len(byName) == 1:
		return byName, nil
	case len(byName) > 1:
		return nil, usagef("%d visits have the name %q: give the number", len(byName), word)
	case len(byFile) > 0:
		return byFile, nil
	}
	return nil, usagef("no visit %q in the book", word)
}

const undoHelp = `undo takes back the last change to a book: what the last add, drop, set, place or
find did, as a whole. Done again, it takes back the one before.`

func newUndo(std streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "undo BOOK",
		Short:   "Take back the last change to a book",
		Long:    undoHelp,
		Example: "  untrod undo ford.gpkg",
		Args:    bookAnd("nothing more", 0),
		RunE: func(_ *cobra.Command, args []string) error {
			return changeBook(args[0], func(b *book.Book) error {
				what, err := b.Undo()
				if errors.Is(err, book.ErrNothingToUndo) {
					return fmt.Errorf("%s: nothing to undo", args[0])
				}
				if err == nil {
					fmt.Fprintf(std.out, "Taken back: %s.\n", what)
				}
				return err
			})
		},
	}
	useGroups(cmd, nil)
	return cmd
}
