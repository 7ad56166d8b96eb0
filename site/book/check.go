package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"runtime"
	"sync"

	"golang.org/x/sync/errgroup"
	"modernc.org/sqlite"

	"untrod/coverage"
)

// Fault is one thing wrong with a book, in a sentence that stands alone; Session
// names the visit it is about, where it is about one.
type Fault struct {
	What    string
	Session string
}

// checker gathers faults.
type checker struct {
	*Book
	mu     sync.Mutex
	faults []Fault
}

func (c *checker) fault(session, format string, args ...any) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.faults = append(c.faults, Fault{What: fmt.Sprintf(format, args...), Session: session})
}

// Check looks for damage: SQLite's integrity_check and foreign keys, what the
// GeoPackage standard asks, the seals set at the last Close, and of every file the
// SHA-256 of its original, which is read anew and compared with the packed fixes bit
// for bit. A sound book gives no faults. A seal is also broken by a program
// that edited the book without being untrod. progress may be nil. The error is for
// what kept Check from looking; damage is a fault.
//
// It takes about as long as bringing the files in did.
func (b *Book) Check(ctx context.Context, progress coverage.Progress) ([]Fault, error) {
	if progress == nil {
		progress = func(string, int64, int64) {}
	}
	c := &checker{Book: b}
	for i, step := range []func(tx *sql.Tx) error{c.integrity, c.standard, c.seals} {
		progress("checking the book", int64(i), 3)
		if err := c.step(ctx, step); err != nil {
			return c.faults, err
		}
	}
	if err := c.photos(ctx); err != nil {
		return c.faults, err
	}
	return c.faults, c.files(ctx, progress)
}

// step turns an error of a damaged file into a fault.
func (c *checker) step(ctx context.Context, f func(tx *sql.Tx) error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	err := c.read(f)
	if isDamage(err) {
		c.fault("", "%v", err)
		return nil
	}
	return err
}

// isDamage tells what a damaged file causes from what keeps it from being read:
// another program that holds it, a disk that fails.
func isDamage(err error) bool {
	var s *sqlite.Error
	if err == nil || !errors.As(err, &s) {
		return err != nil && !errors.Is(err, errHeld) && !errors.Is(err, context.Canceled) && !errors.Is(err, context.DeadlineExceeded)
	}
	switch s.Code() & 0xff {
	case 1, 11, 20, 26: // ERROR, CORRUPT, MISMATCH, NOTADB
		return true
	}
	return false
}

func (c *checker) integrity(tx *sql.Tx) error {
	found, err := queryAll[string](tx, `PRAGMA integrity_check(20)`)
	for _, f := range found {
		if f != "ok" {
			c.fault("", "the structure of the file: %s", f)
		}
	}
	if err != nil {
		return err
	}
	tables, err := queryAll[sql.NullString](tx, `SELECT "table" || ' refers to ' || "parent" FROM pragma_foreign_key_check LIMIT 20`)
	for _, t := range tables {
		c.fault("", "a row of %s that is not there", t.String)
	}
	return err
}

func (c *checker) seals(tx *sql.Tx) error {
	broken, err := brokenSeals(tx)
	for _, name := range broken {
		c.fault("", "the table %q was changed by another program, or is damaged", name)
	}
	return err
}

