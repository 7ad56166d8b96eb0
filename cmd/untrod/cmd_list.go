package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"untrod/coverage"
	"untrod/report"
	"untrod/site"
	"untrod/site/book"
	"untrod/track"
)

const listHelp = `list tells what is in a book: its site, visits, named places and settings.`

const listExample = `  untrod list ford.gpkg
  untrod list ford.gpkg --json`

func newList(std streams) *cobra.Command {
	var asJSON bool
	f := newFlagSet()
	f.BoolVar(&asJSON, "json", false, "print it as JSON")
	cmd := &cobra.Command{
		Use:     "list BOOK",
		Short:   "What is in a book",
		Long:    listHelp,
		Example: listExample,
		Args:    bookAnd("nothing more", 0),
		RunE: func(cmd *cobra.Command, args []string) error {
			return viewBook(args[0], func(b *book.Book) error { return list(cmd.Context(), b, asJSON, std) })
		},
	}
	useGroups(cmd, []flagGroup{{"The job", f}})
	return cmd
}

// inventory is all that list tells.
type inventory struct {
	site     *site.Site
	sessions []book.Session
	places   []book.Place
	finds    []site.Find
	says     map[string]string
	copies   []coverage.Copy
	left     []bool // of sessions: the settings leave it out
}

func takeStock(ctx context.Context, b *book.Book) (inv inventory, err error) {
	if inv.site, err = b.Site(); err != nil {
		return inv, err
	}
	if inv.sessions, err = b.Sessions(); err != nil {
		return inv, err
	}
	if inv.places, err = b.Places(); err != nil {
		return inv, err
	}
	if inv.finds, err = b.Finds(); err != nil {
		return inv, err
	}
	if inv.says, err = b.Settings(); err != nil {
		return inv, err
	}
	without := inv.leaveOut()
	if counted := len(inv.sessions) - len(inv.leftOut()); counted < 2 {
		return inv, nil
	}
	logs, err := b.Sources()
	if err != nil {
		return inv, err
	}
	set := coverage.DefaultSettings()
	set.Without = without
	inv.copies, err = coverage.Copies(ctx, coverage.Input{Site: inv.site, Logs: logs}, set)
	return inv, err
}

// leaveOut marks what the settings leave out, and returns the words that mean a
// visit: one that was dropped may still be named.
func (inv *inventory) leaveOut() (without []string) {
	if inv.says["without"] == "" {
		inv.left = make([]bool, len(inv.sessions))
		return nil
	}
	words, unknown := strings.Split(inv.says["without"], "\n"), []string(nil)
	inv.left, unknown = coverage.LeftOut(visitNames(inv.sessions), words)
	return slices.DeleteFunc(words, func(w string) bool { return slices.Contains(unknown, w) })
}

// leftOut are the visits that the settings leave out.
func (inv *inventory) leftOut() (out []book.Session) {
	for i, s := range inv.sessions {
		if inv.left[i] {
			out = append(out, s)
		}
	}
	return out
}

func list(ctx context.Context, b *book.Book, asJSON bool, std streams) error {
	inv, err := takeStock(ctx, b)
	if err != nil {
		return err
	}
	if inv.site == nil { // a book that has no outline yet
		inv.site = &site.Site{}
	}
	if asJSON {
		return printJSON(std.out, inv.json())
	}
	inv.write(std)
	return nil
}

func (inv inventory) write(std streams) {
	fmt.Fprintf(std.out, "%s: %s, %s, %s\n\n", report.Printable(orUnnamed(inv.site.Name)), counted(len(inv.sessions), "visit"),
		counted(len(inv.site.Landmarks), "landmark"), counted(len(inv.finds), "find"))
	if len(inv.sessions) > 0 {
		visitTable(std.out, inv.sessions)
	}
	if left := inv.leftOut(); len(left) > 0 {
		fmt.Fprintln(std.out, "\nLeft out by the setting without, and counted for nothing:")
		for _, s := range left {
			fmt.Fprintf(std.out, "  %s (%s)\n", report.Printable(s.Name), report.Printable(s.File))
		}
	}
	if len(inv.copies) > 0 {
		fmt.Fprintln(std.out, "\nThe same walk twice, counted once:")
		for _, c := range inv.copies {
			fmt.Fprintf(std.out, "  %s (%s) is a copy of %s\n", report.Printable(c.Name), report.Printable(c.File), report.Printable(c.Of))
		}
	}
	if len(inv.places) > 0 {
		fmt.Fprintf(std.out, "\nNamed places of the logs: %s\n", placesLine(inv.places))
	}
	if len(inv.says) > 0 {
		fmt.Fprintln(std.out, "\nSettings:")
		printSettings(std, inv.says)
	}
}

