package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/site"
	"untrod/site/book"
)

// long takes a second and more to work out, if there are many visits.
func long(c *Config) { c.Lent.Ground = longGround }

func longGround(path string) (*Ground, error) { return groundWith(path, 2000) }

// setter is a command line of which only `set -- PATH coil VALUE` is carried out.
func setter(_ context.Context, args []string, _, errs io.Writer) int {
	b, err := book.Open(args[2])
	if err == nil {
		err = errors.Join(b.Set(args[3], args[4]), b.Close())
	}
	if err != nil {
		fmt.Fprintf(errs, "untrod: %v\n  a hint\n", err)
		return 1
	}
	return 0
}

// Results come in stages, each with the walks of its visits.
func TestStages(t *testing.T) {
	path := filepath.Join(t.TempDir(), "square.gpkg")
	makeBook(t, path, 2)
	var d *desk
	var seen []string
	tell := func() {
		d.mu.Lock()
		defer d.mu.Unlock()
		if d.shown == nil || len(seen) > 0 && seen[len(seen)-1] == d.shown.stage {
			return
		}
		seen = append(seen, d.shown.stage)
		if len(d.shown.walks) != 2 || d.shown.rev != len(seen) {
			seen = append(seen, "without its walks")
		}
	}
	some := func(path string) (*Ground, error) { return groundWith(path, someDraws) }
	d = newDesk(t.Context(), Lent{Ground: some}, tell, nil)
	require.NoError(t, d.open(path))
	<-d.done
	require.Equal(t, []string{stageLogged, stageRough, stageFull}, seen)
	require.Equal(t, someDraws, d.shown.result.Settings.Position.Draws)
	require.NoFileExists(t, path+"-wal")
}

// A change gives up what is being worked out, waits until the book is let go of, and
// everything is worked out anew.
func TestChangeWhileWorking(t *testing.T) {
	o, _ := withVisits(t, 7, func(c *Config) {
		long(c)
		c.Lent.Run = func(ctx context.Context, args []string, out, errs io.Writer) int { return setter(ctx, args, out, errs) }
	})
	before := o.until("drawing", func(s StateDoc) bool { return s.Stage == stageRough })
	var after StateDoc
	start := time.Now()
	o.done(http.MethodPut, "/api/settings", `{"coil":"30cm"}`, &after)
	require.Less(t, time.Since(start), 3*time.Second)
	require.Greater(t, after.Changes, before.Changes)
	require.Equal(t, "set coil", after.Book.Undo)
	require.True(t, after.Work.Running)
	require.Equal(t, before.Rev, after.Rev, "what was shown stays until there is something newer")
	o.until("a new result", func(s StateDoc) bool { return s.Rev > after.Rev && s.Stage == stageLogged })

	var undone map[string]string
	o.done(http.MethodPost, "/api/undo", "", &undone)
	require.Equal(t, "set coil", undone["undone"])
	var says SettingsDoc
	o.done(http.MethodGet, "/api/settings", "", &says)
	require.Empty(t, says.Says)
}

// Nothing reads the book any more when a change begins, and what was given up begins
// anew, though nothing was changed.
func TestChangeWaits(t *testing.T) {
	path := filepath.Join(t.TempDir(), "square.gpkg")
	makeBook(t, path, 3)
	d := newDesk(t.Context(), Lent{Ground: longGround}, func() {}, nil)
	require.NoError(t, d.open(path))
	before := d.done
	require.NoError(t, d.change(func(string) error {
		select {
		case <-before:
		default:
			t.Error("still being worked out")
		}
		return nil
	}))
	require.True(t, d.work.Running)
	require.NotEqual(t, before, d.done)
	d.giveUp()
}

// What changes nothing leaves the result alone.
func TestNothingChanged(t *testing.T) {
	o, _ := withVisits(t, 1, func(c *Config) {
		c.Lent.Run = func(context.Context, []string, io.Writer, io.Writer) int { return 0 }
	})
	before := o.until("done", worked)
	var after StateDoc
	o.done(http.MethodPut, "/api/settings", `{"coil":"30cm"}`, &after)
	require.Equal(t, before, after)
}

func TestUndoOfNothing(t *testing.T) {
	o, path := withVisits(t, 0, nil)
	b, err := book.Open(path)
	require.NoError(t, err)
	for err == nil {
		_, err = b.Undo()
	}
	require.ErrorIs(t, err, book.ErrNothingToUndo)
	require.NoError(t, b.Close())
	status, text := o.ask(http.MethodPost, "/api/undo", "")
	require.Equal(t, http.StatusConflict, status)
	require.Contains(t, text, "nothing to undo")
}

