package book

import (
	"context"
	"database/sql"

	"untrod/site"
	"untrod/track"
)

// Taken is what became of a file.
type Taken struct {
	Known    bool // its bytes were in the book already: nothing changed
	Sessions []Session
	Places   []Place
}

// Take brings a prepared file in, in one transaction: when it returns without
// error the file's original, its visits and its places are on disk, and otherwise
// nothing of it. A file of which a visit or place is in the book, by its bytes,
// whatever its name, changes nothing; one that was dropped as a whole comes back.
// Waypoints get the role that site.RoleOf
// gives them against the site's own landmarks, so that the order of files does not
// matter.
func (b *Book) Take(ctx context.Context, p *Prepared) (Taken, error) {
	t := Taken{}
	var known int
	err := b.read(func(tx *sql.Tx) error {
		return tx.QueryRow(`SELECT EXISTS (SELECT 1 FROM sessions WHERE sha256 = ?1) OR EXISTS (SELECT 1 FROM places WHERE sha256 = ?1)`, p.SHA256).Scan(&known)
	})
	if err == nil && known == 0 {
		err = b.change("added "+p.Name, func(tx *sql.Tx) error {
			if err := takeFile(tx, p); err != nil {
				return err
			}
			return ctx.Err()
		})
	}
	if err != nil {
		return t, err
	}
	t.Known = known != 0
	return t, b.read(func(tx *sql.Tx) (err error) {
		if t.Sessions, err = readSessions(tx, `WHERE sha256 = ?`, p.SHA256); err == nil {
			t.Places, err = readPlaces(tx, `WHERE p.sha256 = ?`, p.SHA256)
		}
		return err
	})
}

func takeFile(tx *sql.Tx, p *Prepared) error {
	if _, err := tx.Exec(`INSERT OR IGNORE INTO files (sha256, name, walker, format, size, reading, notes, waypoints, data) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		p.SHA256, p.Name, p.Walker, p.format, p.size, p.reading, p.notes, p.waypoints, p.original); err != nil {
		return err
	}
	sessions := make([]int64, len(p.visits))
	for i, v := range p.visits {
		var err error
		if sessions[i], err = takeVisit(tx, p, i, v); err != nil {
			return err
		}
	}
	s, err := readSite(tx, "place IS NULL")
	if err != nil {
		return err
	}
	for _, w := range p.places {
		session := any(nil)
		if w.visit >= 0 {
			session = sessions[w.visit]
		}
		if err := takePlace(tx, p.SHA256, w, site.RoleOf(w.Waypoint, s, w.stood), session); err != nil {
			return err
		}
	}
	return nil
}

func takeVisit(tx *sql.Tx, p *Prepared, number int, v packedVisit) (int64, error) {
	if _, err := tx.Exec(`INSERT OR IGNORE INTO untrod_fixes VALUES (?, ?, ?)`, p.SHA256, number, v.packed); err != nil {
		return 0, err
	}
	done, err := tx.Exec(`INSERT INTO sessions (sha256, number, name, file, format, walker, start, "end", start_ms, end_ms, fixes) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		p.SHA256, number, v.name, p.Name, p.format, p.Walker, dateTime(v.start), dateTime(v.end), millis(v.start), millis(v.end), v.fixes)
	if err != nil {
		return 0, err
	}
	id, err := done.LastInsertId()
	if err != nil {
		return 0, err
	}
	line := any(v.line)
	if v.line == nil {
		line = nil
	}
	_, err = tx.Exec(`INSERT INTO tracks (geom, session, name, start) VALUES (?, ?, ?, ?)`, line, id, v.name, dateTime(v.start))
	return id, err
}

// dateTime is t as the standard writes it (clause 1.1.1.1.4, DATETIME); nil
// without time or where its year has not four digits.
func dateTime(t track.Instant) any {
	if y := t.Time().Year(); !t.Known() || y < 1 || y > 9999 {
		return nil
	}
	return t.Time().Format("2006-01-02T15:04:05.000Z")
}

func millis(t track.Instant) any {
	if !t.Known() {
		return nil
	}
	return int64(t)
}

func instant(ms sql.NullInt64) track.Instant {
	if !ms.Valid {
		return track.NoTime
	}
	return track.Instant(ms.Int64)
}
