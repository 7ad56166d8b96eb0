package book_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/site/book"
)

// smallDisk is a file system of so many kilobytes in memory, for root only.
func smallDisk(t *testing.T, kb int) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("none", dir, "tmpfs", 0, fmt.Sprintf("size=%dk", kb)); err != nil {
		t.Skip("no file system can be mounted here: ", err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(dir, 0) })
	return dir
}

// TestFullDisk holds that a full disk is an error that says so, and that what was
// acknowledged before is there once there is room.
func TestFullDisk(t *testing.T) {
	dir := smallDisk(t, 3000)
	filler := filepath.Join(dir, "filler")
	require.NoError(t, os.WriteFile(filler, make([]byte, 1500<<10), 0o600))
	path := filepath.Join(dir, "b.gpkg")
	b, err := book.Create(path, plainSite())
	require.NoError(t, err)
	var safe []string
	for i := range 200 {
		name := fmt.Sprintf("%d.gpx", i)
		p, perr := book.Prepare(context.Background(), fileOf(name, walkFile(t, i, 900)))
		require.NoError(t, perr)
		if _, err = b.Take(context.Background(), p); err != nil {
			break
		}
		safe = append(safe, name)
	}
	require.ErrorContains(t, err, path+": the disk is full")
	require.NotEmpty(t, safe)
	t.Log(len(safe), "files before:", err)
	if err := b.Close(); err != nil {
		require.ErrorContains(t, err, "nothing is lost as long as b.gpkg-wal stays beside the book")
		t.Log("at closing:", err)
	}
	require.NoError(t, os.Remove(filler))
	writing(t, path, func(b *book.Book) { requireSound(t, b) })
	viewing(t, path, func(b *book.Book) {
		all, err := b.Sessions()
		require.NoError(t, err)
		require.Len(t, all, len(safe))
		requireSound(t, b)
	})

	full := filepath.Join(dir, "c.gpkg")
	require.Error(t, os.WriteFile(filler, make([]byte, 3000<<10), 0o600), "full")
	_, err = book.Create(full, plainSite())
	require.Error(t, err)
	require.NoFileExists(t, full)
}

// TestReadOnlyFolder holds that a book can be read where nothing can be written.
func TestReadOnlyFolder(t *testing.T) {
	dir := smallDisk(t, 4000)
	path, dead := filepath.Join(dir, "b.gpkg"), filepath.Join(dir, "dead.gpkg")
	b, err := book.Create(path, plainSite())
	require.NoError(t, err)
	take(t, b, "a.gpx", walkFile(t, 1, 300))
	for _, end := range []string{"", "-wal"} { // as a kill would leave them
		data, err := os.ReadFile(path + end)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(dead+end, data, 0o600))
	}
	require.NoError(t, b.Close())
	require.NoError(t, syscall.Mount("none", dir, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""))
	viewing(t, path, func(b *book.Book) {
		all, err := b.Sessions()
		require.NoError(t, err)
		require.Len(t, all, 1)
		requireSound(t, b)
	})
	_, err = book.Open(path)
	require.ErrorContains(t, err, path+": cannot be opened to write")
	_, err = book.Create(filepath.Join(dir, "new.gpkg"), plainSite())
	require.ErrorContains(t, err, "new.gpkg: cannot be made")
	_, err = book.View(dead)
	require.ErrorContains(t, err, "not closed when last written, and its folder cannot be written: copy it to one that can")
	saved, _ := rescued(t, dead)
	require.Len(t, saved, 1)
}
