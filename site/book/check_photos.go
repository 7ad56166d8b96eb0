package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"os"
)

// photos checks the photos: those beside the book lie there as they were. Those
// inside are checked with the originals.
func (c *checker) photos(ctx context.Context) error {
	var all []Photo
	if err := c.step(ctx, func(tx *sql.Tx) (err error) {
		all, err = readPhotos(tx, `WHERE file IS NOT NULL`)
		return err
	}); err != nil {
		return err
	}
	for _, p := range all {
		if err := ctx.Err(); err != nil {
			return err
		}
		r, err := c.OpenPhoto(p)
		if err == nil {
			_, err = io.Copy(io.Discard, r)
			r.Close()
		}
		switch {
		case errors.Is(err, os.ErrNotExist):
			c.fault("", "photo %s: not there", p.File)
		case errors.Is(err, errOriginal):
			c.fault("", "photo %s: not as it was when it was added", p.File)
		case err != nil:
			c.fault("", "photo %s: %v", p.File, err)
		}
	}
	return nil
}

// photo checks a photo inside the book.
func (c *checker) photo(o storedFile, sha string) {
	r, err := openOriginal(o.data, sha)
	n := int64(0)
	if err == nil {
		n, err = io.Copy(io.Discard, r)
	}
	if err == nil && n != o.size {
		err = fmt.Errorf("%d bytes, %d expected", n, o.size)
	}
	if err != nil {
		c.fault("", "%s: %v", o.name, err)
	}
}
