package book

import (
	"context"
	"database/sql"
)

var ctxNone = context.Background()

// write runs f in one transaction: all of it happens or nothing.
func (b *Book) write(f func(tx *sql.Tx) error) error {
	if err := b.startLog(); err != nil {
		return err
	}
	tx, err := b.db.Begin()
	if err != nil {
		return b.explain(err)
	}
	defer tx.Rollback()
	if err := f(tx); err != nil {
		return b.explain(err)
	}
	return b.explain(tx.Commit())
}

// startLog turns the write-ahead log on at the first write, so that a book in which
// nothing changes stays the same to the byte, and breaks the seals.
func (b *Book) startLog() error {
	if err := b.present(); err != nil || b.logging {
		return err
	}
	var mode string
	if err := b.db.QueryRow(`PRAGMA journal_mode = WAL`).Scan(&mode); err != nil {
		return b.explain(err)
	}
	b.logging = true
	return b.explain(b.breakSeals())
}

// read runs f on one state of the book.
func (b *Book) read(f func(tx *sql.Tx) error) error {
	tx, err := b.db.BeginTx(ctxNone, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return b.explain(err)
	}
	defer tx.Rollback()
	return b.explain(f(tx))
}

// queryAll returns the first column of all rows.
func queryAll[T any](tx *sql.Tx, query string, args ...any) ([]T, error) {
	rows, err := tx.Query(query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []T
	for rows.Next() {
		var v T
		if err := rows.Scan(&v); err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, rows.Err()
}
