package book

import (
	"database/sql"
	"math"
	"time"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// Finds lists all finds by ID: those added, and the waypoints of imported files
// that are finds. The ends of a reading's range are made of its text by
// coverage.ParseReading. What another program wrote and cannot be read is as if not
// known.
func (b *Book) Finds() (out []site.Find, err error) {
	err = b.read(func(tx *sql.Tx) (err error) {
		out, err = readFinds(tx)
		return err
	})
	return out, err
}

func readFinds(tx *sql.Tx) ([]site.Find, error) {
	photos, err := readFindPhotos(tx)
	if err != nil {
		return nil, err
	}
	rows, err := tx.Query(`SELECT fid, geom, coalesce(name, ''), CAST(time AS TEXT), coalesce(note, ''), coalesce(session, 0),
sd_m, coalesce(reading, ''), coalesce(detector, ''), depth_m, coalesce(verdict, ''), coalesce(material, ''), from_year, to_year
FROM finds ORDER BY fid`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []site.Find
	for rows.Next() {
		f, err := scanFind(rows)
		if err != nil {
			return nil, err
		}
		f.Photos = photos[f.ID]
		out = append(out, f)
	}
	return out, rows.Err()
}

func readFindPhotos(tx *sql.Tx) (map[int64][]string, error) {
	rows, err := tx.Query(`SELECT find, sha256 FROM find_photos ORDER BY fid`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	out := map[int64][]string{}
	for rows.Next() {
		var find int64
		var sha string
		if err := rows.Scan(&find, &sha); err != nil {
			return nil, err
		}
		out[find] = append(out[find], sha)
	}
	return out, rows.Err()
}

func scanFind(rows *sql.Rows) (site.Find, error) {
	f := site.NoFind
	var geom []byte
	var at sql.NullString
	var sd, depth sql.NullFloat64
	var from, to sql.NullInt64
	var verdict string
	if err := rows.Scan(&f.ID, &geom, &f.Name, &at, &f.Note, &f.Session,
		&sd, &f.Reading, &f.Detector, &depth, &verdict, &f.Material, &from, &to); err != nil {
		return f, err
	}
	if t, err := time.Parse(time.RFC3339, at.String); err == nil {
		f.T = track.At(t)
	}
	f.Pos, f.SdM, f.DepthM = pointOf(geom), orNaN(sd), orNaN(depth)
	f.From, f.To = yearOf(from), yearOf(to)
	if v, ok := site.ParseVerdict(verdict); ok {
		f.Verdict = v
	}
	if lo, hi, ok := coverage.ParseReading(f.Reading); ok {
		f.ReadingLo, f.ReadingHi = lo, hi
	}
	return f, nil
}

// pointOf is the one position of a stored point; no place where it is none.
func pointOf(geom []byte) grid.LonLat {
	if s, err := readShape(geom); err == nil {
		if s, err = s.single(); err == nil && s.kind == wkbPoint && len(s.parts) == 1 && len(s.parts[0]) == 1 {
			return s.parts[0][0]
		}
	}
	return site.NoFind.Pos
}

func orNaN(v sql.NullFloat64) float64 {
	if !v.Valid {
		return math.NaN()
	}
	return v.Float64
}

func yearOf(v sql.NullInt64) int {
	if !v.Valid {
		return site.NoYear
	}
	return int(v.Int64)
}
