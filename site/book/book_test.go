package book_test

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/site"
	"untrod/site/book"
	"untrod/track"
)

func TestSiteComesBack(t *testing.T) {
	want := wholeSite()
	path := newBook(t, want)
	requireAlone(t, path)
	viewing(t, path, func(b *book.Book) {
		got, err := b.Site()
		require.NoError(t, err)
		require.Equal(t, want, got)
		require.Error(t, b.SetSite(want), "open to read only")
		requireSound(t, b)
	})
	other := plainSite()
	writing(t, path, func(b *book.Book) {
		require.NoError(t, b.SetSite(other))
		got, err := b.Site()
		require.NoError(t, err)
		require.Equal(t, other, got)
		what, err := b.Undo()
		require.NoError(t, err)
		require.Equal(t, "changed the site", what)
		got, err = b.Site()
		require.NoError(t, err)
		require.Equal(t, want, got, "to the last bit, after undo")
		require.ErrorContains(t, b.SetSite(&site.Site{}), "no boundary")
		got, err = b.Site()
		require.NoError(t, err)
		require.Equal(t, want, got, "an error changes nothing")
		_, err = b.Undo()
		require.ErrorIs(t, err, book.ErrNothingToUndo)
	})
	requireAlone(t, path)
}

func TestNoSite(t *testing.T) {
	path := newBook(t, nil)
	writing(t, path, func(b *book.Book) {
		s, err := b.Site()
		require.NoError(t, err)
		require.Nil(t, s)
		take(t, b, "a.gpx", walkFile(t, 1, 300))
		require.NoError(t, b.SetSite(plainSite()))
	})
	viewing(t, path, func(b *book.Book) {
		s, err := b.Site()
		require.NoError(t, err)
		require.Len(t, s.Landmarks, 1)
		require.Equal(t, "old gate 1", s.Landmarks[0].Name)
		requireSound(t, b)
	})
}

func TestTakeDropUndo(t *testing.T) {
	path := newBook(t, wholeSite())
	a, c := walkFile(t, 1, 600), walkFile(t, 2, 600)
	var before []book.Session
	writing(t, path, func(b *book.Book) {
		require.NoError(t, b.Begin("added 2 files"))
		taken := take(t, b, "dir/c.gpx", c)
		require.False(t, taken.Known)
		require.Len(t, taken.Sessions, 1)
		require.Len(t, taken.Places, 3)
		take(t, b, "dir/a.gpx", a)
		var err error
		before, err = b.Sessions()
		require.NoError(t, err)
		require.Len(t, before, 2)
		require.Equal(t, []string{"walk 1", "walk 2"}, []string{before[0].Name, before[1].Name}, "in order of time")
		s := before[0]
		require.Equal(t, [3]string{"dir/a.gpx", "GPX", "A"}, [3]string{s.File, s.Format, s.Walker})
		log, err := track.Read(strings.NewReader(string(a)), "a")
		require.NoError(t, err)
		fixes := log[0].Tracks[0].Segments[0]
		require.Equal(t, len(fixes), s.Fixes)
		require.Equal(t, [2]track.Instant{fixes[0].T, fixes[len(fixes)-1].T}, [2]track.Instant{s.Start, s.End})
		requireSound(t, b)
	})
	requireAlone(t, path)
	sum := sumOf(t, path)
	writing(t, path, func(b *book.Book) {
		require.NoError(t, b.Begin("added 2 files"))
		taken := take(t, b, "another name.gpx", a)
		require.True(t, taken.Known)
		require.Equal(t, before[:1], taken.Sessions)
	})
	require.Equal(t, sum, sumOf(t, path), "a known file changes nothing")

	writing(t, path, func(b *book.Book) {
		require.ErrorContains(t, b.Drop(before[0].ID, 999), "no session 999")
		require.NoError(t, b.Drop(before[0].ID))
		left, err := b.Sessions()
		require.NoError(t, err)
		require.Equal(t, before[1:], left)
		places, err := b.Places()
		require.NoError(t, err)
		require.Len(t, places, 3)
		require.Equal(t, 2, originals(t, b), "undo still refers to it")
		what, err := b.Undo()
		require.NoError(t, err)
		require.Equal(t, "dropped a visit", what)
		all, err := b.Sessions()
		require.NoError(t, err)
		require.Equal(t, before, all)
		requireSound(t, b)

		what, err = b.Undo()
		require.NoError(t, err)
		require.Equal(t, "added 2 files", what)
		all, err = b.Sessions()
		require.NoError(t, err)
		require.Empty(t, all)
		require.Zero(t, originals(t, b), "nothing refers to them")
	})
	viewing(t, path, func(b *book.Book) { requireSound(t, b) })
}

