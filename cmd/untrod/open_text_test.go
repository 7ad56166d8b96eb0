package main

import (
	"context"
	"io"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestPageIsToldNoCommands holds that what a command says on the page tells nobody what
// to type.
func TestPageIsToldNoCommands(t *testing.T) {
	path := filepath.Join(t.TempDir(), "field.gpkg")
	site, walks := filepath.Join(exampleDir, "site.geojson"), filepath.Join(exampleDir, "walks")
	for _, args := range [][]string{
		{"new", path, "--site", site, "coil", "28cm", "swing", "1m", "canopy", "none"},
		{"add", path, walks},
		{"prove", path, "--date", "2026-06-12", "--out", filepath.Join(t.TempDir(), "statement")},
	} {
		var told strings.Builder
		require.Zero(t, runForPage(context.Background(), args, &told, io.Discard), args)
		require.NotEmpty(t, told.String())
		require.NotContains(t, told.String(), self()+" ", args)
		require.NotRegexp(t, `(?m):\n\z`, told.String(), "announces nothing")
	}
}
