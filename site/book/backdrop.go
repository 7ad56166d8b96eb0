package book

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"untrod/grid"
)

// Backdrop is a picture or a grid of heights of the user's own that lies under the
// map. A book holds one, to the byte as it was given, with the originals.
type Backdrop struct {
	SHA256, Name string
	Kind         string // in a word, for other programs
	World        string // the world file as given; "" without
	Ties         []Tie
}

// Tie says where a point of the backdrop lies. Columns and rows are pixels from the
// upper left corner of the upper left pixel.
type Tie struct {
	Col, Row float64
	At       grid.LonLat
}

// backdrop is version 5.
func backdrop(tx *sql.Tx) error {
	return addTable(tx, "backdrop", "attributes", `sha256 TEXT NOT NULL REFERENCES files(sha256), name TEXT NOT NULL,
  kind TEXT NOT NULL, world TEXT NOT NULL, ties TEXT NOT NULL`)
}

// ErrNoBackdrop is the error of what asks for a backdrop where the book has none.
var ErrNoBackdrop = errors.New("the book has no backdrop")

// Backdrop tells of the backdrop; nil where the book has none.
func (b *Book) Backdrop() (out *Backdrop, err error) {
	err = b.read(func(tx *sql.Tx) error {
		var d Backdrop
		var ties string
		err := tx.QueryRow(`SELECT sha256, name, kind, world, ties FROM backdrop ORDER BY fid DESC LIMIT 1`).
			Scan(&d.SHA256, &d.Name, &d.Kind, &d.World, &ties)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		if err != nil {
			return err
		}
		if err := json.Unmarshal([]byte(ties), &d.Ties); err != nil {
			return fmt.Errorf("ties of the backdrop: %w", err)
		}
		out = &d
		return nil
	})
	return out, err
}

// BackdropBytes are the bytes of d as they were given. It is an error when they are
// damaged.
func (b *Book) BackdropBytes(d *Backdrop) ([]byte, error) {
	r, err := b.OpenPhoto(Photo{SHA256: d.SHA256})
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return io.ReadAll(r)
}

// SetBackdrop puts a backdrop in the place of the one before; d.SHA256 does not
// matter. What was replaced or dropped goes from the file with the last change that
// can bring it back.
func (b *Book) SetBackdrop(d Backdrop, data []byte) error {
	sum := sha256.Sum256(data)
	d.SHA256 = hex.EncodeToString(sum[:])
	ties, err := tiesText(d.Ties)
	if err != nil {
		return err
	}
	var packed bytes.Buffer
	z, _ := zlib.NewWriterLevel(&packed, zlib.BestSpeed)
	if _, err := z.Write(data); err != nil {
		return err
	}
	_ = z.Close() // a Buffer takes all
	if packed.Len() > maxOriginal {
		return fmt.Errorf("%s: too large to be kept", d.Name)
	}
	return b.change("set the backdrop "+d.Name, func(tx *sql.Tx) error {
		if err := keepOriginal(tx, Photo{SHA256: d.SHA256, Name: d.Name, Size: int64(len(data))}, packed.Bytes()); err != nil {
			return err
		}
		if _, err := tx.Exec(`DELETE FROM backdrop`); err != nil {
			return err
		}
		_, err := tx.Exec(`INSERT INTO backdrop (sha256, name, kind, world, ties) VALUES (?, ?, ?, ?, ?)`, d.SHA256, d.Name, d.Kind, d.World, ties)
		return err
	})
}

// TieBackdrop replaces the ties of the backdrop; ErrNoBackdrop without one.
func (b *Book) TieBackdrop(ties []Tie) error {
	text, err := tiesText(ties)
	if err != nil {
		return err
	}
	return b.change("placed the backdrop", func(tx *sql.Tx) error {
		return someBackdrop(tx.Exec(`UPDATE backdrop SET ties = ?`, text))
	})
}

// DropBackdrop takes the backdrop out; ErrNoBackdrop without one.
func (b *Book) DropBackdrop() error {
	return b.change("dropped the backdrop", func(tx *sql.Tx) error {
		return someBackdrop(tx.Exec(`DELETE FROM backdrop`))
	})
}

func someBackdrop(done sql.Result, err error) error {
	if err != nil {
		return err
	}
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		return errors.Join(ErrNoBackdrop, err)
	}
	return nil
}

// tiesText is what the table holds of ties. It is an error when a number is none.
func tiesText(ties []Tie) (string, error) {
	if ties == nil {
		ties = []Tie{}
	}
	text, err := json.Marshal(ties)
	return string(text), err
}