func TestStopAndAgain(t *testing.T) {
	o, path := withVisits(t, 7, long)
	before := o.until("drawing", func(s StateDoc) bool { return s.Stage == stageRough })
	var doc StateDoc
	o.done(http.MethodPost, "/api/stop", "", &doc)
	require.True(t, doc.Work.Stopped)
	require.False(t, doc.Work.Running)
	require.Nil(t, doc.Work.Problem)
	require.Equal(t, before.Rev, doc.Rev, "what is shown stays")
	b, err := book.Open(path)
	require.NoError(t, err, "the book is free")
	require.NoError(t, b.Close())
	o.done(http.MethodPost, "/api/again", "", &doc)
	require.True(t, doc.Work.Running)
	o.until("anew", func(s StateDoc) bool { return s.Rev > before.Rev })
}

// Two tabs that change the book at once both do, one after the other.
func TestTwoTabs(t *testing.T) {
	var running, most atomic.Int32
	o, path := withVisits(t, 1, func(c *Config) {
		c.Lent.Run = func(ctx context.Context, args []string, out, errs io.Writer) int {
			most.Store(max(most.Load(), running.Add(1)))
			defer running.Add(-1)
			return setter(ctx, args, out, errs)
		}
	})
	var tabs sync.WaitGroup
	for i := range 8 {
		tabs.Go(func() {
			if status, text := o.ask(http.MethodPut, "/api/settings", fmt.Sprintf(`{"s%d":"v"}`, i)); status != http.StatusOK {
				t.Error(status, text)
			}
			if status, text := o.get("/api/visits"); status != http.StatusOK {
				t.Error(status, text)
			}
		})
	}
	tabs.Wait()
	require.EqualValues(t, 1, most.Load())
	b, err := book.View(path)
	require.NoError(t, err)
	defer b.Close()
	says, err := b.Settings()
	require.NoError(t, err)
	require.Len(t, says, 8)
}

// While another program holds the book everything says so, and what could not be
// worked out is tried again by itself.
func TestHeldByAnother(t *testing.T) {
	o, path := withVisits(t, 1, func(c *Config) {
		c.Lent.Run = func(ctx context.Context, args []string, out, errs io.Writer) int { return setter(ctx, args, out, errs) }
	})
	o.until("done", worked)
	heard := o.listen()
	<-heard
	b, err := book.Open(path)
	require.NoError(t, err)
	for _, q := range [][3]string{{"GET", "/api/visits", ""}, {"GET", "/api/book.gpkg", ""}, {"PUT", "/api/settings", `{"coil":"30cm"}`}, {"POST", "/api/undo", ""}} {
		status, text := o.ask(q[0], q[1], q[2])
		require.Contains(t, []int{http.StatusLocked, http.StatusUnprocessableEntity}, status, "%s: %s", q[1], text)
		require.Contains(t, text, "held by", q[1])
		require.NotContains(t, text, filepath.Dir(path), q[1])
	}
	o.done(http.MethodPost, "/api/again", "", &StateDoc{})
	doc := o.until("refused", worked)
	require.Contains(t, doc.Work.Problem.Error, "square.gpkg: held by")
	require.Contains(t, doc.Work.Problem.Hints[0], "wait")
	require.NoError(t, b.Close())
	o.until("tried again", func(s StateDoc) bool { return s.Work.Problem == nil && s.Stage == stageFull })
}

// A log that could not be read because the book is held must not be missing from a
// result.
func TestHeldWhileReading(t *testing.T) {
	o, _ := withVisits(t, 2, func(c *Config) {
		c.Lent.Ground = func(path string) (*Ground, error) {
			g, err := groundOf(path)
			if err == nil {
				g.Logs[1].Visits = func() ([]coverage.Visit, error) {
					return nil, fmt.Errorf("square.gpkg: %w by somebody", book.ErrHeld)
				}
			}
			return g, err
		}
	})
	doc := o.until("refused", worked)
	require.Zero(t, doc.Rev)
	require.Contains(t, doc.Work.Problem.Error, "held by somebody")
}

// What the command line or another page changed is taken up.
func TestChangedByAnother(t *testing.T) {
	o, path := withVisits(t, 1, nil)
	before := o.until("done", worked)
	heard := o.listen()
	<-heard
	b, err := book.Open(path)
	require.NoError(t, err)
	require.NoError(t, b.Begin("found a buckle"))
	_, err = b.AddFind(site.NoFind)
	require.NoError(t, errors.Join(err, b.Close()))
	doc := o.until("taken up", func(s StateDoc) bool { return s.Rev > before.Rev })
	require.Greater(t, doc.Changes, before.Changes)
	require.Equal(t, "found a buckle", doc.Book.Undo)
}

