package track

import (
	"bytes"
	"fmt"
	"io"
)

const chunkBytes = 32 << 10

// chunks hands a source to gosax in pieces and keeps the last piece, so that a
// line number can be had when one is needed at the cost of one count per piece.
// A token ends in the last piece or right before it, for gosax reads on only to
// find the end of a token.
type chunks struct {
	r     io.Reader
	buf   []byte
	chunk []byte // the last piece
	lines int    // newlines before it
	end   int64  // offset of its end
	used  int64  // offset of the end of the last token
	err   error
}

func (c *chunks) Read(p []byte) (int, error) {
	if c.end-c.used > maxToken {
		c.err = damage(fmt.Sprintf("a piece of text or markup over %d MB", maxToken>>20))
		return 0, c.err
	}
	c.lines += bytes.Count(c.chunk, []byte("\n"))
	n, err := 0, error(nil)
	for try := 0; n == 0 && err == nil; try++ {
		if try == 100 {
			err = io.ErrNoProgress
			break
		}
		n, err = c.r.Read(c.buf[:min(len(p), len(c.buf))])
	}
	c.chunk, c.err = c.buf[:n], err
	c.end += int64(n)
	return copy(p, c.chunk), err
}

func (c *chunks) line() int {
	ahead := min(int(c.end-c.used), len(c.chunk))
	return 1 + c.lines + bytes.Count(c.chunk[:len(c.chunk)-ahead], []byte("\n"))
}
