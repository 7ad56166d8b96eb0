package book

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"untrod/grid"
)

// Types of geometry in well-known binary, OGC 06-103r4 table 7.
const (
	wkbPoint = iota + 1
	wkbLine
	wkbPolygon
	wkbMultiPoint
	wkbMultiLine
	wkbMultiPolygon
	wkbCollection
)

// shape is a geometry: a point is one part of one position, a line one part, a
// polygon one part for each ring, and the multiple kinds have members.
type shape struct {
	kind    uint32
	parts   [][]grid.LonLat
	members []shape
}

// binary is s as a GeoPackage geometry, OGC 12-128r17 clause 2.1.3: its header,
// the bounds of all but points, and little-endian WKB, longitude first.
func (s shape) binary() []byte {
	const littleEndian, bounds = 1, 1 << 1
	b := binary.LittleEndian.AppendUint32([]byte{'G', 'P', 0, littleEndian}, wgs84)
	if s.kind != wkbPoint {
		b[3] |= bounds
		box := noBounds
		s.each(box.add)
		for _, v := range box {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
		}
	}
	return s.appendWKB(b)
}

func (s shape) appendWKB(b []byte) []byte {
	b = binary.LittleEndian.AppendUint32(append(b, 1), s.kind)
	if s.kind >= wkbMultiPoint {
		b = binary.LittleEndian.AppendUint32(b, uint32(len(s.members)))
		for _, m := range s.members {
			b = m.appendWKB(b)
		}
		return b
	}
	if s.kind == wkbPolygon {
		b = binary.LittleEndian.AppendUint32(b, uint32(len(s.parts)))
	}
	for _, part := range s.parts {
		if s.kind != wkbPoint {
			b = binary.LittleEndian.AppendUint32(b, uint32(len(part)))
		}
		for _, p := range part {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(p.Lon))
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(p.Lat))
		}
	}
	return b
}

// each calls f for every position.
func (s shape) each(f func(grid.LonLat)) {
	for _, part := range s.parts {
		for _, p := range part {
			f(p)
		}
	}
	for _, m := range s.members {
		m.each(f)
	}
}

// box is least and greatest longitude, then latitude, in the standard's order.
type box [4]float64

var noBounds = box{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}

func (b *box) add(p grid.LonLat) {
	if math.IsNaN(p.Lon) || math.IsNaN(p.Lat) {
		return // an empty point
	}
	b[0], b[1] = math.Min(b[0], p.Lon), math.Max(b[1], p.Lon)
	b[2], b[3] = math.Min(b[2], p.Lat), math.Max(b[3], p.Lat)
}

// boundsOf are the bounds of a stored geometry, by its positions; ok is false
// where it has none.
func boundsOf(blob []byte) (b box, ok bool, err error) {
	s, err := readShape(blob)
	if err != nil {
		return b, false, err
	}
	b = noBounds
	s.each(b.add)
	return b, b[0] <= b[1], nil
}

var errGeometry = errors.New("damaged geometry")

// readShape reads a GeoPackage geometry as any program may have written it: either
// byte order, with or without bounds, heights and measures passed over.
func readShape(blob []byte) (shape, error) {
	if len(blob) < 8 || blob[0] != 'G' || blob[1] != 'P' || blob[2] != 0 {
		return shape{}, errGeometry
	}
	sizes := [8]int{0, 32, 48, 48, 64, -1, -1, -1} // of the bounds, by their code
	skip := sizes[blob[3]>>1&7]
	if skip < 0 || len(blob) < 8+skip {
		return shape{}, errGeometry
	}
	r := wkbReader{rest: blob[8+skip:]}
	s := r.shape(0)
	if r.bad || len(r.rest) > 0 {
		return shape{}, errGeometry
	}
	return s, nil
}

type wkbReader struct {
	rest  []byte
	order binary.ByteOrder
	bad   bool
}

func (r *wkbReader) shape(depth int) (s shape) {
	if depth > 2 || len(r.rest) < 5 || r.rest[0] > 1 {
		r.bad = true
		return s
	}
	r.order = binary.BigEndian
	if r.rest[0] == 1 {
		r.order = binary.LittleEndian
	}
	r.rest = r.rest[1:]
	code := r.count(0)
	width := 16 + 8*[4]int{0, 1, 1, 2}[min(code/1000, 3)] // 1000: Z, 2000: M, 3000: both
	s.kind = code % 1000
	switch {
	case code >= 4000 || s.kind < wkbPoint || s.kind > wkbCollection:
		r.bad = true
	case s.kind == wkbPoint:
		s.parts = [][]grid.LonLat{r.positions(1, width)}
	case s.kind == wkbLine:
		s.parts = [][]grid.LonLat{r.positions(r.count(width), width)}
	case s.kind == wkbPolygon:
		for n := r.count(4); n > 0 && !r.bad; n-- {
			s.parts = append(s.parts, r.positions(r.count(width), width))
		}
	default:
		for n := r.count(9); n > 0 && !r.bad; n-- {
			s.members = append(s.members, r.shape(depth+1))
		}
	}
	return s
}

// count reads a number of things, each at least size bytes long.
func (r *wkbReader) count(size int) uint32 {
	if len(r.rest) < 4 {
		r.bad = true
		return 0
	}
	n := r.order.Uint32(r.rest)
	r.rest = r.rest[4:]
	if size > 0 && int64(n)*int64(size) > int64(len(r.rest)) {
		r.bad = true
		return 0
	}
	return n
}

func (r *wkbReader) positions(n uint32, width int) []grid.LonLat {
	if int64(n)*int64(width) > int64(len(r.rest)) {
		r.bad = true
		return nil
	}
	ps := make([]grid.LonLat, n)
	for i := range ps {
		ps[i].Lon = math.Float64frombits(r.order.Uint64(r.rest))
		ps[i].Lat = math.Float64frombits(r.order.Uint64(r.rest[8:]))
		r.rest = r.rest[width:]
	}
	return ps
}

// single is the one member of a multiple geometry, as some programs save what was
// a plain one; a plain one as it is.
func (s shape) single() (shape, error) {
	if s.kind < wkbMultiPoint {
		return s, nil
	}
	if len(s.members) != 1 {
		return s, fmt.Errorf("a shape of %d parts, needs 1", len(s.members))
	}
	return s.members[0].single()
}
