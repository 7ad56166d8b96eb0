package book_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/site/book"
	"untrod/track"
)

// contents is all that a book gives, as text; an error is how it shows damage.
func contents(b *book.Book) (string, error) {
	var out bytes.Buffer
	s, err := b.Site()
	if err != nil {
		return "", err
	}
	sessions, err := b.Sessions()
	if err != nil {
		return "", err
	}
	settings, err := b.Settings()
	if err != nil {
		return "", err
	}
	places, err := b.Places()
	if err != nil {
		return "", err
	}
	sources, err := b.Sources()
	if err != nil {
		return "", err
	}
	notes := s.Notes.List()
	s.Notes = track.Notes{}
	fmt.Fprintf(&out, "%+v %+v %+v %+v\n%v\n", *s, notes, sessions, settings, places)
	for _, src := range sources {
		visits, err := src.Visits()
		if err != nil {
			return "", err
		}
		for _, v := range visits {
			fmt.Fprintf(&out, "%s %s %s %v\n", src.Name, src.Walker, exact(v), v.Notes.List())
		}
	}
	return out.String(), b.Originals(func(name, sha string, r io.Reader) error {
		sum := sha256.New()
		_, err := io.Copy(sum, r)
		fmt.Fprintf(&out, "%s %x\n", name, sum.Sum(nil))
		return err
	})
}

// rescued are the SHA-256 of what Rescue saves of a book, and the faults it names.
func rescued(t testing.TB, path string) (sums []string, faults []book.Fault) {
	t.Helper()
	saved, faults, err := book.Rescue(context.Background(), path, func(name string, r io.Reader) error {
		sum := sha256.New()
		_, err := io.Copy(sum, r)
		sums = append(sums, fmt.Sprintf("%x", sum.Sum(nil)))
		return err
	})
	require.NoError(t, err)
	require.Len(t, sums, saved)
	slices.Sort(sums)
	require.Len(t, slices.Compact(slices.Clone(sums)), saved, "each once")
	return sums, faults
}

// damagedBook has all there is, and files of several sizes.
func damagedBook(t testing.TB) (data []byte, sums []string) {
	path := newBook(t, wholeSite())
	writing(t, path, func(b *book.Book) {
		for i := range 8 {
			text := walkFile(t, i, 100+900*(i%3))
			take(t, b, fmt.Sprintf("%d.gpx", i), text)
			sums = append(sums, fmt.Sprintf("%x", sha256.Sum256(text)))
		}
		require.NoError(t, b.Set("coil", "28cm"))
	})
	slices.Sort(sums)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return data, sums
}

// TestFlippedBytes holds that a book with one wrong byte either shows it or gives
// all it gave before, and that all originals but the one hit can be rescued.
func TestFlippedBytes(t *testing.T) {
	data, sums := damagedBook(t)
	path := filepath.Join(t.TempDir(), "b.gpkg")
	require.NoError(t, os.WriteFile(path, data, 0o600))
	var want string
	viewing(t, path, func(b *book.Book) {
		var err error
		want, err = contents(b)
		require.NoError(t, err)
	})
	rng := rand.New(rand.NewPCG(7, 7))
	outcomes := map[string]int{}
	for range study(12) {
		at := rng.IntN(len(data))
		if rng.IntN(4) == 0 { // where the structure is thickest
			at = rng.IntN(len(data)/4096)*4096 + rng.IntN(100)
		}
		bad := bytes.Clone(data)
		bad[at] ^= byte(1 + rng.IntN(255))
		require.NoError(t, os.WriteFile(path, bad, 0o600))
		outcomes[judge(t, path, want, fmt.Sprintf("byte %d", at))]++

		saved, _ := rescued(t, path)
		require.GreaterOrEqual(t, len(saved), len(sums)-1, "byte %d", at)
		require.Subset(t, sums, saved)
	}
	t.Log(outcomes)
}

