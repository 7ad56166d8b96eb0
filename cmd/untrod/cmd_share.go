package main

import (
	"bufio"
	"context"
	cryptorand "crypto/rand"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"slices"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"untrod/coverage"
	"untrod/report"
)

const shareHelp = `share writes a copy that may be shown in public: the map, the figures and a
page, without the place. The ground is turned by a random angle, north is
withheld, and no position, name, file, hash or day is told: months only. Every
file is read back and looked through for all of these; if one remains, nothing
is written.

The shape of the site stays as it is: who knows the place may know it by that.

BOOK and LOG are as for cover, and so are the other flags.`

const shareExample = `  untrod share ford.gpkg --out public
  untrod share ford.gpkg --names --dates --out for-the-club
  untrod share --site site.geojson --swath 1.5m --out public walks/`

// shareFlags are what share adds to cover's.
type shareFlags struct {
	names, dates, photos bool
	turnSeed             uint64 // 0: from chance
	group                flagGroup
}

func newShareFlags() *shareFlags {
	s := &shareFlags{}
	f := newFlagSet()
	f.BoolVar(&s.names, "names", false, "show the landmarks' names; all other names stay out")
	f.BoolVar(&s.dates, "dates", false, "tell days, not months only")
	f.BoolVar(&s.photos, "photos", false, "put in the photos of the book's finds, without their metadata; look at each: it may show the place")
	f.Uint64Var(&s.turnSeed, "turn-seed", 0, "for tests: turn by what this seed gives, which is no secret")
	f.Lookup("turn-seed").Hidden = true
	s.group = flagGroup{"The copy", f}
	return s
}

func newShare(std streams) *cobra.Command {
	o, f := newCoverOptions(usualCanopy), newShareFlags()
	job := o.groups[0].flags
	job.Lookup("out").Usage = "`folder` for the copy, empty or new (needed)"
	job.Lookup("json").Usage = "print the copy's figures as JSON, all else on standard error"
	cmd := &cobra.Command{
		Use:     "share [flags] BOOK|LOG... --out DIR",
		Short:   "A copy to show in public, without the place",
		Long:    shareHelp,
		Example: shareExample,
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) == 0:
				return hint(usagef("no book or log files given"), "name a book, or GPX files or folders: untrod share ford.gpkg --out public")
			case o.out == "":
				return hint(usagef("where should the copy go?"), "name a folder that is empty or new: --out public")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return runShare(cmd.Context(), o, f, args, std) },
	}
	useGroups(cmd, append([]flagGroup{f.group}, o.groups...))
	return cmd
}

// shareJob is a share command line that was understood, with its files found.
type shareJob struct {
	job
	set    report.ShareSettings
	photos []sharePhoto
	hidden sharePrivate
}

func runShare(ctx context.Context, o *coverOptions, f *shareFlags, args []string, std streams) error {
	j, err := f.prepare(o, args, std)
	if err != nil {
		return err
	}
	defer j.close()
	defer j.out.discard()
	show, done := progressBar(std.err)
	r, err := coverage.Assess(ctx, coverage.Input{Site: j.site, Logs: j.logs}, j.job.set, show)
	done()
	if err != nil {
		return err
	}
	s, err := report.NewShare(r, j.set)
	if err != nil {
		return err
	}
	if err := j.save(ctx, r, s); err != nil {
		return err
	}
	if err := j.print(std, o.json, s); err != nil {
		return err
	}
	return j.tellOdd(std.err, r)
}

// prepare does everything that can go wrong before the long work.
func (f *shareFlags) prepare(o *coverOptions, args []string, std streams) (*shareJob, error) {
	g, err := openGround(args, o, std)
	if err != nil {
		return nil, err
	}
	j := &shareJob{job: job{ground: g}}
	if err := j.settle(o, f, std); err != nil {
		return nil, errors.Join(err, g.close())
	}
	return j, nil
}

func (j *shareJob) settle(o *coverOptions, f *shareFlags, std streams) (err error) {
	if err := j.read(o); err != nil {
		return err
	}
	j.set = report.ShareSettings{Names: f.names, Dates: f.dates, Units: j.units}
	if j.set.TurnDeg, err = f.turn(); err != nil {
		return err
	}
	if f.photos {
		if err := j.readPhotos(std.err); err != nil {
			return err
		}
	}
	if err := j.gatherPrivate(); err != nil {
		return err
	}
	return j.openOut(o.out)
}

