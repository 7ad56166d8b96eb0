package main

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"untrod/site/book"
)

// bookAnd wants a book as the first argument, and at most more arguments after it;
// -1 for any number.
func bookAnd(what string, more int) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		switch {
		case len(args) == 0:
			return hint(usagef("no book given"), "name it first: "+cmd.UseLine(),
				"a new one is made by: "+self()+" new BOOK --site outline.geojson")
		case more >= 0 && len(args) > 1+more:
			return usagef("%s takes no %q", cmd.Name(), args[1+more])
		}
		return needBook(args[0], what)
	}
}

// needBook tells a file that is no book from one that is not there.
func needBook(path, what string) error {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return hint(fmt.Errorf("%s: %w", path, plainFileError(err)),
			"the book comes first, then "+what, "a new book is made by: "+self()+" new "+quoted(path))
	case info.IsDir():
		return fmt.Errorf("%s: a folder, not a book", path)
	case !isBook(path):
		return hint(fmt.Errorf("%s: not a book", path), "the book comes first, then "+what)
	}
	return nil
}

// viewBook opens a book to read, for the time of f.
func viewBook(path string, f func(*book.Book) error) error { return withBook(path, book.View, f) }

// changeBook opens a book to change it, for the time of f.
func changeBook(path string, f func(*book.Book) error) error { return withBook(path, book.Open, f) }

func withBook(path string, open func(string) (*book.Book, error), f func(*book.Book) error) (err error) {
	b, err := open(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, b.Close()) }() // also when f panics: the page goes on
	return f(b)
}
