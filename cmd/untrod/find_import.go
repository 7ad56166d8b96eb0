package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"untrod/coverage"
	"untrod/site"
	"untrod/site/book"
	"untrod/track"
)

const findImportHelp = `import takes finds from tables (CSV), from waypoints (GPX, KML, GeoJSON and the
other formats of logs) and from photos (JPEG, HEIF), told by their content. Of
a table it says which column was taken for what; --column overrides that, such
as --column reading=VDI or --column depth-unit=cm.

A photo within 2 minutes of a find belongs to it; any other makes a find. It
lies where the photo says it was taken, or else where you stood then by the
log. Of folders, only photos of a visit or near the site are taken. A camera's
clock is set by those of its photos that have a place or a satellite time of
their own, or by --camera-clock. Photos are copied as they are, into a folder
beside the book or with --inside into it.

What is in the book already is not taken again.`

const findImportExample = `  untrod find ford.gpkg import finds.csv
  untrod find ford.gpkg import --zone +02:00 --camera-clock -45s photos/
  untrod find ford.gpkg import --column name=Was --column dates=dmy liste.csv`

type importOptions struct {
	zone, clock string
	inside      bool
	columns     columnsFlag
}

func newFindImport(std streams) *cobra.Command {
	var o importOptions
	f := newFlagSet()
	o.columns.addTo(f)
	zoneFlag(f, &o.zone)
	f.StringVar(&o.clock, "camera-clock", "", "how far the camera's clock is `ahead`: +1h, or -45s for one behind (default: told by the photos)")
	insideFlag(f, &o.inside)
	cmd := &cobra.Command{
		Use:     "untrod find BOOK import FILE|FOLDER...",
		Long:    findImportHelp,
		Example: findImportExample,
		Args:    bookAnd("the files and folders with finds", -1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				return hint(usagef("no files given"), "such as: "+self()+" find "+quoted(args[0])+" import finds.csv")
			}
			return runFindImport(cmd.Context(), o, args, std)
		},
	}
	useGroups(cmd, []flagGroup{{"The job", f}})
	return cmd
}

// importing is one run of import.
type importing struct {
	*findGround
	importOptions
	std    streams
	table  site.FindReading
	ahead  *float64 // --camera-clock, seconds
	photos []*importedPhoto

	rows        []importedFind
	have        map[string]int // finds of the book, by what tells them apart
	passed      []string       // found in folders, and not finds
	far         []string       // photos found in folders, of another day and place
	skipped     []coverage.Skipped
	notes       track.Notes
	readings    map[string]int // texts that are more than a number
	known       int
	keptPhotos  int
	knownPhotos []string
	placed      [noPlace + 1]int
	asides      []string // how single finds were placed, where more than that is to say
}

// importedFind is a find to be added, or one of the book that gets photos.
type importedFind struct {
	site.Find
	when  site.Moment
	visit string
	files []string // of photos
}

func runFindImport(ctx context.Context, o importOptions, args []string, std streams) error {
	imp := &importing{importOptions: o, std: std, have: map[string]int{}, readings: map[string]int{}}
	if err := imp.settings(); err != nil {
		return err
	}
	files, err := findInputs(args[1:])
	if err != nil {
		return err
	}
	if err := changeBook(args[0], func(b *book.Book) error { return imp.run(ctx, b, files) }); err != nil {
		return err
	}
	return imp.tell(args[0], len(files.paths))
}

func (imp *importing) settings() error {
	zone, err := parseZone(imp.zone)
	if err != nil {
		return err
	}
	columns, err := imp.columns.columns()
	if err != nil {
		return err
	}
	imp.table = site.FindReading{Columns: columns, Zone: zone}
	if imp.clock == "" {
		return nil
	}
	d, err := time.ParseDuration(imp.clock)
	if err != nil || d.Abs() > 400*24*time.Hour {
		return usagef("--camera-clock %q: not a length of time, such as +1h, -45s or 1h2m30s", imp.clock)
	}
	s := d.Seconds()
	imp.ahead = &s
	return nil
}

