package main

import (
	"fmt"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"untrod/report"
	"untrod/site"
	"untrod/site/book"
)

const placeHelp = `place says what a named place of the logs is. Waypoints are sorted when a file
is added:
  - one whose symbol, type or first word says landmark, mark, find, target or
    dig is that;
  - one with the name of a landmark or mark of the site tells that you stood
    there, and is nothing new;
  - one saved while you stood still on a visit is a find;
  - any other is a landmark.
Without a name, the places are listed.`

const placeExample = `  untrod place ford.gpkg
  untrod place ford.gpkg 'corner post' mark
  untrod place ford.gpkg 12 nothing`

func newPlace(std streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "place BOOK [NAME landmark|mark|find|nothing]",
		Short:   "Say what a named place of the logs is",
		Long:    placeHelp,
		Example: placeExample,
		Args:    bookAnd("a place and what it is", 2),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 3 {
				return changeBook(args[0], func(b *book.Book) error { return call(b, args[1], args[2], std) })
			}
			if len(args) == 2 {
				return usagef("what is %q: landmark, mark, find or nothing?", args[1])
			}
			return viewBook(args[0], func(b *book.Book) error { return listPlaces(b, std) })
		},
	}
	useGroups(cmd, nil)
	return cmd
}

func listPlaces(b *book.Book, std streams) error {
	places, err := b.Places()
	if err != nil {
		return err
	}
	if len(places) == 0 {
		fmt.Fprintln(std.out, "No named places in the logs of this book.")
		return nil
	}
	w := tabwriter.NewWriter(std.out, 0, 0, 3, ' ', 0)
	fmt.Fprintln(w, "Place\tname\twhat it is\tfile")
	for _, p := range places {
		fmt.Fprintf(w, "%d\t%s\t%s\t%s\n", p.ID, report.Printable(p.Name), roleWord(p.Role), report.Printable(p.File))
	}
	return w.Flush()
}

func roleWord(r site.Role) string {
	if r == site.RoleNone {
		return "nothing"
	}
	return string(r)
}

var roles = map[string]site.Role{
	"landmark": site.RoleLandmark, "mark": site.RoleMark, "find": site.RoleFind, "nothing": site.RoleNone,
}

func call(b *book.Book, name, what string, std streams) error {
	role, ok := roles[what]
	if !ok {
		return usagef("%q: not landmark, mark, find or nothing", what)
	}
	places, err := b.Places()
	if err != nil {
		return err
	}
	var hits []book.Place
	for _, p := range places {
		if strings.EqualFold(strings.TrimSpace(p.Name), strings.TrimSpace(name)) {
			hits = append(hits, p)
		}
	}
	if len(hits) == 0 {
		if hits, err = placeByNumber(places, name); err != nil {
			return err
		}
	}
	if err := b.Begin("made " + name + " a " + what); err != nil {
		return err
	}
	for _, p := range hits {
		if err := b.Call(p.ID, role); err != nil {
			return err
		}
	}
	fmt.Fprintf(std.out, "%s is now %s.\n", hits[0].Name, roleWord(role))
	return nil
}

func placeByNumber(places []book.Place, word string) ([]book.Place, error) {
	id, err := strconv.ParseInt(word, 10, 64)
	for _, p := range places {
		if err == nil && p.ID == id {
			return []book.Place{p}, nil
		}
	}
	return nil, usagef("no place %q in the book", word)
}
