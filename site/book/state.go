package book

import (
	"database/sql"
	"errors"
)

// ErrHeld is in the errors of calls that were refused because another program holds
// the book.
var ErrHeld = errHeld

// LastChange is what the change was called that Undo would take back, "" when there
// is none.
func (b *Book) LastChange() (what string, err error) {
	err = b.read(func(tx *sql.Tx) error {
		err := tx.QueryRow(`SELECT what FROM untrod_changes ORDER BY id DESC LIMIT 1`).Scan(&what)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	return what, err
}
