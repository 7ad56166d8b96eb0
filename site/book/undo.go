package book

import (
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"
)

// ErrNothingToUndo is the error of [Book.Undo] when no change is on record.
var ErrNothingToUndo = errors.New("nothing to undo")

// keepChanges is how many of the last changes can be undone.
const keepChanges = 50

// unwatched are the tables that undo leaves alone, beside those of the standard
// and the undo record itself: files and fixes are found by their content and go
// when nothing refers to them.
var unwatched = []string{"files"}

// watchTables lays triggers on every table of the book's content, which write down
// the opposite of each change while one is under way: the technique described at
// https://www.sqlite.org/undoredo.html. They use only what every SQLite has, and
// do nothing when another program edits the book.
func watchTables(tx *sql.Tx) error {
	tables, err := queryAll[string](tx, `SELECT table_name FROM gpkg_contents WHERE table_name NOT IN ('`+strings.Join(unwatched, "','")+`')`)
	if err != nil {
		return err
	}
	for _, t := range tables {
		columns, err := tableColumns(tx, t)
		if err != nil {
			return err
		}
		for event, opposite := range opposites(t, columns) {
			if _, err := tx.Exec(fmt.Sprintf(`DROP TRIGGER IF EXISTS "undo_%[1]s_%[2]s";
CREATE TRIGGER "undo_%[1]s_%[2]s" AFTER %[2]s ON "%[1]s"
WHEN (SELECT change FROM untrod_now) > 0
BEGIN
  INSERT INTO untrod_undo (change, sql) SELECT change, %[3]s FROM untrod_now;
END;`, t, event, opposite)); err != nil {
				return fmt.Errorf("undo of %s: %w", t, err)
			}
		}
	}
	return nil
}

type column struct{ name, kind string }

func tableColumns(tx *sql.Tx, table string) ([]column, error) {
	rows, err := tx.Query(`SELECT name, type FROM pragma_table_info(?) WHERE name <> 'fid'`, table)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []column
	for rows.Next() {
		var c column
		if err := rows.Scan(&c.name, &c.kind); err != nil {
			return nil, err
		}
		out = append(out, c)
	}
	return out, rows.Err()
}

// opposites are SQL expressions, each giving the statement that takes back an
// insert, update or delete.
func opposites(table string, columns []column) map[string]string {
	var names, sets, values strings.Builder
	for i, c := range columns {
		old := fmt.Sprintf(`quote(OLD."%s")`, c.name)
		if c.kind == "TEXT" || c.kind == "DATETIME" { // quote ends a text at a zero byte
			old = fmt.Sprintf(`'CAST(' || quote(CAST(OLD."%s" AS BLOB)) || ' AS TEXT)'`, c.name)
		}
		comma := ","
		if i == 0 {
			comma = ""
		}
		fmt.Fprintf(&names, `,"%s"`, c.name)
		fmt.Fprintf(&values, ` || ',' || %s`, old)
		fmt.Fprintf(&sets, ` || '%s"%s"=' || %s`, comma, c.name, old)
	}
	return map[string]string{
		"INSERT": fmt.Sprintf(`'DELETE FROM "%s" WHERE fid=' || NEW.fid`, table),
		"UPDATE": fmt.Sprintf(`'UPDATE "%s" SET '%s || ' WHERE fid=' || NEW.fid`, table, sets.String()),
		"DELETE": fmt.Sprintf(`'INSERT INTO "%s" (fid%s) VALUES (' || OLD.fid%s || ')'`, table, names.String(), values.String()),
	}
}

// Begin starts a change that Undo takes back as a whole, named in plain words
// such as "added 12 files": all that is changed until the next Begin, Undo or
// Close. Without Begin every call that changes something is a change of its own. A
// change that changes nothing leaves no record.
func (b *Book) Begin(what string) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.readOnly {
		return b.notHeld()
	}
	b.pending, b.grouped, b.current = what, true, 0
	return nil
}

func (b *Book) notHeld() error { return fmt.Errorf("%s: open to read only", b.path) }

