package main

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"slices"
	"strings"

	"untrod/coverage"
	"untrod/site"
	"untrod/site/book"
	"untrod/track"
)

// walkAll reads the visits that the finds and photos may belong to.
func (imp *importing) walkAll() error {
	reach := float64(site.NearStopS)
	var moments []track.Instant
	for _, r := range imp.rows {
		moments = append(moments, r.T)
	}
	for _, p := range imp.photos {
		moments = append(moments, p.Shown, p.Fix)
		if imp.ahead != nil {
			moments = append(moments, p.Shown-track.Instant(*imp.ahead*1000))
		} else if p.Pos.Valid() && !p.Zoned && !p.Fix.Known() {
			reach = site.ClockReachS
		}
	}
	return imp.walk(reach, moments...)
}

// settle gives the rows their visits and places, and leaves out what is in the book.
func (imp *importing) settle(all []site.Find) {
	for _, f := range all {
		imp.have[sameFind(f)]++
	}
	rows := imp.rows
	imp.rows = nil
	for _, r := range rows {
		imp.visitOf(&r)
		how, said := imp.place(&r.Find)
		if key := sameFind(r.Find); imp.have[key] > 0 {
			imp.have[key]--
			imp.known++
			continue
		}
		imp.count(r.Find, how, said)
		imp.rows = append(imp.rows, r)
	}
}

func (imp *importing) count(f site.Find, how howPlaced, said string) {
	imp.placed[how]++
	if how == nearStop || how == onTheLine || how == noPlace && said != "" {
		imp.asides = append(imp.asides, fmt.Sprintf("%s: %s", cmp.Or(oneLine(f.Name), "a find without a name"), said))
	}
	if lo, hi, ok := coverage.ParseReading(f.Reading); f.Reading != "" && !(ok && lo == hi) {
		imp.readings[f.Reading]++
	}
}

// visitOf finds the visit that a row names, or that of its day.
func (imp *importing) visitOf(r *importedFind) {
	if r.visit != "" {
		hits, err := findVisits(imp.sessions, r.visit)
		if err == nil && len(hits) == 1 {
			r.Session = hits[0].ID
			return
		}
		imp.notes.Add(track.NoteBadField, func() string {
			return fmt.Sprintf("find %q: visit %q is not one visit of the book", oneLine(r.Name), r.visit)
		})
	}
	if r.when != (site.Moment{}) && !r.when.T.Known() {
		r.Session = visitOfDay(imp.sessions, r.when)
	}
}

// sameFind is what two records of one find have in common.
func sameFind(f site.Find) string {
	switch {
	case f.T.Known():
		return fmt.Sprintf("%s\x00t%d", f.Name, f.T)
	case f.Placed():
		return fmt.Sprintf("%s\x00p%.7f %.7f", f.Name, f.Pos.Lon, f.Pos.Lat)
	}
	return fmt.Sprintf("%s\x00n%s\x00%s\x00%d", f.Name, f.Reading, f.Note, f.Session)
}

// store writes all of it down as one change.
func (imp *importing) store(b *book.Book) error {
	var added []site.Find
	kept := 0
	if err := b.Begin("imported " + counted(imp.newFinds(), "find")); err != nil {
		return err
	}
	for _, r := range imp.rows {
		for _, file := range r.files {
			p, err := keepPhoto(b, file, imp.inside)
			if errors.Is(err, fs.ErrNotExist) {
				imp.notes.Add(noteNoPhoto, func() string { return fmt.Sprintf("find %q: no file %s", oneLine(r.Name), file) })
				continue
			}
			if err != nil {
				return err
			}
			if !slices.Contains(r.Photos, p.SHA256) {
				r.Photos, kept = append(r.Photos, p.SHA256), kept+1
			}
		}
		if r.ID != 0 {
			if err := b.SetFind(r.Find); err != nil {
				return err
			}
			continue
		}
		added = append(added, r.Find)
	}
	imp.keptPhotos = kept
	if len(added) == 0 {
		return nil
	}
	_, err := b.AddFinds(added)
	return err
}

