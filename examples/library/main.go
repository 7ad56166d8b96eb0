// Library shows the packages at work without the command line: it reads a site
// and the logs of some visits, and prints the percent swept and the gaps.
//
//	go run ./examples/library examples/tallow-field/site.geojson examples/tallow-field/walks/*.gpx
package main

import (
	"context"
	"fmt"
	"io"
	"os"

	"untrod/coverage"
	"untrod/site"
	"untrod/track"
)

func main() {
	if len(os.Args) < 3 {
		fmt.Fprintln(os.Stderr, "usage: library SITE LOG...")
		os.Exit(2)
	}
	if err := run(os.Stdout, os.Args[1], os.Args[2:]); err != nil {
		fmt.Fprintln(os.Stderr, "library:", err)
		os.Exit(1)
	}
}

func run(w io.Writer, sitePath string, logPaths []string) error {
	ground, err := readSite(sitePath)
	if err != nil {
		return err
	}
	in := coverage.Input{Site: ground}
	for _, path := range logPaths {
		open := func() (io.ReadCloser, error) { return os.Open(path) }
		in.Logs = append(in.Logs, coverage.Source{Name: path, Open: open})
	}

	set := coverage.DefaultSettings()
	set.SwathM = 1.28 // a 28 cm coil swung 1 m
	set.Position.Canopy = "open"
	if set.Position.Receiver, err = track.Canopy("open"); err != nil {
		return err
	}
	r, err := coverage.Assess(context.Background(), in, set, nil)
	if err != nil {
		return err
	}

	fmt.Fprintf(w, "%s: at least %.1f %% of %.0f m2 swept, most likely %.1f %%, as logged %.1f %%\n",
		r.Site.Name, r.Certainty.AtLeastPercent, r.SearchableM2, r.Certainty.ExpectedPercent, r.AsLoggedPercent)
	for _, g := range r.Untrodden() {
		fmt.Fprintf(w, "gap %d: %.1f m2, up to %.1f m wide, at %v\n", g.ID, g.AreaM2, g.WidestM, g.Centre)
	}
	return nil
}

func readSite(path string) (*site.Site, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return site.Read(f, path)
}
