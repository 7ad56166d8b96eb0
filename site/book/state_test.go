package book_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/site/book"
)

func TestLastChange(t *testing.T) {
	path := filepath.Join(t.TempDir(), "field.gpkg")
	b, err := book.Create(path, nil)
	require.NoError(t, err)
	last := func(want string) {
		t.Helper()
		got, err := b.LastChange()
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
	last("")
	require.NoError(t, b.Set("coil", "28cm"))
	require.NoError(t, b.Set("swing", "1m"))
	last("set swing")
	_, err = b.Undo()
	require.NoError(t, err)
	last("set coil")

	_, err = book.Open(path)
	require.ErrorIs(t, err, book.ErrHeld)
	require.NoError(t, b.Close())
}