const noteNoPhoto track.NoteKind = "no-photo" // named in a table, and not there

func (imp *importing) newFinds() (n int) {
	for _, r := range imp.rows {
		if r.ID == 0 {
			n++
		}
	}
	return n
}

// tell says what came of it all.
func (imp *importing) tell(path string, given int) error {
	w := imp.std.out
	added := imp.newFinds()
	fmt.Fprintf(w, "Added %s and %s to %s.\n", counted(added, "find"), counted(imp.keptPhotos, "photo"), path)
	imp.tellPlaces()
	odd := map[string]int{}
	for _, r := range imp.rows {
		for _, o := range imp.remarks(r.Find) {
			if o != withoutPlace { // is counted above
				odd[o]++
			}
		}
	}
	for _, o := range slices.Sorted(maps.Keys(odd)) {
		fmt.Fprintf(w, "  %d %s\n", odd[o], o)
	}
	for i, text := range slices.Sorted(maps.Keys(imp.readings)) {
		if i == 8 {
			fmt.Fprintf(w, "  and %d more readings of that kind\n", len(imp.readings)-i)
			break
		}
		fmt.Fprintf(w, "  reading %s\n", readingWords(oneLine(text)))
	}
	imp.tellLeft()
	for _, s := range imp.skipped {
		fmt.Fprintf(imp.std.err, "untrod: skipped %s: %s\n", s.File, strings.TrimPrefix(s.Err.Error(), baseName(s.File)+": "))
		var h *hintedError
		if errors.As(s.Err, &h) {
			fmt.Fprintf(imp.std.err, "  %s\n", strings.Join(h.hints, "\n  "))
		}
	}
	if len(imp.skipped) > 0 {
		return &skippedError{len(imp.skipped), given}
	}
	return nil
}

func (imp *importing) tellPlaces() {
	w := imp.std.out
	for how, words := range [...]string{
		ownPlace: "with a place of their own", stoodThere: "put where you stood", nearStop: "put where you stood within 2 minutes of their time",
		onTheLine: "put on the line of the log, for no stop was near their time", noPlace: "kept without a place",
	} {
		if n := imp.placed[how]; n > 0 {
			fmt.Fprintf(w, "  %d %s\n", n, words)
		}
	}
	for i, a := range imp.asides {
		if i == 8 {
			fmt.Fprintf(w, "    and %d more\n", len(imp.asides)-i)
			break
		}
		fmt.Fprintf(w, "    %s\n", a)
	}
}

// tellLeft says what was not taken, and what was odd.
func (imp *importing) tellLeft() {
	w := imp.std.out
	if imp.known > 0 {
		fmt.Fprintf(w, "%s in the book already\n", counted(imp.known, "find"))
	}
	for _, l := range []struct {
		names []string
		what  string
	}{
		{imp.knownPhotos, "in the book already"}, {imp.far, "passed over, of no visit and not near the site"},
		{imp.passed, "passed over, no finds"},
	} {
		if len(l.names) > 0 {
			fmt.Fprintf(w, "%s %s: %s\n", counted(len(l.names), "file"), l.what, oneLine(firstFew(l.names, 5)))
		}
	}
	for _, n := range imp.notes.List() {
		if n.Kind == track.NoteColumns {
			continue
		}
		fmt.Fprintf(imp.std.err, "untrod: %s", oneLine(n.Example))
		if n.Count > 1 {
			fmt.Fprintf(imp.std.err, " (and %d more of that kind)", n.Count-1)
		}
		fmt.Fprintln(imp.std.err)
	}
	if imp.keptPhotos > 0 && !imp.inside {
		if _, err := os.Stat(imp.book.PhotoFolder()); err == nil {
			fmt.Fprintf(w, "The photos lie in %s: keep it beside the book.\n", baseName(imp.book.PhotoFolder()))
		}
	}
}
