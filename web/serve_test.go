package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check"
	"untrod/site"
	"untrod/site/book"
	"untrod/track"
)

// opened is a page that is being served, and a browser that was let in.
type opened struct {
	t      *testing.T
	base   string // http://127.0.0.1:port
	client *http.Client
	again  func() string
	errors *buffer
	end    func() error // stops the program and waits for it
}

// buffer is a bytes.Buffer for several writers.
type buffer struct {
	mu sync.Mutex
	bytes.Buffer
}

func (b *buffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.Buffer.Write(p)
}

func (b *buffer) text() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.String()
}

// serve opens a page with a folder of its own; change may set what it is opened with.
func serve(t *testing.T, change func(*Config)) *opened {
	ctx, cancel := context.WithCancel(context.Background())
	o := &opened{t: t, errors: &buffer{}}
	ready := make(chan func() string, 1)
	cfg := Config{
		Folder: filepath.Join(t.TempDir(), "books"), Version: "test", Now: time.Now, Errors: o.errors,
		Ready: func(address func() string) { ready <- address },
		Lent:  Lent{Ground: groundOf, Run: noCommand}, Limits: Limits{Watch: 50 * time.Millisecond},
	}
	if change != nil {
		change(&cfg)
	}
	served := make(chan error, 1)
	go func() { served <- Serve(ctx, cfg) }()
	o.end = sync.OnceValue(func() error {
		cancel()
		return <-served
	})
	t.Cleanup(func() { _ = o.end() })
	select {
	case o.again = <-ready:
	case err := <-served:
		t.Fatalf("not served: %v", err)
	}
	o.client = newBrowser(t)
	address := o.again()
	o.base, _, _ = strings.Cut(address, "/enter")
	status, _ := o.get(strings.TrimPrefix(address, o.base))
	require.Equal(t, http.StatusOK, status)
	return o
}

func noCommand(context.Context, []string, io.Writer, io.Writer) int { panic("no command is lent") }

func newBrowser(t *testing.T) *http.Client {
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	return &http.Client{Jar: jar, Transport: &http.Transport{}}
}

func (o *opened) get(path string) (int, string) { return o.ask(http.MethodGet, path, "") }

// ask puts one question as the page does.
func (o *opened) ask(method, path, body string, more ...func(*http.Request)) (int, string) {
	r, err := http.NewRequest(method, o.base+path, strings.NewReader(body))
	require.NoError(o.t, err)
	if method != http.MethodGet {
		r.Header.Set("Origin", o.base)
	}
	for _, f := range more {
		f(r)
	}
	res, err := o.client.Do(r)
	require.NoError(o.t, err)
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	require.NoError(o.t, err)
	return res.StatusCode, string(text)
}

// done puts a question that must go well, and reads the answer into doc.
func (o *opened) done(method, path, body string, doc any) {
	o.t.Helper()
	status, text := o.ask(method, path, body)
	require.Equal(o.t, http.StatusOK, status, "%s %s: %s", method, path, text)
	require.NoError(o.t, json.Unmarshal([]byte(text), doc))
}

func (o *opened) state() (doc StateDoc) {
	o.t.Helper()
	o.done(http.MethodGet, "/api/state", "", &doc)
	return doc
}

// until waits for a state.
func (o *opened) until(what string, is func(StateDoc) bool) (doc StateDoc) {
	o.t.Helper()
	require.Eventually(o.t, func() bool {
		doc = o.state()
		return is(doc)
	}, 20*time.Second, 5*time.Millisecond, what)
	return doc
}

func worked(s StateDoc) bool {
	return !s.Work.Running && (s.Stage == stageFull || s.Work.Problem != nil)
}

// Draws that have no rough stage before them, and that have one.
const fewDraws, someDraws = 20, 2*roughDraws + 1

// groundOf lends a book with settings that take a moment to work out.
func groundOf(path string) (*Ground, error) { return groundWith(path, fewDraws) }

// groundWith lends a book with cells of a sixth of the swath: what the page promises does
// not rest on how fine they are.
func groundWith(path string, draws int) (g *Ground, err error) {
	b, err := book.View(path)
	if err != nil {
		return nil, err
	}
	g = &Ground{Set: coverage.DefaultSettings(), Close: b.Close}
	g.Set.SwathM, g.Set.CellM, g.Set.Position.Canopy, g.Set.Position.Draws = 1.5, 0.25, "light", draws
	if g.Set.Position.Receiver, err = track.Canopy("light"); err != nil {
		return nil, err
	}
	if g.Site, err = b.Site(); err == nil {
		g.Logs, err = b.Sources()
	}
	if err == nil {
		g.Visits, err = b.Sessions()
	}
	if err == nil {
		g.Finds, err = b.Finds()
	}
	return g, err
}

// makeBook makes a book of a square with some short visits.
func makeBook(t testing.TB, path string, visits int) {
	f, err := grid.NewFrame(openSea)
	require.NoError(t, err)
	s := site.FromWalks([]grid.Polygon{square(grid.XY{}, 30)}, f, "Square")
	newBook(t, path, fmt.Sprint("square ", visits), s, func(b *book.Book, f grid.Frame) {
		for i := range visits {
			addVisit(t, b, f, i)
		}
	})
}

// madeBooks are the bytes of the books that were made, by what they hold.
var madeBooks sync.Map

// newBook makes a book of a site, or nil, and what fill puts into it. Of each kind one is
// made; the others are copies.
func newBook(t testing.TB, path, kind string, of *site.Site, fill func(*book.Book, grid.Frame)) {
	if made, is := madeBooks.Load(kind); is {
		require.NoError(t, os.WriteFile(path, made.([]byte), 0o600))
		return
	}
	f, err := grid.NewFrame(openSea)
	require.NoError(t, err)
	b, err := book.Create(path, of)
	require.NoError(t, err)
	fill(b, f)
	require.NoError(t, b.Close())
	made, err := os.ReadFile(path)
	require.NoError(t, err)
	madeBooks.Store(kind, made)
}

func addVisit(t testing.TB, b *book.Book, f grid.Frame, n int) {
	w := check.DefaultWalk()
	w.Seed, w.Seconds = uint64(n+1), 300
	w.Start += track.Instant(n) * 86_400_000
	w.Patch = grid.Bounds{Min: grid.XY{X: -25, Y: -25}, Max: grid.XY{X: 25, Y: 25}}
	var gpx bytes.Buffer
	require.NoError(t, check.WriteGPX(&gpx, fmt.Sprintf("visit %d", n+1), check.Fixes(f, check.Simulate(w).Log)))
	p, err := book.Prepare(t.Context(), book.File{Name: fmt.Sprintf("walk%d.gpx", n+1),
		Open: func() (io.ReadCloser, error) { return io.NopCloser(&gpx), nil }})
	require.NoError(t, err)
	_, err = b.Take(t.Context(), p)
	require.NoError(t, err)
}
