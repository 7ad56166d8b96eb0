package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"untrod/site"
	"untrod/site/book"
)

const findHelp = `find keeps the log of what was dug, in the book:

  untrod find BOOK list                 what is in the log
  untrod find BOOK add NAME ...         one more find
  untrod find BOOK set FIND ...         change what is known of one
  untrod find BOOK drop FIND...         take finds out
  untrod find BOOK import FILE|FOLDER.. finds from tables, waypoints and photos

A find without a place but with a time is put where you stood at that time, by
the log of the visit. Each of the five has help of its own: untrod find BOOK add
--help. undo takes the last one back.`

const findExample = `  untrod find ford.gpkg add button --time 2026-04-11T10:20 --depth 12cm
  untrod find ford.gpkg import finds.csv photos/
  untrod find ford.gpkg list`

// findVerbs are the things to do with finds, by their word.
var findVerbs = map[string]func(streams) *cobra.Command{
	"list": newFindList, "add": newFindAdd, "set": newFindSet, "drop": newFindDrop, "import": newFindImport,
}

// newFind hands on to the command of the verb, which may stand before or after the
// book.
func newFind(std streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:                "find BOOK list|add|set|drop|import",
		Short:              "Keep the log of finds",
		Long:               findHelp,
		Example:            findExample,
		DisableFlagParsing: true, // each verb has its own
	}
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		i := slices.IndexFunc(args, func(a string) bool { return findVerbs[a] != nil })
		switch {
		case i < 0 && slices.ContainsFunc(args, func(a string) bool { return a == "--help" || a == "-h" }):
			return cmd.Help()
		case i < 0 && len(args) == 1 && !strings.HasPrefix(args[0], "-"):
			args, i = append(args, "list"), 1
		case i < 0 || i > 1:
			return hint(usagef("what to do with the finds: list, add, set, drop or import?"),
				"such as: "+self()+" find ford.gpkg list")
		}
		verb := findVerbs[args[i]](std)
		verb.SetArgs(slices.Delete(slices.Clone(args), i, i+1))
		verb.SetOut(std.out)
		verb.SetErr(std.err)
		verb.SilenceErrors, verb.SilenceUsage = true, true
		verb.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
			return atFind(flagError(c, err), args[i])
		})
		return verb.ExecuteContext(cmd.Context())
	}
	useGroups(cmd, nil)
	return cmd
}

// atFind names the right help below an error of flags.
func atFind(err error, verb string) error {
	if h, ok := err.(*hintedError); ok {
		return hint(h.error, fmt.Sprintf("%s find BOOK %s --help lists the flags", self(), verb))
	}
	return err
}

const findDropHelp = `drop takes finds out of the book. A find is named by its number in the list, or by
its name where one alone has that. undo brings them back.`

func newFindDrop(std streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "untrod find BOOK drop FIND...",
		Long:    findDropHelp,
		Example: "  untrod find ford.gpkg drop 3 'bent nail'",
		Args:    bookAnd("the finds to drop", -1),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 1 {
				return hint(usagef("no find given"), self()+" find "+quoted(args[0])+" list shows them")
			}
			return changeBook(args[0], func(b *book.Book) error { return dropFinds(b, args[1:], std) })
		},
	}
	useGroups(cmd, nil)
	return cmd
}

func dropFinds(b *book.Book, words []string, std streams) error {
	all, err := b.Finds()
	if err != nil {
		return err
	}
	var ids []int64
	var names []string
	for _, word := range words {
		f, err := findCalled(all, word)
		if err != nil {
			return err
		}
		if !slices.Contains(ids, f.ID) {
			ids, names = append(ids, f.ID), append(names, findTitle(f))
		}
	}
	if err := b.Begin("dropped the find " + strings.Join(names, ", ")); err != nil {
		return err
	}
	if err := b.DropFind(ids...); err != nil {
		return err
	}
	fmt.Fprintf(std.out, "Dropped %s.\n", strings.Join(names, ", "))
	return nil
}

// findCalled is the find of a number, or else the one of a name.
func findCalled(all []site.Find, word string) (site.Find, error) {
	var hits []site.Find
	for _, f := range all {
		if word == fmt.Sprint(f.ID) {
			return f, nil
		}
		if strings.EqualFold(strings.TrimSpace(f.Name), strings.TrimSpace(word)) {
			hits = append(hits, f)
		}
	}
	switch len(hits) {
	case 0:
		return site.Find{}, usagef("no find %q in the book", word)
	case 1:
		return hits[0], nil
	}
	return site.Find{}, usagef("%d finds have the name %q: give the number", len(hits), word)
}

// findTitle is the number and name of a find.
func findTitle(f site.Find) string {
	if f.Name == "" {
		return fmt.Sprint(f.ID)
	}
	return fmt.Sprintf("%d, %s", f.ID, oneLine(f.Name))
}