func visitTable(out io.Writer, sessions []book.Session) {
	w := tabwriter.NewWriter(out, 0, 0, 3, ' ', 0)
	fmt.Fprintln(w, "Visit\tday\ttime\tfixes\tname\tfile\twalker")
	for _, s := range sessions {
		fmt.Fprintf(w, "%d\t%s\t%s\t%d\t%s\t%s\t%s\n", s.ID, dayOf(s.Start), lasted(s), s.Fixes,
			report.Printable(s.Name), report.Printable(s.File), report.Printable(s.Walker))
	}
	w.Flush()
}

// lasted is how long a visit was, in hours and minutes.
func lasted(s book.Session) string {
	if !s.Start.Known() {
		return "-"
	}
	minutes := int(s.End.Sub(s.Start)/60 + 0.5)
	return fmt.Sprintf("%d:%02d h", minutes/60, minutes%60)
}

// inventoryJSON is what list prints with --json.
type inventoryJSON struct {
	Schema    string            `json:"schema"`
	Site      string            `json:"site"`
	Landmarks []landmarkJSON    `json:"landmarks"`
	Visits    []sessionJSON     `json:"visits"`
	Copies    []copyJSON        `json:"copies"`
	Places    []placeJSON       `json:"places"`
	Finds     int               `json:"finds"` // untrod find BOOK list --json tells them
	Settings  map[string]string `json:"settings"`
}

type landmarkJSON struct {
	Name string `json:"name"`
	Kind string `json:"kind,omitempty"`
	Mark bool   `json:"mark"`
}

type sessionJSON struct {
	ID     int64  `json:"id"`
	Name   string `json:"name"`
	File   string `json:"file"`
	SHA256 string `json:"sha256"`
	Format string `json:"format"`
	Walker string `json:"walker,omitempty"`
	Start  string `json:"start,omitempty"`
	End    string `json:"end,omitempty"`
	Fixes  int    `json:"fixes"`
	// LeftOut: the setting without leaves it out.
	LeftOut bool `json:"left_out,omitempty"`
}

// copyJSON is a visit that another log tells of too.
type copyJSON struct {
	File string `json:"file"`
	Name string `json:"name"`
	Of   string `json:"of"`
	Why  string `json:"why"` // same-fixes or same-walk
}

type placeJSON struct {
	ID   int64   `json:"id"`
	Name string  `json:"name"`
	Role string  `json:"role"`
	File string  `json:"file"`
	Lon  float64 `json:"lon"`
	Lat  float64 `json:"lat"`
	Time string  `json:"time,omitempty"`
}

func (inv inventory) json() inventoryJSON {
	out := inventoryJSON{"untrod-list-1", inv.site.Name, []landmarkJSON{}, []sessionJSON{}, []copyJSON{}, []placeJSON{}, len(inv.finds), inv.says}
	for _, l := range inv.site.Landmarks {
		out.Landmarks = append(out.Landmarks, landmarkJSON{l.Name, l.Kind, l.Mark})
	}
	for i, s := range inv.sessions {
		v := jsonOf(s)
		v.LeftOut = inv.left[i]
		out.Visits = append(out.Visits, v)
	}
	for _, c := range inv.copies {
		out.Copies = append(out.Copies, copyJSON{c.File, c.Name, c.Of, c.Why})
	}
	for _, p := range inv.places {
		out.Places = append(out.Places, placeJSON{p.ID, p.Name, string(p.Role), p.File, p.Pos.Lon, p.Pos.Lat, stamp(p.T)})
	}
	return out
}

func jsonOf(s book.Session) sessionJSON {
	return sessionJSON{ID: s.ID, Name: s.Name, File: s.File, SHA256: s.SHA256, Format: s.Format, Walker: s.Walker,
		Start: stamp(s.Start), End: stamp(s.End), Fixes: s.Fixes}
}

// stamp is a moment as RFC 3339, empty when it is not known.
func stamp(t track.Instant) string {
	if !t.Known() {
		return ""
	}
	return t.Time().Format("2006-01-02T15:04:05.999Z07:00")
}