// turn is the angle in degrees. It must not come from the seed of the book: who has a
// statement has that.
func (f *shareFlags) turn() (float64, error) {
	if f.turnSeed != 0 {
		return 360 * rand.New(rand.NewPCG(f.turnSeed, 0)).Float64(), nil
	}
	var b [8]byte
	if _, err := cryptorand.Read(b[:]); err != nil {
		return 0, err
	}
	return 360 * float64(binary.LittleEndian.Uint64(b[:])>>11) / (1 << 53), nil
}

// openOut takes no folder that holds anything else: it would go out with the copy,
// unchecked.
func (j *shareJob) openOut(dir string) error {
	var names []string
	for _, f := range j.outputs(nil) {
		names = append(names, f.name)
	}
	entries, err := os.ReadDir(dir)
	if err != nil && !os.IsNotExist(err) {
		if info, statErr := os.Stat(dir); statErr == nil && !info.IsDir() {
			err = nil // openOutFolder says it better
		}
	}
	if err != nil && !os.IsNotExist(err) {
		return fmt.Errorf("--out %q: %w", dir, plainFileError(err))
	}
	for _, e := range entries {
		if !slices.Contains(names, e.Name()) {
			return hint(usagef("--out %q: holds %q, which would go out with the copy", dir, e.Name()),
				"name a folder that is empty or new")
		}
	}
	if j.out, err = openOutFolder("--out", dir); err != nil {
		return err
	}
	if err = j.out.refuse(names, j.inputs); err != nil {
		j.out.discard()
	}
	return err
}

// outputs are the files of a copy, in the order they are listed.
func (j *shareJob) outputs(s *report.Share) []output {
	outs := []output{
		{"share.html", "the page, map and figures", func(w io.Writer) error { return s.HTML(w) }},
		{"share.png", "the map", func(w io.Writer) error { return s.PNG(w) }},
		{"share.txt", "the figures in words", func(w io.Writer) error { return s.Text(w) }},
		{"share.json", "the figures for a program", func(w io.Writer) error { return s.JSON(w) }},
	}
	for _, p := range j.photos {
		outs = append(outs, output{p.name, "a photo of a find", func(w io.Writer) error { _, err := w.Write(p.data); return err }})
	}
	return outs
}

// save writes every file, reads it back and looks through it, and keeps them only when
// nothing is found.
func (j *shareJob) save(ctx context.Context, r *coverage.Result, s *report.Share) error {
	outs := j.outputs(s)
	if err := j.out.write(ctx, outs); err != nil {
		return err
	}
	secrets := j.hidden.secrets(r, j.set)
	leaks := secrets.Told("the words on the map", s.Drawn)
	for _, f := range outs {
		data, err := os.ReadFile(j.out.temp(f.name))
		if err != nil {
			return fmt.Errorf("%s: %w", j.out.path(f.name), plainFileError(err))
		}
		leaks = append(leaks, secrets.Leaks(f.name, data)...)
	}
	if len(leaks) > 0 {
		return leaked(leaks)
	}
	return j.out.commit()
}

// leaked says what was found.
func leaked(leaks []report.Leak) error {
	var lines []string
	for _, l := range leaks[:min(len(leaks), 10)] {
		lines = append(lines, l.String())
	}
	if n := len(leaks) - len(lines); n > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", n))
	}
	return hint(errors.New("the copy would tell what it should not, and was not written"), lines...)
}

// print writes what was made to standard output, or the figures as JSON alone.
func (j *shareJob) print(std streams, asJSON bool, s *report.Share) error {
	w := bufio.NewWriter(std.out)
	if asJSON {
		return errors.Join(s.JSON(w), w.Flush())
	}
	if err := s.Text(w); err != nil {
		return err
	}
	outs := j.outputs(s)
	fmt.Fprintf(w, "\nWritten, and read back: %s without positions, names, hashes or %s.\n",
		counted(len(outs), "file"), map[bool]string{false: "days", true: "times"}[j.set.Dates])
	columns := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	for _, f := range outs {
		fmt.Fprintf(columns, "  %s\t%s\n", j.out.path(f.name), f.what)
	}
	columns.Flush()
	fmt.Fprintln(w, "The shape of the site is as it is: who knows the place may know it by that.")
	return w.Flush()
}