// standard holds those requirements of the GeoPackage standard that damage can
// break.
func (c *checker) standard(tx *sql.Tx) error {
	for _, q := range []struct{ query, what string }{
		{fmt.Sprintf(`SELECT (SELECT application_id FROM pragma_application_id) = %d AND (SELECT user_version FROM pragma_user_version) = %d`, applicationID, userVersion), "the file does not say that it is a GeoPackage"},
		{`SELECT count(*) = 3 FROM gpkg_spatial_ref_sys WHERE srs_id IN (-1, 0, 4326)`, "a reference system is missing"},
		{`SELECT NOT EXISTS (SELECT 1 FROM gpkg_contents WHERE table_name NOT IN (SELECT name FROM sqlite_schema))`, "the contents name a table that is not there"},
		{`SELECT NOT EXISTS (SELECT 1 FROM gpkg_contents WHERE data_type = 'features' AND table_name NOT IN (SELECT table_name FROM gpkg_geometry_columns))`, "a layer has no geometry column"},
		{`SELECT NOT EXISTS (SELECT 1 FROM gpkg_geometry_columns AS g WHERE NOT EXISTS (SELECT 1 FROM gpkg_extensions AS e
  WHERE e.table_name = g.table_name AND e.column_name = g.column_name AND e.extension_name = 'gpkg_rtree_index'))`, "a layer has no index"},
	} {
		var ok bool
		if err := tx.QueryRow(q.query).Scan(&ok); err != nil {
			return err
		}
		if !ok {
			c.fault("", "%s", q.what)
		}
	}
	layers, err := queryAll[string](tx, `SELECT table_name FROM gpkg_geometry_columns`)
	for _, l := range layers {
		if err := c.layer(tx, l); err != nil {
			return err
		}
	}
	return err
}

// layer compares the shapes of a layer with its index, whose bounds are rounded
// outwards to 32 bits.
func (c *checker) layer(tx *sql.Tx, name string) error {
	rows, err := tx.Query(fmt.Sprintf(`SELECT l.fid, l.geom, r.minx, r.maxx, r.miny, r.maxy FROM "%[1]s" AS l LEFT JOIN "rtree_%[1]s_geom" AS r ON r.id = l.fid`, name))
	if err != nil {
		return err
	}
	defer rows.Close()
	indexed := 0
	for rows.Next() {
		var fid int64
		var geom []byte
		var in [4]sql.NullFloat64
		if err := rows.Scan(&fid, &geom, &in[0], &in[1], &in[2], &in[3]); err != nil {
			return err
		}
		has, err := inIndex(geom, in)
		if err != nil {
			c.fault("", "layer %s, shape %d: %v", name, fid, err)
		}
		if has {
			indexed++
		}
	}
	if err := rows.Err(); err != nil {
		return err
	}
	var n int
	if err := tx.QueryRow(fmt.Sprintf(`SELECT count(*) FROM "rtree_%s_geom"`, name)).Scan(&n); err != nil {
		return err
	}
	if n != indexed {
		c.fault("", "layer %s: %d shapes and %d in its index", name, indexed, n)
	}
	return nil
}

// inIndex reports whether a shape belongs in the index. It is an error when what
// the index says of it is wrong.
func inIndex(geom []byte, in [4]sql.NullFloat64) (bool, error) {
	if geom == nil {
		return in[0].Valid, nil
	}
	b, ok, err := boundsOf(geom)
	if err != nil || !ok {
		return ok, err
	}
	for i, v := range in {
		const rounding = 180.0 / (1 << 22) // of 32 bits, with some to spare
		least, most := b[i]-rounding, b[i]
		if i%2 == 1 {
			least, most = b[i], b[i]+rounding
		}
		if !v.Valid || v.Float64 < least || v.Float64 > most {
			return ok, errors.New("the index has it elsewhere")
		}
	}
	return ok, nil
}

// files reads every original anew, as many at a time as there are cores.
func (c *checker) files(ctx context.Context, progress coverage.Progress) error {
	var shas []string
	if err := c.step(ctx, func(tx *sql.Tx) (err error) {
		shas, err = queryAll[string](tx, `SELECT sha256 FROM files ORDER BY name, sha256`)
		return err
	}); err != nil {
		return err
	}
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	var done int64
	var mu sync.Mutex
	for _, sha := range shas {
		g.Go(func() error {
			err := c.original(ctx, sha)
			mu.Lock()
			defer mu.Unlock()
			done++
			progress("reading the originals anew", done, int64(len(shas)))
			return err
		})
	}
	return g.Wait()
}
