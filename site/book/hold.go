package book

import (
	"errors"
	"fmt"
	"os"
	"os/user"
	"strings"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// hold opens the book to write and takes SQLite's own exclusive lock, which ends
// with the process however that ends. A note beside the book says who holds it; it
// is only read when the lock is taken, so one left behind means nothing.
func (b *Book) hold() error {
	f, err := os.OpenFile(b.path, os.O_RDWR, 0)
	if err != nil {
		return fmt.Errorf("%s: cannot be opened to write: %w", b.path, err)
	}
	f.Close()
	if err := b.connect("mode=rw&_pragma=locking_mode(EXCLUSIVE)"); err != nil {
		return err
	}
	for _, q := range []string{`BEGIN EXCLUSIVE`, `COMMIT`} {
		if _, err := b.db.Exec(q); err != nil {
			return errors.Join(b.explain(err), b.db.Close())
		}
	}
	var mode string
	if err := b.db.QueryRow(`PRAGMA journal_mode`).Scan(&mode); err != nil {
		return errors.Join(b.explain(err), b.db.Close())
	}
	b.logging = mode == "wal" // whoever wrote last did not come to close it
	if err := leaveNote(b.path); err != nil {
		return errors.Join(fmt.Errorf("%s: its folder cannot be written: %w", b.path, err), b.db.Close())
	}
	return nil
}

func notePath(path string) string { return path + "-holder" }

// leaveNote writes who holds the book.
func leaveNote(path string) error {
	who, host := "somebody", "a computer without a name"
	if u, err := user.Current(); err == nil {
		who = u.Username
	}
	if h, err := os.Hostname(); err == nil {
		host = h
	}
	note := fmt.Sprintf("%s on %s, process %d, since %s\n", who, host, os.Getpid(), time.Now().Format("2006-01-02 15:04:05"))
	return os.WriteFile(notePath(path), []byte(note), 0o644)
}

func dropNote(path string) { _ = os.Remove(notePath(path)) }

// holder is who the note says holds the book.
func holder(path string) string {
	note, err := os.ReadFile(notePath(path))
	if text := strings.TrimSpace(string(note)); err == nil && text != "" {
		return text
	}
	return "another program"
}

// present makes sure that the path still leads to the file that was opened: what
// is written to a file without a name is lost.
func (b *Book) present() error {
	now, err := os.Stat(b.path)
	if err != nil {
		return fmt.Errorf("%s: the book is gone: %w", b.path, err)
	}
	if !os.SameFile(now, b.file) {
		return fmt.Errorf("%s: the book was replaced by another file while open", b.path)
	}
	return nil
}

var errHeld = errors.New("held")

// explain says what SQLite's errors mean to whoever has the book. nil stays nil.
func (b *Book) explain(err error) error {
	var s *sqlite.Error
	if !errors.As(err, &s) {
		return err
	}
	switch s.Code() & 0xff { // the rest is detail
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return fmt.Errorf("%s: %w by %s", b.path, errHeld, holder(b.path))
	case sqlite3.SQLITE_FULL:
		return fmt.Errorf("%s: the disk is full: %w", b.path, err)
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return fmt.Errorf("%s: the book is damaged: %w", b.path, err)
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN:
		if _, e := os.Stat(b.path + "-wal"); e == nil && b.readOnly {
			return fmt.Errorf("%s: not closed when last written, and its folder cannot be written: copy it to one that can, with %s-wal: %w", b.path, b.path, err)
		}
		return fmt.Errorf("%s: cannot be written, or its folder cannot: %w", b.path, err)
	}
	return fmt.Errorf("%s: %w", b.path, err)
}
