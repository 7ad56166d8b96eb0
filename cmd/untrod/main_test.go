package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/internal/check/browser"
)

func TestMain(m *testing.M) {
	testscript.Main(closing{m}, map[string]func(){"untrod": main})
}

// closing closes the browser of the page's tests when all are done.
type closing struct{ *testing.M }

func (c closing) Run() int { return browser.Run(c.M) }

// TestScripts holds one promise of the command line per file of
// testdata/script. Each starts in a folder with a copy of the example site.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		Setup: func(env *testscript.Env) error {
			return os.CopyFS(env.WorkDir, os.DirFS(exampleDir))
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits": scriptExits,
			"holds": scriptHolds,
		},
	})
}

// scriptExits is `exits CODE COMMAND...`: the command ends with that code.
func scriptExits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE COMMAND...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	var exit *exec.ExitError
	got := 0
	if err := ts.Exec(args[1], args[2:]...); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else {
		ts.Check(err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// scriptHolds is `holds FOLDER NAME...`: the folder holds just these entries.
func scriptHolds(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: holds FOLDER NAME...")
	}
	entries, err := os.ReadDir(ts.MkAbs(args[0]))
	ts.Check(err)
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	want := slices.Sorted(slices.Values(args[1:]))
	if !slices.Equal(names, want) {
		ts.Fatalf("%s holds %q, want %q", args[0], names, want)
	}
}

// tryRun runs one command line in this process.
func tryRun(ctx context.Context, args ...string) (code int, out, errs string) {
	var o, e bytes.Buffer
	code = run(ctx, args, streams{&o, &e})
	return code, o.String(), e.String()
}

func exampleArgs(more ...string) []string {
	return append([]string{"cover", "--site", filepath.Join(exampleDir, siteFile), "--swath", "1.28m"},
		append(more, filepath.Join(exampleDir, "walks"))...)
}

// The JSON has every key it promises, and nothing else stands on the output.
func TestJSONKeys(t *testing.T) {
	code, out, errs := tryRun(t.Context(), exampleArgs("--json", "--detect", "0.7")...)
	require.Zero(t, code, errs)
	var all map[string]any
	d := json.NewDecoder(bytes.NewReader([]byte(out)))
	require.NoError(t, d.Decode(&all))
	_, err := d.Token()
	require.ErrorIs(t, err, io.EOF)
	require.Equal(t, "untrod-coverage-1", all["schema"])
	for part, keys := range map[string][]string{
		"site":     {"name", "boundary_m2", "keepout_m2", "searchable_m2", "datum"},
		"settings": {"swath_m", "cell_m"},
		"coverage": {"as_logged_percent", "swept_m2", "passes", "at_least_percent", "expected_percent",
			"interval_90_percent", "surely_swept_percent", "in_doubt_percent", "untrodden_percent"},
		"position":  {"canopy", "offset_sd_m", "drift_sd_m", "drift_time_s", "draws", "seed"},
		"detection": {"per_pass", "anywhere_percent"},
		"search":    {"effort_m2", "coverage_factor", "random_search_percent", "rewalked_percent"},
		"slivers":   {"count", "area_m2"},
	} {
		requireKeys(t, all[part], keys...)
	}
	requireKeys(t, first(t, all["sessions"]), "name", "file", "sha256", "fixes", "start", "end", "searching_s",
		"walking_s", "standing_s", "lost_s", "searching_m", "swath_m2", "new_ground_m2", "rewalked_percent", "tie_m")
	requireKeys(t, first(t, all["gaps"]), "id", "area_m2", "widest_m", "centre", "chance_swept")
	coverage := all["coverage"].(map[string]any)
	require.Len(t, coverage["interval_90_percent"], 2)
	require.InDelta(t, 100, coverage["surely_swept_percent"].(float64)+coverage["in_doubt_percent"].(float64)+
		coverage["untrodden_percent"].(float64), 0.002)
	require.LessOrEqual(t, coverage["at_least_percent"], coverage["expected_percent"])
	require.Contains(t, all, "notes")
}

func requireKeys(t *testing.T, part any, keys ...string) {
	t.Helper()
	for _, k := range keys {
		require.Contains(t, part, k)
	}
}

func first(t *testing.T, list any) any {
	t.Helper()
	require.NotEmpty(t, list)
	return list.([]any)[0]
}

func TestInterrupted(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	dir := filepath.Join(t.TempDir(), "deep", "result")
	code, out, errs := tryRun(ctx, exampleArgs("--out", dir)...)
	require.Equal(t, exitInterrupted, code)
	require.Empty(t, out)
	require.Equal(t, "untrod: interrupted, nothing was written\n", errs)
	require.NoDirExists(t, filepath.Dir(dir))
}

// The draws are the longest stage; Ctrl-C ends them too.
func TestInterruptedWhileDrawing(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
	defer cancel()
	start := time.Now()
	code, out, _ := tryRun(ctx, exampleArgs("--draws", "2000")...)
	require.Equal(t, exitInterrupted, code)
	require.Empty(t, out)
	require.Less(t, time.Since(start), 3*time.Second)
}

func TestExitCodes(t *testing.T) {
	for _, c := range []struct {
		name string
		err  error
		want int
	}{
		{"done", nil, 0},
		{"failed", errors.New("x"), 1},
		{"usage", usagef("x"), 2},
		{"hinted usage", hint(usagef("x"), "y"), 2},
		{"setting", &coverage.SettingsError{}, 2},
		{"skipped", &skippedError{1, 2}, 3},
		{"interrupted", context.Canceled, 130},
	} {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.want, exitCode(c.err)) })
	}
}

func TestBugIsReported(t *testing.T) {
	var out bytes.Buffer
	require.Equal(t, exitFailed, reportBug(&out, "index out of range", []byte("stack")))
	require.Equal(t, "untrod: bug: index out of range, please report it with the lines below\nstack", out.String())
}

// A failure while outputs are written leaves the folder as it was.
func TestFailedWriteLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "map.png"), []byte("old"), 0o600))
	f, err := openOutFolder("--out", dir)
	require.NoError(t, err)
	err = f.write(t.Context(), []output{
		{"map.png", "", func(w io.Writer) error { _, err := w.Write([]byte("new")); return err }},
		{"gaps.gpx", "", func(io.Writer) error { return errors.New("disk full") }},
	})
	require.ErrorContains(t, err, "gaps.gpx: disk full")
	f.discard()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, entries, 1)
	old, err := os.ReadFile(filepath.Join(dir, "map.png"))
	require.NoError(t, err)
	require.Equal(t, "old", string(old))
}

func TestBarLine(t *testing.T) {
	require.Equal(t, "reading", barLine("reading", 3, 0))
	require.Equal(t, "[###############...............]  50% reading", barLine("reading", 1, 2))
	require.Equal(t, "[##############################] 100% reading", barLine("reading", 9, 2))
}

// Damaged and hostile files end in a clear message, whatever they hold.
func TestHostileLogs(t *testing.T) {
	const folder = "../../../shared/data/hostile"
	var files []string
	_ = filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() {
			files = append(files, path)
		}
		return nil
	})
	if len(files) == 0 {
		t.Skip("the shared folder with hostile files is absent")
	}
	for _, path := range files {
		t.Run(filepath.Base(path), func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "result")
			code, _, errs := tryRun(t.Context(), "cover", "--swath", "1.5m", "--draws", "20", "--out", dir, path)
			require.Contains(t, []int{exitDone, exitFailed}, code, errs)
			require.NotContains(t, errs, "bug")
			if code == exitFailed {
				require.NotEmpty(t, errs)
				require.NoDirExists(t, dir)
			}
		})
	}
}