// judge opens and checks a damaged book, and returns how it showed.
func judge(t testing.TB, path, want, what string) string {
	t.Helper()
	b, err := book.View(path)
	if err != nil {
		require.ErrorContains(t, err, path, what)
		return "cannot be opened"
	}
	defer b.Close()
	faults, err := b.Check(context.Background(), nil)
	if err != nil {
		return "cannot be checked"
	}
	if len(faults) > 0 {
		require.NotEmpty(t, faults[0].What)
		return "found"
	}
	got, err := contents(b)
	require.NoError(t, err, what)
	require.True(t, want == got, "%s: the book gives something else, and Check found nothing", what)
	return "harmless"
}

// TestTruncated holds that a book cut short shows it, and that Rescue saves every
// original all of whose pages are there, by what SQLite says of its pages.
func TestTruncated(t *testing.T) {
	data, sums := damagedBook(t)
	path := filepath.Join(t.TempDir(), "b.gpkg")
	require.NoError(t, os.WriteFile(path, data, 0o600))
	last := lastPages(t, path)
	require.Len(t, last, len(sums))
	rng := rand.New(rand.NewPCG(8, 8))
	total := 0
	for range study(12) {
		n := rng.IntN(len(data))
		require.NoError(t, os.WriteFile(path, data[:n], 0o600))
		require.NotEqual(t, "harmless", judge(t, path, "", fmt.Sprintf("%d bytes", n)))
		want := 0
		for _, page := range last {
			if page*4096 <= n {
				want++
			}
		}
		saved, _ := rescued(t, path)
		require.Len(t, saved, want, "%d bytes", n)
		require.Subset(t, sums, saved)
		total += want
	}
	t.Log(total, "originals rescued")
}

// lastPages are, for each row of the table of files, the highest page it needs.
func lastPages(t testing.TB, path string) map[string]int {
	db, err := sql.Open("sqlite", "file:"+escape(path)+"?mode=ro")
	require.NoError(t, err)
	defer db.Close()
	rows, err := db.Query(`SELECT path, pageno, pagetype, ncell FROM dbstat WHERE name = 'files'`)
	require.NoError(t, err)
	defer rows.Close()
	type leaf struct {
		path        string
		page, cells int
	}
	chains := map[string]int{}
	var leaves []leaf
	for rows.Next() {
		var where, kind string
		var page, cells int
		require.NoError(t, rows.Scan(&where, &page, &kind, &cells))
		if cell, _, chained := strings.Cut(where, "+"); chained {
			chains[cell] = max(chains[cell], page)
		} else if kind == "leaf" {
			leaves = append(leaves, leaf{where, page, cells})
		}
	}
	require.NoError(t, rows.Err())
	last := map[string]int{}
	for _, l := range leaves {
		for i := range l.cells {
			cell := fmt.Sprintf("%s%03x", l.path, i)
			last[cell] = max(l.page, chains[cell])
		}
	}
	return last
}

// TestRescueOfAKilledBook holds that what only the log has is saved too.
func TestRescueOfAKilledBook(t *testing.T) {
	path := newBook(t, plainSite())
	dead := filepath.Join(t.TempDir(), "dead.gpkg")
	writing(t, path, func(b *book.Book) {
		take(t, b, "a.gpx", walkFile(t, 1, 300))
		for _, end := range []string{"", "-wal"} { // as a kill would leave them
			data, err := os.ReadFile(path + end)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(dead+end, data, 0o600))
		}
	})
	saved, faults := rescued(t, dead)
	require.Len(t, saved, 1)
	require.Empty(t, faults)
	viewing(t, dead, func(b *book.Book) {
		all, err := b.Sessions()
		require.NoError(t, err)
		require.Len(t, all, 1, "reading takes the log into account")
	})
	writing(t, dead, func(b *book.Book) { requireSound(t, b) })
	requireAlone(t, dead)
	viewing(t, dead, func(b *book.Book) { requireSound(t, b) })
}
