package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"untrod/coverage"
	"untrod/report"
	"untrod/site"
	"untrod/track"
)

// usualCanopy is taken when nothing is said: a wrong guess in the open gives too
// low a figure, and that does less harm than one too high.
const usualCanopy = "light"

const coverHelp = `cover reads the logs of one or more visits and tells what percent of the site
the coil passed over at least, and most likely, once the receiver's error is
allowed for; how much was walked twice, and where the gaps are.

BOOK is a book made with untrod new: its visits, site and settings are taken,
and flags override its settings for this run. Or name loose files: LOG is a file
(GPX, KML, KMZ, GeoJSON, NMEA, FIT, TCX or CSV, also as .gz or in a .zip), a
folder of them, or a pattern in quotes. The site file is GeoJSON, KML or GPX
with the boundary; without --site the outline is drawn round the searched
ground.`

const coverExample = `  untrod cover ford.gpkg --out result
  untrod cover --site site.geojson --swath 1.5m --out result walk1.gpx walk2.gpx
  untrod cover --site site.kml --coil 28cm --swing 1.2m --canopy dense walks/
  untrod cover --site site.kml --coil 28cm --swing 1.2m --sweep-time 1.2s \
      --accuracy 4m --depth 15cm --seeded 20 --found 15 walks/
  untrod cover --swath 5ft --units imperial 'walks/2026-*.gpx'`

func newCover(std streams) *cobra.Command {
	o := newCoverOptions(usualCanopy)
	o.groups[0].flags.BoolVar(&o.gis, "gis", false, "with --out: more files for map programs, an overlay, a picture with its place, grids and a table")
	cmd := &cobra.Command{
		Use:     "cover [flags] BOOK|LOG...",
		Short:   "Percent swept, gaps and a map from GPS logs",
		Long:    coverHelp,
		Example: coverExample,
		Args:    someLogs,
		RunE:    func(cmd *cobra.Command, args []string) error { return runCover(cmd.Context(), o, args, std) },
	}
	useGroups(cmd, o.groups)
	return cmd
}

func someLogs(_ *cobra.Command, args []string) error {
	if len(args) == 0 {
		return hint(usagef("no log files given"),
			"name GPX files or folders: untrod cover --swath 1.5m walks/")
	}
	return nil
}

// runCover is the whole of the command.
func runCover(ctx context.Context, o *coverOptions, args []string, std streams) error {
	_, err := cover(ctx, o, args, std)
	return err
}

// cover is runCover for callers that go on with the result.
func cover(ctx context.Context, o *coverOptions, args []string, std streams) (*coverage.Result, error) {
	j, err := o.prepare(args, std)
	if err != nil {
		return nil, err
	}
	defer j.close()
	if j.out != nil {
		defer j.out.discard()
	}
	show, done := progressBar(std.err)
	r, err := coverage.Assess(ctx, coverage.Input{Site: j.site, Logs: j.logs}, j.set, show)
	done()
	if err != nil {
		return nil, err
	}
	if err := j.save(ctx, j.outputs(r)); err != nil {
		return nil, err
	}
	if err := o.print(std, j, r, args); err != nil {
		return nil, err
	}
	if j.out != nil && r.Spec.Cols*r.Spec.Rows > report.MaxTIFFCells {
		fmt.Fprintf(std.err, "untrod: no GeoTIFF of %d x %d cells; a wider --cell makes one\n", r.Spec.Cols, r.Spec.Rows)
	}
	return r, j.tellOdd(std.err, r)
}

// prepare does everything that can go wrong before the long work.
func (o *coverOptions) prepare(args []string, std streams) (*job, error) {
	g, err := openGround(args, o, std)
	if err != nil {
		return nil, err
	}
	j := &job{ground: g, gis: o.gis}
	if err := j.read(o); err != nil {
		return nil, errors.Join(err, g.close())
	}
	if err := j.openOut(o.out, j.outputs(nil)); err != nil {
		return nil, errors.Join(err, g.close())
	}
	return j, nil
}

