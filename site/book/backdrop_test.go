package book_test

import (
	"bytes"
	"context"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/site/book"
)

func TestBackdropComesBack(t *testing.T) {
	path := newBook(t, plainSite())
	data := bytes.Repeat([]byte{7, 0, 255}, 400_000)
	d := book.Backdrop{Name: "old map.png", Kind: "picture", World: "1\r\n0\n0\n-1\n5\n6\n"}
	ties := []book.Tie{{Col: 1.5, Row: 0, At: grid.LonLat{Lon: -31.2, Lat: 47.3}}, {Col: 9, Row: 1e-9, At: grid.LonLat{Lon: -31.1, Lat: 47.300000001}}}
	viewing(t, path, func(b *book.Book) { requireBackdrop(t, b, nil, nil) })
	writing(t, path, func(b *book.Book) {
		require.ErrorIs(t, b.TieBackdrop(ties), book.ErrNoBackdrop)
		require.ErrorIs(t, b.DropBackdrop(), book.ErrNoBackdrop)
		require.NoError(t, b.SetBackdrop(d, data))
		require.NoError(t, b.TieBackdrop(ties))
		require.Error(t, b.TieBackdrop([]book.Tie{{Col: math.NaN()}}))
	})
	tied := d
	tied.Ties = ties
	viewing(t, path, func(b *book.Book) {
		requireBackdrop(t, b, &tied, data)
		requireSound(t, b)
		require.Error(t, b.DropBackdrop(), "open to read only")
	})
	info, err := os.Stat(path)
	require.NoError(t, err)
	require.Less(t, info.Size(), int64(len(data)), "kept packed")
	sums, faults := rescued(t, path)
	require.Len(t, sums, 1)
	require.Empty(t, faults)
}

func TestBackdropUndo(t *testing.T) {
	path := newBook(t, plainSite())
	first, second := book.Backdrop{Name: "a.png"}, book.Backdrop{Name: "b's.asc", Kind: "terrain"}
	writing(t, path, func(b *book.Book) {
		require.NoError(t, b.SetBackdrop(first, []byte("first")))
		require.NoError(t, b.SetBackdrop(second, []byte("second")))
		require.NoError(t, b.DropBackdrop())
		for _, step := range []struct {
			what string
			want *book.Backdrop
			data string
		}{{"dropped the backdrop", &second, "second"}, {"set the backdrop b's.asc", &first, "first"}, {"set the backdrop a.png", nil, ""}} {
			what, err := b.Undo()
			require.NoError(t, err)
			require.Equal(t, step.what, what)
			requireBackdrop(t, b, step.want, []byte(step.data))
			requireSound(t, b)
		}
		require.NoError(t, b.Originals(nil), "no file is left behind")
	})
}

// The picture goes from the file when no change can bring it back.
func TestBackdropIsForgotten(t *testing.T) {
	path := newBook(t, plainSite())
	data := make([]byte, 1<<20)
	r := rand.NewChaCha8([32]byte{})
	r.Read(data)
	writing(t, path, func(b *book.Book) {
		require.NoError(t, b.SetBackdrop(book.Backdrop{Name: "a.png"}, data))
		require.NoError(t, b.DropBackdrop())
		for i := range 60 {
			require.NoError(t, b.Set("coil", []string{"28cm", "30cm"}[i%2]))
		}
		require.NoError(t, b.Originals(nil))
		requireSound(t, b)
	})
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	require.False(t, bytes.Contains(whole, data[5000:5100]), "overwritten")
}

// Damage of its bytes is found.
func TestBackdropDamage(t *testing.T) {
	path := newBook(t, plainSite())
	data := make([]byte, 1<<16)
	r := rand.NewChaCha8([32]byte{})
	r.Read(data)
	writing(t, path, func(b *book.Book) { require.NoError(t, b.SetBackdrop(book.Backdrop{Name: "a.png"}, data)) })
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	at := bytes.Index(whole, data[30_000:30_050])
	require.Positive(t, at)
	whole[at] ^= 1
	require.NoError(t, os.WriteFile(path, whole, 0o600))
	viewing(t, path, func(b *book.Book) {
		d, err := b.Backdrop()
		require.NoError(t, err)
		_, err = b.BackdropBytes(d)
		require.ErrorContains(t, err, "the original is damaged")
		faults, err := b.Check(context.Background(), nil)
		require.NoError(t, err)
		require.Len(t, faults, 1)
		require.Contains(t, faults[0].What, "a.png")
	})
}

// requireBackdrop holds that the book has the backdrop want, of whatever SHA-256, and its
// bytes.
func requireBackdrop(t *testing.T, b *book.Book, want *book.Backdrop, data []byte) {
	t.Helper()
	got, err := b.Backdrop()
	require.NoError(t, err)
	if want == nil {
		require.Nil(t, got)
		return
	}
	require.NotNil(t, got)
	bytes, err := b.BackdropBytes(got)
	require.NoError(t, err)
	require.Equal(t, data, bytes)
	got.SHA256 = ""
	if len(got.Ties) == 0 {
		got.Ties = nil
	}
	require.Equal(t, want, got)
}
