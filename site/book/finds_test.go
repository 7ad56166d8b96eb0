package book_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check"
	"untrod/site"
	"untrod/site/book"
	"untrod/track"
)

// wholeFind has one of everything a find can have, but photos and a visit.
func wholeFind() site.Find {
	f := site.NoFind
	f.Name, f.T, f.Pos, f.SdM = "button \x00 \"bent\"", 1_775_822_400_123, at(3, 4), 1.25
	f.Reading, f.Detector, f.DepthM, f.Verdict = "low 70s", "old one", 0.1+0.2, site.Keeper
	f.ReadingLo, f.ReadingHi, _ = coverage.ParseReading(f.Reading)
	f.Material, f.From, f.To, f.Note = "brass", -50, 1750, "two\nlines; =1+1"
	return f
}

func named(name string) site.Find {
	f := site.NoFind
	f.Name = name
	return f
}

// shown is a find as text, in which all NaN are alike.
func shown(f site.Find) string { return fmt.Sprintf("%#v", f) }

func requireFinds(t testing.TB, b *book.Book, want ...site.Find) {
	t.Helper()
	got, err := b.Finds()
	require.NoError(t, err)
	require.Len(t, got, len(want))
	for i := range want {
		require.Equal(t, shown(want[i]), shown(got[i]))
	}
}

func TestFindsComeBack(t *testing.T) {
	path := newBook(t, plainSite())
	whole, empty := wholeFind(), site.NoFind
	writing(t, path, func(b *book.Book) {
		for _, f := range []*site.Find{&whole, &empty} {
			id, err := b.AddFind(*f)
			require.NoError(t, err)
			f.ID = id
		}
		require.NotEqual(t, whole.ID, empty.ID)
	})
	viewing(t, path, func(b *book.Book) {
		requireFinds(t, b, whole, empty)
		requireSound(t, b)
		_, err := b.AddFind(whole)
		require.ErrorContains(t, err, "open to read only")
		_, err = b.KeepPhoto(strings.NewReader("x"), "x", true)
		require.ErrorContains(t, err, "open to read only")
	})
}

// TestFindsUndo holds that every change to finds is taken back as a whole.
func TestFindsUndo(t *testing.T) {
	path := newBook(t, plainSite())
	writing(t, path, func(b *book.Book) {
		a, c := wholeFind(), named("nail")
		require.NoError(t, b.Begin("one"))
		photo, err := b.KeepPhoto(strings.NewReader("a picture"), "a.jpg", true)
		require.NoError(t, err)
		a.Photos = []string{photo.SHA256}
		ids, err := b.AddFinds([]site.Find{a, c})
		require.NoError(t, err)
		a.ID, c.ID = ids[0], ids[1]
		states := [][]site.Find{{}, {a, c}}
		do := func(what string, f func() error, now ...site.Find) {
			require.NoError(t, b.Begin(what))
			require.NoError(t, f())
			requireFinds(t, b, now...)
			states = append(states, now)
		}
		changed := c
		changed.DepthM, changed.Pos, changed.Photos = 0.05, at(1, 1), a.Photos
		do("two", func() error { return b.SetFind(changed) }, a, changed)
		do("three", func() error { return b.DropFind(a.ID) }, changed)
		bare := c
		do("four", func() error { return b.SetFind(bare) }, bare)
		photos, err := b.Photos()
		require.NoError(t, err)
		require.Empty(t, photos, "the photo of no find")
		do("five", func() error { return b.DropFind(bare.ID) })
		for i := len(states) - 2; i >= 0; i-- {
			_, err := b.Undo()
			require.NoError(t, err)
			requireFinds(t, b, states[i]...)
			requireSound(t, b)
			if i == 1 {
				requirePhoto(t, b, photo, "a picture")
			}
		}
		require.Zero(t, originals(t, b), "nothing is left of the photo")
		_, err = b.Undo()
		require.ErrorIs(t, err, book.ErrNothingToUndo)
	})
	requireAlone(t, path)
}

func requirePhoto(t testing.TB, b *book.Book, p book.Photo, want string) {
	t.Helper()
	r, err := b.OpenPhoto(p)
	require.NoError(t, err)
	defer r.Close()
	got, err := io.ReadAll(r)
	require.NoError(t, err)
	require.Equal(t, want, string(got))
}

