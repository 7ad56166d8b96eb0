// Package book keeps a site, its visits and all they were made from in one file:
// an OGC GeoPackage (12-128r17, version 1.3), which any GIS opens. It holds the
// site's shapes as layers; of every imported file the original bytes with their
// SHA-256, and its fixes packed without loss; and the settings.
//
// Start at [Create] or [Open], and [View] to read only. [Prepare] and
// [Book.Take] bring files in, [Book.Sources] hands their visits to
// coverage.Assess, [Book.Undo] takes the last change back, [Book.Check] and
// [Rescue] are for damage.
//
// A book open for writing is held by one program alone. What was acknowledged
// stays: every change is one transaction of SQLite's write-ahead log with
// synchronous=FULL, so that neither a killed program nor lost power undoes or
// halves it. NORMAL would keep the file whole as well, but lose the last changes
// with the power; the price of FULL is one flush to disk for each change. While
// the book is open the log lies beside it, PATH-wal; closed it is one plain file.
// A program that was killed leaves the log behind, and the next Open works it in.
//
// A Book may be used by several goroutines, whose calls wait for one another.
package book

import (
	"database/sql"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"untrod/site"
)

// magic opens every SQLite file, https://www.sqlite.org/fileformat.html section 1.3.
const magic = "SQLite format 3\x00"

// Is reports whether a file that begins with head, of which 16 bytes are needed, is
// a GeoPackage or another SQLite file. Whether it is a book only opening it tells.
func Is(head []byte) bool { return strings.HasPrefix(string(head), magic) }

// Book is an open book.
type Book struct {
	path     string
	db       *sql.DB // of one connection
	file     os.FileInfo
	readOnly bool
	fresh    bool // just created: without tables

	mu      sync.Mutex // held by whatever writes
	logging bool       // the write-ahead log is on: something was written
	pending string     // what the next change is called; "" for its own words
	grouped bool       // changes are one until the next Begin
	current int64      // the change under way; 0: none
}

// Create makes a book of a site and opens it to write. s may be nil: the book then
// has no site until [Book.SetSite]. It is an error when path exists. The file
// appears whole or not at all.
func Create(path string, s *site.Site) (*Book, error) {
	if _, err := os.Lstat(path); err == nil {
		return nil, fmt.Errorf("%s: exists already", path)
	}
	temp, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+"-*")
	if err != nil {
		return nil, fmt.Errorf("%s: cannot be made: %w", path, err)
	}
	defer os.Remove(temp.Name())
	if err := errors.Join(temp.Chmod(0o644), temp.Close()); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if err := fill(temp.Name(), s); err != nil {
		return nil, fmt.Errorf("%s: cannot be made: %w", path, err)
	}
	if err := os.Rename(temp.Name(), path); err != nil {
		return nil, err
	}
	return Open(path)
}

// fill makes an empty file a book of s.
func fill(path string, s *site.Site) error {
	b := &Book{path: path, fresh: true}
	if err := b.hold(); err != nil {
		return err
	}
	err := b.migrate(migrations)
	if err == nil && s != nil {
		err = b.write(func(tx *sql.Tx) error { return setSite(tx, s) })
	}
	return errors.Join(err, b.Close())
}

// Open opens a book to read and write, and holds it until Close. It is an error
// when another program holds it, which the message names, and when the book is of
// a newer version. An older one is brought to the newest.
func Open(path string) (*Book, error) {
	if err := sniff(path); err != nil {
		return nil, err
	}
	b := &Book{path: path}
	if err := b.hold(); err != nil {
		return nil, err
	}
	if err := b.migrate(migrations); err != nil {
		return nil, errors.Join(err, b.Close())
	}
	return b, nil
}

// View opens a book to read, which may lie where nothing can be written. While
// somebody writes, every call is refused with a message that names who. A book of
// an older version is first brought to the newest, which does write.
func View(path string) (*Book, error) {
	b, v, err := view(path)
	if err != nil || v == len(migrations) {
		return b, err
	}
	if err := b.Close(); err != nil {
		return nil, err
	}
	w, err := Open(path)
	if err != nil {
		return nil, fmt.Errorf("%w; a book of an older version must be opened to write once", err)
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	b, _, err = view(path)
	return b, err
}

func view(path string) (*Book, int, error) {
	if err := sniff(path); err != nil {
		return nil, 0, err
	}
	b := &Book{path: path, readOnly: true}
	if err := b.connect("mode=ro"); err != nil {
		return nil, 0, err
	}
	v, err := b.version()
	if err == nil && v > len(migrations) {
		err = b.migrate(migrations) // which says so
	}
	if err != nil {
		return nil, 0, errors.Join(err, b.Close())
	}
	return b, v, nil
}

// sniff refuses what is not SQLite before SQLite sees it, which takes an empty
// file for an empty database.
func sniff(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	head := make([]byte, 100)
	if n, _ := io.ReadFull(f, head); !Is(head[:n]) {
		return fmt.Errorf("%s: not a book", path)
	}
	return nil
}

// connect opens the one connection. mode is what SQLite is to allow.
func (b *Book) connect(mode string) error {
	abs, err := filepath.Abs(b.path)
	if err != nil {
		return err
	}
	p := filepath.ToSlash(abs)
	if !strings.HasPrefix(p, "/") {
		p = "/" + p // C:/...
	}
	dsn := "file://" + (&url.URL{Path: p}).EscapedPath() + "?" + mode + // '?', '#' and '%' escaped
		"&_error_rc=1&_txlock=immediate&_pragma=busy_timeout(300)&_pragma=cell_size_check(1)&_pragma=foreign_keys(1)" +
		"&_pragma=secure_delete(1)&_pragma=synchronous(FULL)"
	if b.db, err = sql.Open("sqlite", dsn); err != nil {
		return err
	}
	b.db.SetMaxOpenConns(1)
	if b.file, err = os.Stat(b.path); err != nil {
		return errors.Join(err, b.db.Close())
	}
	return nil
}

// Close lets go of the book. What was written is moved from the log into the one
// file; where the disk is too full for that, the error says so, and nothing is
// lost as long as the log stays beside the book.
func (b *Book) Close() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.readOnly {
		return b.db.Close()
	}
	err := b.settle()
	dropNote(b.path) // before another can hold the book and leave its own
	return errors.Join(err, b.db.Close())
}

// settle finishes what was written and makes the book one file again.
func (b *Book) settle() error {
	if !b.logging {
		return nil
	}
	if err := b.present(); err != nil {
		return err
	}
	sealed := b.explain(b.seal())
	var mode string
	_, err := b.db.Exec(`PRAGMA wal_checkpoint(TRUNCATE)`)
	if err == nil {
		err = b.db.QueryRow(`PRAGMA journal_mode = DELETE`).Scan(&mode)
	}
	if err == nil && mode != "delete" {
		err = errors.New("the log is in use")
	}
	if err == nil {
		// What a kill left behind; all is in the book, and nobody else has it open.
		_ = os.Remove(b.path + "-shm")
		_ = os.Remove(b.path + "-journal")
	}
	if err != nil {
		err = fmt.Errorf("%w; nothing is lost as long as %s-wal stays beside the book", b.explain(err), filepath.Base(b.path))
	}
	return errors.Join(sealed, err)
}
