package book

import (
	"database/sql"
	"fmt"
)

// migration brings a book from the version before to its own.
type migration func(tx *sql.Tx) error

// migrations in order: the first makes version 1. They are never changed once
// books are about, only added to; each runs in a transaction of its own.
var migrations = []migration{siteAndSessions, placesAndUndo, findsAndPhotos, slowGround, backdrop}

// siteAndSessions is version 1: the standard's tables, the site's layers, what is
// kept of imported files, and the settings.
func siteAndSessions(tx *sql.Tx) error {
	if _, err := tx.Exec(fmt.Sprintf(`PRAGMA application_id = %d; PRAGMA user_version = %d; %s
CREATE TABLE untrod_book (one INTEGER PRIMARY KEY CHECK (one = 1), version INTEGER NOT NULL);
INSERT INTO untrod_book VALUES (1, 0);`, applicationID, userVersion, standardTables)); err != nil {
		return err
	}
	for _, l := range []struct{ name, geometry, columns string }{
		{"boundary", "POLYGON", "ord INTEGER NOT NULL, name TEXT"},
		{"keepouts", "POLYGON", "ord INTEGER NOT NULL, name TEXT"},
		{"landmarks", "GEOMETRY", "ord INTEGER NOT NULL, name TEXT, kind TEXT"},
		{"marks", "GEOMETRY", "ord INTEGER NOT NULL, name TEXT, kind TEXT"},
		{"laid_out", "POLYGON", "ord INTEGER NOT NULL, name TEXT, spacing_m REAL NOT NULL, direction_deg REAL NOT NULL, session TEXT"},
		{"finds", "POINT", "name TEXT, time DATETIME, note TEXT, session INTEGER REFERENCES sessions(fid)"},
		{"tracks", "MULTILINESTRING", "session INTEGER NOT NULL UNIQUE REFERENCES sessions(fid), name TEXT, start DATETIME"},
	} {
		if err := addLayer(tx, l.name, l.geometry, l.columns); err != nil {
			return err
		}
	}
	for _, t := range []struct{ name, columns string }{
		{"site", "name TEXT, notes TEXT NOT NULL"},
		{"sessions", `sha256 TEXT NOT NULL REFERENCES files(sha256), number INTEGER NOT NULL, name TEXT NOT NULL,
  file TEXT NOT NULL, format TEXT NOT NULL, walker TEXT NOT NULL, start DATETIME, "end" DATETIME,
  start_ms INTEGER, end_ms INTEGER, fixes INTEGER NOT NULL, UNIQUE (sha256, number)`},
		{"files", `sha256 TEXT NOT NULL UNIQUE, name TEXT NOT NULL, walker TEXT NOT NULL, format TEXT NOT NULL,
  size INTEGER NOT NULL, reading TEXT NOT NULL, notes TEXT NOT NULL, waypoints BLOB NOT NULL, data BLOB NOT NULL`},
		{"settings", "name TEXT NOT NULL UNIQUE, value TEXT NOT NULL"},
	} {
		if err := addTable(tx, t.name, "attributes", t.columns); err != nil {
			return err
		}
	}
	_, err := tx.Exec(`CREATE TABLE untrod_fixes (sha256 TEXT NOT NULL REFERENCES files(sha256), number INTEGER NOT NULL,
  packed BLOB NOT NULL, PRIMARY KEY (sha256, number))`)
	return err
}

// placesAndUndo is version 2: the waypoints of imported files and what they stand
// for, the record of changes, and the seals.
func placesAndUndo(tx *sql.Tx) error {
	if err := addTable(tx, "places", "attributes", `sha256 TEXT NOT NULL REFERENCES files(sha256), number INTEGER NOT NULL,
  name TEXT NOT NULL, sym TEXT NOT NULL, "desc" TEXT NOT NULL, kind TEXT NOT NULL, role TEXT NOT NULL,
  lon REAL NOT NULL, lat REAL NOT NULL, time_ms INTEGER, session INTEGER REFERENCES sessions(fid), UNIQUE (sha256, number)`); err != nil {
		return err
	}
	_, err := tx.Exec(`
ALTER TABLE landmarks ADD COLUMN place INTEGER REFERENCES places(fid);
ALTER TABLE marks ADD COLUMN place INTEGER REFERENCES places(fid);
ALTER TABLE finds ADD COLUMN place INTEGER REFERENCES places(fid);
CREATE TABLE untrod_changes (id INTEGER PRIMARY KEY AUTOINCREMENT, what TEXT NOT NULL, made TEXT NOT NULL);
CREATE TABLE untrod_undo (id INTEGER PRIMARY KEY AUTOINCREMENT, change INTEGER NOT NULL REFERENCES untrod_changes(id), sql TEXT NOT NULL);
CREATE INDEX untrod_undo_change ON untrod_undo(change);
CREATE TABLE untrod_now (one INTEGER PRIMARY KEY CHECK (one = 1), change INTEGER NOT NULL);
INSERT INTO untrod_now VALUES (1, 0);
CREATE TABLE untrod_seals (name TEXT PRIMARY KEY, sum BLOB NOT NULL);`)
	return err
}

// slowGround is version 4: ground that takes longer than other.
func slowGround(tx *sql.Tx) error {
	return addLayer(tx, "slow", "POLYGON", "ord INTEGER NOT NULL, name TEXT, pace REAL NOT NULL")
}

// migrate brings the book to the newest version, and refuses one from a newer
// program.
func (b *Book) migrate(steps []migration) error {
	have, err := b.version()
	if err != nil {
		return err
	}
	if have > len(steps) {
		return fmt.Errorf("%s: book of version %d, and this program knows versions up to %d: use a newer untrod", b.path, have, len(steps))
	}
	for v := have; v < len(steps); v++ {
		if err := b.write(func(tx *sql.Tx) error {
			if err := steps[v](tx); err != nil {
				return fmt.Errorf("bringing the book to version %d: %w", v+1, err)
			}
			_, err := tx.Exec(`UPDATE untrod_book SET version = ?`, v+1)
			if err == nil && v+1 >= 2 {
				err = watchTables(tx) // columns may have come
			}
			return err
		}); err != nil {
			return err
		}
	}
	return nil
}

// version is that of the book's tables: 0 for an empty file. It is an error when
// the file is not a book.
func (b *Book) version() (int, error) {
	var tables, ours, v int
	if err := b.db.QueryRow(`SELECT count(*), count(*) FILTER (WHERE name = 'untrod_book') FROM sqlite_schema`).Scan(&tables, &ours); err != nil {
		return 0, b.explain(err)
	}
	switch {
	case tables == 0 && b.fresh:
		return 0, nil
	case ours == 0:
		return 0, fmt.Errorf("%s: not a book of untrod, though a database like one", b.path)
	}
	if err := b.db.QueryRow(`SELECT version FROM untrod_book`).Scan(&v); err != nil {
		return 0, b.explain(err)
	}
	return v, nil
}
