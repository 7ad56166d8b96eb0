package book_test

import (
	"database/sql"
	"testing"

	"github.com/stretchr/testify/require"
)

// logBytes prints how the bytes of a book are spread, a fix, and returns those beside
// the originals.
func logBytes(t testing.TB, path string, fixes int) (beside float64) {
	db, err := sql.Open("sqlite", "file:"+(escape(path))+"?mode=ro")
	require.NoError(t, err)
	defer db.Close()
	var fix, line, all, originals float64
	require.NoError(t, db.QueryRow(`SELECT (SELECT sum(length(packed)) FROM untrod_fixes), (SELECT sum(length(geom)) FROM tracks),
  (SELECT sum(pgsize) FROM dbstat), (SELECT sum(pgsize) FROM dbstat WHERE name = 'files')`).Scan(&fix, &line, &all, &originals))
	n := float64(fixes)
	t.Logf("bytes a fix: packed %.2f, lines %.2f, all beside the originals %.2f; originals %.2f", fix/n, line/n, (all-originals)/n, originals/n)
	return (all - originals) / n
}
