package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"untrod/coverage"
)

const (
	demoDir    = "untrod-demo"
	demoSwath  = "1.5m"
	demoCanopy = "open" // what its receivers are made for
)

const demoHelp = `demo makes an invented site with the logs of four visits and assesses it as
cover would. The visits are simulated, so the coverage that was truly reached
is known and printed beside the estimate. The same files come out every time.`

const demoExample = `  untrod demo
  untrod demo --dir my-demo --canopy dense`

func newDemo(std streams) *cobra.Command {
	var dir string
	f, o := newFlagSet(), newCoverOptions(demoCanopy)
	f.StringVar(&dir, "dir", demoDir, "`folder` to make")
	cmd := &cobra.Command{
		Use:     "demo",
		Short:   "Try it on an invented site with known truth",
		Long:    demoHelp,
		Example: demoExample,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return hint(usagef("demo takes no %q", args[0]), "name another folder with --dir")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return runDemo(cmd.Context(), dir, o, std) },
	}
	useGroups(cmd, []flagGroup{{"The demo", f}, o.position.group})
	return cmd
}

func runDemo(ctx context.Context, dir string, o *coverOptions, std streams) error {
	s := quillonGreen()
	if !o.position.accuracy.given() {
		o.position.canopy = cmp.Or(o.position.canopy, demoCanopy) // cover's own default is another
	}
	o.site, o.out = filepath.Join(dir, siteFile), filepath.Join(dir, "result")
	if err := o.swath.Set(demoSwath); err != nil {
		return err
	}
	if err := refuseForeign(dir, append(s.files(dir), outputPaths(o.out)...)); err != nil {
		return err
	}
	return s.demonstrate(ctx, dir, o, std)
}

// demonstrate writes the scene, assesses it, and tells the truth beside it.
func (s *scene) demonstrate(ctx context.Context, dir string, o *coverOptions, std streams) (err error) {
	folder, err := openOutFolder("--dir", dir)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			s.remove(dir)
			folder.discard()
		}
	}()
	visits, err := s.write(dir)
	if err != nil {
		return err
	}
	fmt.Fprintf(std.out, "%s is invented: the site, its name and the four visits.\nMade:\n", s.name)
	for _, path := range s.files(dir) {
		fmt.Fprintf(std.out, "  %s\n", path)
	}
	fmt.Fprintln(std.out)
	r, err := cover(ctx, o, []string{filepath.Join(dir, "visits")}, std)
	if err != nil {
		return err
	}
	truth, err := s.truePercent(visits, r)
	if err != nil {
		return err
	}
	tellTruth(std.out, truth, r, dir)
	return nil
}

func tellTruth(w io.Writer, truth float64, r *coverage.Result, dir string) {
	fmt.Fprintf(w, "\nThe truth, known because the visits were simulated:\n")
	fmt.Fprintf(w, "  truly swept  %6.1f %%\n", truth)
	if c := r.Certainty; c != nil {
		fmt.Fprintf(w, "  at least     %6.1f %%\n  most likely  %6.1f %%\n", c.AtLeastPercent, c.ExpectedPercent)
	}
	fmt.Fprintf(w, `  as logged    %6.1f %%
The difference is the receiver's error, mostly in the lanes: neat on the ground,
they drift apart and together in the log.%s

Look at %s, then try:
  %[4]s cover --site %[5]s --swath 4ft --units imperial %[6]s
  %[4]s cover --swath 1.5m --json %[7]s
`, r.AsLoggedPercent, lanesToo(r), filepath.Join(dir, "result", "map.png"), self(),
		filepath.Join(dir, siteFile), filepath.Join(dir, "visits"),
		filepath.Join(dir, "visits", "3-bandstand.gpx"))
}

// lanesToo says that the lanes found were walked as such.
func lanesToo(r *coverage.Result) string {
	if len(r.Lanes) == 0 {
		return ""
	}
	return " They were walked to flags: the\ncommand above declares that and comes nearer."
}

// self is what to type for this program: `go run` leaves no untrod behind.
func self() string {
	if path, err := os.Executable(); err == nil && strings.Contains(path, "go-build") {
		return "go run ./cmd/untrod"
	}
	return "untrod"
}

func outputPaths(dir string) []string {
	var out []string
	for _, o := range (&job{}).outputs(nil) {
		out = append(out, filepath.Join(dir, o.name))
	}
	return out
}

// refuseForeign refuses a folder that holds anything but the demo's own files.
func refuseForeign(dir string, own []string) error {
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || path == dir || slices.Contains(own, path) {
			return err
		}
		return hint(fmt.Errorf("%s: holds files that are not the demo's, such as %s", dir, filepath.Base(path)),
			"name an empty or new folder with --dir")
	})
	if _, plain := err.(*fs.PathError); plain {
		return nil // not there yet; making it will tell of anything else
	}
	return err
}
