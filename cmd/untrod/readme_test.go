package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var shownRun = regexp.MustCompile("(?s)```\n\\$ go run \\./cmd/untrod ([^\n]*)\n(.*?)```")

// TestShownOutput runs every command that a README shows with its output, and
// wants each line shown, in that order; "..." stands for lines left out.
func TestShownOutput(t *testing.T) {
	for _, readme := range []string{"README.md", "examples/tallow-field/README.md"} {
		text, err := os.ReadFile(filepath.Join("../..", readme))
		require.NoError(t, err)
		runs := shownRun.FindAllStringSubmatch(string(text), -1)
		require.NotEmpty(t, runs, readme)
		for _, r := range runs {
			t.Run(readme+" "+r[1], func(t *testing.T) { requireShown(t, strings.Fields(r[1]), r[2]) })
		}
	}
}

func requireShown(t *testing.T, args []string, shown string) {
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(filepath.Join(dir, "examples/tallow-field"), os.DirFS(exampleDir)))
	t.Chdir(dir)
	code, out, errs := tryRun(t.Context(), args...)
	require.Zero(t, code, errs)
	rest := out
	for _, line := range strings.Split(strings.TrimRight(shown, "\n"), "\n") {
		if line == "..." {
			continue
		}
		_, after, ok := strings.Cut(rest, line+"\n")
		require.True(t, ok, "line %q is not in what is left of the output:\n%s", line, rest)
		rest = after
	}
}
