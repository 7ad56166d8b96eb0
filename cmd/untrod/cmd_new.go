package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"untrod/site/book"
)

const newHelp = `new makes a book: one file that keeps a site, its visits, landmarks, finds and
settings. It is an OGC GeoPackage, which map programs open too. The outline comes
from a GeoJSON, KML or GPX file with the boundary.`

const newExample = `  untrod new ford.gpkg --site outline.geojson
  untrod new ford.gpkg --site outline.kml coil 28cm swing 1.2m canopy light`

func newNew(std streams) *cobra.Command {
	var sitePath string
	f := newFlagSet()
	f.StringVar(&sitePath, "site", "", "`file` with the site's boundary, keep-outs and landmarks")
	cmd := &cobra.Command{
		Use:     "new BOOK --site FILE [NAME VALUE]...",
		Short:   "Make a book for a site",
		Long:    newHelp,
		Example: newExample,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return hint(usagef("no name for the book"), "such as: "+self()+" new ford.gpkg --site outline.geojson")
			}
			if sitePath == "" {
				return hint(usagef("which site? --site is missing"),
					"it names a GeoJSON, KML or GPX file with the boundary of the ground you search")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error { return makeBook(args[0], sitePath, args[1:], std) },
	}
	useGroups(cmd, []flagGroup{{"The job", f}})
	return cmd
}

// makeBook makes the whole book, or none.
func makeBook(path, sitePath string, words []string, std streams) (err error) {
	s, err := readSite(sitePath)
	if err != nil {
		return err
	}
	if err := s.Validate(); err != nil {
		return fmt.Errorf("%s: %w", sitePath, err)
	}
	if err := mergeSettings(map[string]string{}, words); err != nil {
		return err
	}
	if filepath.Ext(path) == "" {
		path += ".gpkg"
	}
	if _, err := os.Lstat(path); err == nil {
		return hint(fmt.Errorf("%s: is there already", path), "choose another name, or add to it: "+self()+" add "+quoted(path)+" walks/")
	}
	b, err := book.Create(path, s)
	if err != nil {
		return err
	}
	fmt.Fprintf(std.out, "Made %s: %s, %s.\n", path, orUnnamed(s.Name), counted(len(s.Landmarks), "landmark"))
	if len(words) > 0 {
		err = setAll(b, words, "", std)
	}
	if err = errors.Join(err, b.Close()); err != nil {
		os.Remove(path)
		return err
	}
	fmt.Fprintf(std.out, "Next: %s add %s walks/\n", self(), quoted(path))
	return nil
}

func orUnnamed(name string) string {
	if name == "" {
		return "an unnamed site"
	}
	return name
}

// counted is a number with its noun, in the plural where that is due.
func counted(n int, noun string) string {
	switch {
	case n == 1:
	case strings.HasSuffix(noun, "x"):
		noun += "es"
	default:
		noun += "s"
	}
	return fmt.Sprintf("%d %s", n, noun)
}
