package track

import (
	"bufio"
	"bytes"
	"io"

	"golang.org/x/text/encoding/unicode"
)

// lookaheadBytes is how far a lookahead sees.
const lookaheadBytes = 64 << 10

// lookahead sees ahead into text from a source, as UTF-8 where that can be told from
// the first bytes, and counts the lines it leaves behind.
type lookahead struct {
	in    *bufio.Reader
	lines int // newlines left behind
}

func newLookahead(r io.Reader) *lookahead {
	in := bufio.NewReaderSize(r, lookaheadBytes)
	head, _ := in.Peek(4)
	switch {
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		_, _ = in.Discard(3) // was peeked
	case isUTF16(head, 1):
		in = bufio.NewReaderSize(unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Reader(in), lookaheadBytes)
	case isUTF16(head, 0):
		in = bufio.NewReaderSize(unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewDecoder().Reader(in), lookaheadBytes)
	}
	return &lookahead{in: in}
}

// isUTF16 reports whether head is two characters of plain text in UTF-16, or a
// byte order mark and one, with the zeros at high and high+2. A mark alone may be
// part of a receiver's binary output.
func isUTF16(head []byte, high int) bool {
	if len(head) < 4 || head[2+high] != 0 || head[3-high] == 0 {
		return false
	}
	return head[high] == 0 && head[1-high] != 0 || head[high] == 0xfe && head[1-high] == 0xff
}

// peek returns the next n bytes, n at most lookaheadBytes; fewer, and why, where the
// source has no more. They are good until the next call.
func (w *lookahead) peek(n int) ([]byte, error) { return w.in.Peek(n) }

// buffered returns what can be had without waiting, at least one byte; none, and
// why, where the source has no more.
func (w *lookahead) buffered() ([]byte, error) {
	if _, err := w.in.Peek(1); err != nil {
		return nil, err
	}
	return w.in.Peek(w.in.Buffered())
}

// skip leaves behind n bytes that were peeked.
func (w *lookahead) skip(n int) {
	left, _ := w.in.Peek(n)
	w.lines += bytes.Count(left, []byte("\n"))
	_, _ = w.in.Discard(n)
}

// line is the line of the first byte not left behind, counted from 1.
func (w *lookahead) line() int { return w.lines + 1 }

// ended turns what ended the reading of l into nothing, a note or an error.
func (l *Log) ended(err error, line int) error {
	broken, damaged := err.(damage)
	switch {
	case err == io.EOF:
		return nil
	case err == io.ErrUnexpectedEOF:
		broken = "file ends too early"
	case !damaged:
		return &ParseError{Name: l.Name, Line: line, Err: err}
	}
	l.noteAt(NoteTruncated, line, string(broken)+", read up to here")
	return nil
}

// noteAt counts what is odd at a line.
func (l *Log) noteAt(k NoteKind, line int, what string) {
	l.Notes.Add(k, func() string { return where(l.Name, line) + ": " + what })
}
