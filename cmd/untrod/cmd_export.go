package main

import (
	"context"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"untrod/coverage"
	"untrod/site"
	"untrod/site/book"
	"untrod/track"
)

const exportHelp = `export writes what is in a book as files that other programs read: the site, a
file for each visit, and the named places. --rescue writes the original files as they were
added, byte for byte, and does so from a damaged book too: every file that is
still whole.`

const exportExample = `  untrod export ford.gpkg --to gpx out/
  untrod export ford.gpkg --rescue out/`

func newExport(std streams) *cobra.Command {
	var to string
	var rescue bool
	f := newFlagSet()
	f.StringVar(&to, "to", "", "`format`: geojson, kml, gpx or csv")
	f.BoolVar(&rescue, "rescue", false, "write the original files that are whole, of a damaged book too")
	cmd := &cobra.Command{
		Use:     "export BOOK --to FORMAT DIR",
		Short:   "Write a book as other files",
		Long:    exportHelp,
		Example: exportExample,
		Args: func(cmd *cobra.Command, args []string) error {
			_, known := exportFormats[to]
			switch {
			case len(args) != 2:
				return hint(usagef("a book and a folder are needed"), "such as: "+self()+" export ford.gpkg --to gpx out/")
			case rescue == (to != ""):
				return usagef("give --to with a format, or --rescue")
			case !rescue && !known:
				return usagef("--to %q: not geojson, kml, gpx or csv", to)
			case rescue:
				return nil // a damaged book may not look like one
			}
			return bookAnd("the folder", 1)(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if rescue {
				return runRescue(cmd.Context(), args[0], args[1], std)
			}
			return viewBook(args[0], func(b *book.Book) error {
				return exportBook(cmd.Context(), b, exportFormats[to], args, std)
			})
		},
	}
	useGroups(cmd, []flagGroup{{"The job", f}})
	return cmd
}

// exportFormat writes one format.
type exportFormat struct {
	ext  string
	site func(*site.Site, io.Writer) error
	log  func(io.Writer, *track.Log) error
}

var exportFormats = map[string]exportFormat{
	"geojson": {".geojson", (*site.Site).WriteGeoJSON, track.WriteGeoJSON},
	"kml":     {".kml", (*site.Site).WriteKML, track.WriteKML},
	"gpx":     {".gpx", (*site.Site).WriteGPX, track.WriteGPX},
	"csv":     {".csv", (*site.Site).WriteCSV, track.WriteCSV},
}

// exportBook writes every file of a book, all or none.
func exportBook(ctx context.Context, b *book.Book, f exportFormat, args []string, std streams) error {
	s, err := b.Site()
	if err != nil {
		return err
	}
	var outs []output
	ground := "no outline yet"
	if s != nil {
		outs, ground = []output{{"site" + f.ext, "the site", func(w io.Writer) error { return f.site(s, w) }}}, "the site"
	}
	sources, err := b.Sources()
	if err != nil {
		return err
	}
	visits, err := exportVisits(sources, f)
	if err != nil {
		return err
	}
	outs = append(outs, visits...)
	places, err := b.Places()
	if err != nil {
		return err
	}
	if len(places) > 0 {
		outs = append(outs, output{"places" + f.ext, "the named places", func(w io.Writer) error { return f.log(w, placesLog(places)) }})
	}
	finds, err := findsOutput(b)
	if err != nil {
		return err
	}
	outs = append(outs, finds...)
	folder, err := openOutFolder("DIR", args[1])
	if err != nil {
		return err
	}
	defer folder.discard()
	if err := folder.write(ctx, outs); err != nil {
		return err
	}
	if err := folder.commit(); err != nil {
		return err
	}
	fmt.Fprintf(std.out, "Written to %s: %s, %s, %s.\n", args[1], ground, counted(len(visits), "visit"), counted(len(places), "place"))
	return nil
}

// findsOutput is the table of finds, whatever the format of the rest: finds.csv is
// what find import reads back.
func findsOutput(b *book.Book) ([]output, error) {
	finds, err := b.Finds()
	if err != nil || len(finds) == 0 {
		return nil, err
	}
	visits, err := b.Sessions()
	if err != nil {
		return nil, err
	}
	names := map[int64]string{}
	for _, v := range visits {
		names[v.ID] = v.Name
	}
	visit := func(id int64) string { return names[id] }
	photos := func(f site.Find) string { return strings.Join(f.Photos, " ") }
	return []output{{"finds.csv", "the finds", func(w io.Writer) error { return site.WriteFinds(w, finds, visit, photos) }}}, nil
}

func exportVisits(sources []coverage.Source, f exportFormat) ([]output, error) {
	var outs []output
	taken := map[string]bool{}
	for _, src := range sources {
		visits, err := src.Visits()
		if err != nil {
			return nil, err
		}
		for _, v := range visits {
			log := &track.Log{Tracks: []track.Track{{Name: v.Name, Segments: v.Segments}}}
			name := freeName("visit "+v.Name, f.ext, taken)
			outs = append(outs, output{name, v.Name, func(w io.Writer) error { return f.log(w, log) }})
		}
	}
	return outs, nil
}

func placesLog(places []book.Place) *track.Log {
	l := &track.Log{}
	for _, p := range places {
		at := track.NoFix
		at.Pos, at.T = p.Pos, p.T
		l.Waypoints = append(l.Waypoints, track.Waypoint{Fix: at, Name: p.Name, Desc: p.Desc, Sym: p.Sym, Type: roleWord(p.Role)})
	}
	return l
}

// freeName is a name fit for any file system and not taken yet.
func freeName(name, ext string, taken map[string]bool) string {
	name = strings.Map(func(r rune) rune {
		if r < ' ' || strings.ContainsRune(`<>:"/\|?*`, r) {
			return '-'
		}
		return r
	}, name)
	if runes := []rune(name); len(runes) > 80 {
		name = string(runes[:80])
	}
	name = strings.TrimRight(name, " .")
	for i := 1; ; i++ {
		full := name + ext
		if i > 1 {
			full = fmt.Sprintf("%s (%d)%s", name, i, ext)
		}
		if key := strings.ToLower(full); !taken[key] {
			taken[key] = true
			return full
		}
	}
}

// runRescue writes the originals that are whole.
func runRescue(ctx context.Context, bookPath, dir string, std streams) error {
	folder, err := openOutFolder("DIR", dir)
	if err != nil {
		return err
	}
	defer folder.discard()
	taken := map[string]bool{}
	saved, faults, err := book.Rescue(ctx, bookPath, func(name string, r io.Reader) error {
		base := path.Base(strings.ReplaceAll(name, `\`, "/"))
		ext := path.Ext(base)
		o := output{name: freeName(strings.TrimSuffix(base, ext), ext, taken), write: func(w io.Writer) error {
			_, err := io.Copy(w, r)
			return err
		}}
		return folder.write(ctx, []output{o})
	})
	if err != nil {
		return err
	}
	if err := folder.commit(); err != nil {
		return err
	}
	for _, f := range faults {
		fmt.Fprintf(std.err, "untrod: %s\n", f.What)
	}
	fmt.Fprintf(std.out, "Saved %s to %s, as added.\n", counted(saved, "original file"), dir)
	if slices.ContainsFunc(faults, func(f book.Fault) bool { return f.What != "" }) {
		return &skippedError{len(faults), saved + len(faults)}
	}
	return nil
}
