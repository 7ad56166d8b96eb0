package book

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"untrod/site"
)

// Photo is a picture of a find, kept as it was to the byte.
type Photo struct {
	SHA256, Name string
	Size         int64
	// File is where it lies, from the folder of the book, with slashes; "" for a
	// photo inside the book.
	File string
}

// Photos lists all photos by name.
func (b *Book) Photos() (out []Photo, err error) {
	err = b.read(func(tx *sql.Tx) (err error) {
		out, err = readPhotos(tx, "")
		return err
	})
	return out, err
}

func readPhotos(tx *sql.Tx, where string, args ...any) ([]Photo, error) {
	rows, err := tx.Query(`SELECT sha256, name, size, coalesce(file, '') FROM photos `+where+` ORDER BY name, sha256`, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []Photo
	for rows.Next() {
		var p Photo
		if err := rows.Scan(&p.SHA256, &p.Name, &p.Size, &p.File); err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, rows.Err()
}

// PhotoFolder is the folder beside the book that holds its photos: ford-photos of
// ford.gpkg.
func (b *Book) PhotoFolder() string {
	return strings.TrimSuffix(b.path, filepath.Ext(b.path)) + "-photos"
}

// KeepPhoto keeps a copy of a photo for a find that is to have it: inside the book,
// with all other originals, or as a file in the folder beside it, under its own
// name or one like it. A photo of the same bytes is kept once, where it was
// first. The file beside the book stays when the change is undone. Inside, it needs
// memory for the photo, of which 900 MB are the most.
func (b *Book) KeepPhoto(r io.Reader, name string, inside bool) (Photo, error) {
	if b.readOnly {
		return Photo{}, b.notHeld()
	}
	var kept bytes.Buffer
	var beside *os.File
	into := io.Writer(&kept)
	if !inside {
		var err error
		if beside, err = b.besideFile(); err != nil {
			return Photo{}, err
		}
		defer os.Remove(beside.Name()) // gone already where it was taken
		defer beside.Close()
		into = beside
	}
	p, err := copyPhoto(into, r, inside)
	if err != nil {
		return p, fmt.Errorf("%s: %w", name, err)
	}
	p.Name = filepath.Base(filepath.FromSlash(name))
	return b.keep(p, kept.Bytes(), beside)
}

func (b *Book) besideFile() (*os.File, error) {
	if err := os.MkdirAll(b.PhotoFolder(), 0o777); err != nil {
		return nil, err
	}
	return os.CreateTemp(b.PhotoFolder(), ".copy-*")
}

// copyPhoto copies, packed without compressing where it goes inside: pictures are
// compressed already.
func copyPhoto(to io.Writer, from io.Reader, inside bool) (p Photo, err error) {
	sum := sha256.New()
	if !inside {
		p.Size, err = io.Copy(io.MultiWriter(to, sum), from)
		p.SHA256 = hex.EncodeToString(sum.Sum(nil))
		return p, err
	}
	z, err := zlib.NewWriterLevel(to, zlib.NoCompression)
	if err != nil {
		return p, err
	}
	p.Size, err = io.Copy(io.MultiWriter(z, sum), io.LimitReader(from, maxOriginal+1))
	if err == nil && p.Size > maxOriginal {
		err = errors.New("too large to be kept inside the book")
	}
	p.SHA256 = hex.EncodeToString(sum.Sum(nil))
	return p, errors.Join(err, z.Close())
}

// keep writes down a photo that was copied.
func (b *Book) keep(p Photo, inside []byte, beside *os.File) (Photo, error) {
	err := b.change("added the photo "+p.Name, func(tx *sql.Tx) error {
		have, err := readPhotos(tx, `WHERE sha256 = ?`, p.SHA256)
		if err != nil || len(have) > 0 {
			if err == nil {
				p = have[0]
			}
			return err
		}
		if beside == nil {
			if err := keepOriginal(tx, p, inside); err != nil {
				return err
			}
		} else if p.File, err = b.settlePhoto(p, beside); err != nil {
			return err
		}
		var file any
		if p.File != "" {
			file = p.File
		}
		_, err = tx.Exec(`INSERT INTO photos (sha256, name, size, file) VALUES (?, ?, ?, ?)`, p.SHA256, p.Name, p.Size, file)
		return err
	})
	return p, err
}

// photoFormat is what the table of files says of a photo or a backdrop: bytes that
// are kept and not read.
const photoFormat = "photo"

func keepOriginal(tx *sql.Tx, p Photo, packed []byte) error {
	_, err := tx.Exec(`INSERT OR IGNORE INTO files (sha256, name, walker, format, size, reading, notes, waypoints, data)
VALUES (?, ?, '', ?, ?, 'null', '[]', x'', ?)`, p.SHA256, p.Name, photoFormat, p.Size, packed)
	return err
}

// settlePhoto gives the copy its name: the photo's own, with a number where another
// photo has that. It never replaces a file.
func (b *Book) settlePhoto(p Photo, copied *os.File) (string, error) {
	if err := errors.Join(copied.Chmod(0o644), copied.Sync(), copied.Close()); err != nil {
		return "", err
	}
	ext := filepath.Ext(p.Name)
	for i := 1; ; i++ {
		name := p.Name
		if i > 1 {
			name = fmt.Sprintf("%s (%d)%s", strings.TrimSuffix(p.Name, ext), i, ext)
		}
		path := filepath.Join(b.PhotoFolder(), name)
		file := filepath.Base(b.PhotoFolder()) + "/" + name
		if _, err := os.Lstat(path); err == nil {
			if sum, err := sumFile(path); err == nil && sum == p.SHA256 {
				return file, nil
			}
			continue
		}
		return file, os.Rename(copied.Name(), path)
	}
}

func sumFile(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	sum := sha256.New()
	_, err = io.Copy(sum, f)
	return hex.EncodeToString(sum.Sum(nil)), err
}

// linkPhotos makes the photos of a find just those it names.
func linkPhotos(tx *sql.Tx, f site.Find) error {
	have, err := queryAll[string](tx, `SELECT sha256 FROM find_photos WHERE find = ? ORDER BY fid`, f.ID)
	if err != nil {
		return err
	}
	for _, sha := range without(have, f.Photos) {
		if _, err := tx.Exec(`DELETE FROM find_photos WHERE find = ? AND sha256 = ?`, f.ID, sha); err != nil {
			return err
		}
	}
	for _, sha := range without(f.Photos, have) {
		if _, err := tx.Exec(`INSERT INTO find_photos (find, sha256) VALUES (?, ?)`, f.ID, sha); err != nil {
			return fmt.Errorf("find %q: photo %s: %w", f.Name, sha, err)
		}
	}
	return nil
}

// without is a less all of b, each once.
func without(a, b []string) (out []string) {
	seen := map[string]bool{}
	for _, s := range b {
		seen[s] = true
	}
	for _, s := range a {
		if !seen[s] {
			seen[s] = true
			out = append(out, s)
		}
	}
	return out
}

// dropLoosePhotos forgets the photos of no find. What is kept of them inside goes
// with the last change that can bring them back.
func dropLoosePhotos(tx *sql.Tx) error {
	_, err := tx.Exec(`DELETE FROM photos WHERE sha256 NOT IN (SELECT sha256 FROM find_photos)`)
	return err
}

// OpenPhoto opens a photo, inside or beside the book; the last read is an error
// where its bytes are not those that were kept.
func (b *Book) OpenPhoto(p Photo) (io.ReadCloser, error) {
	if p.File != "" {
		f, err := b.openBeside(p)
		if err != nil {
			return nil, err
		}
		return struct {
			io.Reader
			io.Closer
		}{&proved{z: f, sum: sha256.New(), want: p.SHA256}, f}, nil
	}
	var data []byte
	if err := b.read(func(tx *sql.Tx) error {
		return tx.QueryRow(`SELECT data FROM files WHERE sha256 = ?`, p.SHA256).Scan(&data)
	}); err != nil {
		return nil, err
	}
	r, err := openOriginal(data, p.SHA256)
	return io.NopCloser(r), err
}

// openBeside opens a photo beside the book; a book may not lead elsewhere.
func (b *Book) openBeside(p Photo) (*os.File, error) {
	local := filepath.FromSlash(p.File)
	if !filepath.IsLocal(local) {
		return nil, fmt.Errorf("photo %q: not in a folder beside the book", p.File)
	}
	return os.Open(filepath.Join(filepath.Dir(b.path), local))
}
