package main

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestCommonFolder(t *testing.T) {
	for _, c := range []struct {
		name  string
		paths []string
		want  string
	}{
		{"one file here", []string{"a.gpx"}, ""},
		{"one file below", []string{"walks/a.gpx"}, "walks/"},
		{"two in one folder", []string{"walks/a.gpx", "walks/b.gpx"}, "walks/"},
		{"a folder within", []string{"walks/a.gpx", "walks/may/b.gpx"}, "walks/"},
		{"two folders", []string{"x/may/a.gpx", "x/june/b.gpx"}, "x/"},
		{"a name that begins alike", []string{"walk/a.gpx", "walks/b.gpx"}, ""},
		{"here and above", []string{"../a.gpx", "b.gpx"}, ""},
		{"from the root", []string{"/w/a.gpx", "/v/b.gpx"}, "/"},
		{"from the root and here", []string{"/w/a.gpx", "b.gpx"}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			for i, p := range c.paths {
				c.paths[i] = filepath.FromSlash(p)
			}
			require.Equal(t, filepath.FromSlash(c.want), commonFolder(c.paths))
		})
	}
}