func originals(t testing.TB, b *book.Book) (n int) {
	t.Helper()
	require.NoError(t, b.Originals(func(name, sha string, r io.Reader) error {
		_, err := io.Copy(io.Discard, r)
		n++
		return err
	}))
	return n
}

// TestOldChangesAreForgotten holds that files of dropped visits go in the end, and
// nothing else.
func TestOldChangesAreForgotten(t *testing.T) {
	path := newBook(t, plainSite())
	writing(t, path, func(b *book.Book) {
		a := take(t, b, "a.gpx", walkFile(t, 1, 200))
		take(t, b, "b.gpx", walkFile(t, 2, 200))
		require.NoError(t, b.Drop(a.Sessions[0].ID))
		for i := range 50 {
			require.NoError(t, b.Set("swath", strings.Repeat("1", i+1)))
		}
		require.Equal(t, 1, originals(t, b))
		for range 50 {
			_, err := b.Undo()
			require.NoError(t, err)
		}
		_, err := b.Undo()
		require.ErrorIs(t, err, book.ErrNothingToUndo)
		requireSound(t, b)
	})
}

func TestSettings(t *testing.T) {
	path := newBook(t, plainSite())
	writing(t, path, func(b *book.Book) {
		require.NoError(t, b.Set("coil", "28cm"))
		require.NoError(t, b.Set("canopy", "leaves"))
		require.NoError(t, b.Set("canopy", ""))
		require.NoError(t, b.Set("never", ""))
		got, err := b.Settings()
		require.NoError(t, err)
		require.Equal(t, map[string]string{"coil": "28cm"}, got)
		require.NoError(t, b.Set("coil", "28cm"), "no change")
		for _, want := range []string{"set canopy", "set canopy", "set coil"} {
			what, err := b.Undo()
			require.NoError(t, err)
			require.Equal(t, want, what)
		}
		got, err = b.Settings()
		require.NoError(t, err)
		require.Empty(t, got)
	})
}

func TestPlaces(t *testing.T) {
	path := newBook(t, wholeSite())
	writing(t, path, func(b *book.Book) {
		taken := take(t, b, "a.gpx", walkFile(t, 1, 1200))
		roles := map[string]site.Role{}
		var gate book.Place
		for _, p := range taken.Places {
			roles[p.Name] = p.Role
			require.Equal(t, "a.gpx", p.File)
			if strings.HasPrefix(p.Name, "old gate") {
				gate = p
			}
		}
		require.Equal(t, site.RoleNone, roles["m1"])
		require.Equal(t, site.RoleFind, roles["find 1"])
		for _, role := range []site.Role{site.RoleMark, site.RoleLandmark, site.RoleFind, site.RoleNone, site.RoleMark} {
			require.NoError(t, b.Call(gate.ID, role))
			s, err := b.Site()
			require.NoError(t, err)
			last := s.Landmarks[len(s.Landmarks)-1]
			require.Equal(t, role == site.RoleMark, last.Name == gate.Name && last.Mark, role)
			require.Equal(t, role == site.RoleLandmark, last.Name == gate.Name && !last.Mark, role)
			if role == site.RoleMark {
				require.Equal(t, gate.Pos, last.Points[0])
				require.NoError(t, b.SetSite(s), "with the place in it")
				again, err := b.Site()
				require.NoError(t, err)
				require.Equal(t, s, again, "which is not doubled")
			}
		}
		require.ErrorContains(t, b.Call(gate.ID, "tree"), `role "tree" is not landmark`)
		require.ErrorContains(t, b.Call(77, site.RoleFind), "no place 77")
		requireSound(t, b)
	})
}

// TestImportOrder holds that the order in which files come makes no difference to
// what a book gives.
func TestImportOrder(t *testing.T) {
	files := map[string][]byte{}
	for i, name := range []string{"a.gpx", "b.gpx", "c.gpx"} {
		files[name] = walkFile(t, i, 400)
	}
	var sites []*site.Site
	for _, order := range [][]string{{"a.gpx", "b.gpx", "c.gpx"}, {"c.gpx", "a.gpx", "b.gpx"}} {
		writing(t, newBook(t, wholeSite()), func(b *book.Book) {
			for _, name := range order {
				take(t, b, name, files[name])
			}
			s, err := b.Site()
			require.NoError(t, err)
			sites = append(sites, s)
			sources, err := b.Sources()
			require.NoError(t, err)
			require.Equal(t, []string{"a.gpx", "b.gpx", "c.gpx"}, []string{sources[0].Name, sources[1].Name, sources[2].Name})
		})
	}
	require.Equal(t, sites[0], sites[1])
}

