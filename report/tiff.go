package report

import (
	"encoding/binary"
	"math"
)

// ifd is a TIFF image file directory (TIFF 6.0, section 2), little-endian.
// Fields are added in order of their tags.
type ifd struct {
	fields       []tiffField
	stripOffsets int // index in fields
}

type tiffField struct {
	tag, kind uint16
	count     int
	data      []byte
}

func (d *ifd) add(tag, kind uint16, count int, data []byte) int {
	d.fields = append(d.fields, tiffField{tag, kind, count, data})
	return len(d.fields) - 1
}

func (d *ifd) shorts(tag uint16, v ...uint16) int {
	var b []byte
	for _, x := range v {
		b = binary.LittleEndian.AppendUint16(b, x)
	}
	return d.add(tag, 3, len(v), b)
}

func (d *ifd) longs(tag uint16, v ...uint32) int {
	var b []byte
	for _, x := range v {
		b = binary.LittleEndian.AppendUint32(b, x)
	}
	return d.add(tag, 4, len(v), b)
}

func (d *ifd) doubles(tag uint16, v ...float64) int {
	var b []byte
	for _, x := range v {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
	}
	return d.add(tag, 12, len(v), b)
}

func (d *ifd) ascii(tag uint16, s string) int {
	return d.add(tag, 2, len(s)+1, []byte(s+"\x00"))
}

// size is that of everything before the strips.
func (d *ifd) size() int {
	n := 8 + 2 + 12*len(d.fields) + 4
	for _, f := range d.fields {
		if len(f.data) > 4 {
			n += (len(f.data) + 1) &^ 1
		}
	}
	return n
}

// place fills in where the strips lie.
func (d *ifd) place(t tiffStrips) {
	at := make([]uint32, len(t.data))
	next := uint32(d.size())
	for i, b := range t.data {
		at[i] = next
		next += uint32(len(b))
	}
	f := &d.fields[d.stripOffsets]
	for i, p := range t.piece {
		binary.LittleEndian.PutUint32(f.data[4*i:], at[p])
	}
}

// bytes is the file's head: header, directory, and the values that do not fit
// into it.
func (d *ifd) bytes() []byte {
	le := binary.LittleEndian
	out := append([]byte("II*\x00"), 8, 0, 0, 0)
	out = le.AppendUint16(out, uint16(len(d.fields)))
	far := uint32(8 + 2 + 12*len(d.fields) + 4)
	var values []byte
	for _, f := range d.fields {
		out = le.AppendUint16(out, f.tag)
		out = le.AppendUint16(out, f.kind)
		out = le.AppendUint32(out, uint32(f.count))
		if len(f.data) <= 4 {
			out = append(out, append(f.data, 0, 0, 0, 0)[:4]...)
			continue
		}
		out = le.AppendUint32(out, far+uint32(len(values)))
		values = append(values, f.data...)
		if len(values)%2 == 1 {
			values = append(values, 0)
		}
	}
	return append(append(out, 0, 0, 0, 0), values...)
}