func TestBookGoneOrDamaged(t *testing.T) {
	o, path := withVisits(t, 1, nil)
	o.until("done", worked)
	heard := o.listen()
	<-heard
	aside := path + ".aside"
	require.NoError(t, os.Rename(path, aside))
	status, text := o.get("/api/visits")
	require.Equal(t, http.StatusNotFound, status)
	require.Contains(t, text, "square.gpkg is not there any more")
	status, _ = o.get("/api/notes")
	require.Equal(t, http.StatusOK, status, "what was worked out stays")
	o.until("missed", func(s StateDoc) bool { return s.Work.Problem != nil })

	require.NoError(t, os.WriteFile(path, []byte("no book at all, but long enough to be looked at as one"), 0o600))
	doc := o.until("looked at", func(s StateDoc) bool {
		return s.Work.Problem != nil && s.Work.Problem.Error == "square.gpkg: not a book"
	})
	require.NotNil(t, doc.Book)
	status, text = o.ask(http.MethodPost, "/api/undo", "")
	require.Equal(t, http.StatusUnprocessableEntity, status)
	require.Contains(t, text, "not a book")

	whole, err := os.ReadFile(aside)
	require.NoError(t, err)
	torn := append(append([]byte{}, whole[:4096]...), make([]byte, len(whole)-4096)...)
	require.NoError(t, os.WriteFile(path, torn, 0o600))
	status, text = o.get("/api/visits")
	require.Equal(t, http.StatusUnprocessableEntity, status, text)
	require.Contains(t, text, "damaged")

	require.NoError(t, os.Rename(aside, path))
	o.until("back", func(s StateDoc) bool { return s.Work.Problem == nil && worked(s) })
}

// A panic in an assessment ends that alone.
func TestBugWhileWorking(t *testing.T) {
	bad := atomic.Bool{}
	bad.Store(true)
	o, _ := withVisits(t, 1, func(c *Config) {
		c.Lent.Ground = func(path string) (*Ground, error) {
			if bad.Load() {
				panic("index out of range")
			}
			return groundOf(path)
		}
	})
	doc := o.until("failed", worked)
	require.Equal(t, "bug: index out of range", doc.Work.Problem.Error)
	require.Contains(t, o.errors.text(), "desk_test.go")
	bad.Store(false)
	o.done(http.MethodPost, "/api/again", "", &doc)
	o.until("done", func(s StateDoc) bool { return s.Stage == stageFull })
}

// Without a book, visits or a result, every question is told so.
func TestNothingYet(t *testing.T) {
	o := serve(t, nil)
	for path, want := range map[string]string{
		"/api/visits": "no book is open", "/api/coverage": "no book is open", "/api/settings": "no book is open", "/api/book.gpkg": "no book is open",
	} {
		status, text := o.get(path)
		require.Equal(t, http.StatusConflict, status, path)
		require.Contains(t, text, want)
	}
	empty, _ := withVisits(t, 0, nil)
	doc := empty.until("done", func(s StateDoc) bool { return !s.Work.Running })
	require.Nil(t, doc.Work.Problem)
	require.Equal(t, "Square", doc.Book.Name)
	status, text := empty.get("/api/notes")
	require.Equal(t, http.StatusConflict, status)
	require.Contains(t, text, "add the logs of your visits")
}

func TestMakeOnce(t *testing.T) {
	var l lazy
	var count atomic.Int32
	var all sync.WaitGroup
	for range 20 {
		all.Go(func() {
			v, err := make1(&l, "x", func() (int, error) { return int(count.Add(1)), nil })
			if v != 1 || err != nil {
				t.Error(v, err)
			}
		})
	}
	all.Wait()
	_, err := make1(&l, "bad", func() (int, error) { return 0, errNothing })
	require.ErrorIs(t, err, errNothing)
	require.Panics(t, func() { _, _ = make1(&l, "bug", func() (int, error) { panic("x") }) })
	_, err = make1(&l, "bug", func() (int, error) { return 1, nil })
	require.ErrorContains(t, err, "bug: bug was not made")
}

func TestCommandProblem(t *testing.T) {
	p := commandProblem("untrod: skipped a.gpx: no track\nuntrod: done, but 1 of 2 inputs could not be used\n  a hint\n", exitSkipped)
	require.Equal(t, &problem{status: 422, partly: true, hints: []string{"a hint"},
		text: "skipped a.gpx: no track\ndone, but 1 of 2 inputs could not be used"}, p)
	require.NotEmpty(t, commandProblem("", 1).text)
}
