package web

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check"
	"untrod/site/book"
	"untrod/track"
)

// Every session of a result has its own walk: in order of time, where a file holds
// two visits, and where one is left out or a copy of another.
func TestWalksOf(t *testing.T) {
	f, err := grid.NewFrame(grid.LonLat{Lon: -31.2, Lat: 47.3})
	require.NoError(t, err)
	fixes := func(n int) []track.Fix {
		w := check.DefaultWalk()
		w.Seed, w.Seconds = uint64(n+1), 400+100*n
		w.Start += track.Instant(n) * 86_400_000
		return check.Fixes(f, check.Simulate(w).Log)
	}
	path := filepath.Join(t.TempDir(), "square.gpkg")
	makeBook(t, path, 0)
	b, err := book.Open(path)
	require.NoError(t, err)
	take := func(name string, visits ...int) {
		var all []track.Fix
		for _, n := range visits {
			all = append(all, fixes(n)...)
		}
		var gpx bytes.Buffer
		require.NoError(t, check.WriteGPX(&gpx, name, all))
		p, err := book.Prepare(t.Context(), book.File{Name: name, Open: func() (io.ReadCloser, error) { return io.NopCloser(&gpx), nil }})
		require.NoError(t, err)
		_, err = b.Take(t.Context(), p)
		require.NoError(t, err)
	}
	take("z-first.gpx", 0)
	take("two.gpx", 2, 5)
	take("a-copy.gpx", 2)
	take("left.gpx", 3)
	take("last.gpx", 6)
	logs, err := b.Sources()
	require.NoError(t, err)
	set := coverage.DefaultSettings()
	set.SwathM, set.Without = 1.5, []string{"left.gpx"}
	r, err := coverage.Assess(t.Context(), coverage.Input{Logs: logs}, set, nil)
	require.NoError(t, err)
	require.Len(t, r.Sessions, 4)
	require.Len(t, r.Copies, 1)

	walks, err := walksOf(t.Context(), logs, r)
	require.NoError(t, err)
	require.Len(t, walks, len(r.Sessions))
	for i, s := range r.Sessions {
		require.NotEmpty(t, walks[i].Paths, s.Name)
		require.Equal(t, s.Fixes, walks[i].Fixes, s.Name)
		require.Equal(t, s.Start, walks[i].Paths[0].Points[0].T, s.Name)
	}

	visits, err := b.Sessions()
	require.NoError(t, err)
	require.NoError(t, b.Close())
	places := map[string]int{}
	for _, v := range visits {
		var d VisitDoc
		d.addFound(r, v)
		places[fmt.Sprint(v.File, " ", v.Start.Time().Day()-visits[0].Start.Time().Day())] = d.N
		require.Equal(t, d.N < 0 && v.File != "left.gpx", d.CopyOf != "", v.File)
	}
	require.Len(t, places, 6)
	require.Equal(t, []int{-1}, []int{places["left.gpx 3"]})
	require.Equal(t, 0, places["z-first.gpx 0"])
	require.Equal(t, 2, places["two.gpx 5"])
	require.Equal(t, 3, places["last.gpx 6"])
}

func TestVisitLists(t *testing.T) {
	v := visitBook{visits: []book.Session{
		{ID: 1, Name: "walk", File: "a.gpx"}, {ID: 2, Name: "walk", File: "b.gpx"}, {ID: 3, Name: "pond", File: "c.gpx"},
		{ID: 4, Name: "default", File: "d.gpx"}, {ID: 5, Name: "two\nlines", File: "e.gpx"}, {ID: 6, Name: "b.gpx", File: "f.gpx"},
		{ID: 7, Name: "same", File: "g.gpx"}, {ID: 8, Name: "same", File: "g.gpx"},
	}}
	for _, c := range []struct {
		says string
		id   int64
		yes  bool
		want []string
	}{
		{"", 3, true, []string{"pond"}},
		{"pond", 3, true, []string{"pond"}},
		{"pond", 3, false, nil},
		{"c", 3, false, nil},
		{"", 1, true, []string{"walk, a.gpx"}},
		{"", 2, true, []string{"walk, b.gpx"}},
		{"pond\nc.gpx", 4, true, []string{"pond", "d.gpx"}},
		{"", 5, true, []string{"e.gpx"}},
		{"gone", 3, true, []string{"pond"}},
		{"b.gpx", 6, false, []string{"walk, b.gpx"}},
	} {
		v.says = map[string]string{"without": c.says}
		got, err := v.list("without", c.id, c.yes)
		require.NoError(t, err)
		require.Equal(t, c.want, got, "%q %d %v", c.says, c.id, c.yes)
		v.says["without"] = strings.Join(got, "\n")
		require.Equal(t, c.yes, v.listed("without")[c.id-1])
	}
	_, err := v.list("without", 7, true)
	require.ErrorContains(t, err, "has the name and the file of another visit")
	_, err = v.list("without", 99, true)
	require.ErrorContains(t, err, "no such visit")
}