func TestFindsRefused(t *testing.T) {
	path := newBook(t, plainSite())
	writing(t, path, func(b *book.Book) {
		for name, spoil := range map[string]func(*site.Find){
			`find "n": depth of -1 m outside [0, 5]`:                     func(f *site.Find) { f.DepthM = -1 },
			`find "n": place 96, 8 is not on the globe`:                  func(f *site.Find) { f.Pos = grid.LonLat{Lon: 8, Lat: 96} },
			`find "n": place 47, NaN is not on the globe`:                func(f *site.Find) { f.Pos.Lat = 47 },
			`find "n": uncertainty of 0 m per axis outside (0, 1000]`:    func(f *site.Find) { f.SdM = 0 },
			`find "n": from 1800 is after to 1700`:                       func(f *site.Find) { f.From, f.To = 1800, 1700 },
			`find "n": year outside [-10000, 3000]`:                      func(f *site.Find) { f.From = 20_000 },
			`find "n": verdict "pretty" is not keeper, scrap or unknown`: func(f *site.Find) { f.Verdict = "pretty" },
			`find "n": a text of 20001 bytes, over 20000`:                func(f *site.Find) { f.Note = strings.Repeat("x", 20_001) },
		} {
			f := named("n")
			spoil(&f)
			_, err := b.AddFinds([]site.Find{named("good"), f})
			require.ErrorContains(t, err, name)
			requireFinds(t, b) // all or none
		}
		f := named("n")
		f.Session = 99
		_, err := b.AddFind(f)
		require.ErrorContains(t, err, "FOREIGN KEY")
		f = named("n")
		f.Photos = []string{strings.Repeat("0", 64)}
		_, err = b.AddFind(f)
		require.ErrorContains(t, err, "FOREIGN KEY")
		require.ErrorContains(t, b.SetFind(named("n")), "no find 0")
		require.ErrorContains(t, b.DropFind(7), "no find 7")
		requireFinds(t, b)
		requireSound(t, b)
	})
}

// TestWaypointFinds: a waypoint that is a find is one like any other.
func TestWaypointFinds(t *testing.T) {
	path := newBook(t, plainSite())
	writing(t, path, func(b *book.Book) {
		taken := take(t, b, "a.gpx", walkFile(t, 1, 600))
		var place book.Place
		for _, p := range taken.Places {
			if p.Role == site.RoleFind {
				place = p
			}
		}
		finds, err := b.Finds()
		require.NoError(t, err)
		require.NotEmpty(t, finds)
		f := finds[0]
		require.Equal(t, "find 1", f.Name)
		require.Equal(t, place.Pos, f.Pos)
		require.Equal(t, place.T, f.T)
		require.Equal(t, taken.Sessions[0].ID, f.Session)
		require.Equal(t, site.UnknownVerdict, f.Verdict)
		require.True(t, math.IsNaN(f.DepthM) && math.IsNaN(f.SdM))

		photo, err := b.KeepPhoto(strings.NewReader("p"), "p.jpg", true)
		require.NoError(t, err)
		f.DepthM, f.Verdict, f.Photos = 0.12, site.Scrap, []string{photo.SHA256}
		require.NoError(t, b.SetFind(f))
		requireFinds(t, b, append([]site.Find{f}, finds[1:]...)...)

		require.NoError(t, b.Call(place.ID, site.RoleNone)) // takes its photo link along
		requireFinds(t, b, finds[1:]...)
		_, err = b.Undo()
		require.NoError(t, err)
		requireFinds(t, b, append([]site.Find{f}, finds[1:]...)...)

		require.NoError(t, b.DropFind(f.ID))
		places, err := b.Places()
		require.NoError(t, err)
		for _, p := range places {
			if p.ID == place.ID {
				require.Equal(t, site.RoleNone, p.Role)
			}
		}
		_, err = b.Undo()
		require.NoError(t, err)
		require.NoError(t, b.Drop(taken.Sessions[0].ID)) // the whole file, its waypoints with it
		requireFinds(t, b)
		_, err = b.Undo()
		require.NoError(t, err)
		requireFinds(t, b, append([]site.Find{f}, finds[1:]...)...)
		requireSound(t, b)
	})
}

func TestPhotosBeside(t *testing.T) {
	path := newBook(t, plainSite())
	folder := strings.TrimSuffix(path, ".gpkg") + "-photos"
	writing(t, path, func(b *book.Book) {
		require.Equal(t, folder, b.PhotoFolder())
		f := named("nail")
		for _, p := range []struct{ name, content, file string }{
			{"from/camera/a.jpg", "one", "a.jpg"}, {"a.jpg", "two", "a (2).jpg"}, {"again.jpg", "one", "a.jpg"}, {"b.heic", "three", "b.heic"},
		} {
			kept, err := b.KeepPhoto(strings.NewReader(p.content), p.name, false)
			require.NoError(t, err)
			require.Equal(t, filepath.Base(folder)+"/"+p.file, kept.File)
			requirePhoto(t, b, kept, p.content)
			f.Photos = append(f.Photos, kept.SHA256)
		}
		f.Photos = append(f.Photos[:2:2], f.Photos[3])
		_, err := b.AddFind(f)
		require.NoError(t, err)
		requireSound(t, b)
	})
	files, err := os.ReadDir(folder)
	require.NoError(t, err)
	require.Len(t, files, 3)

	require.NoError(t, os.WriteFile(filepath.Join(folder, "a.jpg"), []byte("edited"), 0o600))
	require.NoError(t, os.Remove(filepath.Join(folder, "b.heic")))
	viewing(t, path, func(b *book.Book) {
		faults, err := b.Check(context.Background(), nil)
		require.NoError(t, err)
		base := filepath.Base(folder)
		require.Equal(t, []book.Fault{{What: "photo " + base + "/a.jpg: not as it was when it was added"}, {What: "photo " + base + "/b.heic: not there"}}, faults)
		_, err = b.OpenPhoto(book.Photo{File: "../../secret"})
		require.ErrorContains(t, err, "not in a folder beside the book")
	})
}

