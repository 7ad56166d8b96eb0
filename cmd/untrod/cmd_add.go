package main

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"untrod/coverage"
	"untrod/report"
	"untrod/site"
	"untrod/site/book"
	"untrod/track"
)

// nearM is how close to the site a log must come to be taken up.
const nearM = 200

const addHelp = `add takes logs into a book: GPX, KML, KMZ, GeoJSON, NMEA, FIT, TCX and CSV
files, each also as .gz or in a .zip; what a file is is told by its content. Of
folders, only files that come within 200 m of the site are taken. The files
themselves are kept in the book too, byte for byte.

A file that is in the book already changes nothing. Two recordings of one walk
count once; a second walker with a receiver of their own counts with --walker.`

const addExample = `  untrod add ford.gpkg walk1.gpx walk2.fit
  untrod add ford.gpkg all-my-tracks/
  untrod add ford.gpkg --walker Ida ida.gpx`

type addOptions struct {
	walker   string
	anywhere bool
	json     bool
	columns  columnsFlag
}

func newAdd(std streams) *cobra.Command {
	var o addOptions
	f := newFlagSet()
	f.StringVar(&o.walker, "walker", "", "`name` of who carried the receiver, where several search at the same time")
	f.BoolVar(&o.anywhere, "anywhere", false, "take files that come nowhere near the site too")
	o.columns.addTo(f)
	f.BoolVar(&o.json, "json", false, "print what was done as JSON, all else on standard error")
	cmd := &cobra.Command{
		Use:     "add [flags] BOOK FILE|FOLDER...",
		Short:   "Take logs into a book",
		Long:    addHelp,
		Example: addExample,
		Args:    bookAnd("the files and folders to add", -1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				return hint(usagef("no files given"), "name files or folders after the book: "+self()+" add "+quoted(args[0])+" walks/")
			}
			return runAdd(cmd.Context(), o, args, std)
		},
	}
	useGroups(cmd, []flagGroup{{"The job", f}})
	return cmd
}

// runAdd is the whole of the command.
func runAdd(ctx context.Context, o addOptions, args []string, std streams) error {
	columns, err := o.columns.columns()
	if err != nil {
		return err
	}
	files, err := findInputs(args[1:])
	if err != nil {
		return err
	}
	a := &adding{addOptions: o, std: std}
	err = changeBook(args[0], func(b *book.Book) error {
		if err := a.begin(b, len(files.paths)); err != nil {
			return err
		}
		return a.takeAll(ctx, b, files, columns)
	})
	if err != nil {
		return a.stopped(err)
	}
	return a.tell(args[0], len(files.paths))
}

// adding is one run of add, and what came of each file.
type adding struct {
	addOptions
	std  streams
	near *site.Near // nil for a book without an outline: all files are taken

	taken   []takenFile
	known   []string
	far     []string
	noLogs  []string // found in folders, and no logs at all
	noTimes []string // found in folders, lines that may never have been walked
	refused []coverage.Skipped
	odd     []string // notes on the files taken
}

type takenFile struct {
	name string
	book.Taken
}

func (a *adding) begin(b *book.Book, files int) error {
	s, err := b.Site()
	if err != nil {
		return err
	}
	if s != nil {
		if a.near, err = s.Near(nearM); err != nil {
			return err
		}
	}
	return b.Begin("added " + counted(files, "file"))
}

// read is a file made ready, or why it cannot be.
type read struct {
	*book.Prepared
	err error
}

// takeAll reads the files, as many at a time as there are cores, and takes them in
// by order of name, each whole or not at all.
func (a *adding) takeAll(ctx context.Context, b *book.Book, files *inputs, columns track.Columns) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	sources, found := files.sources()
	all := make([]book.File, len(sources))
	for i, s := range sources {
		all[i] = book.File{Name: s.Name, Walker: a.walker, Open: s.Open, CSV: columns}
	}
	show, done := progressBar(a.std.err)
	defer done()
	for i, r := range readAhead(ctx, all) {
		if show != nil {
			show("adding files", int64(i), int64(len(sources)))
		}
		name := sources[i].Name
		if err := a.take(ctx, b, name, found[name], <-r); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// readAhead starts reading every file, a few ahead of the one that is asked for.
func readAhead(ctx context.Context, files []book.File) func(func(int, chan read) bool) {
	return func(yield func(int, chan read) bool) {
		results := make([]chan read, len(files))
		start := func(i int) {
			if i >= len(files) {
				return
			}
			results[i] = make(chan read, 1)
			go func() {
				p, err := book.Prepare(ctx, files[i])
				results[i] <- read{p, err}
			}()
		}
		ahead := runtime.GOMAXPROCS(0)
		for i := range ahead {
			start(i)
		}
		for i := range files {
			if !yield(i, results[i]) {
				return
			}
			results[i] = nil
			start(i + ahead)
		}
	}
}

func (a *adding) take(ctx context.Context, b *book.Book, name string, found bool, r read) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if r.err != nil {
		if found && isNoLog(r.err) {
			a.noLogs = append(a.noLogs, name)
		} else {
			a.refused = append(a.refused, coverage.Skipped{File: name, Err: r.err})
		}
		return nil
	}
	switch {
	case !a.anywhere && a.near != nil && !a.near.AnyOf(r.Logs):
		a.far = append(a.far, name)
		return nil
	case found && !anyTime(r.Logs):
		a.noTimes = append(a.noTimes, name)
		return nil
	}
	t, err := b.Take(ctx, r.Prepared)
	switch {
	case err != nil:
		return fmt.Errorf("%s: %w", name, err)
	case t.Known:
		a.known = append(a.known, name)
	default:
		a.taken = append(a.taken, takenFile{name, t})
		a.noteOdd(r.Logs)
	}
	return nil
}

