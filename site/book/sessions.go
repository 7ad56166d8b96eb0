package book

import (
	"database/sql"
	"encoding/json"
	"fmt"

	"untrod/coverage"
	"untrod/track"
)

// Session is one visit in the book.
type Session struct {
	ID                                 int64
	Name, File, SHA256, Format, Walker string
	Start, End                         track.Instant // of the fixes as logged
	Fixes                              int           // before cleaning
}

// Sessions lists all visits in order of time, those without times last, then file,
// then ID.
func (b *Book) Sessions() (out []Session, err error) {
	err = b.read(func(tx *sql.Tx) (err error) {
		out, err = readSessions(tx, "")
		return err
	})
	return out, err
}

func readSessions(tx *sql.Tx, where string, args ...any) ([]Session, error) {
	rows, err := tx.Query(`SELECT fid, name, file, sha256, format, walker, start_ms, end_ms, fixes FROM sessions `+where+
		` ORDER BY start_ms IS NULL, start_ms, file, fid`, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []Session
	for rows.Next() {
		var s Session
		var start, end sql.NullInt64
		if err := rows.Scan(&s.ID, &s.Name, &s.File, &s.SHA256, &s.Format, &s.Walker, &start, &end, &s.Fixes); err != nil {
			return nil, err
		}
		s.Start, s.End = instant(start), instant(end)
		out = append(out, s)
	}
	return out, rows.Err()
}

// Drop takes visits out, by their ID: all of them or, on an error, none. A file
// of which no visit is left goes with its places, for good once the change can no
// longer be undone. Places saved in a dropped visit of a file
// that has others stay.
func (b *Book) Drop(ids ...int64) error {
	what := "dropped a visit"
	if len(ids) != 1 {
		what = fmt.Sprintf("dropped %d visits", len(ids))
	}
	return b.change(what, func(tx *sql.Tx) error {
		for _, id := range ids {
			if err := dropSession(tx, id); err != nil {
				return err
			}
		}
		return nil
	})
}

func dropSession(tx *sql.Tx, id int64) error {
	var sha string
	if err := tx.QueryRow(`SELECT sha256 FROM sessions WHERE fid = ?`, id).Scan(&sha); err != nil {
		return fmt.Errorf("no session %d: %w", id, err)
	}
	for _, q := range []string{
		`UPDATE finds SET session = NULL WHERE session = ?`,
		`UPDATE places SET session = NULL WHERE session = ?`,
		`DELETE FROM tracks WHERE session = ?`,
		`DELETE FROM sessions WHERE fid = ?`,
	} {
		if _, err := tx.Exec(q, id); err != nil {
			return err
		}
	}
	const gone = ` (SELECT fid FROM places WHERE sha256 = ?1 AND NOT EXISTS (SELECT 1 FROM sessions WHERE sha256 = ?1))`
	for _, q := range []string{
		`DELETE FROM landmarks WHERE place IN` + gone,
		`DELETE FROM marks WHERE place IN` + gone,
		`DELETE FROM finds WHERE place IN` + gone,
		`DELETE FROM places WHERE fid IN` + gone,
	} {
		if _, err := tx.Exec(q, sha); err != nil {
			return err
		}
	}
	return nil
}

// Sources hands the visits to coverage.Assess: one source per file, by name, with
// the visits that are left of it, each as the file itself would give it. Visits
// are read when their turn comes; the book must stay open until then.
func (b *Book) Sources() ([]coverage.Source, error) {
	var out []coverage.Source
	err := b.read(func(tx *sql.Tx) error {
		rows, err := tx.Query(`SELECT sha256, name, walker, reading FROM files AS f
WHERE EXISTS (SELECT 1 FROM sessions WHERE sha256 = f.sha256) ORDER BY name, sha256`)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var sha, reading string
			var s coverage.Source
			if err := rows.Scan(&sha, &s.Name, &s.Walker, &reading); err != nil {
				return err
			}
			if err := json.Unmarshal([]byte(reading), &s.CSV); err != nil {
				return fmt.Errorf("%s: how to read %s: %w", b.path, s.Name, err)
			}
			s.Visits = func() ([]coverage.Visit, error) { return b.visits(sha) }
			out = append(out, s)
		}
		return rows.Err()
	})
	return out, err
}

// visits reads what is left of a file's visits. The notes on the file come with
// the first of them.
func (b *Book) visits(sha string) ([]coverage.Visit, error) {
	var stored []storedVisit
	var name, notes string
	var waypoints []byte
	if err := b.read(func(tx *sql.Tx) (err error) {
		if err = tx.QueryRow(`SELECT name, notes, waypoints FROM files WHERE sha256 = ?`, sha).Scan(&name, &notes, &waypoints); err == nil {
			stored, err = readStored(tx, sha)
		}
		return err
	}); err != nil {
		return nil, err
	}
	fail := func(err error) ([]coverage.Visit, error) {
		return nil, fmt.Errorf("%s: %s: the book is damaged: %w", b.path, name, err)
	}
	points, err := unpackWaypoints(waypoints)
	if err != nil {
		return fail(err)
	}
	var out []coverage.Visit
	for _, s := range stored {
		v := coverage.Visit{Name: s.name, SHA256: sha, Waypoints: points}
		if v.Segments, err = unpack(s.packed, s.fixes); err != nil {
			return fail(err)
		}
		out = append(out, v)
	}
	if len(out) > 0 {
		if out[0].Notes, err = readNotes(notes); err != nil {
			return fail(err)
		}
	}
	return out, nil
}

// storedVisit is a visit as the book holds it.
type storedVisit struct {
	id     int64
	number int // among the visits of its file
	name   string
	fixes  int
	packed []byte
	line   []byte
}

func readStored(tx *sql.Tx, sha string) ([]storedVisit, error) {
	rows, err := tx.Query(`SELECT s.fid, s.number, s.name, s.fixes, f.packed, t.geom FROM sessions AS s
LEFT JOIN untrod_fixes AS f USING (sha256, number) LEFT JOIN tracks AS t ON t.session = s.fid
WHERE s.sha256 = ? ORDER BY s.number`, sha)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []storedVisit
	for rows.Next() {
		var s storedVisit
		if err := rows.Scan(&s.id, &s.number, &s.name, &s.fixes, &s.packed, &s.line); err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, rows.Err()
}
