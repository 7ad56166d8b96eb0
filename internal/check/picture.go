package check

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/jpeg"
	"maps"
	"slices"
)

// Tags are the entries of a TIFF directory (TIFF 6.0, section 2), by their number:
// text, a whole number of 32 bits as uint32, or fractions as [][2]uint32.
type Tags map[uint16]any

// EXIF is a TIFF file of three directories, the picture's, EXIF's and GPS's, as
// Exif 3.0 sections 4.5 and 4.6 have them.
func EXIF(order binary.AppendByteOrder, picture, exif, gps Tags) []byte {
	mark := map[binary.AppendByteOrder]string{binary.LittleEndian: "II", binary.BigEndian: "MM"}[order]
	b := order.AppendUint16([]byte(mark), 42)
	b = order.AppendUint32(b, 8)
	size := func(n int, tags Tags) int { return len(directory(order, tags, n)) }
	picture = maps.Clone(picture)
	if picture == nil {
		picture = Tags{}
	}
	picture[0x8769], picture[0x8825] = uint32(0), uint32(0)
	exifAt := 8 + size(8, picture)
	gpsAt := exifAt + size(exifAt, exif)
	picture[0x8769], picture[0x8825] = uint32(exifAt), uint32(gpsAt)
	b = append(b, directory(order, picture, 8)...)
	b = append(b, directory(order, exif, exifAt)...)
	return append(b, directory(order, gps, gpsAt)...)
}

// directory is one directory that stands at a place, its long values after it.
func directory(order binary.AppendByteOrder, tags Tags, at int) []byte {
	b, rest := order.AppendUint16(nil, uint16(len(tags))), []byte(nil)
	after := at + 2 + 12*len(tags) + 4
	for _, id := range slices.Sorted(maps.Keys(tags)) {
		b = order.AppendUint16(b, id)
		switch v := tags[id].(type) {
		case uint32:
			b = order.AppendUint32(order.AppendUint32(order.AppendUint16(b, 4), 1), v)
		case string:
			text := append([]byte(v), 0)
			b = order.AppendUint32(order.AppendUint16(b, 2), uint32(len(text)))
			if len(text) <= 4 {
				b = append(b, append(text, 0, 0, 0, 0)[:4]...)
				continue
			}
			b = order.AppendUint32(b, uint32(after+len(rest)))
			rest = append(rest, text...)
		case [][2]uint32:
			b = order.AppendUint32(order.AppendUint16(b, 5), uint32(len(v)))
			b = order.AppendUint32(b, uint32(after+len(rest)))
			for _, r := range v {
				rest = order.AppendUint32(order.AppendUint32(rest, r[0]), r[1])
			}
		}
	}
	return append(order.AppendUint32(b, 0), rest...)
}

// JPEG is a small JPEG picture with an EXIF block, none where that is nil.
func JPEG(exif []byte) []byte {
	var plain bytes.Buffer
	m := image.NewGray(image.Rect(0, 0, 64, 48))
	for i := range m.Pix {
		m.SetGray(i%64, i/64, color.Gray{Y: uint8(i)})
	}
	if err := jpeg.Encode(&plain, m, nil); err != nil {
		panic(err)
	}
	if exif == nil {
		return plain.Bytes()
	}
	segment := append([]byte("Exif\x00\x00"), exif...)
	out := binary.BigEndian.AppendUint16([]byte("\xff\xd8\xff\xe1"), uint16(len(segment)+2))
	return append(append(out, segment...), plain.Bytes()[2:]...)
}

// HEIF is a HEIF file that holds nothing but an EXIF block: boxes ftyp, meta with
// iinf and iloc, and mdat (ISO/IEC 14496-12 and 23008-12 annex A).
func HEIF(exif []byte) []byte {
	box := func(kind string, content ...[]byte) []byte {
		all := bytes.Join(content, nil)
		return append(append(binary.BigEndian.AppendUint32(nil, uint32(len(all)+8)), kind...), all...)
	}
	full := func(version byte) []byte { return []byte{version, 0, 0, 0} }
	item := append(binary.BigEndian.AppendUint32(nil, 6), append([]byte("Exif\x00\x00"), exif...)...)
	file := func(at int) []byte {
		hdlr := box("hdlr", full(0), make([]byte, 4), []byte("pict"), make([]byte, 13))
		infe := box("infe", full(2), []byte{0, 1, 0, 0}, []byte("Exif\x00"))
		iinf := box("iinf", full(0), []byte{0, 1}, infe)
		where := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, uint32(at)), uint32(len(item)))
		iloc := box("iloc", full(0), []byte{0x44, 0, 0, 1, 0, 1, 0, 0, 0, 1}, where)
		return append(box("ftyp", []byte("heic\x00\x00\x00\x00mif1heic")), box("meta", full(0), hdlr, iinf, iloc)...)
	}
	head := file(len(file(0)) + 8)
	return append(head, box("mdat", item)...)
}

// Tags, by Exif 3.0 tables 3 to 15.
const (
	TagMake, TagModel, TagDateTime         = 0x010f, 0x0110, 0x0132
	TagOriginal, TagDigitized              = 0x9003, 0x9004
	TagOffset, TagOffsetOriginal           = 0x9010, 0x9011
	TagLatRef, TagLat, TagLonRef, TagLon   = 1, 2, 3, 4
	TagGPSTime, TagGPSDate, TagPositioning = 7, 29, 31
)

// DMS is an angle as EXIF has it, its seconds in thousandths.
func DMS(deg, min, milliSec uint32) [][2]uint32 {
	return [][2]uint32{{deg, 1}, {min, 1}, {milliSec, 1000}}
}
