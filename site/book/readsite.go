package book

import (
	"cmp"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"untrod/grid"
	"untrod/site"
)

// Site returns the site as it stands, with the places that are landmarks or marks
// after its own; nil when the book has no boundary. It is validated anew, for
// another program may have edited its layers.
func (b *Book) Site() (*site.Site, error) {
	var s *site.Site
	err := b.read(func(tx *sql.Tx) (err error) {
		s, err = readSite(tx, "TRUE")
		return err
	})
	if err == nil && s != nil {
		if err = s.Validate(); err != nil {
			err = fmt.Errorf("%s: %w", b.path, err)
		}
	}
	if err != nil {
		return nil, err
	}
	return s, nil
}

// readSite reads the site, with the landmarks that the SQL condition takes.
func readSite(tx *sql.Tx, landmarks string) (*site.Site, error) {
	s := &site.Site{}
	var err error
	if s.Boundary, err = readAreas(tx, "boundary"); err != nil || len(s.Boundary) == 0 {
		return nil, err
	}
	if s.Keepouts, err = readAreas(tx, "keepouts"); err != nil {
		return nil, err
	}
	if s.LaidOut, err = readLaidOut(tx); err != nil {
		return nil, err
	}
	if s.Slow, err = readSlow(tx); err != nil {
		return nil, err
	}
	marked, err := readLandmarks(tx, landmarks)
	if err != nil {
		return nil, err
	}
	for _, l := range marked {
		s.Landmarks = append(s.Landmarks, l.Landmark)
	}
	var notes string
	err = tx.QueryRow(`SELECT coalesce(name, ''), notes FROM site ORDER BY fid LIMIT 1`).Scan(&s.Name, &notes)
	if err == nil {
		s.Notes, err = readNotes(notes)
	}
	return s, err
}

func readAreas(tx *sql.Tx, table string) ([]site.Area, error) {
	rows, err := tx.Query(`SELECT geom, coalesce(name, '') FROM ` + table + ` ORDER BY ord, fid`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []site.Area
	for rows.Next() {
		var geom []byte
		var name string
		if err := rows.Scan(&geom, &name); err != nil {
			return nil, err
		}
		a, err := readArea(geom, name)
		if err != nil {
			return nil, fmt.Errorf("layer %s: %q: %w", table, name, err)
		}
		out = append(out, a)
	}
	return out, rows.Err()
}

func readLaidOut(tx *sql.Tx) ([]site.LaidOut, error) {
	rows, err := tx.Query(`SELECT geom, coalesce(name, ''), spacing_m, direction_deg, coalesce(session, '') FROM laid_out ORDER BY ord, fid`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []site.LaidOut
	for rows.Next() {
		var geom []byte
		var l site.LaidOut
		if err := rows.Scan(&geom, &l.Name, &l.SpacingM, &l.DirectionDeg, &l.Session); err != nil {
			return nil, err
		}
		if l.Area, err = readArea(geom, l.Name); err != nil {
			return nil, fmt.Errorf("layer laid_out: %q: %w", l.Name, err)
		}
		out = append(out, l)
	}
	return out, rows.Err()
}

func readSlow(tx *sql.Tx) ([]site.Slow, error) {
	rows, err := tx.Query(`SELECT geom, coalesce(name, ''), pace FROM slow ORDER BY ord, fid`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []site.Slow
	for rows.Next() {
		var geom []byte
		var l site.Slow
		if err := rows.Scan(&geom, &l.Name, &l.Pace); err != nil {
			return nil, err
		}
		if l.Area, err = readArea(geom, l.Name); err != nil {
			return nil, fmt.Errorf("layer slow: %q: %w", l.Name, err)
		}
		out = append(out, l)
	}
	return out, rows.Err()
}

func readArea(geom []byte, name string) (site.Area, error) {
	s, err := readShape(geom)
	if err == nil {
		s, err = s.single()
	}
	if err == nil && (s.kind != wkbPolygon || len(s.parts) == 0) {
		err = errors.New("not a polygon")
	}
	if err != nil {
		return site.Area{}, err
	}
	a := site.Area{Name: name, Outer: open(s.parts[0])}
	for _, h := range s.parts[1:] {
		a.Holes = append(a.Holes, open(h))
	}
	return a, nil
}

// open takes the repeated first vertex off a ring.
func open(ring []grid.LonLat) []grid.LonLat {
	if n := len(ring); n > 1 && ring[0] == ring[n-1] {
		return ring[:n-1]
	}
	return ring
}

type orderedLandmark struct {
	site.Landmark
	ord   int
	place bool
}

// readLandmarks reads landmarks and marks: the site's own in the site's order, then
// those of places by name and position, whichever file came first.
func readLandmarks(tx *sql.Tx, where string) ([]orderedLandmark, error) {
	rows, err := tx.Query(fmt.Sprintf(`SELECT geom, ord, coalesce(name, ''), coalesce(kind, ''), 0, place IS NOT NULL, fid FROM landmarks WHERE %[1]s
UNION ALL SELECT geom, ord, coalesce(name, ''), coalesce(kind, ''), 1, place IS NOT NULL, fid FROM marks WHERE %[1]s ORDER BY 2, 7`, where))
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []orderedLandmark
	for rows.Next() {
		var geom []byte
		var fid int64
		var l orderedLandmark
		if err := rows.Scan(&geom, &l.ord, &l.Name, &l.Kind, &l.Mark, &l.place, &fid); err != nil {
			return nil, err
		}
		if err := l.readShape(geom); err != nil {
			return nil, fmt.Errorf("landmark %q: %w", l.Name, err)
		}
		out = append(out, l)
	}
	slices.SortStableFunc(out, byPlace)
	return out, rows.Err()
}

func byPlace(a, b orderedLandmark) int {
	switch {
	case !a.place && !b.place:
		return 0
	case !a.place:
		return -1
	case !b.place:
		return 1
	}
	p, q := a.Points[0], b.Points[0]
	return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(p.Lon, q.Lon), cmp.Compare(p.Lat, q.Lat), cmp.Compare(a.Kind, b.Kind))
}

func (l *orderedLandmark) readShape(geom []byte) error {
	s, err := readShape(geom)
	if err == nil {
		s, err = s.single()
	}
	if err != nil {
		return err
	}
	if len(s.parts) == 0 || len(s.parts[0]) == 0 {
		return errors.New("no position")
	}
	l.Points = s.parts[0]
	switch s.kind {
	case wkbLine:
		l.Shape = site.LineShape
	case wkbPolygon:
		l.Shape, l.Points = site.AreaShape, open(l.Points)
	}
	return nil
}