func (imp *importing) run(ctx context.Context, b *book.Book, files *inputs) (err error) {
	if imp.findGround, err = openFinds(b); err != nil {
		return err
	}
	show, done := progressBar(imp.std.err)
	defer done()
	for i, path := range files.paths {
		if err := ctx.Err(); err != nil {
			return err
		}
		if show != nil {
			show("reading finds", int64(i), int64(len(files.paths)))
		}
		if err := imp.read(path, files.found[path]); err != nil {
			imp.skip(path, files.found[path], err)
		}
	}
	if err := imp.walkAll(); err != nil {
		return err
	}
	all, err := b.Finds()
	if err != nil {
		return err
	}
	imp.settle(all)
	if err := imp.addPhotos(all); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return imp.store(b)
}

// skip says why a file gave nothing; of a folder's files, what is something else
// altogether is only counted.
func (imp *importing) skip(path string, found bool, err error) {
	if found && (isNoLog(err) || errors.Is(err, errNoFinds)) {
		imp.passed = append(imp.passed, baseName(path))
		return
	}
	imp.skipped = append(imp.skipped, coverage.Skipped{File: path, Err: err})
}

var errNoFinds = errors.New("neither a table of finds, nor waypoints, nor a photo")

func (imp *importing) read(path string, found bool) error {
	in, err := os.Open(path)
	if err != nil {
		return plainFileError(err)
	}
	defer in.Close()
	head := make([]byte, 512)
	n, err := io.ReadFull(in, head)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return plainFileError(err)
	}
	if _, err := in.Seek(0, io.SeekStart); err != nil {
		return plainFileError(err)
	}
	head = head[:n]
	switch {
	case site.PhotoFormat(head) != "":
		return imp.readPhoto(in, path, found)
	case isTable(head):
		return imp.readTable(in, path, found)
	}
	return imp.readWaypoints(in, path)
}

// isTable reports whether a file that begins with head may be a table: text, and
// neither XML, JSON nor NMEA.
func isTable(head []byte) bool {
	text := bytes.TrimLeft(head, "\ufeff \t\r\n")
	if len(text) == 0 || bytes.IndexByte([]byte("<{[$!"), text[0]) >= 0 {
		return false
	}
	utf16 := len(head) > 3 && (head[0]|head[2] == 0 || head[1]|head[3] == 0 || head[0] >= 0xfe && head[1] >= 0xfe)
	return utf16 || bytes.IndexByte(head, 0) < 0 && !bytes.HasPrefix(head, []byte("PK")) && !bytes.HasPrefix(head, []byte{0x1f, 0x8b})
}

func (imp *importing) readTable(in io.Reader, path string, found bool) error {
	table, err := site.ReadFinds(in, baseName(path), imp.table)
	if err != nil {
		if found {
			return errNoFinds // a readme, a log, any text
		}
		return hint(err, "--column says what a column holds, such as --column name=Was --column depth-unit=cm")
	}
	fmt.Fprintf(imp.std.out, "%s: %s\n", baseName(path), oneLine(table.Columns))
	imp.notes.Merge(table.Notes)
	for _, r := range table.Rows {
		f := importedFind{Find: r.Find, when: r.When, visit: r.Visit}
		for _, name := range r.Photos {
			f.files = append(f.files, filepath.Join(filepath.Dir(path), filepath.FromSlash(name)))
		}
		f.Photos = nil
		imp.rows = append(imp.rows, f)
	}
	return nil
}

func (imp *importing) readWaypoints(in io.Reader, path string) error {
	logs, err := track.Read(in, baseName(path))
	if err != nil {
		return err
	}
	n := 0
	for _, l := range logs {
		imp.notes.Merge(l.Notes)
		for _, w := range l.Waypoints {
			f := importedFind{Find: site.NoFind}
			f.Name, f.Note, f.T = w.Name, w.Desc, w.T
			if w.Pos.Valid() {
				f.Pos = w.Pos
			}
			imp.rows, n = append(imp.rows, f), n+1
		}
	}
	if n == 0 {
		return errNoFinds
	}
	return nil
}
