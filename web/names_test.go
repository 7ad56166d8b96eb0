package web

import (
	"path/filepath"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestFileName(t *testing.T) {
	for _, c := range []struct{ given, want string }{
		{"walk.gpx", "walk.gpx"},
		{"../../etc/passwd", "passwd"},
		{`C:\Users\me\walk.gpx`, "walk.gpx"},
		{"..", "file"},
		{"", "file"},
		{".hidden", "hidden"},
		{"a\x00b\nc\u202e.gpx", "abc.gpx"},
		{"<script>alert(1)<\\script>.gpx", "script_.gpx"},
		{"<b>.gpx", "_b_.gpx"},
		{"nul", "file nul"},
		{"COM1.gpx", "file COM1.gpx"},
		{"übung 1.gpx", "übung 1.gpx"},
		{strings.Repeat("x", 300) + ".gpx", strings.Repeat("x", 196) + ".gpx"},
		{strings.Repeat("ü", 150) + ".gpx", strings.Repeat("ü", 98) + ".gpx"},
		{"x." + strings.Repeat("y", 300), "x." + strings.Repeat("y", 198)},
	} {
		t.Run(c.given, func(t *testing.T) { require.Equal(t, c.want, fileName(c.given)) })
	}
}

func TestBookName(t *testing.T) {
	for _, c := range []struct{ given, want string }{
		{"Ford", "Ford"},
		{"  The   old ford ", "The old ford"},
		{"../ford", "ford"},
		{"a/b", "ab"},
		{"nul", "nul book"},
		{"lpt1.x", "lpt1.x book"},
		{"...", ""},
		{"\x00\n", ""},
		{"井戸の畑", "井戸の畑"},
	} {
		t.Run(c.given, func(t *testing.T) { require.Equal(t, c.want, bookName(c.given)) })
	}
}

// Whatever a name is, what is made of it is one part of a path, and never special.
func TestNamesAreOnePart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		given := rapid.OneOf(rapid.String(), rapid.StringMatching(`[./\\:a*?"<>| \x00-]{0,20}`), rapid.StringN(0, 400, -1)).Draw(t, "name")
		file, bk := fileName(given), bookName(given)
		require.NotEmpty(t, file)
		for _, name := range []string{file, bk} {
			require.Equal(t, name, strings.TrimSpace(name))
			require.LessOrEqual(t, len(name), 255)
			require.False(t, strings.HasPrefix(name, "."))
			require.NotContains(t, name, "/")
			require.NotContains(t, name, `\`)
			require.False(t, strings.ContainsFunc(name, unicode.IsControl))
			require.False(t, deviceName(name))
		}
		require.Equal(t, file, filepath.Base(file))
	})
}
