package book

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"untrod/track"
)

var errPacked = errors.New("damaged fixes")

// packFormat opens packed fixes, before a new column or scale changes what
// follows.
const packFormat = 1

// fields are the columns of packed fixes, each as bits out of a fix and back.
var fields = []struct {
	bits uint // 64 and 32 for floats, 0 for whole numbers
	get  func(*track.Fix) uint64
	set  func(*track.Fix, uint64)
}{
	{64, func(f *track.Fix) uint64 { return math.Float64bits(f.Pos.Lon) }, func(f *track.Fix, v uint64) { f.Pos.Lon = math.Float64frombits(v) }},
	{64, func(f *track.Fix) uint64 { return math.Float64bits(f.Pos.Lat) }, func(f *track.Fix, v uint64) { f.Pos.Lat = math.Float64frombits(v) }},
	{0, func(f *track.Fix) uint64 { return uint64(f.T) }, func(f *track.Fix, v uint64) { f.T = track.Instant(v) }},
	{32, func(f *track.Fix) uint64 { return bits32(f.EleM) }, func(f *track.Fix, v uint64) { f.EleM = from32(v) }},
	{32, func(f *track.Fix) uint64 { return bits32(f.HDOP) }, func(f *track.Fix, v uint64) { f.HDOP = from32(v) }},
	{32, func(f *track.Fix) uint64 { return bits32(f.PDOP) }, func(f *track.Fix, v uint64) { f.PDOP = from32(v) }},
	{32, func(f *track.Fix) uint64 { return bits32(f.AccM) }, func(f *track.Fix, v uint64) { f.AccM = from32(v) }},
	{0, func(f *track.Fix) uint64 { return uint64(f.Sats) }, func(f *track.Fix, v uint64) { f.Sats = int16(v) }},
	{0, func(f *track.Fix) uint64 { return uint64(f.Kind) }, func(f *track.Fix, v uint64) { f.Kind = track.FixKind(v) }},
}

func bits32(v float32) uint64 { return uint64(math.Float32bits(v)) }
func from32(v uint64) float32 { return math.Float32frombits(uint32(v)) }

// pack returns fixes such that unpack gives them back bit for bit, the payload of
// NaNs and the sign of zeros included. Column by column: whole numbers of the
// coarsest scale that is exact (see [scales]), as differences in variable length,
// then zlib. Ordinary logs take 3 to 9 bytes a fix. O(fixes).
func pack(segments [][]track.Fix) []byte {
	n := 0
	raw := binary.AppendUvarint([]byte{packFormat}, uint64(len(segments)))
	for _, s := range segments {
		raw = binary.AppendUvarint(raw, uint64(len(s)))
		n += len(s)
	}
	values := make([]uint64, n)
	for _, f := range fields {
		i := 0
		for _, s := range segments {
			for k := range s {
				values[i] = f.get(&s[k])
				i++
			}
		}
		raw = appendColumn(raw, values, f.bits)
	}
	return deflate(raw)
}

// unpack reads what pack wrote. most bounds the fixes that are believed.
func unpack(packed []byte, most int) ([][]track.Fix, error) {
	raw, err := inflate(packed, int64(most)*maxFixBytes+1<<16)
	if err != nil {
		return nil, err
	}
	if len(raw) == 0 || raw[0] != packFormat {
		return nil, errPacked
	}
	r := byteReader{rest: raw[1:]}
	segments, n := r.segments()
	values := make([]uint64, n)
	for _, f := range fields {
		r.column(values, f.bits)
		i := 0
		for _, s := range segments {
			for k := range s {
				f.set(&s[k], values[i])
				i++
			}
		}
	}
	if r.bad || len(r.rest) > 0 {
		return nil, errPacked
	}
	return segments, nil
}

// maxFixBytes is more than a fix takes before zlib: per column a varint of up to 10
// bytes and an exception of up to 18, for 9 columns.
const maxFixBytes = 9 * 28

// segments reads the lengths of all segments and makes room for their fixes.
func (r *byteReader) segments() (out [][]track.Fix, n int) {
	count := r.uvarint()
	if count > uint64(len(r.rest)) {
		r.bad = true
		return nil, 0
	}
	lengths := make([]int, count)
	for i := range lengths {
		lengths[i] = int(r.uvarint())
		if n += lengths[i]; n < 0 || n > len(r.rest) || lengths[i] < 0 { // every fix takes a byte and more
			r.bad = true
			return nil, 0
		}
	}
	all := make([]track.Fix, n)
	for _, l := range lengths {
		out = append(out, all[:l:l])
		all = all[l:]
	}
	return out, n
}

// byteReader reads from bytes; where they are not as they should be it turns bad
// and gives zeros.
type byteReader struct {
	rest []byte
	bad  bool
}

func (r *byteReader) uvarint() uint64 {
	v, n := binary.Uvarint(r.rest)
	if n <= 0 {
		r.bad, r.rest = true, nil
		return 0
	}
	r.rest = r.rest[n:]
	return v
}

func (r *byteReader) bytes(n uint64) []byte {
	if n > uint64(len(r.rest)) {
		r.bad, r.rest = true, nil
		return nil
	}
	b := r.rest[:n]
	r.rest = r.rest[n:]
	return b
}

func (r *byteReader) text() string { return string(r.bytes(r.uvarint())) }

// packWaypoints packs waypoints with their texts.
func packWaypoints(ws []track.Waypoint) []byte {
	fixes := make([]track.Fix, len(ws))
	for i, w := range ws {
		fixes[i] = w.Fix
	}
	packed := pack([][]track.Fix{fixes})
	raw := binary.AppendUvarint(nil, uint64(len(ws)))
	raw = append(binary.AppendUvarint(raw, uint64(len(packed))), packed...)
	for _, w := range ws {
		for _, text := range []string{w.Name, w.Desc, w.Sym, w.Type} {
			raw = append(binary.AppendUvarint(raw, uint64(len(text))), text...)
		}
	}
	return deflate(raw)
}

func unpackWaypoints(packed []byte) ([]track.Waypoint, error) {
	raw, err := inflate(packed, maxInflated)
	if err != nil {
		return nil, err
	}
	r := byteReader{rest: raw}
	n := r.uvarint()
	inner := r.bytes(r.uvarint())
	if r.bad || n > uint64(len(raw)) {
		return nil, errPacked
	}
	segments, err := unpack(inner, int(n))
	if err != nil || len(segments) != 1 || len(segments[0]) != int(n) {
		return nil, errors.Join(errPacked, err)
	}
	var ws []track.Waypoint
	for _, f := range segments[0] {
		ws = append(ws, track.Waypoint{Fix: f, Name: r.text(), Desc: r.text(), Sym: r.text(), Type: r.text()})
	}
	if r.bad || len(r.rest) > 0 {
		return nil, errPacked
	}
	return ws, nil
}

// maxInflated bounds what is unpacked of a book that may be damaged or hostile.
const maxInflated = 512 << 20

func deflate(raw []byte) []byte {
	var b bytes.Buffer
	z := zlib.NewWriter(&b)
	_, _ = z.Write(raw) // a Buffer takes all
	_ = z.Close()
	return b.Bytes()
}

// inflate is an error when more than most bytes come out, and when zlib's checksum
// is wrong.
func inflate(packed []byte, most int64) ([]byte, error) {
	z, err := zlib.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errPacked, err)
	}
	raw, err := io.ReadAll(io.LimitReader(z, most+1))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errPacked, err)
	}
	if int64(len(raw)) > most {
		return nil, errPacked
	}
	return raw, nil
}
