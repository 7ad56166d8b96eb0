package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"untrod/coverage"
	"untrod/site"
	"untrod/site/book"
)

// ground is what a command works on: a book, or loose files.
type ground struct {
	path   string     // of the book; empty for loose files
	book   *book.Book // nil for loose files
	site   *site.Site // nil when none was given
	logs   []coverage.Source
	inputs []string        // files that no output may overwrite
	loose  *inputs         // nil for a book
	found  map[string]bool // names of sources that were found in folders, not named
}

// openGround finds the files of a command line. With a book it also takes the
// book's settings for the flags that were not given.
func openGround(args []string, o *coverOptions, std streams) (*ground, error) {
	path, err := bookAmong(args)
	if err != nil {
		return nil, err
	}
	g := &ground{path: path}
	if path == "" {
		err = g.openLoose(args, o, std)
	} else {
		err = g.openBook(o)
	}
	if err != nil {
		return nil, errors.Join(err, g.close())
	}
	return g, nil
}

func (g *ground) openLoose(args []string, o *coverOptions, std streams) (err error) {
	if g.loose, err = findInputs(args); err != nil {
		return err
	}
	for _, path := range g.loose.own {
		fmt.Fprintf(std.err, "untrod: left out %s, written by untrod and not a walk\n", path)
	}
	g.logs, g.found = g.loose.sources()
	columns, err := o.columns.columns()
	if err != nil {
		return err
	}
	for i := range g.logs {
		g.logs[i].CSV = columns
	}
	g.inputs = append([]string{o.site}, g.loose.paths...)
	g.site, err = readSite(o.site)
	return err
}

func (g *ground) openBook(o *coverOptions) (err error) {
	if g.book, err = book.View(g.path); err != nil {
		return err
	}
	g.inputs = []string{g.path, o.site}
	says, err := g.book.Settings()
	if err != nil {
		return err
	}
	if err := o.adopt(says); err != nil {
		return err
	}
	if g.logs, err = g.book.Sources(); err != nil {
		return err
	}
	if len(g.logs) == 0 {
		return hint(fmt.Errorf("%s: no visits in the book yet", g.path),
			"add the logs of your visits: "+self()+" add "+quoted(g.path)+" walks/")
	}
	if o.site != "" {
		g.site, err = readSite(o.site)
	} else {
		g.site, err = g.book.Site()
	}
	return err
}

func (g *ground) close() error {
	if g == nil || g.book == nil {
		return nil
	}
	return g.book.Close()
}

// bookAmong is the path of the book among the arguments, empty when they are
// loose files. A book goes alone.
func bookAmong(args []string) (string, error) {
	for _, arg := range args {
		if !isBook(arg) {
			continue
		}
		if len(args) > 1 {
			return "", hint(usagef("%s is a book, and goes alone", arg),
				"add the other files to it first: "+self()+" add "+quoted(arg)+" FILES")
		}
		return arg, nil
	}
	return "", nil
}

// isBook looks into the file; what cannot be read is no book.
func isBook(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, 100)
	n, err := io.ReadFull(f, head)
	return (err == nil || errors.Is(err, io.ErrUnexpectedEOF)) && book.Is(head[:n])
}
