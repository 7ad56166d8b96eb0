package book

import (
	"database/sql"
	"encoding/json"
	"fmt"
	"slices"

	"untrod/grid"
	"untrod/site"
)

// SetSite replaces the site: boundary, keep-outs, laid-out and slow ground, landmarks
// and marks. Those that stand for a place of an imported file stay, and are not
// doubled where s has them too. s must be valid, see site.Site.Validate.
func (b *Book) SetSite(s *site.Site) error {
	return b.change("changed the site", func(tx *sql.Tx) error { return setSite(tx, s) })
}

func setSite(tx *sql.Tx, s *site.Site) error {
	if err := s.Validate(); err != nil {
		return err
	}
	for _, q := range []string{
		`DELETE FROM boundary`, `DELETE FROM keepouts`, `DELETE FROM laid_out`, `DELETE FROM slow`, `DELETE FROM site`,
		`DELETE FROM landmarks WHERE place IS NULL`, `DELETE FROM marks WHERE place IS NULL`,
	} {
		if _, err := tx.Exec(q); err != nil {
			return err
		}
	}
	notes, err := json.Marshal(s.Notes.List())
	if err != nil {
		return err
	}
	if _, err := tx.Exec(`INSERT INTO site (name, notes) VALUES (?, ?)`, s.Name, string(notes)); err != nil {
		return err
	}
	if err := setAreas(tx, s); err != nil {
		return err
	}
	return setLandmarks(tx, s.Landmarks)
}

func setAreas(tx *sql.Tx, s *site.Site) error {
	for table, areas := range map[string][]site.Area{"boundary": s.Boundary, "keepouts": s.Keepouts} {
		for i, a := range areas {
			if _, err := tx.Exec(`INSERT INTO `+table+` (geom, ord, name) VALUES (?, ?, ?)`, areaShape(a).binary(), i, a.Name); err != nil {
				return err
			}
		}
	}
	for i, l := range s.LaidOut {
		if _, err := tx.Exec(`INSERT INTO laid_out (geom, ord, name, spacing_m, direction_deg, session) VALUES (?, ?, ?, ?, ?, ?)`,
			areaShape(l.Area).binary(), i, l.Name, l.SpacingM, l.DirectionDeg, l.Session); err != nil {
			return err
		}
	}
	for i, l := range s.Slow {
		if _, err := tx.Exec(`INSERT INTO slow (geom, ord, name, pace) VALUES (?, ?, ?, ?)`, areaShape(l.Area).binary(), i, l.Name, l.Pace); err != nil {
			return err
		}
	}
	return nil
}

func setLandmarks(tx *sql.Tx, landmarks []site.Landmark) error {
	kept, err := readLandmarks(tx, "place IS NOT NULL")
	if err != nil {
		return err
	}
	for i, l := range landmarks {
		same := func(k orderedLandmark) bool {
			return k.Name == l.Name && k.Mark == l.Mark && k.Shape == l.Shape && slices.Equal(k.Points, l.Points)
		}
		if slices.ContainsFunc(kept, same) {
			continue
		}
		if err := addLandmark(tx, l, i, nil); err != nil {
			return err
		}
	}
	return nil
}

// addLandmark writes a landmark, of a place where that is not nil.
func addLandmark(tx *sql.Tx, l site.Landmark, ord int, place any) error {
	table, s := "landmarks", shape{kind: wkbPoint, parts: [][]grid.LonLat{l.Points}}
	if l.Mark {
		table = "marks"
	}
	switch {
	case len(l.Points) == 0 || l.Shape == site.PointShape && len(l.Points) > 1:
		return fmt.Errorf("landmark %q has %d positions", l.Name, len(l.Points))
	case l.Shape == site.LineShape:
		s.kind = wkbLine
	case l.Shape == site.AreaShape:
		s = areaShape(site.Area{Outer: l.Points})
	}
	_, err := tx.Exec(`INSERT INTO `+table+` (geom, ord, name, kind, place) VALUES (?, ?, ?, ?, ?)`, s.binary(), ord, l.Name, l.Kind, place)
	return err
}

// areaShape closes the rings, which otherwise stay as they are.
func areaShape(a site.Area) shape {
	s := shape{kind: wkbPolygon}
	for _, ring := range append([][]grid.LonLat{a.Outer}, a.Holes...) {
		s.parts = append(s.parts, append(ring[:len(ring):len(ring)], ring[:min(1, len(ring))]...))
	}
	return s
}