// change runs f as part of the change under way, or as one of its own called what.
func (b *Book) change(what string, f func(tx *sql.Tx) error) error {
	if b.readOnly {
		return b.notHeld()
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if !b.grouped {
		b.pending, b.current = what, 0
	}
	id := b.current
	err := b.write(func(tx *sql.Tx) error {
		var err error
		if id, err = startChange(tx, id, b.pending); err != nil {
			return err
		}
		if err := f(tx); err != nil {
			return err
		}
		id, err = endChange(tx, id)
		return err
	})
	if err == nil {
		b.current = id
	}
	return err
}

// startChange sets the triggers to write under the change id, a new one when 0.
func startChange(tx *sql.Tx, id int64, what string) (int64, error) {
	if id == 0 {
		done, err := tx.Exec(`INSERT INTO untrod_changes (what, made) VALUES (?, ?)`, what, time.Now().UTC().Format(time.RFC3339))
		if err != nil {
			return 0, err
		}
		if id, err = done.LastInsertId(); err != nil {
			return 0, err
		}
	}
	_, err := tx.Exec(`UPDATE untrod_now SET change = ?`, id)
	return id, err
}

// endChange stops the triggers. It forgets the change when it changed nothing, and
// the oldest ones.
func endChange(tx *sql.Tx, id int64) (int64, error) {
	if _, err := tx.Exec(`UPDATE untrod_now SET change = 0`); err != nil {
		return 0, err
	}
	empty, err := tx.Exec(`DELETE FROM untrod_changes WHERE id = ? AND NOT EXISTS (SELECT 1 FROM untrod_undo WHERE change = untrod_changes.id)`, id)
	if err != nil {
		return 0, err
	}
	if n, err := empty.RowsAffected(); err != nil || n > 0 {
		return 0, err
	}
	old := `SELECT id FROM untrod_changes ORDER BY id DESC LIMIT -1 OFFSET ` + fmt.Sprint(keepChanges)
	if _, err := tx.Exec(`DELETE FROM untrod_undo WHERE change IN (` + old + `)`); err != nil {
		return 0, err
	}
	gone, err := tx.Exec(`DELETE FROM untrod_changes WHERE id IN (` + old + `)`)
	if err != nil {
		return 0, err
	}
	if n, err := gone.RowsAffected(); err != nil || n == 0 {
		return id, err
	}
	return id, collect(tx)
}

// Undo takes the last change back and returns what it was called, or
// ErrNothingToUndo. The last 50 changes are kept. What another program changed in
// the file since is not on record, and may make the undo fail, as a whole.
func (b *Book) Undo() (string, error) {
	if b.readOnly {
		return "", b.notHeld()
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.grouped, b.current = false, 0
	var id int64
	var what string
	err := b.db.QueryRow(`SELECT id, what FROM untrod_changes ORDER BY id DESC LIMIT 1`).Scan(&id, &what)
	if errors.Is(err, sql.ErrNoRows) {
		return "", ErrNothingToUndo
	}
	if err != nil {
		return "", b.explain(err)
	}
	return what, b.write(func(tx *sql.Tx) error { return takeBack(tx, id) })
}

func takeBack(tx *sql.Tx, id int64) error {
	steps, err := queryAll[string](tx, `SELECT sql FROM untrod_undo WHERE change = ? ORDER BY id DESC`, id)
	if err != nil {
		return err
	}
	for _, q := range steps {
		if _, err := tx.Exec(q); err != nil {
			return fmt.Errorf("taking back: %w", err)
		}
	}
	for _, q := range []string{`DELETE FROM untrod_undo WHERE change = ?`, `DELETE FROM untrod_changes WHERE id = ?`} {
		if _, err := tx.Exec(q, id); err != nil {
			return err
		}
	}
	return collect(tx)
}

// collect removes the files to which no session, place, photo, backdrop or undo step
// refers.
func collect(tx *sql.Tx) error {
	_, err := tx.Exec(`
CREATE TEMP TABLE orphans AS SELECT sha256 FROM files AS f
  WHERE NOT EXISTS (SELECT 1 FROM sessions WHERE sha256 = f.sha256)
    AND NOT EXISTS (SELECT 1 FROM places WHERE sha256 = f.sha256)
    AND NOT EXISTS (SELECT 1 FROM photos WHERE sha256 = f.sha256)
    AND NOT EXISTS (SELECT 1 FROM backdrop WHERE sha256 = f.sha256)
    AND NOT EXISTS (SELECT 1 FROM untrod_undo WHERE instr(sql, hex(f.sha256)) > 0);
DELETE FROM untrod_fixes WHERE sha256 IN (SELECT sha256 FROM orphans);
DELETE FROM files WHERE sha256 IN (SELECT sha256 FROM orphans);
DROP TABLE orphans;`)
	return err
}