func TestTwoWriters(t *testing.T) {
	path := newBook(t, plainSite())
	writing(t, path, func(b *book.Book) {
		host, err := os.Hostname()
		require.NoError(t, err)
		for name, open := range map[string]func(string) (*book.Book, error){"write": book.Open, "read": book.View} {
			_, err := open(path)
			require.ErrorContains(t, err, "held by ", name)
			require.ErrorContains(t, err, " on "+host+", process ", name)
		}
		require.NoError(t, b.Set("coil", "28cm"))
		_, err = book.Open(path)
		require.ErrorContains(t, err, "held by ", "while the log is on too")
	})
	require.NoError(t, os.WriteFile(path+"-holder", []byte("nobody on nothing"), 0o600), "a note left behind means nothing")
	viewing(t, path, func(b *book.Book) {
		viewing(t, path, func(c *book.Book) {
			got, err := c.Settings()
			require.NoError(t, err)
			require.Len(t, got, 1, "two may read")
		})
		writing(t, path, func(*book.Book) {})
	})
}

func TestNotABook(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		return path
	}
	for name, path := range map[string]string{
		"empty": write("empty", ""), "text": write("text", strings.Repeat("gpx", 100)), "a folder": dir,
		"not there": filepath.Join(dir, "none"), "head only": write("head", "SQLite format 3\x00"),
	} {
		t.Run(name, func(t *testing.T) {
			for _, open := range []func(string) (*book.Book, error){book.Open, book.View} {
				_, err := open(path)
				require.ErrorContains(t, err, filepath.Base(path))
			}
		})
	}
	_, err := book.Create(filepath.Join(dir, "text"), plainSite())
	require.ErrorContains(t, err, "exists already")
	_, err = book.Create(filepath.Join(dir, "no", "such.gpkg"), plainSite())
	require.ErrorContains(t, err, "such.gpkg")
	_, err = book.Create(filepath.Join(dir, "new.gpkg"), &site.Site{})
	require.ErrorContains(t, err, "no boundary")
	require.NoFileExists(t, filepath.Join(dir, "new.gpkg"))
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, left, 3, "nothing is left behind")

	require.True(t, book.Is([]byte("SQLite format 3\x00 and more")))
	require.False(t, book.Is([]byte("SQLite format 3")))
}

// TestPathThatVanishes holds that nothing is written to a file that has no name any
// more.
func TestPathThatVanishes(t *testing.T) {
	for name, remove := range map[string]func(path string) error{
		"removed":  os.Remove,
		"replaced": func(path string) error { return os.Rename(newBook(t, nil), path) },
	} {
		t.Run(name, func(t *testing.T) {
			path := newBook(t, plainSite())
			b, err := book.Open(path)
			require.NoError(t, err)
			require.NoError(t, b.Set("coil", "28cm"))
			if err := remove(path); err != nil {
				t.Skip("this system keeps an open file: ", err)
			}
			require.ErrorContains(t, b.Set("coil", "30cm"), "the book")
			require.Error(t, b.Close())
		})
	}
}

func TestPrepareRefuses(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	_, err := book.Prepare(ctx, fileOf("empty.gpx", []byte(`<gpx version="1.1" creator="t"></gpx>`)))
	require.ErrorContains(t, err, "empty.gpx")
	_, err = book.Prepare(ctx, fileOf("x.txt", []byte("hello")))
	require.Error(t, err)
	p, err := book.Prepare(ctx, fileOf("a.gpx", walkFile(t, 1, 200)))
	require.NoError(t, err)
	stop()
	_, err = book.Prepare(ctx, fileOf("a.gpx", walkFile(t, 1, 200)))
	require.ErrorIs(t, err, context.Canceled)
	writing(t, newBook(t, plainSite()), func(b *book.Book) {
		_, err = b.Take(ctx, p)
		require.ErrorIs(t, err, context.Canceled)
		all, err := b.Sessions()
		require.NoError(t, err)
		require.Empty(t, all)
		require.Zero(t, originals(t, b))
	})
}