// TestPhotosInside: they are originals like the logs, and are rescued with them.
func TestPhotosInside(t *testing.T) {
	path := newBook(t, plainSite())
	picture := bytes.Repeat([]byte("picture \xff\xd8"), 20_000)
	writing(t, path, func(b *book.Book) {
		take(t, b, "a.gpx", walkFile(t, 1, 60))
		kept, err := b.KeepPhoto(bytes.NewReader(picture), "a.jpg", true)
		require.NoError(t, err)
		require.Empty(t, kept.File)
		require.EqualValues(t, len(picture), kept.Size)
		f := named("nail")
		f.Photos = []string{kept.SHA256}
		_, err = b.AddFind(f)
		require.NoError(t, err)
		requirePhoto(t, b, kept, string(picture))
		sources, err := b.Sources()
		require.NoError(t, err)
		require.Len(t, sources, 1, "a photo is no log")
		for i := range 60 { // long after, nothing can be undone and the photo is still there
			require.NoError(t, b.Begin("x"))
			require.NoError(t, b.Set("coil", fmt.Sprint(i, "cm")))
		}
		requirePhoto(t, b, kept, string(picture))
		requireSound(t, b)
	})
	requireAlone(t, path)
	saved := map[string]int{}
	_, faults, err := book.Rescue(context.Background(), path, func(name string, r io.Reader) error {
		data, err := io.ReadAll(r)
		saved[name] = len(data)
		return err
	})
	require.NoError(t, err)
	require.Empty(t, faults)
	require.Equal(t, len(picture), saved["a.jpg"])
	require.Len(t, saved, 2)
}

// TestWhereabouts: moments of the simulated truth are found where the log stood.
func TestWhereabouts(t *testing.T) {
	path := newBook(t, plainSite())
	f, err := grid.NewFrame(datum)
	require.NoError(t, err)
	writing(t, path, func(b *book.Book) {
		taken := take(t, b, "a.gpx", walkFile(t, 1, 1800))
		take(t, b, "b.gpx", walkFile(t, 2, 600))
		set := check.DefaultWalk()
		set.Seed, set.Seconds, set.Stops = 1, 1800, []grid.XY{{X: 3, Y: 4}}
		set.Start += 86_400_000
		visit := check.Simulate(set)
		var moments []track.Instant
		for _, s := range visit.Log {
			moments = append(moments, s.T)
		}
		w, err := b.Whereabouts(moments[:1], site.NearStopS)
		require.NoError(t, err)
		stood := 0
		for _, p := range visit.Log {
			s, ok := w.At(p.T, 0)
			require.True(t, ok)
			require.Equal(t, taken.Sessions[0].ID, s.Session)
			if q := f.ToXY(s.Pos); s.AwayS == 0 {
				stood++
				require.Less(t, math.Hypot(q.X-p.X, q.Y-p.Y), 8.0)
			}
		}
		require.Greater(t, stood, 100)
		_, ok := w.At(moments[0]+86_400_000, 0)
		require.False(t, ok, "the other visit was not read")
	})
}

func BenchmarkFinds10000(b *testing.B) {
	finds := make([]site.Find, 10_000)
	for i := range finds {
		finds[i] = wholeFind()
		finds[i].Name, finds[i].T = fmt.Sprint("find ", i), finds[i].T+track.Instant(i)*1000
	}
	path := newBook(b, plainSite())
	b.Run("add", func(b *testing.B) {
		for b.Loop() {
			writing(b, path, func(k *book.Book) {
				_, err := k.AddFinds(finds)
				require.NoError(b, err)
			})
		}
	})
	b.Run("read", func(b *testing.B) {
		p := newBook(b, plainSite())
		writing(b, p, func(k *book.Book) { _, err := k.AddFinds(finds); require.NoError(b, err) })
		for b.Loop() {
			viewing(b, p, func(k *book.Book) {
				got, err := k.Finds()
				require.NoError(b, err)
				require.Len(b, got, 10_000)
			})
		}
	})
}
