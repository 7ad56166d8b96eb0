package report

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check/golden"
	"untrod/site"
	"untrod/track"
)

func TestTextGolden(t *testing.T) {
	g := field()
	g.missed, g.seed = 0.5, 3
	for name, u := range map[string]Units{"metric": Metric, "imperial": Imperial} {
		t.Run(name, func(t *testing.T) {
			r, _ := g.make(t)
			r.Notes = oddNotes()
			r.Skipped = []coverage.Skipped{{File: "notes.txt", Err: errors.New("notes.txt: not GPX")}}
			r.Sessions[1].Start = track.NoTime
			var b bytes.Buffer
			require.NoError(t, Text(&b, r, u))
			golden.Bytes(t, "testdata/"+name+".txt", b.Bytes())
		})
	}
}

func oddNotes() []coverage.FileNote {
	note := func(file string, k track.NoteKind, n int, example string) coverage.FileNote {
		return coverage.FileNote{File: file, Note: track.Note{Kind: k, Count: n, Example: example}}
	}
	return []coverage.FileNote{
		note("walk1.gpx", track.NoteDuplicate, 1200, "walk1.gpx:44: same place and time as the fix before"),
		note("walk2.gpx", track.NoteDuplicate, 3, "walk2.gpx:7: same place and time as the fix before"),
		note("walk2.gpx", track.NoteSilence, 1, "walk2.gpx:390: nothing for 212 s"),
		note("walk3.gpx", "a-new-kind", 2, "walk3.gpx:1: something"),
	}
}

func TestTextKeepsTo80Columns(t *testing.T) {
	r, _ := field().make(t)
	long := strings.Repeat("very/long/path/", 12) + "walk.gpx"
	r.Site.Name = strings.Repeat("Upper and Lower Kettle Bank ", 5)
	r.Sessions[0].File = long
	r.Local.Landmarks[0].Name = strings.Repeat("milestone ", 10)
	r.Skipped = []coverage.Skipped{{File: long, Err: errors.New(long + ": no such file")}}
	r.SearchableM2, r.SweptM2 = 123_456_789, 123_000_000
	for _, u := range []Units{Metric, Imperial} {
		var b bytes.Buffer
		require.NoError(t, Text(&b, r, u))
		for _, l := range strings.Split(b.String(), "\n") {
			require.LessOrEqual(t, utf8.RuneCountInString(l), textWidth, "%q", l)
		}
	}
}

func TestTextOfNothing(t *testing.T) {
	r := &coverage.Result{Searchable: grid.NewMask(grid.Spec{}), Swept: grid.NewMask(grid.Spec{})}
	var b bytes.Buffer
	require.NoError(t, Text(&b, r, Metric))
	require.Contains(t, b.String(), "no ground to search")
	require.NotContains(t, b.String(), "NaN")
}

func TestTextHandsNoControlCharactersOn(t *testing.T) {
	r, _ := field().make(t)
	r.Site.Name = "\x1b[31mred\u202e\x00 bank\n\n"
	var b bytes.Buffer
	require.NoError(t, Text(&b, r, Metric))
	require.True(t, strings.HasPrefix(b.String(), "[31mred bank\n"), "%q", b.String()[:20])
}

func TestWhere(t *testing.T) {
	r := &coverage.Result{Local: site.Local{Landmarks: []site.LocalLandmark{point("old well", false, 100, 0), point("", false, 0, 50)}}}
	tx := texter{r: r}
	for _, c := range []struct {
		name string
		at   grid.XY
		want string
	}{
		{"nearer the centre", grid.XY{X: 0, Y: 30}, "30 m north of the centre"},
		{"nearer the landmark", grid.XY{X: 90, Y: -10}, "14 m south-west of old well"},
		{"on the landmark", grid.XY{X: 100.5, Y: 0}, "at old well"},
		{"just west of north", grid.XY{X: -1, Y: 20}, "20 m north of the centre"},
		{"north-west", grid.XY{X: -20, Y: 20}, "28 m north-west of the centre"},
		{"a nameless landmark does not count", grid.XY{X: 0, Y: 49}, "49 m north of the centre"},
	} {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.want, tx.where(c.at)) })
	}
}

func TestFiguresInWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{Metric.area(0.04), "0.0 m2"}, {Metric.area(6.44), "6.4 m2"}, {Metric.area(9.97), "10 m2"},
		{Metric.area(38.4), "38 m2"}, {Metric.area(9424), "9,420 m2"}, {Metric.area(123_456), "12 ha"},
		{Metric.area(25_000_000), "2,500 ha"},
		// 1 international acre is 4046.8564224 m2, 1 foot 0.3048 m (NIST SP 811, 2008, appendix B.8)
		{Imperial.area(4046.8564224), "43,600 sq ft"}, {Imperial.area(40468564.224), "10,000 acres"},
		{Imperial.length(3.048), "10 ft"}, {Imperial.length(0.3048), "1.0 ft"},
		{Metric.length(4.24), "4.2 m"}, {Metric.length(1234), "1,230 m"}, {Metric.paces(0.4), "0 m"},
		{percent(0), "0 %"}, {percent(0.2), "under 1 %"}, {percent(84.4), "84 %"},
		{percent(99.6), "over 99 %"}, {percent(100), "100 %"},
		{count(0, "gap"), "no gaps"}, {count(1, "gap"), "1 gap"}, {count(1200, "gap"), "1,200 gaps"},
		{grouped(-0.04, 1), "0.0"}, {grouped(-1234567.89, 2), "-1,234,567.89"},
		{duration(0), "none"}, {duration(20), "under 1 min"}, {duration(3599), "1 h 00 min"}, {duration(6720), "1 h 52 min"},
	} {
		require.Equal(t, c.want, c.got)
	}
}