// noteOdd keeps what a user should see at once: how a table was read, and what of a
// file was lost.
func (a *adding) noteOdd(logs []*track.Log) {
	for _, l := range logs {
		for _, n := range l.Notes.List() {
			switch n.Kind {
			case track.NoteColumns, track.NoteTruncated, track.NoteBadXML, track.NoteNoDate:
				a.odd = append(a.odd, n.Example)
			}
		}
	}
}

// anyTime reports whether any fix has a time; files of waypoints alone need none.
func anyTime(logs []*track.Log) bool {
	fixes := 0
	for _, l := range logs {
		fixes += l.Fixes()
		for _, t := range l.Tracks {
			for _, s := range t.Segments {
				if slices.ContainsFunc(s, func(f track.Fix) bool { return f.T.Known() }) {
					return true
				}
			}
		}
	}
	return fixes == 0
}

// isNoLog tells a file that is something else altogether from a damaged log.
func isNoLog(err error) bool {
	var other *track.UnsupportedError
	return errors.As(err, &other) || errors.Is(err, coverage.ErrNoTrack)
}

// stopped says what is safe when the run broke off.
func (a *adding) stopped(err error) error {
	if len(a.taken) > 0 {
		fmt.Fprintf(a.std.err, "untrod: %s safe in the book before it stopped; the same command goes on from there\n",
			counted(len(a.taken), "file"))
	}
	return err
}

// tell says what came of all files.
func (a *adding) tell(path string, given int) error {
	if a.json {
		if err := a.writeJSON(a.std.out); err != nil {
			return err
		}
	} else {
		a.write(a.std.out, path)
	}
	for _, s := range a.refused {
		fmt.Fprintf(a.std.err, "untrod: skipped %s: %s\n", s.File, strings.TrimPrefix(s.Err.Error(), s.File+": "))
	}
	if len(a.refused) > 0 {
		return &skippedError{len(a.refused), given}
	}
	return nil
}

func (a *adding) write(w io.Writer, path string) {
	visits, places := 0, []book.Place(nil)
	for _, t := range a.taken {
		visits += len(t.Sessions)
		places = append(places, t.Places...)
		for _, s := range t.Sessions {
			fmt.Fprintf(w, "  %s  %s, %s\n", dayOf(s.Start), report.Printable(s.Name), counted(s.Fixes, "fix"))
		}
	}
	for _, note := range a.odd[:min(len(a.odd), 10)] {
		fmt.Fprintf(w, "  %s\n", report.Printable(note))
	}
	fmt.Fprintf(w, "Added %s from %s to %s.\n", counted(visits, "visit"), counted(len(a.taken), "file"), path)
	several := func(names []string, what string) {
		if len(names) > 0 {
			fmt.Fprintf(w, "%s %s: %s\n", counted(len(names), "file"), what, firstFew(names, 5))
		}
	}
	several(a.known, "in the book already")
	several(a.far, fmt.Sprintf("passed over, nowhere within %d m of the site", nearM))
	several(a.noTimes, "passed over, lines without times (name the file itself if it was walked)")
	several(a.noLogs, "passed over, no logs")
	if len(places) > 0 {
		fmt.Fprintf(w, "Waypoints: %s\n", placesLine(places))
		fmt.Fprintf(w, "  to make one something else: %s place %s NAME landmark|mark|find|nothing\n", self(), quoted(path))
	}
}

func firstFew(names []string, n int) string {
	if len(names) > n {
		return report.Printable(strings.Join(names[:n], ", ")) + fmt.Sprintf(" and %d more", len(names)-n)
	}
	return report.Printable(strings.Join(names, ", "))
}

func dayOf(t track.Instant) string {
	if !t.Known() {
		return "no date   "
	}
	return t.Time().Format("2006-01-02")
}

// addedJSON is what add prints with --json.
type addedJSON struct {
	Schema     string        `json:"schema"`
	Visits     []sessionJSON `json:"visits"`
	Known      []string      `json:"known"`
	PassedOver []string      `json:"passed_over"`
	NoTimes    []string      `json:"no_times"`
	NoLogs     []string      `json:"no_logs"`
	Skipped    []skippedJSON `json:"skipped"`
}

type skippedJSON struct {
	File string `json:"file"`
	Why  string `json:"why"`
}

func (a *adding) writeJSON(w io.Writer) error {
	out := addedJSON{"untrod-added-1", []sessionJSON{}, orEmpty(a.known), orEmpty(a.far), orEmpty(a.noTimes), orEmpty(a.noLogs), []skippedJSON{}}
	for _, t := range a.taken {
		for _, s := range t.Sessions {
			out.Visits = append(out.Visits, jsonOf(s))
		}
	}
	for _, s := range a.refused {
		out.Skipped = append(out.Skipped, skippedJSON{s.File, s.Err.Error()})
	}
	return printJSON(w, out)
}

func orEmpty(s []string) []string { return append([]string{}, s...) }

func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// placesLine counts places by what they were taken for, with their names.
func placesLine(places []book.Place) string {
	names := map[site.Role][]string{}
	var order []site.Role
	for _, p := range places {
		if names[p.Role] == nil {
			order = append(order, p.Role)
		}
		names[p.Role] = append(names[p.Role], report.Printable(cmp.Or(p.Name, "unnamed")))
	}
	var parts []string
	for _, r := range order {
		parts = append(parts, fmt.Sprintf("%s (%s)", counted(len(names[r]), roleNoun(r)), firstFew(names[r], 4)))
	}
	return strings.Join(parts, "; ")
}

func roleNoun(r site.Role) string {
	if r == site.RoleNone {
		return "place that counts as nothing new"
	}
	return string(r)
}

// baseName is the last part of a source's name.
func baseName(name string) string { return filepath.Base(filepath.FromSlash(name)) }
