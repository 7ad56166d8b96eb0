package book

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
)

// Rescue hands every original of a damaged book that is still whole to save, each
// once and only after its SHA-256 was found right, and says which are not. It
// does not ask SQLite, which gives up on damage in the wrong place, but reads each
// page of the file, and of the log beside it, by the format's description
// (https://www.sqlite.org/fileformat.html sections 1.6, 2.1 and 4.1). saved counts
// the files. Where the page that lists a file is itself lost, nothing tells of it.
//
// The error is that of opening path or of save, or ctx's; what cannot be read of a
// failing disk is passed over. It takes time in proportion to the file, twice with
// a log, and memory for the log and one original.
func Rescue(ctx context.Context, path string, save func(name string, r io.Reader) error) (saved int, faults []Fault, err error) {
	f, err := os.Open(path)
	if err != nil {
		return 0, nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return 0, nil, err
	}
	log, err := os.ReadFile(path + "-wal")
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return 0, nil, err
	}
	r := rescuer{save: save, done: map[string]bool{}, damaged: map[string]string{}}
	for _, v := range []pages{{f, info.Size(), nil}, {f, info.Size(), framesOf(log)}} {
		if err := r.carve(ctx, v); err != nil {
			return len(r.done), nil, err
		}
	}
	for sha, name := range r.damaged {
		if !r.done[sha] {
			faults = append(faults, Fault{What: fmt.Sprintf("%s: %v", name, errOriginal)})
		}
	}
	return len(r.done), faults, nil
}

// pageSize is that of every book; SQLite's own default.
const pageSize = 4096

// pages are those of the file, some of them newer in the log.
type pages struct {
	main  io.ReaderAt
	size  int64
	newer map[uint32][]byte
}

// get is page n, counted from 1; nil where there is none, or it cannot be read.
func (p pages) get(n uint32) []byte {
	if b := p.newer[n]; b != nil {
		return b
	}
	from := (int64(n) - 1) * pageSize
	if n == 0 || from >= p.size {
		return nil
	}
	page := make([]byte, min(pageSize, p.size-from))
	if _, err := p.main.ReadAt(page, from); err != nil {
		return nil
	}
	return page
}

func (p pages) count() uint32 {
	n := uint32((p.size + pageSize - 1) / pageSize)
	for k := range p.newer {
		n = max(n, k)
	}
	return n
}

// framesOf are the pages in a write-ahead log, of each the last. Checksums are
// not looked at: what is not right has not the right SHA-256 either.
func framesOf(log []byte) map[uint32][]byte {
	const header, frame = 32, 24
	out := map[uint32][]byte{}
	for at := header; at+frame+pageSize <= len(log); at += frame + pageSize {
		if n := binary.BigEndian.Uint32(log[at:]); n < 1<<31 {
			out[n] = log[at+frame : at+frame+pageSize]
		}
	}
	return out
}

// rescuer looks for rows of the table of files.
type rescuer struct {
	save    func(name string, r io.Reader) error
	done    map[string]bool   // by SHA-256
	damaged map[string]string // the name, by SHA-256
}

func (r *rescuer) carve(ctx context.Context, p pages) error {
	for n := range p.count() {
		if err := ctx.Err(); err != nil {
			return err
		}
		page := p.get(n + 1)
		for at := 0; ; {
			i := bytes.Index(page[at:], rowStart)
			if i < 0 {
				break
			}
			if at += i; at > 0 {
				if err := r.row(p.values(page[at-1:])); err != nil {
					return err
				}
			}
			at += len(rowStart)
		}
	}
	return nil
}

// rowStart is how the types of a row of the table of files begin: the number of the
// row, which stands elsewhere and is null here, and a text of 64 letters. They are
// looked for all over, so that the loss of what points to a row does not matter.
var rowStart = []byte{0, 0x81, 0x0d}

// row saves the original in a row, if it is one of the table of files: its second
// column, after the number of the row, is a SHA-256 in hex, its third the
// name, and its tenth the compressed bytes.
func (r *rescuer) row(values [][]byte) error {
	const sha, name, data = 1, 2, 9
	if len(values) != 10 || !isHex(values[sha]) {
		return nil
	}
	sum := string(values[sha])
	if r.done[sum] {
		return nil
	}
	whole, err := openOriginal(values[data], sum)
	if err == nil {
		_, err = io.Copy(io.Discard, whole)
	}
	if err != nil {
		r.damaged[sum] = string(values[name])
		return nil
	}
	whole, err = openOriginal(values[data], sum)
	if err == nil {
		err = r.save(string(values[name]), whole)
	}
	if err == nil {
		r.done[sum] = true
	}
	return err
}

func isHex(sum []byte) bool {
	_, err := hex.DecodeString(string(sum))
	return err == nil && len(sum) == 64
}

// values cuts a record, of which a page holds the beginning, into its columns: its
// header says the type and so the length of each. What does not fit into the
// page lies on a chain of others; where that breaks off, the columns do too.
func (p pages) values(page []byte) (out [][]byte) {
	head := int(page[0]) // one byte: at most ten types of nine bytes
	if head < 1 || head > len(page) || head > 91 {
		return nil
	}
	var sizes []uint64
	total := uint64(head)
	for types := page[1:head]; len(types) > 0; {
		kind, n := sqliteVarint(types)
		if n == 0 || contentSize(kind) > 1<<30 {
			return nil
		}
		types = types[n:]
		sizes = append(sizes, contentSize(kind))
		total += contentSize(kind)
	}
	body := p.payload(page, int(total))
	if len(body) < head {
		return nil
	}
	body = body[head:]
	for _, size := range sizes {
		size = min(size, uint64(len(body)))
		out = append(out, body[:size])
		body = body[size:]
	}
	return out
}

// payload is a record of the given size that begins in a page.
func (p pages) payload(page []byte, size int) []byte {
	local := localSize(size)
	if len(page) < local || local < size && len(page) < local+4 {
		return nil
	}
	out := append([]byte(nil), page[:local]...)
	if local == size {
		return out
	}
	next := binary.BigEndian.Uint32(page[local:])
	for len(out) < size {
		page := p.get(next)
		if len(page) < pageSize {
			break
		}
		next = binary.BigEndian.Uint32(page)
		out = append(out, page[4:min(pageSize, 4+size-len(out))]...)
	}
	return out
}

// localSize is how much of a payload stands in its leaf, section 1.6.
func localSize(size int) int {
	const most, least = pageSize - 35, (pageSize-12)*32/255 - 23
	if size <= most {
		return size
	}
	if k := least + (size-least)%(pageSize-4); k <= most {
		return k
	}
	return least
}

// contentSize is how many bytes a value of a serial type takes, section 2.1.
func contentSize(kind uint64) uint64 {
	if kind >= 12 {
		return (kind - 12) / 2
	}
	return [12]uint64{0, 1, 2, 3, 4, 6, 8, 8}[kind]
}

// sqliteVarint reads a variable-length number: seven bits a byte, the highest
// first, and all eight of the ninth. n is 0 where the bytes end too soon.
func sqliteVarint(b []byte) (v uint64, n int) {
	for i := 0; i < 9 && i < len(b); i++ {
		if i == 8 {
			return v<<8 | uint64(b[i]), 9
		}
		v = v<<7 | uint64(b[i]&0x7f)
		if b[i] < 0x80 {
			return v, i + 1
		}
	}
	return 0, 0
}
