package report

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"slices"
	"strings"
)

const pngHead = "\x89PNG\r\n\x1a\n"

// pngChunks are those that make up the picture (PNG, third edition, section 5.6). All
// others tell something beside it.
var pngChunks = []string{"IHDR", "PLTE", "tRNS", "IDAT", "IEND", "gAMA", "sRGB", "pHYs", "bKGD"}

// png looks at every chunk and into the pixels.
func (l *looker) png(where string, data []byte, depth int) {
	var pixels []byte
	rest := data[len(pngHead):]
	for len(rest) >= 12 {
		n := int(binary.BigEndian.Uint32(rest))
		if n > len(rest)-12 {
			break
		}
		kind, body := string(rest[4:8]), rest[8:8+n]
		if kind == "IDAT" {
			pixels = append(pixels, body...)
		} else if !slices.Contains(pngChunks, kind) {
			l.chunk(where+", chunk "+Printable(kind), body, depth)
		}
		rest = rest[12+n:]
		if kind == "IEND" {
			break
		}
	}
	if len(rest) > 0 {
		l.leak(where, LeakMetadata, fmt.Sprintf("%d bytes after its end", len(rest)))
		l.loose(where+", after its end", rest)
	}
	pic, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		l.leak(where, LeakClosed, err.Error())
		return
	}
	l.packedPixels(where, pixels)
	l.pixels(where, pic)
}

// packedPixels looks for bytes after the packed picture, which no viewer shows.
func (l *looker) packedPixels(where string, packed []byte) {
	r := bytes.NewReader(packed)
	z, err := zlib.NewReader(r)
	if err != nil {
		return // png.Decode would have told
	}
	io.Copy(io.Discard, z)
	if r.Len() > 0 {
		l.leak(where, LeakMetadata, fmt.Sprintf("%d bytes after its pixels", r.Len()))
		l.loose(where+", after its pixels", packed[len(packed)-r.Len():])
	}
}

// chunk is a leak by itself, and so is what can be read in it. Text chunks may be packed
// from anywhere on.
func (l *looker) chunk(where string, body []byte, depth int) {
	l.leak(where, LeakMetadata, string(bytes.ToValidUTF8(body[:min(len(body), 40)], []byte("?"))))
	l.loose(where, body)
	for i := range min(len(body), 200) {
		if z, err := zlib.NewReader(bytes.NewReader(body[i:])); err == nil {
			if out, err := io.ReadAll(io.LimitReader(z, maxUnpack)); err == nil && len(out) > 0 {
				l.file(where+", unpacked", out, depth+1)
				return
			}
		}
	}
}

// loose looks into bytes of no known form: their runs of readable signs.
func (l *looker) loose(where string, data []byte) {
	var b strings.Builder
	for _, run := range bytes.FieldsFunc(bytes.ToValidUTF8(data, []byte{0}), func(r rune) bool { return r < ' ' || r == 0x7f || r == '\uFFFD' }) {
		if len(run) >= 4 {
			b.Write(run)
			b.WriteByte('\n')
		}
	}
	l.text(where, b.String())
	for _, h := range l.hashes {
		if bytes.Contains(data, []byte(h.raw)) {
			l.leak(where, LeakHash, h.hex)
		}
	}
}

// pixels looks for words hidden in a picture's values and in their lowest bits.
func (l *looker) pixels(where string, pic image.Image) {
	var raw []byte
	switch p := pic.(type) {
	case *image.RGBA:
		raw = p.Pix
	case *image.NRGBA:
		raw = p.Pix
	case *image.Paletted:
		raw = p.Pix
	case *image.Gray:
		raw = p.Pix
	default:
		return
	}
	low := make([]byte, len(raw)/8)
	for i := range low {
		for _, v := range raw[8*i:][:8] {
			low[i] = low[i]<<1 | v&1
		}
	}
	for _, bytes := range [][]byte{raw, low} {
		// No numbers and no short names: the values of millions of pixels hold any of
		// those by chance.
		hidden := readable(bytes)
		long := &looker{Secrets: &Secrets{joined: l.joined}}
		for _, id := range l.ids {
			if len(id) >= 8 { // two of them spaces
				long.ids = append(long.ids, id)
			}
		}
		long.names(where+", in its pixels", hidden)
		l.found = append(l.found, long.found...)
	}
}

// inWords are the letters, digits and the space of ASCII.
var inWords = func() (is [256]bool) {
	for _, c := range []byte(" 0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ") {
		is[c] = true
	}
	return is
}()

// readable are the runs of eight and more letters, digits and spaces, of which not all
// are the same.
func readable(data []byte) string {
	var b strings.Builder
	from := 0
	for i := 0; i <= len(data); i++ {
		if i < len(data) && inWords[data[i]] {
			continue
		}
		if run := data[from:i]; len(run) >= 4 && len(bytes.Trim(run, string(run[:1]))) > 0 {
			b.Write(run)
			b.WriteByte('\n')
		}
		from = i + 1
	}
	return b.String()
}

// jpeg looks at every segment before the picture and at what comes after its end (ITU-T
// T.81, annex B).
func (l *looker) jpeg(where string, data []byte, depth int) {
	at := 2
	for at+4 <= len(data) && data[at] == 0xff && data[at+1] != 0xda {
		kind, n := data[at+1], int(binary.BigEndian.Uint16(data[at+2:]))
		if n < 2 || at+2+n > len(data) {
			break
		}
		body := data[at+4 : at+2+n]
		switch jfif := kind == 0xe0 && bytes.HasPrefix(body, []byte("JFIF\x00")) && len(body) == 14; {
		case jfif, kind == 0xee && bytes.HasPrefix(body, []byte("Adobe")) && len(body) == 12:
		case kind >= 0xe0 && kind <= 0xef || kind == 0xfe:
			l.chunk(fmt.Sprintf("%s, segment %X", where, kind), body, depth)
		}
		at += 2 + n
	}
	if end := bytes.LastIndex(data, []byte{0xff, 0xd9}); end >= 0 && end+2 < len(data) {
		l.leak(where, LeakMetadata, fmt.Sprintf("%d bytes after its end", len(data)-end-2))
		l.loose(where+", after its end", data[end+2:])
	}
	if _, err := jpeg.DecodeConfig(bytes.NewReader(data)); err != nil {
		l.leak(where, LeakClosed, err.Error())
	}
}
