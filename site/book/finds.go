package book

import (
	"database/sql"
	"errors"
	"fmt"
	"math"

	"untrod/grid"
	"untrod/site"
)

// findsAndPhotos is version 3: all that is known of a find, and its photos.
func findsAndPhotos(tx *sql.Tx) error {
	_, err := tx.Exec(`
ALTER TABLE finds ADD COLUMN sd_m REAL;
ALTER TABLE finds ADD COLUMN reading TEXT;
ALTER TABLE finds ADD COLUMN detector TEXT;
ALTER TABLE finds ADD COLUMN depth_m REAL;
ALTER TABLE finds ADD COLUMN verdict TEXT;
ALTER TABLE finds ADD COLUMN material TEXT;
ALTER TABLE finds ADD COLUMN from_year INTEGER;
ALTER TABLE finds ADD COLUMN to_year INTEGER;`)
	if err != nil {
		return err
	}
	if err := addTable(tx, "photos", "attributes", `sha256 TEXT NOT NULL UNIQUE, name TEXT NOT NULL, size INTEGER NOT NULL, file TEXT`); err != nil {
		return err
	}
	err = addTable(tx, "find_photos", "attributes", `find INTEGER NOT NULL REFERENCES finds(fid) ON DELETE CASCADE,
  sha256 TEXT NOT NULL REFERENCES photos(sha256), UNIQUE (find, sha256)`)
	if err == nil {
		_, err = tx.Exec(`CREATE INDEX untrod_find_photos ON find_photos(sha256)`)
	}
	return err
}

// AddFind adds a find and returns its ID; f.ID does not matter. Its photos must have been
// given to [Book.KeepPhoto]. It is an error when f is not valid, see
// site.Find.Validate, or its session or a photo is not in the book.
func (b *Book) AddFind(f site.Find) (int64, error) {
	ids, err := b.AddFinds([]site.Find{f})
	if err != nil {
		return 0, err
	}
	return ids[0], nil
}

// AddFinds adds many finds, all or on an error none, as AddFind would.
func (b *Book) AddFinds(finds []site.Find) ([]int64, error) {
	ids := make([]int64, len(finds))
	what := "added a find"
	if len(finds) != 1 {
		what = fmt.Sprintf("added %d finds", len(finds))
	}
	err := b.change(what, func(tx *sql.Tx) error {
		add, err := tx.Prepare(`INSERT INTO finds (` + findColumns + `) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`)
		if err != nil {
			return err
		}
		defer add.Close()
		for i, f := range finds {
			args, err := findArgs(f)
			if err != nil {
				return err
			}
			done, err := add.Exec(args...)
			if err != nil {
				return fmt.Errorf("find %q: %w", f.Name, err)
			}
			if f.ID, err = done.LastInsertId(); err != nil {
				return err
			}
			ids[i] = f.ID
			if len(f.Photos) == 0 {
				continue
			}
			if err := linkPhotos(tx, f); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return ids, nil
}

// SetFind replaces all that is known of the find of f.ID; errors are those of
// AddFind, and one when there is no such find.
func (b *Book) SetFind(f site.Find) error {
	return b.change("changed a find", func(tx *sql.Tx) error {
		args, err := findArgs(f)
		if err != nil {
			return err
		}
		done, err := tx.Exec(`UPDATE finds SET (`+findColumns+`) = (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) WHERE fid = ?`, append(args, f.ID)...)
		if err != nil {
			return fmt.Errorf("find %q: %w", f.Name, err)
		}
		if n, err := done.RowsAffected(); err != nil || n == 0 {
			return errors.Join(fmt.Errorf("no find %d", f.ID), err)
		}
		if err := linkPhotos(tx, f); err != nil {
			return err
		}
		return dropLoosePhotos(tx)
	})
}

const findColumns = `geom, name, time, note, session, sd_m, reading, detector, depth_m, verdict, material, from_year, to_year`

// findArgs are the values of findColumns for f.
func findArgs(f site.Find) ([]any, error) {
	if err := f.Validate(); err != nil {
		return nil, err
	}
	var geom, session any
	if f.Placed() {
		geom = shape{kind: wkbPoint, parts: [][]grid.LonLat{{f.Pos}}}.binary()
	}
	if f.Session != 0 {
		session = f.Session
	}
	return []any{geom, f.Name, dateTime(f.T), f.Note, session, nullNaN(f.SdM), f.Reading, f.Detector,
		nullNaN(f.DepthM), string(f.Verdict), f.Material, nullYear(f.From), nullYear(f.To)}, nil
}

func nullNaN(v float64) any {
	if math.IsNaN(v) {
		return nil
	}
	return v
}

func nullYear(y int) any {
	if y == site.NoYear {
		return nil
	}
	return y
}

// DropFind takes finds out, all or on an error none. The waypoint of an imported
// file stays, as a place that stands for nothing.
func (b *Book) DropFind(ids ...int64) error {
	what := "dropped a find"
	if len(ids) != 1 {
		what = fmt.Sprintf("dropped %d finds", len(ids))
	}
	return b.change(what, func(tx *sql.Tx) error {
		for _, id := range ids {
			if _, err := tx.Exec(`UPDATE places SET role = ? WHERE fid = (SELECT place FROM finds WHERE fid = ?)`, string(site.RoleNone), id); err != nil {
				return err
			}
			done, err := tx.Exec(`DELETE FROM finds WHERE fid = ?`, id)
			if err != nil {
				return err
			}
			if n, err := done.RowsAffected(); err != nil || n == 0 {
				return errors.Join(fmt.Errorf("no find %d", id), err)
			}
		}
		return dropLoosePhotos(tx)
	})
}
