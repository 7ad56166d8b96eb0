package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"untrod/coverage"
	"untrod/site"
	"untrod/site/book"
)

const findAddHelp = `add puts a find into the book. All but its name may be left out, and said later
with set.`

const findAddExample = `  untrod find ford.gpkg add button --time '2026-04-11 10:20' --zone +02:00
  untrod find ford.gpkg add coin --at 47.31,-31.2 --from 1700 --to 1750
  untrod find ford.gpkg add nail --visit 2 --verdict scrap --photo nail.jpg`

func newFindAdd(std streams) *cobra.Command {
	o := newFindFields()
	cmd := &cobra.Command{
		Use:     "untrod find BOOK add NAME",
		Long:    findAddHelp,
		Example: findAddExample,
		Args:    bookAnd("the name of the find", 1),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 1 {
				return hint(usagef("the find has no name"), "such as: "+self()+" find "+quoted(args[0])+" add button --reading 76")
			}
			return changeBook(args[0], func(b *book.Book) error { return addFind(b, args[1], o, std) })
		},
	}
	useGroups(cmd, []flagGroup{{"What is known of it", o.set}})
	return cmd
}

func addFind(b *book.Book, name string, o *findFields, std streams) error {
	f := site.NoFind
	f.Name = name
	if err := o.apply(&f, b); err != nil {
		return err
	}
	if err := b.Begin("added the find " + oneLine(name)); err != nil {
		return err
	}
	said, err := placeFind(b, &f)
	if err == nil {
		err = keepPhotos(b, &f, o.photos, o.inside)
	}
	if err == nil {
		f.ID, err = b.AddFind(f)
	}
	if err != nil {
		return err
	}
	return tellFind(b, "Added find ", f, said, std)
}

const findSetHelp = `set changes what is known of a find, and leaves the rest; the value none takes a
thing out. With --at none and a time, the find is put anew where you stood. Photos
are added to those it has.`

func newFindSet(std streams) *cobra.Command {
	o := newFindFields()
	var rename string
	o.set.StringVar(&rename, "name", "", "another `name`")
	cmd := &cobra.Command{
		Use:     "untrod find BOOK set FIND",
		Long:    findSetHelp,
		Example: "  untrod find ford.gpkg set 3 --verdict keeper --depth 5in\n  untrod find ford.gpkg set button --at none",
		Args:    bookAnd("the find, by number or name", 1),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 1 {
				return hint(usagef("no find given"), self()+" find "+quoted(args[0])+" list shows them")
			}
			return changeBook(args[0], func(b *book.Book) error { return setFind(b, args[1], rename, o, std) })
		},
	}
	useGroups(cmd, []flagGroup{{"What is known of it", o.set}})
	return cmd
}

func setFind(b *book.Book, word, rename string, o *findFields, std streams) error {
	all, err := b.Finds()
	if err != nil {
		return err
	}
	f, err := findCalled(all, word)
	if err != nil {
		return err
	}
	if rename != "" {
		f.Name = rename
	}
	if err := o.apply(&f, b); err != nil {
		return err
	}
	if err := b.Begin("changed the find " + oneLine(f.Name)); err != nil {
		return err
	}
	said, err := placeFind(b, &f)
	if err == nil {
		err = keepPhotos(b, &f, o.photos, o.inside)
	}
	if err == nil {
		err = b.SetFind(f)
	}
	if err != nil {
		return err
	}
	return tellFind(b, "Changed find ", f, said, std)
}

// placeFind gives a find with a time its visit and, if it has none, its place; said
// is how that came about.
func placeFind(b *book.Book, f *site.Find) (said string, err error) {
	g, err := openFinds(b)
	if err != nil || !f.T.Known() {
		return "", err
	}
	if err := g.walk(0, f.T); err != nil {
		return "", err
	}
	_, said = g.place(f)
	return said, nil
}

// tellFind says what became of a find, and what is odd about it.
func tellFind(b *book.Book, done string, f site.Find, placed string, std streams) error {
	g, err := openFinds(b)
	if err != nil {
		return err
	}
	fmt.Fprintf(std.out, "%s%s.\n", done, findTitle(f))
	if placed != "" {
		fmt.Fprintf(std.out, "  %s\n", placed)
	}
	if f.Reading != "" {
		fmt.Fprintf(std.out, "  reading %s\n", readingWords(f.Reading))
	}
	if odd := g.remarks(f); len(odd) > 0 {
		fmt.Fprintf(std.out, "  %s\n", strings.Join(odd, ", "))
	}
	return nil
}

// readingWords says what a reading was taken for.
func readingWords(text string) string {
	lo, hi, ok := coverage.ParseReading(text)
	switch {
	case !ok:
		return fmt.Sprintf("%q is kept as text, for it is no number or range", text)
	case lo == hi:
		return fmt.Sprintf("%q is %g", text, lo)
	}
	return fmt.Sprintf("%q is %g to %g", text, lo, hi)
}
