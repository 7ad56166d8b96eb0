package main

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const field = "../tallow-field"

func TestRun(t *testing.T) {
	logs, err := filepath.Glob(filepath.Join(field, "walks", "*.gpx"))
	require.NoError(t, err)
	require.Len(t, logs, 3)
	var out strings.Builder
	require.NoError(t, run(&out, filepath.Join(field, "site.geojson"), logs))
	require.Regexp(t, `^Tallow Field: at least \d\d\.\d % of \d+ m2 swept, most likely \d\d\.\d %, as logged \d\d\.\d %\ngap 1: `, out.String())
}

func TestRunMissingSite(t *testing.T) {
	require.Error(t, run(&strings.Builder{}, "nowhere.geojson", nil))
}