// readSite reads the site file; without one the site is nil.
func readSite(path string) (*site.Site, error) {
	if path == "" {
		return nil, nil
	}
	f, err := openNamed(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return site.Read(f, path)
}

// outputs are the files of a result, in the order they are listed; all there can
// be when r is nil.
func (j *job) outputs(r *coverage.Result) []output {
	outs := []output{
		{"map.png", "the map", func(w io.Writer) error { return report.MapPNG(w, r, j.units) }},
		{"map.svg", "the map for print", func(w io.Writer) error { return report.MapSVG(w, r, j.units) }},
		{gapsFile, "the gaps for a phone or handheld", func(w io.Writer) error { return report.GapsGPX(w, r, j.units) }},
		{"gaps.geojson", "the gaps for a map program", func(w io.Writer) error { return report.GapsGeoJSON(w, r) }},
		{"summary.json", "every number", func(w io.Writer) error { return report.WriteJSON(w, r) }},
	}
	if j.gis {
		outs = append(outs, gisOutputs(r)...)
	}
	if r != nil && r.Spec.Cols*r.Spec.Rows > report.MaxTIFFCells {
		return outs
	}
	if j.gis {
		outs = append(outs, output{"seconds.tif", "seconds searched a square metre (GeoTIFF)", func(w io.Writer) error { return report.SecondsTIFF(w, r) }})
	}
	outs = append(outs, output{"coverage.tif", "passes per cell (GeoTIFF)", func(w io.Writer) error { return report.GeoTIFF(w, r) }})
	if r == nil || r.Certainty != nil {
		outs = append(outs, output{"chance.tif", "chance swept per cell (GeoTIFF)", func(w io.Writer) error { return report.ChanceTIFF(w, r) }})
	}
	return outs
}

// gisOutputs are the files that --gis adds.
func gisOutputs(r *coverage.Result) []output {
	return []output{
		{"ground.kmz", "the ground for a globe", func(w io.Writer) error { return report.GroundKMZ(w, r) }},
		{"ground.png", "the ground alone, for a map program", func(w io.Writer) error { return report.GroundPNG(w, r) }},
		{"ground.pgw", "where ground.png lies", func(w io.Writer) error { return report.GroundWorld(w, r) }},
		{"ground.prj", "in what projection", func(w io.Writer) error { return report.GroundPRJ(w, r) }},
		{"ground.png.aux.xml", "the same in another form", func(w io.Writer) error { return report.GroundAux(w, r) }},
		{"visits.csv", "the visits, for a spreadsheet", func(w io.Writer) error { return report.VisitsCSV(w, r) }},
	}
}

// print writes the result to standard output, as text or as JSON alone.
func (o *coverOptions) print(std streams, j *job, r *coverage.Result, args []string) error {
	w := bufio.NewWriter(std.out)
	if o.json {
		return errors.Join(report.WriteJSON(w, r), w.Flush())
	}
	if err := report.Text(w, r, j.units); err != nil {
		return err
	}
	if len(r.Lanes) > 0 {
		fmt.Fprintf(w, "\nIf all lanes found were walked to lines or flags:\n  %s\n", o.lanesCommand(r.Lanes, j.path, args))
	}
	return errors.Join(j.tellWritten(w, j.outputs(r), "the map and a file of the gaps"), w.Flush())
}

// tellOdd names each input that could not be used, and warns of a site that no
// log touches.
func (j *job) tellOdd(w io.Writer, r *coverage.Result) error {
	skipped, noLogs := 0, []string(nil)
	for _, s := range r.Skipped {
		if j.found[s.File] && isNoLog(s.Err) {
			noLogs = append(noLogs, s.File)
			continue
		}
		skipped++
		why := strings.TrimPrefix(s.Err.Error(), s.File+": ")
		fmt.Fprintf(w, "untrod: skipped %s: %s\n", s.File, why)
	}
	if len(noLogs) > 0 {
		fmt.Fprintf(w, "untrod: passed over in folders, no logs: %s\n", firstFew(noLogs, 5))
	}
	if r.SweptM2 == 0 {
		fmt.Fprintln(w, "untrod: "+whyNothing(r))
	}
	if skipped == 0 {
		return nil
	}
	return &skippedError{skipped, len(j.logs)}
}

// whyNothing says why not a single cell was swept.
func whyNothing(r *coverage.Result) string {
	var most coverage.FileNote
	for _, n := range r.Notes {
		switch {
		case n.Kind == track.NoteNoTimes && r.Settings.Track.TreatAs == track.Lost:
			return n.File + ": no times in it, so searching cannot be told from walking; --treat-as searching counts all of it"
		case n.Kind == track.NoteOutside, n.Kind == track.NoteFarAway:
			return "no searching on the site in any log; is it the right site file?"
		case n.Kind.Drops() && n.Count > most.Count:
			most = n
		}
	}
	if most.Count > 0 {
		return fmt.Sprintf("no searching in any log; of %s, %d fixes were left out as %s", most.File, most.Count, most.Kind)
	}
	return "no searching in any log: nobody walked at a searching pace for long enough"
}
