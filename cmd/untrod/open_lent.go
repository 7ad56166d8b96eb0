package main

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"untrod/site/book"
	"untrod/web"
)

// lent is what the page does by the commands.
func lent() web.Lent {
	return web.Lent{
		Run:    runForPage,
		Ground: lentGround, Demo: demoBook, Known: knownSettings(),
	}
}

// runForPage runs a command, and leaves out of what it says the lines that tell what to
// type next, and the line that announces them.
func runForPage(ctx context.Context, args []string, out, errs io.Writer) int {
	var said strings.Builder
	code := run(ctx, args, streams{&said, errs})
	announced := ""
	for line := range strings.Lines(said.String()) {
		switch {
		case strings.Contains(line, self()+" "):
			announced = ""
		case strings.HasSuffix(line, ":\n"):
			io.WriteString(out, announced)
			announced = line
		default:
			io.WriteString(out, announced+line)
			announced = ""
		}
	}
	io.WriteString(out, announced)
	return code
}

// lentGround opens a book as cover would.
func lentGround(path string) (*web.Ground, error) {
	var visits []book.Session
	err := viewBook(path, func(b *book.Book) (err error) {
		visits, err = b.Sessions()
		return err
	})
	if err != nil {
		return nil, err
	}
	if len(visits) == 0 {
		return &web.Ground{Close: func() error { return nil }}, nil
	}
	o := newCoverOptions(usualCanopy)
	g, err := openGround([]string{path}, o, streams{io.Discard, io.Discard})
	if err != nil {
		return nil, forPage(err)
	}
	j := &job{ground: g}
	out := &web.Ground{Site: g.site, Visits: visits, Logs: g.logs, Close: g.close}
	err = j.read(o)
	out.Set, out.Units = j.set, j.units
	if err == nil {
		out.Finds, err = bookFinds(g)
	}
	if err == nil {
		out.Says, err = g.book.Settings()
	}
	if err != nil {
		return nil, forPage(errors.Join(err, g.close()))
	}
	return out, nil
}

// forPage gives an error the hints that help at the page, where nobody types commands.
func forPage(err error) error {
	if errors.Is(err, errNoSwath) {
		return web.Refuse("how wide is the swath?", "give the coil and the swing in the settings, or the swath as a whole")
	}
	var h *hintedError
	if !errors.As(err, &h) {
		return err
	}
	return web.Refuse(err.Error(), slices.DeleteFunc(slices.Clone(h.hints), func(line string) bool {
		return strings.Contains(line, self()+" ") || strings.Contains(line, "--")
	})...)
}

// knownSettings are all flags a book can hold.
func knownSettings() (out []web.Setting) {
	o := newCoverOptions(usualCanopy)
	o.eachSetting(func(f *pflag.Flag) {
		_, usage := pflag.UnquoteUsage(f)
		_, list := f.Value.(pflag.SliceValue)
		s := web.Setting{Name: f.Name, Usage: usage, Default: f.DefValue, List: list}
		if list {
			s.Default = ""
		}
		for _, g := range o.groups {
			if g.flags.Lookup(f.Name) != nil {
				s.Group = g.title
			}
		}
		out = append(out, s)
	})
	return out
}

// demoFinds are invented, like the site, and lie where the searcher was at their times.
//
//go:embed scene_finds.csv
var demoFinds []byte

// demoBook makes a book of the demonstration's scene by the commands, whole or not
// at all.
func demoBook(ctx context.Context, path string) (err error) {
	dir, err := os.MkdirTemp(filepath.Dir(path), ".demo-*")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	s := quillonGreen()
	if _, err := s.write(dir); err != nil {
		return err
	}
	finds := filepath.Join(dir, "finds.csv")
	if err := os.WriteFile(finds, demoFinds, 0o600); err != nil {
		return err
	}
	temp := filepath.Join(dir, filepath.Base(path))
	for _, args := range [][]string{
		{"new", "--site", filepath.Join(dir, siteFile), "--", temp, "swath", demoSwath, "canopy", demoCanopy},
		{"add", "--", temp, filepath.Join(dir, "visits")},
		{"find", "import", "--", temp, finds},
	} {
		var errs strings.Builder
		if code := run(ctx, args, streams{io.Discard, &errs}); code != exitDone {
			return errors.Join(ctx.Err(), fmt.Errorf("the demonstration could not be made: %s", errs.String()))
		}
	}
	return os.Rename(temp, path)
}
