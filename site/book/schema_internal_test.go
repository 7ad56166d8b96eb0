package book

import (
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/site"
)

func square() *site.Site {
	return &site.Site{Name: "field", Boundary: []site.Area{{Outer: []grid.LonLat{{Lon: -31.2, Lat: 47.3}, {Lon: -31.199, Lat: 47.3}, {Lon: -31.199, Lat: 47.301}}}}}
}

// bookOfVersion makes a book as an older program would have left it.
func bookOfVersion(t *testing.T, v int) string {
	path := filepath.Join(t.TempDir(), "old.gpkg")
	require.NoError(t, os.WriteFile(path, nil, 0o600))
	b := &Book{path: path, fresh: true}
	require.NoError(t, b.hold())
	require.NoError(t, b.migrate(migrations[:v]))
	require.NoError(t, b.write(func(tx *sql.Tx) error { return setAreas(tx, square()) }))
	require.NoError(t, b.write(func(tx *sql.Tx) error {
		_, err := tx.Exec(`INSERT INTO site (name, notes) VALUES ('field', '[]'); INSERT INTO settings (name, value) VALUES ('coil', '28cm')`)
		return err
	}))
	if v >= 2 {
		require.NoError(t, b.Close())
		return path
	}
	_, err := b.db.Exec(`PRAGMA journal_mode = DELETE`)
	require.NoError(t, errors.Join(err, b.db.Close()))
	return path
}

func TestMigration(t *testing.T) {
	for i := range 2 * (len(migrations) - 1) {
		b, err := []func(string) (*Book, error){Open, View}[i%2](bookOfVersion(t, 1+i/2))
		require.NoError(t, err)
		v, err := b.version()
		require.NoError(t, err)
		require.Equal(t, len(migrations), v)
		s, err := b.Site()
		require.NoError(t, err)
		require.Equal(t, square(), s)
		set, err := b.Settings()
		require.NoError(t, err)
		require.Equal(t, "28cm", set["coil"])
		faults, err := b.Check(ctxNone, nil)
		require.NoError(t, err)
		require.Empty(t, faults)
		require.NoError(t, b.Close())
	}
}

// TestSlowAfterMigration: an older book takes slow ground, and undo takes it out.
func TestSlowAfterMigration(t *testing.T) {
	b, err := Open(bookOfVersion(t, 3))
	require.NoError(t, err)
	want := square()
	want.Slow = []site.Slow{{Area: want.Boundary[0], Pace: 0.5}}
	require.NoError(t, b.SetSite(want))
	got, err := b.Site()
	require.NoError(t, err)
	require.Equal(t, want, got)
	_, err = b.Undo()
	require.NoError(t, err)
	got, err = b.Site()
	require.NoError(t, err)
	require.Equal(t, square(), got)
	_, err = b.db.Exec(`INSERT INTO slow (geom, ord, name, pace) VALUES (?, 0, 'bog', 0)`, areaShape(want.Boundary[0]).binary())
	require.NoError(t, err)
	_, err = b.Site()
	require.ErrorContains(t, err, `slow ground "bog": pace 0 outside [0.05, 1]`, "what another program wrote")
	require.NoError(t, b.Close())
}

// TestMigrationFails holds that a step that fails leaves the version before, whole.
func TestMigrationFails(t *testing.T) {
	path := bookOfVersion(t, 1)
	b := &Book{path: path}
	require.NoError(t, b.hold())
	broken := append(migrations[:1:1], func(tx *sql.Tx) error {
		_, err := tx.Exec(`CREATE TABLE half (a); DROP TABLE settings; INSERT INTO nowhere VALUES (1)`)
		return err
	})
	require.ErrorContains(t, b.migrate(broken), "bringing the book to version 2")
	v, err := b.version()
	require.NoError(t, err)
	require.Equal(t, 1, v)
	set, err := b.Settings()
	require.NoError(t, err)
	require.Equal(t, "28cm", set["coil"])
	require.NoError(t, b.migrate(migrations))
	require.NoError(t, b.Close())
}

func TestNewerVersionIsRefused(t *testing.T) {
	path := bookOfVersion(t, len(migrations))
	b, err := Open(path)
	require.NoError(t, err)
	require.NoError(t, b.write(func(tx *sql.Tx) error {
		_, err := tx.Exec(`UPDATE untrod_book SET version = 99`)
		return err
	}))
	require.NoError(t, b.Close())
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	for _, open := range []func(string) (*Book, error){Open, View} {
		_, err = open(path)
		require.EqualError(t, err, path+": book of version 99, and this program knows versions up to 5: use a newer untrod")
	}
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, before, after)
	require.NoFileExists(t, notePath(path))
}

func TestOtherDatabase(t *testing.T) {
	path := filepath.Join(t.TempDir(), "other.gpkg")
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	_, err = db.Exec(`CREATE TABLE birds (name TEXT)`)
	require.NoError(t, errors.Join(err, db.Close()))
	for _, open := range []func(string) (*Book, error){Open, View} {
		_, err = open(path)
		require.ErrorContains(t, err, "not a book of untrod")
	}
}
