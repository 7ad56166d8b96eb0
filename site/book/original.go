package book

import (
	"bytes"
	"compress/zlib"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"slices"

	"untrod/coverage"
	"untrod/grid"
	"untrod/track"
)

// Originals hands every imported file, as it was, to f, by name. Reading one that
// is damaged ends in an error. Two files may have one name.
func (b *Book) Originals(f func(name, sha256 string, r io.Reader) error) error {
	var shas []string
	if err := b.read(func(tx *sql.Tx) (err error) {
		shas, err = queryAll[string](tx, `SELECT sha256 FROM files ORDER BY name, sha256`)
		return err
	}); err != nil {
		return err
	}
	for _, sha := range shas {
		o, err := b.readOriginal(sha)
		if err != nil {
			return err
		}
		r, err := openOriginal(o.data, sha)
		if err != nil {
			return fmt.Errorf("%s: %w", o.name, err)
		}
		if err := f(o.name, sha, r); err != nil {
			return err
		}
	}
	return nil
}

var errOriginal = errors.New("the original is damaged")

// openOriginal unpacks an original. Where the bytes do not have the SHA-256, the
// last read is an error.
func openOriginal(data []byte, sha string) (io.Reader, error) {
	z, err := zlib.NewReader(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errOriginal, err)
	}
	return &proved{z: z, sum: sha256.New(), want: sha}, nil
}

// proved reads what must have a known SHA-256.
type proved struct {
	z    io.Reader
	sum  hash.Hash
	want string
}

func (p *proved) Read(b []byte) (int, error) {
	n, err := p.z.Read(b)
	p.sum.Write(b[:n])
	switch {
	case err == io.EOF && hex.EncodeToString(p.sum.Sum(nil)) != p.want:
		err = errOriginal
	case err != nil && err != io.EOF:
		err = fmt.Errorf("%w: %w", errOriginal, err)
	}
	return n, err
}

// storedFile is a file as the book holds it.
type storedFile struct {
	name, format, reading, notes string
	size                         int64
	waypoints, data              []byte
	visits                       []storedVisit
}

func (b *Book) readOriginal(sha string) (o storedFile, err error) {
	err = b.read(func(tx *sql.Tx) error {
		if err := tx.QueryRow(`SELECT name, format, reading, notes, size, waypoints, data FROM files WHERE sha256 = ?`, sha).
			Scan(&o.name, &o.format, &o.reading, &o.notes, &o.size, &o.waypoints, &o.data); err != nil {
			return err
		}
		o.visits, err = readStored(tx, sha)
		return err
	})
	return o, err
}

// original checks one file: its bytes, and that reading them gives what is packed.
func (c *checker) original(ctx context.Context, sha string) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	o, err := c.readOriginal(sha)
	if err != nil {
		if isDamage(err) {
			c.fault("", "file %s: %v", sha, err)
			return nil
		}
		return err
	}
	if o.format == photoFormat {
		c.photo(o, sha)
		return nil
	}
	var again Prepared
	if err := again.reread(ctx, o, sha); err != nil {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		c.fault("", "%s: %v", o.name, err)
		return nil
	}
	if o.size != again.size {
		c.fault("", "%s: %d bytes, %d expected", o.name, again.size, o.size)
	}
	c.compare(o, again, coverage.VisitsOf(again.Logs, o.name, sha, visitGapS))
	return nil
}

func (p *Prepared) reread(ctx context.Context, o storedFile, sha string) error {
	r, err := openOriginal(o.data, sha)
	if err != nil {
		return err
	}
	var columns track.Columns
	if err := json.Unmarshal([]byte(o.reading), &columns); err != nil {
		return err
	}
	p.Name = o.name
	return p.read(ctx, r, columns)
}

// compare holds what is stored against what reading the original gave.
func (c *checker) compare(o storedFile, again Prepared, visits []coverage.Visit) {
	var waypoints []track.Waypoint
	for _, l := range again.Logs {
		waypoints = append(waypoints, l.Waypoints...)
	}
	if stored, err := unpackWaypoints(o.waypoints); err != nil {
		c.fault("", "%s: waypoints: %v", o.name, err)
	} else if !bytes.Equal(packWaypoints(stored), packWaypoints(waypoints)) {
		c.fault("", "%s: its waypoints are not those of the original", o.name)
	}
	if len(visits) > 0 {
		if list, err := json.Marshal(visits[0].Notes.List()); err != nil || string(list) != o.notes {
			c.fault("", "%s: its notes are not those of the original", o.name)
		}
	}
	for _, s := range o.visits {
		if s.number >= len(visits) || s.number < 0 {
			c.fault(s.name, "%s: visit %q is not in the original", o.name, s.name)
			continue
		}
		if err := s.same(visits[s.number]); err != nil {
			c.fault(s.name, "%s: visit %q: %v", o.name, s.name, err)
		}
	}
}

// same is nil when a stored visit is v.
func (s storedVisit) same(v coverage.Visit) error {
	segments, err := unpack(s.packed, s.fixes)
	if err != nil {
		return err
	}
	n, want := 0, 0
	positions := map[grid.LonLat]bool{}
	for _, seg := range segments {
		n += len(seg)
		for _, f := range seg {
			positions[f.Pos] = true
		}
	}
	for _, seg := range v.Segments {
		want += len(seg)
	}
	switch {
	case n != want || n != s.fixes:
		return fmt.Errorf("%d fixes, where its original has %d and the list says %d", n, want, s.fixes)
	case !slices.EqualFunc(segments, v.Segments, sameFixes):
		return errors.New("its fixes are not those of the original")
	}
	return s.lineOn(positions)
}

// lineOn is an error when the line drawn of a visit leaves its fixes.
func (s storedVisit) lineOn(positions map[grid.LonLat]bool) error {
	if s.line == nil {
		return nil
	}
	line, err := readShape(s.line)
	if err != nil {
		return err
	}
	line.each(func(p grid.LonLat) {
		if !positions[p] {
			err = errors.New("its line leaves its fixes")
		}
	})
	return err
}

func sameFixes(a, b []track.Fix) bool {
	return slices.EqualFunc(a, b, func(a, b track.Fix) bool {
		for _, f := range fields {
			if f.get(&a) != f.get(&b) {
				return false
			}
		}
		return true
	})
}
