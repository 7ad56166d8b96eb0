package book

import (
	"database/sql"
	"fmt"

	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// Place is a waypoint of an imported file, and what it stands for.
type Place struct {
	ID                          int64
	Name, Sym, Desc, Kind, File string
	Role                        site.Role
	Pos                         grid.LonLat
	T                           track.Instant
}

// Places lists all waypoints of imported files by name, time and ID.
func (b *Book) Places() (out []Place, err error) {
	err = b.read(func(tx *sql.Tx) (err error) {
		out, err = readPlaces(tx, "")
		return err
	})
	return out, err
}

func readPlaces(tx *sql.Tx, where string, args ...any) ([]Place, error) {
	rows, err := tx.Query(`SELECT p.fid, p.name, p.sym, p."desc", p.kind, f.name, p.role, p.lon, p.lat, p.time_ms
FROM places AS p LEFT JOIN files AS f USING (sha256) `+where+` ORDER BY p.name, p.time_ms, p.fid`, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []Place
	for rows.Next() {
		var p Place
		var file sql.NullString
		var t sql.NullInt64
		if err := rows.Scan(&p.ID, &p.Name, &p.Sym, &p.Desc, &p.Kind, &file, &p.Role, &p.Pos.Lon, &p.Pos.Lat, &t); err != nil {
			return nil, err
		}
		p.File, p.T = file.String, instant(t)
		out = append(out, p)
	}
	return out, rows.Err()
}

// takePlace writes a waypoint and what it stands for.
func takePlace(tx *sql.Tx, sha string, w preparedPlace, role site.Role, session any) error {
	done, err := tx.Exec(`INSERT INTO places (sha256, number, name, sym, "desc", kind, role, lon, lat, time_ms, session) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		sha, w.number, w.Name, w.Sym, w.Desc, w.Type, string(role), w.Pos.Lon, w.Pos.Lat, millis(w.T), session)
	if err != nil {
		return err
	}
	id, err := done.LastInsertId()
	if err != nil {
		return err
	}
	return putInLayer(tx, id)
}

// Call makes a place a landmark, a mark, a find or nothing. The landmark or mark
// is a point named like the waypoint, of its type as kind; the find keeps its
// description as note.
func (b *Book) Call(id int64, role site.Role) error {
	switch role {
	case site.RoleLandmark, site.RoleMark, site.RoleFind, site.RoleNone:
	default:
		return fmt.Errorf("role %q is not %s, %s, %s or %s", string(role), site.RoleLandmark, site.RoleMark, site.RoleFind, site.RoleNone)
	}
	return b.change(fmt.Sprintf("changed a place to %s", role), func(tx *sql.Tx) error {
		done, err := tx.Exec(`UPDATE places SET role = ?1 WHERE fid = ?2 AND role <> ?1`, string(role), id)
		if err != nil {
			return err
		}
		if n, err := done.RowsAffected(); err != nil || n == 0 {
			return mustExist(tx, id, err)
		}
		for _, layer := range []string{"landmarks", "marks", "finds"} {
			if _, err := tx.Exec(`DELETE FROM `+layer+` WHERE place = ?`, id); err != nil {
				return err
			}
		}
		return putInLayer(tx, id)
	})
}

// mustExist tells a place that has the role already from one that is not there.
func mustExist(tx *sql.Tx, id int64, err error) error {
	if err == nil {
		err = tx.QueryRow(`SELECT fid FROM places WHERE fid = ?`, id).Scan(&id)
	}
	if err != nil {
		return fmt.Errorf("no place %d: %w", id, err)
	}
	return nil
}

// putInLayer adds the shape of a place to the layer of its role.
func putInLayer(tx *sql.Tx, id int64) error {
	ps, err := readPlaces(tx, `WHERE p.fid = ?`, id)
	if err != nil || len(ps) != 1 {
		return mustExist(tx, id, err)
	}
	p := ps[0]
	l := site.Landmark{Name: p.Name, Kind: p.Kind, Mark: p.Role == site.RoleMark, Points: []grid.LonLat{p.Pos}}
	switch p.Role {
	case site.RoleLandmark, site.RoleMark:
		return addLandmark(tx, l, 0, id)
	case site.RoleFind:
		point := shape{kind: wkbPoint, parts: [][]grid.LonLat{l.Points}}
		_, err = tx.Exec(`INSERT INTO finds (geom, name, time, note, session, place) SELECT ?, ?, ?, ?, session, fid FROM places WHERE fid = ?`,
			point.binary(), p.Name, dateTime(p.T), p.Desc, id)
	}
	return err
}
