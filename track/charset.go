package track

import (
	"bufio"
	"bytes"
	"io"
	"strings"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// headBytes is how much of a file is looked at to tell what it is.
const headBytes = 1024

// decoded returns r as UTF-8 without a byte order mark, and the declared
// character set where that is not known, in which case the bytes are left as
// they are. A byte order mark or the zero bytes of UTF-16 outweigh the
// declaration; so files declared UTF-16 that are none are read as UTF-8.
func decoded(r *bufio.Reader) (text io.Reader, unknown string) {
	head, _ := r.Peek(headBytes)
	switch {
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		_, _ = r.Discard(3) // was peeked
		return r, ""
	case bytes.HasPrefix(head, []byte("\xff\xfe")), bytes.HasPrefix(head, []byte("<\x00")):
		return unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Reader(r), ""
	case bytes.HasPrefix(head, []byte("\xfe\xff")), bytes.HasPrefix(head, []byte("\x00<")):
		return unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewDecoder().Reader(r), ""
	}
	label := declaredCharset(head)
	if enc, known := charset(label); !known {
		return r, label
	} else if enc != nil {
		return enc.NewDecoder().Reader(r), ""
	}
	return r, ""
}

// declaredCharset returns the encoding named in the XML declaration, "" for none.
func declaredCharset(head []byte) string {
	decl, found := bytes.CutPrefix(bytes.TrimSpace(head), []byte("<?xml"))
	decl, _, closed := bytes.Cut(decl, []byte("?>"))
	_, value, named := bytes.Cut(decl, []byte("encoding"))
	value = bytes.TrimLeft(value, " \t\r\n=")
	if !found || !closed || !named || len(value) == 0 {
		return ""
	}
	label, _, _ := bytes.Cut(value[1:], value[:1]) // between the quotes
	return string(label)
}

// charset finds the single-byte character set of a label; nil when the bytes
// can be read as UTF-8.
func charset(label string) (enc encoding.Encoding, known bool) {
	switch key := charsetKey(label); key {
	case "", "utf8", "usascii", "ascii", "utf16", "utf16le", "utf16be":
		return nil, true
	case "latin1":
		return charmap.ISO8859_1, true
	case "cp1252":
		return charmap.Windows1252, true
	default:
		for _, e := range charmap.All {
			if m, ok := e.(*charmap.Charmap); ok && charsetKey(m.String()) == key {
				return m, true
			}
		}
	}
	return nil, false
}

// charsetKey is the label in lower case without punctuation, so that
// "ISO_8859-1" and "iso8859-1" are one.
func charsetKey(label string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune("-_ :", r) {
			return -1
		}
		return r
	}, strings.ToLower(label))
}
