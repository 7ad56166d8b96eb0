package main

import (
	"fmt"
	"io"
	"strings"

	"untrod/coverage"
	"untrod/site"
	"untrod/track"
)

// usualRings are those a newcomer gets (common practice, no source).
const usualRings = "5m,10m,20m"

// compareFlags are the flags of compare beside those of cover.
type compareFlags struct {
	rings   ringsFlag
	overlap string
	tables  []string
	none    bool
	group   flagGroup
}

func newCompareFlags() *compareFlags {
	c, f := &compareFlags{}, newFlagSet()
	if err := c.rings.Set(usualRings); err != nil {
		panic(err)
	}
	f.Var(&c.rings, "rings", "outer `radii` of the rings round each landmark")
	f.StringVar(&c.overlap, "overlap", "nearest", "`who` has ground in rings of several landmarks: nearest, or each")
	f.StringArrayVar(&c.tables, "finds", nil, "`file` with a table of finds (CSV), besides those of the book; may be repeated")
	f.BoolVar(&c.none, "no-finds", false, "leave all finds out and compare the searching alone")
	c.group = flagGroup{"What to compare", f}
	return c
}

func (c *compareFlags) settings() (coverage.ZoneSettings, error) {
	set := coverage.ZoneSettings{RingsM: c.rings.radii, Nearest: c.overlap == "nearest"}
	if !set.Nearest && c.overlap != "each" {
		return set, usagef("--overlap %q: not nearest or each", c.overlap)
	}
	if c.none && len(c.tables) > 0 {
		return set, usagef("--no-finds leaves out what --finds %q brings: give one of the two", c.tables[0])
	}
	return set, nil
}

// finds are those of the book and of the tables. What was odd in tables goes to w.
func (c *compareFlags) finds(g *ground, w io.Writer) (out []site.Find, err error) {
	if c.none {
		return nil, nil
	}
	if g.book != nil {
		if out, err = bookFinds(g); err != nil {
			return nil, err
		}
	}
	for _, path := range c.tables {
		rows, err := readFindTable(path, w)
		if err != nil {
			return nil, err
		}
		out = append(out, rows...)
	}
	return out, nil
}

// bookFinds gives a find whose time is not known, only its visit, a time in the middle
// of that visit, so that it counts for it.
func bookFinds(g *ground) ([]site.Find, error) {
	finds, err := g.book.Finds()
	if err != nil {
		return nil, err
	}
	sessions, err := g.book.Sessions()
	if err != nil {
		return nil, err
	}
	middle := map[int64]track.Instant{}
	for _, s := range sessions {
		if s.Start.Known() && s.End.Known() {
			middle[s.ID] = s.Start + (s.End-s.Start)/2
		}
	}
	for i := range finds {
		if t, ok := middle[finds[i].Session]; ok && !finds[i].T.Known() {
			finds[i].T = t
		}
	}
	return finds, nil
}

func readFindTable(path string, w io.Writer) ([]site.Find, error) {
	f, err := openNamed(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	t, err := site.ReadFinds(f, path, site.FindReading{})
	if err != nil {
		return nil, err
	}
	fmt.Fprintf(w, "untrod: %s: %s\n", path, t.Columns)
	for _, n := range t.Notes.List() {
		fmt.Fprintf(w, "untrod: %s: %d x %s, such as %s\n", path, n.Count, n.Kind, n.Example)
	}
	var out []site.Find
	for _, r := range t.Rows {
		if r.ReadingLo, r.ReadingHi = site.NoFind.ReadingLo, site.NoFind.ReadingHi; r.Reading != "" {
			if lo, hi, ok := coverage.ParseReading(r.Reading); ok {
				r.ReadingLo, r.ReadingHi = lo, hi
			}
		}
		out = append(out, r.Find)
	}
	return out, nil
}

// ringsFlag is a list of lengths parted by commas. A comma between digits is a
// decimal mark, as in 2,5m.
type ringsFlag struct {
	text  string
	radii []float64
}

func (f *ringsFlag) String() string { return f.text }
func (f *ringsFlag) Type() string   { return "lengths" }

func (f *ringsFlag) Set(s string) error {
	f.text, f.radii = s, nil
	part := ""
	for _, p := range strings.Split(s, ",") {
		if part += p; strings.TrimRight(p, "0123456789 ") == "" && strings.TrimSpace(p) != "" {
			part += ","
			continue
		}
		r, err := lengths.parse(part)
		if err != nil {
			return err
		}
		f.radii, part = append(f.radii, r), ""
	}
	if part != "" {
		_, err := lengths.parse(strings.TrimSuffix(part, ","))
		return err
	}
	return nil
}
