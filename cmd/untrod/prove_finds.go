package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"slices"

	"untrod/coverage"
	"untrod/report"
	"untrod/site"
	"untrod/site/book"
)

// namedTable is a table of finds that was given, and why it cannot be used.
type namedTable struct {
	path  string
	table *report.FindTable
	err   error
}

// findTable is the table of finds that a statement counts: that of the book, or the
// one among the loose files, which then is no log.
func (g *ground) findTable() (*report.FindTable, error) {
	if g.book != nil {
		return findTableOf(g.book, g.path)
	}
	paths := g.loose.findTables()
	switch {
	case len(paths) == 0:
		return nil, hint(usagef("--finds: no table of finds among the files"),
			"give it with the logs, as untrod writes it: "+self()+" export BOOK --to gpx out/ makes out/finds.csv")
	case len(paths) > 1:
		return nil, usagef("--finds: %d tables of finds, %s: give one", len(paths), quoteAll(paths))
	}
	if i := slices.Index(g.loose.paths, paths[0]); i >= 0 {
		name := g.logs[i].Name
		g.logs = slices.DeleteFunc(slices.Clone(g.logs), func(s coverage.Source) bool { return s.Name == name })
	} else {
		g.inputs = append(g.inputs, paths[0])
	}
	if len(g.logs) == 0 {
		return nil, usagef("no log files beside %s", paths[0])
	}
	return looseFindTable(paths[0])
}

// findTableOf is the table of a book's finds, as export writes it.
func findTableOf(b *book.Book, path string) (*report.FindTable, error) {
	outs, err := findsOutput(b)
	if err != nil {
		return nil, err
	}
	var text bytes.Buffer
	if len(outs) == 0 {
		err = site.WriteFinds(&text, nil, nil, nil)
	} else {
		err = outs[0].write(&text)
	}
	if err != nil {
		return nil, err
	}
	return report.ReadFindTable(text.Bytes(), path+", finds")
}

// findTables are the paths of the tables of finds among the inputs, whether they were
// named or lie in a folder.
func (in *inputs) findTables() (paths []string) {
	for _, path := range slices.Sorted(slices.Values(slices.Concat(in.paths, in.own))) {
		if isFindTable(path) && !slices.Contains(paths, path) {
			paths = append(paths, path)
		}
	}
	return paths
}

// isFindTable looks into the file; what cannot be read is none.
func isFindTable(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, 400)
	n, _ := io.ReadFull(f, head)
	return report.IsFindTable(head[:n])
}

func looseFindTable(path string) (*report.FindTable, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, plainFileError(err))
	}
	return report.ReadFindTable(text, path)
}

// findTable is the table with the SHA-256 stated or, when there is one alone, that;
// fault says why there is none.
func (g *given) findTable(sum string) (table *report.FindTable, fault string) {
	for _, t := range g.tables {
		if t.err == nil && t.table.SHA256() == sum {
			return t.table, ""
		}
	}
	switch {
	case len(g.tables) == 0:
		return nil, "the table of finds: missing, SHA-256 " + sum
	case len(g.tables) > 1:
		return nil, fmt.Sprintf("the table of finds: none of the %d here has the SHA-256 stated, %s", len(g.tables), sum)
	case g.tables[0].err != nil:
		return nil, fmt.Sprintf("the table of finds cannot be read: %v", g.tables[0].err)
	}
	return g.tables[0].table, ""
}
