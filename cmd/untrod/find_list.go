package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"untrod/site"
	"untrod/site/book"
)

const findListHelp = `list tells what is in the log of finds, by time. With --csv it is a table for
spreadsheets on the output, which import reads back.`

func newFindList(std streams) *cobra.Command {
	var asJSON, asCSV bool
	f := newFlagSet()
	f.BoolVar(&asJSON, "json", false, "print it as JSON")
	f.BoolVar(&asCSV, "csv", false, "print it as a table, in UTF-8 with commas")
	cmd := &cobra.Command{
		Use:     "untrod find BOOK list",
		Long:    findListHelp,
		Example: "  untrod find ford.gpkg list\n  untrod find ford.gpkg list --csv > finds.csv",
		Args:    bookAnd("nothing more", 0),
		RunE: func(_ *cobra.Command, args []string) error {
			if asJSON && asCSV {
				return usagef("give --json or --csv, not both")
			}
			return viewBook(args[0], func(b *book.Book) error {
				l, err := listedFinds(b)
				switch {
				case err != nil:
					return err
				case asJSON:
					return printJSON(std.out, l.json())
				case asCSV:
					return site.WriteFinds(std.out, l.finds, l.visitNumber, l.photoFiles)
				}
				return l.write(std.out)
			})
		},
	}
	useGroups(cmd, []flagGroup{{"The job", f}})
	return cmd
}

// findList is the log of finds, by time, those without last.
type findList struct {
	*findGround
	finds  []site.Find
	photos map[string]book.Photo // by SHA-256
}

func listedFinds(b *book.Book) (*findList, error) {
	g, err := openFinds(b)
	if err != nil {
		return nil, err
	}
	l := &findList{findGround: g, photos: map[string]book.Photo{}}
	if l.finds, err = b.Finds(); err != nil {
		return nil, err
	}
	slices.SortStableFunc(l.finds, func(x, y site.Find) int {
		switch a, b := x.T.Known(), y.T.Known(); {
		case a && b:
			return int(min(1, max(-1, x.T-y.T)))
		case a:
			return -1
		case b:
			return 1
		}
		return 0
	})
	photos, err := b.Photos()
	for _, p := range photos {
		l.photos[p.SHA256] = p
	}
	return l, err
}

func (l *findList) visitNumber(id int64) string { return fmt.Sprint(id) }

func (l *findList) photoFiles(f site.Find) string {
	var names []string
	for _, sha := range f.Photos {
		if p := l.photos[sha]; p.File != "" {
			names = append(names, p.File)
		} else {
			names = append(names, p.Name)
		}
	}
	return strings.Join(names, ";")
}

func (l *findList) write(out io.Writer) error {
	if len(l.finds) == 0 {
		fmt.Fprintln(out, "No finds in the book.")
		return nil
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "Find\ttime (UTC)\tname\treading\tdepth\tverdict\tmaterial\tyears\tvisit\tremarks")
	kept, scrap := 0, 0
	for _, f := range l.finds {
		remarks := l.remarks(f)
		if n := len(f.Photos); n > 0 {
			remarks = append(remarks, counted(n, "photo"))
		}
		fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", f.ID, findTime(f), oneLine(f.Name), oneLine(f.Reading), findDepth(f),
			f.Verdict, oneLine(f.Material), findYears(f), findVisit(f), strings.Join(remarks, ", "))
		switch f.Verdict {
		case site.Keeper:
			kept++
		case site.Scrap:
			scrap++
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(out, "\n%s: %s, %d scrap, %d unknown.\n", counted(len(l.finds), "find"), counted(kept, "keeper"), scrap, len(l.finds)-kept-scrap)
	return nil
}

func findTime(f site.Find) string {
	if !f.T.Known() {
		return "-"
	}
	return f.T.Time().Format("2006-01-02 15:04")
}

func findDepth(f site.Find) string {
	if math.IsNaN(f.DepthM) {
		return ""
	}
	return fmt.Sprintf("%.3g cm", f.DepthM*100)
}

func findYears(f site.Find) string {
	switch {
	case f.From == site.NoYear && f.To == site.NoYear:
		return ""
	case f.From == site.NoYear:
		return fmt.Sprintf("to %d", f.To)
	case f.To == site.NoYear:
		return fmt.Sprintf("from %d", f.From)
	case f.From == f.To:
		return fmt.Sprint(f.From)
	}
	return fmt.Sprintf("%d to %d", f.From, f.To)
}

func findVisit(f site.Find) string {
	if f.Session == 0 {
		return "-"
	}
	return fmt.Sprint(f.Session)
}

// findsJSON is what list prints with --json.
type findsJSON struct {
	Schema string     `json:"schema"`
	Finds  []findJSON `json:"finds"`
}

// findJSON leaves out what is not known.
type findJSON struct {
	ID        int64       `json:"id"`
	Name      string      `json:"name"`
	Time      string      `json:"time,omitempty"`
	Lon       *float64    `json:"lon,omitempty"`
	Lat       *float64    `json:"lat,omitempty"`
	SdM       *float64    `json:"sd_m,omitempty"`
	Reading   string      `json:"reading,omitempty"`
	ReadingLo *float64    `json:"reading_lo,omitempty"`
	ReadingHi *float64    `json:"reading_hi,omitempty"`
	Detector  string      `json:"detector,omitempty"`
	DepthM    *float64    `json:"depth_m,omitempty"`
	Verdict   string      `json:"verdict"`
	Material  string      `json:"material,omitempty"`
	From      *int        `json:"from,omitempty"`
	To        *int        `json:"to,omitempty"`
	Note      string      `json:"note,omitempty"`
	Visit     int64       `json:"visit,omitempty"`
	Photos    []photoJSON `json:"photos,omitempty"`
	Remarks   []string    `json:"remarks,omitempty"`
}

type photoJSON struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
	File   string `json:"file,omitempty"`
}

func (l *findList) json() findsJSON {
	out := findsJSON{"untrod-finds-1", []findJSON{}}
	for _, f := range l.finds {
		j := findJSON{ID: f.ID, Name: f.Name, Time: stamp(f.T), Lon: known(f.Pos.Lon), Lat: known(f.Pos.Lat), SdM: known(f.SdM),
			Reading: f.Reading, ReadingLo: known(f.ReadingLo), ReadingHi: known(f.ReadingHi), Detector: f.Detector, DepthM: known(f.DepthM),
			Verdict: string(f.Verdict), Material: f.Material, From: knownYear(f.From), To: knownYear(f.To), Note: f.Note,
			Visit: f.Session, Remarks: l.remarks(f)}
		for _, sha := range f.Photos {
			p := l.photos[sha]
			j.Photos = append(j.Photos, photoJSON{p.Name, sha, p.File})
		}
		out.Finds = append(out.Finds, j)
	}
	return out
}

func known(v float64) *float64 {
	if math.IsNaN(v) {
		return nil
	}
	return &v
}

func knownYear(y int) *int {
	if y == site.NoYear {
		return nil
	}
	return &y
}
