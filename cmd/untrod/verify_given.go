package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"path"
	"sync"

	"untrod/coverage"
	"untrod/report"
	"untrod/site/book"
	"untrod/track"
)

// given are the files that a statement is checked against.
type given struct {
	book   *book.Book        // nil for loose files
	bySum  map[string]source // by the SHA-256 of the file
	byName map[string]string // SHA-256 by the last part of the name
	aside  int               // files that are no part of the statement
	faults []string          // of the book
	tables []namedTable      // of finds

	mu      sync.Mutex
	lacking []string // visits that were not in their file
}

type source = coverage.Source

// openGiven takes the fingerprints of all files, and looks a book over for damage. It
// reads the tables of finds when they are wanted.
func openGiven(ctx context.Context, args []string, finds bool, std streams) (*given, error) {
	g := &given{bySum: map[string]source{}, byName: map[string]string{}}
	path, err := bookAmong(args)
	if err != nil {
		return nil, err
	}
	if path != "" {
		err = g.openBook(ctx, path, std)
	} else {
		err = g.openLoose(ctx, args, finds)
	}
	if err != nil {
		g.close()
		return nil, err
	}
	if finds && g.book != nil {
		table, err := findTableOf(g.book, path)
		g.tables = []namedTable{{path, table, err}}
	}
	return g, nil
}

func (g *given) openBook(ctx context.Context, path string, std streams) (err error) {
	if g.book, err = book.View(path); err != nil {
		return err
	}
	show, done := progressBar(std.err)
	faults, err := g.book.Check(ctx, show)
	done()
	if err != nil {
		return err
	}
	for _, f := range faults {
		g.faults = append(g.faults, "the book is damaged: "+f.What)
	}
	sources, err := g.book.Sources()
	if err != nil {
		return err
	}
	for _, s := range sources {
		visits, err := s.Visits()
		if err != nil || len(visits) == 0 {
			continue // Check has told
		}
		g.take(s, visits[0].SHA256)
	}
	return nil
}

func (g *given) openLoose(ctx context.Context, args []string, finds bool) error {
	in, err := findInputs(args)
	if err != nil {
		return err
	}
	sources, _ := in.sources()
	tables := map[string]bool{}
	if finds {
		for _, path := range in.findTables() {
			tables[path] = true
			table, err := looseFindTable(path)
			g.tables = append(g.tables, namedTable{path, table, err})
		}
	}
	for i, s := range sources {
		if tables[in.paths[i]] {
			continue
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		sum, err := fingerprint(s)
		if err != nil {
			return fmt.Errorf("%s: %w", s.Name, err)
		}
		g.take(s, sum)
	}
	return nil
}

func fingerprint(s source) (string, error) {
	in, err := s.Open()
	if err != nil {
		return "", err
	}
	defer in.Close()
	h := sha256.New()
	_, err = io.Copy(h, in)
	return hex.EncodeToString(h.Sum(nil)), plainFileError(err)
}

func (g *given) take(s source, sum string) {
	g.bySum[sum], g.byName[path.Base(s.Name)] = s, sum
}

func (g *given) close() {
	if g.book != nil {
		g.book.Close()
	}
}

// match finds each input of a statement by its SHA-256, whatever its name is now,
// and tells which are not here.
func (g *given) match(inputs []report.InputDoc, gapS float64) (sources []coverage.Source, missing []string) {
	used := map[string]bool{}
	for _, in := range inputs {
		s, ok := g.bySum[in.SHA256]
		now, changed := g.byName[path.Base(in.Name)]
		switch {
		case !ok && changed:
			missing = append(missing, fmt.Sprintf("%s: another file now, SHA-256 %s, stated %s", in.Name, now, in.SHA256))
		case !ok:
			missing = append(missing, fmt.Sprintf("%s: missing, SHA-256 %s", in.Name, in.SHA256))
		case g.book != nil && s.Walker != in.Walker:
			missing = append(missing, fmt.Sprintf("%s: carried by %q in the book, stated %q", in.Name, s.Walker, in.Walker))
		}
		used[in.SHA256] = true
		sources = append(sources, g.stated(s, in, gapS))
	}
	for sum := range g.bySum {
		if !used[sum] {
			g.aside++
		}
	}
	return sources, missing
}

// stated is a source as the statement names it, with the visits that it used alone.
func (g *given) stated(s source, in report.InputDoc, gapS float64) source {
	s.Name, s.Walker = in.Name, in.Walker
	if s.Visits == nil {
		s.CSV = in.Columns
	}
	read := readAudited(s, gapS)
	s.Visits = func() ([]coverage.Visit, error) {
		visits, _, err := read()
		if err != nil {
			return nil, err
		}
		return g.pick(visits, in), nil
	}
	return s
}

// pick are the visits that a statement used, under its names for them. The notes on
// the file go with the first.
func (g *given) pick(visits []coverage.Visit, in report.InputDoc) []coverage.Visit {
	var out []coverage.Visit
	docs := make([]report.VisitDoc, len(visits))
	for i, v := range visits {
		docs[i] = visitDoc(v)
	}
	for _, want := range in.Visits {
		found := false
		for i, d := range docs {
			if found = d.SHA256 == want.SHA256; found {
				v := visits[i]
				v.Name, v.Notes, docs[i].SHA256 = want.Name, track.Notes{}, ""
				out = append(out, v)
				break
			}
		}
		if !found {
			g.mu.Lock()
			g.lacking = append(g.lacking, fmt.Sprintf("%s: visit %q is not in it as it was", in.Name, want.Name))
			g.mu.Unlock()
		}
	}
	if len(out) > 0 {
		out[0].Notes = visits[0].Notes
	}
	return out
}
