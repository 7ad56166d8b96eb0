package book_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/internal/check"
	"untrod/site"
	"untrod/site/book"
	"untrod/track"
)

// The invented ground of these tests lies in mid-ocean.
var datum = grid.LonLat{Lon: -31.2, Lat: 47.3}

func at(x, y float64) grid.LonLat {
	f, err := grid.NewFrame(datum)
	if err != nil {
		panic(err)
	}
	return f.ToLonLat(grid.XY{X: x, Y: y})
}

func ring(xy ...float64) (out []grid.LonLat) {
	for i := 0; i < len(xy); i += 2 {
		out = append(out, at(xy[i], xy[i+1]))
	}
	return out
}

// wholeSite has one of everything a site can have.
func wholeSite() *site.Site {
	s := &site.Site{
		Name:      "Ford \x00 \"meadow\"",
		Boundary:  []site.Area{{Name: "south", Outer: ring(-40, -40, 40, -40, 40, 40, -40, 40), Holes: [][]grid.LonLat{ring(-35, -35, -35, -30, -30, -30)}}, {Outer: ring(50, 50, 60, 50, 60, 60)}},
		Keepouts:  []site.Area{{Name: "pond", Outer: ring(10, 10, 15, 10, 15, 15, 10, 15)}},
		Landmarks: []site.Landmark{{Name: "well", Kind: "iron <pump>", Points: ring(1, 2)}, {Name: "m1", Mark: true, Points: ring(3, 4)}, {Name: "wall", Shape: site.LineShape, Points: ring(0, 0, 5, 5, 9, 1)}, {Name: "heap", Mark: true, Shape: site.AreaShape, Points: ring(-9, -9, -8, -9, -8, -8)}, {}},
		LaidOut:   []site.LaidOut{{Area: site.Area{Name: "strip", Outer: ring(-20, -20, -10, -20, -10, 0, -20, 0)}, SpacingM: 1.37, DirectionDeg: 0.1 + 0.2, Session: "walk 3"}},
		Slow:      []site.Slow{{Area: site.Area{Name: "thorns", Outer: ring(20, 20, 30, 20, 30, 30, 20, 30), Holes: [][]grid.LonLat{ring(22, 22, 22, 24, 24, 24)}}, Pace: 0.1 + 0.2}, {Area: site.Area{Outer: ring(-40, 0, -30, 0, -30, 10)}, Pace: 1}},
	}
	s.Landmarks[4] = site.Landmark{Name: "well", Points: ring(-5, 6)}
	for range 5 {
		s.Notes.Add(site.NoteKnot, func() string { return "outline.gpx: a loop of 2 m" })
	}
	return s
}

// plainSite is a square of 60 m.
func plainSite() *site.Site {
	return &site.Site{Name: "ford", Boundary: []site.Area{{Outer: ring(-30, -30, 30, -30, 30, 30, -30, 30)}}}
}

// walkFile is an invented visit of so many seconds as a GPX file, with a mark and
// places logged on the way.
func walkFile(t testing.TB, seed, seconds int) []byte {
	w := check.DefaultWalk()
	w.Seed, w.Seconds = uint64(seed), seconds
	w.Start += track.Instant(seed) * 86_400_000
	w.Stops = []grid.XY{{X: 3, Y: 4}}
	v := check.Simulate(w)
	f, err := grid.NewFrame(datum)
	require.NoError(t, err)
	fixes := check.Fixes(f, v.Log)
	var marked []track.Waypoint
	for i, name := range []string{"m1", "find " + strconv.Itoa(seed), "old gate " + strconv.Itoa(seed%3)} {
		marked = append(marked, track.Waypoint{Fix: fixes[(i+1)*len(fixes)/4], Name: name})
	}
	var b bytes.Buffer
	require.NoError(t, check.WriteGPX(&b, fmt.Sprintf("walk %d", seed), fixes, marked...))
	return b.Bytes()
}

func fileOf(name string, data []byte) book.File {
	return book.File{Name: name, Walker: "A", Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(data)), nil }}
}

func take(t testing.TB, b *book.Book, name string, data []byte) book.Taken {
	t.Helper()
	p, err := book.Prepare(context.Background(), fileOf(name, data))
	require.NoError(t, err)
	taken, err := b.Take(context.Background(), p)
	require.NoError(t, err)
	return taken
}

// newBook is a book of s, closed.
func newBook(t testing.TB, s *site.Site) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "odd name #1 100%? .gpkg")
	b, err := book.Create(path, s)
	require.NoError(t, err)
	require.NoError(t, b.Close())
	return path
}

// writing opens the book at path to write for the time of f.
func writing(t testing.TB, path string, f func(b *book.Book)) {
	t.Helper()
	b, err := book.Open(path)
	require.NoError(t, err)
	defer func() { require.NoError(t, b.Close()) }()
	f(b)
}

func viewing(t testing.TB, path string, f func(b *book.Book)) {
	t.Helper()
	b, err := book.View(path)
	require.NoError(t, err)
	defer func() { require.NoError(t, b.Close()) }()
	f(b)
}

func sumOf(t testing.TB, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return fmt.Sprintf("%x", sha256.Sum256(data))
}

func requireSound(t testing.TB, b *book.Book) {
	t.Helper()
	faults, err := b.Check(context.Background(), nil)
	require.NoError(t, err)
	require.Empty(t, faults)
}

// requireAlone holds that nothing lies beside a closed book.
func requireAlone(t testing.TB, path string) {
	t.Helper()
	beside, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	require.Len(t, beside, 1)
}

// study is how many cases a long test runs: few, or what UNTROD_STUDY says.
func study(few int) int {
	if n, err := strconv.Atoi(os.Getenv("UNTROD_STUDY")); err == nil {
		return n
	}
	return few
}

// escape makes a path fit for a URI.
func escape(path string) string { return (&url.URL{Path: path}).EscapedPath() }
