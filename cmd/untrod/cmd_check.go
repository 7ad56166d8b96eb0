package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"untrod/site/book"
)

const checkHelp = `check goes through a book: whether the file is whole, whether every kept original
still has the SHA-256 it came with, and whether reading each again gives the fixes
the book holds.`

func newCheck(std streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "check BOOK",
		Short:   "Whether a book is sound",
		Long:    checkHelp,
		Example: "  untrod check ford.gpkg",
		Args:    bookAnd("nothing more", 0),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runCheck(cmd.Context(), args[0], std)
		},
	}
	useGroups(cmd, nil)
	return cmd
}

func runCheck(ctx context.Context, path string, std streams) error {
	rescue := fmt.Sprintf("what is whole can be saved: %s export %s --rescue DIR", self(), quoted(path))
	b, err := book.View(path)
	if err != nil {
		return hint(err, rescue)
	}
	defer b.Close()
	show, done := progressBar(std.err)
	faults, err := b.Check(ctx, show)
	done()
	if err != nil {
		return hint(err, rescue)
	}
	if len(faults) > 0 {
		for _, f := range faults {
			fmt.Fprintf(std.out, "%s\n", f.What)
		}
		return hint(fmt.Errorf("%s: %s", path, counted(len(faults), "fault")), rescue)
	}
	sessions, err := b.Sessions()
	if err != nil {
		return err
	}
	fixes := 0
	for _, s := range sessions {
		fixes += s.Fixes
	}
	fmt.Fprintf(std.out, "Sound: %s with %d fixes, each file as it came.\n", counted(len(sessions), "visit"), fixes)
	return nil
}
