package backdrop

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"math"
	"strconv"
	"strings"

	"golang.org/x/image/tiff"
)

// Tags of TIFF 6.0 and its supplements, of GeoTIFF 1.1 (OGC 19-008r4), and GDAL's.
const (
	tagWidth, tagHeight               = 256, 257
	tagBits, tagCompression           = 258, 259
	tagPhotometric                    = 262
	tagStripOffsets, tagStripSizes    = 273, 279
	tagSamples, tagStripRows          = 277, 278
	tagPlanar, tagPredictor           = 284, 317
	tagColours                        = 320
	tagTileWidth, tagTileHeight       = 322, 323
	tagTileOffsets, tagTileSizes      = 324, 325
	tagExtra, tagFormat, tagJPEG      = 338, 339, 347
	tagScale, tagTies, tagMatrix      = 33550, 33922, 34264
	tagGeoKeys, tagGeoReals, tagNoNum = 34735, 34736, 42113
)

// directory is the first directory of a TIFF: the bytes of its fields.
type directory struct {
	data   []byte
	order  binary.ByteOrder
	fields map[int]field
}

type field struct {
	kind int
	raw  []byte
}

// sizes of the kinds of TIFF 6.0, page 15.
var sizes = [...]int{1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8}

var errCut = errors.New("damaged TIFF, or cut short")

// readDirectory reads the first directory. Fields that lie outside the file are left out.
func readDirectory(data []byte) (*directory, error) {
	d := &directory{data: data, order: binary.ByteOrder(binary.LittleEndian), fields: map[int]field{}}
	if len(data) < 8 {
		return nil, errCut
	}
	if data[0] == 'M' {
		d.order = binary.BigEndian
	}
	switch d.order.Uint16(data[2:]) {
	case 42:
	case 43:
		return nil, errors.New("a BigTIFF, which cannot be used: save it as plain TIFF")
	default:
		return nil, errCut
	}
	at := int64(d.order.Uint32(data[4:]))
	if at+2 > int64(len(data)) {
		return nil, errCut
	}
	rest := data[at+2:]
	for range d.order.Uint16(data[at:]) {
		if len(rest) < 12 {
			return nil, errCut
		}
		d.entry(rest[:12])
		rest = rest[12:]
	}
	return d, nil
}

func (d *directory) entry(e []byte) {
	kind, n := int(d.order.Uint16(e[2:])), int64(d.order.Uint32(e[4:]))
	if kind == 0 || kind >= len(sizes) {
		return
	}
	size := n * int64(sizes[kind])
	raw := e[8:]
	if size > 4 {
		raw = d.slice(int64(d.order.Uint32(e[8:])), size)
	}
	if int64(len(raw)) >= size {
		d.fields[int(d.order.Uint16(e))] = field{kind, raw[:size]}
	}
}

// slice is part of the file; nil where the file does not reach.
func (d *directory) slice(at, n int64) []byte {
	if at < 0 || n < 0 || at+n > int64(len(d.data)) {
		return nil
	}
	return d.data[at : at+n]
}

// ints are the whole numbers of a field, at most the given number of them.
func (d *directory) ints(tag, most int) []int {
	f := d.fields[tag]
	size := sizes[f.kind]
	if f.kind != 1 && f.kind != 3 && f.kind != 4 {
		return nil
	}
	out := make([]int, 0, min(most, len(f.raw)/size))
	for raw := f.raw; len(raw) >= size && len(out) < most; raw = raw[size:] {
		switch size {
		case 1:
			out = append(out, int(raw[0]))
		case 2:
			out = append(out, int(d.order.Uint16(raw)))
		default:
			out = append(out, int(d.order.Uint32(raw)))
		}
	}
	return out
}

// number is the first number of a field.
func (d *directory) number(tag, otherwise int) int {
	if v := d.ints(tag, 1); len(v) > 0 {
		return v[0]
	}
	return otherwise
}

// reals are the numbers of a field of doubles.
func (d *directory) reals(tag, most int) (out []float64) {
	f := d.fields[tag]
	for raw := f.raw; f.kind == 12 && len(raw) >= 8 && len(out) < most; raw = raw[8:] {
		out = append(out, math.Float64frombits(d.order.Uint64(raw)))
	}
	return out
}

// noNumber is the number that stands for no value; NaN without.
func (d *directory) noNumber() float64 {
	text := string(bytes.TrimRight(d.fields[tagNoNum].raw, "\x00 "))
	v, err := strconv.ParseFloat(strings.TrimSpace(text[:min(len(text), 40)]), 64)
	if err != nil {
		return math.NaN()
	}
	return v
}

// readTIFF reads the first picture of a TIFF. Samples of whole bytes are read here,
// heights among them; those of bits, as scans of line drawings have, by x/image.
func readTIFF(data []byte) (*Picture, error) {
	d, err := readDirectory(data)
	if err != nil {
		return nil, err
	}
	r, err := d.raster()
	if err != nil {
		return nil, err
	}
	p := &Picture{Width: r.width, Height: r.height}
	if err := d.geo(p); err != nil {
		return nil, err
	}
	switch {
	case r.bits < 8:
		p.Image, err = r.readBits()
	case r.heights(p.Numbers != nil):
		p.Heights, err = r.readHeights(d.noNumber())
	default:
		p.Image, err = r.readPicture(d.noNumber())
	}
	if err != nil {
		return nil, fmt.Errorf("GeoTIFF: %w", err)
	}
	return p, nil
}

// readBits reads a picture of fewer than 8 bits a sample.
func (r *raster) readBits() (image.RGBA64Image, error) {
	m, err := tiff.Decode(bytes.NewReader(r.data))
	if err == nil && m.Bounds() != image.Rect(0, 0, r.width, r.height) {
		err = errCut
	}
	// The paper of a facsimile (TIFF 6.0, sections 10 and 11) is 0, which here is black;
	// x/image makes it white.
	if g, ok := m.(*image.Gray); ok && err == nil && r.photometric == 1 && r.compression >= 2 && r.compression <= 4 {
		for i, v := range g.Pix {
			g.Pix[i] = 255 - v
		}
	}
	p, err := pictureOf(m, err)
	if err != nil {
		return nil, err
	}
	return p.Image, nil
}
