package track

import (
	"bytes"
	"strconv"
	"unicode/utf8"
)

// unescape replaces, in place, the five named and the numeric entities; what
// else begins with & stays as it is.
func unescape(b []byte) []byte {
	to := bytes.IndexByte(b, '&')
	if to < 0 {
		return b
	}
	for from := to; from < len(b); {
		if r, n := entity(b[from:]); n > 0 { // n >= 4, so there is room
			to += utf8.EncodeRune(b[to:], r)
			from += n
			continue
		}
		b[to] = b[from]
		to++
		from++
	}
	return b[:to]
}

// entity reads the entity that b begins with and its length; 0 for none.
func entity(b []byte) (rune, int) {
	const longest = len("&#1114111;")
	end := bytes.IndexByte(b[:min(len(b), longest)], ';')
	if b[0] != '&' || end < 0 {
		return 0, 0
	}
	switch name := string(b[1:end]); name {
	case "lt":
		return '<', end + 1
	case "gt":
		return '>', end + 1
	case "amp":
		return '&', end + 1
	case "apos":
		return '\'', end + 1
	case "quot":
		return '"', end + 1
	}
	digits, base := b[1:end], 10
	if !bytes.HasPrefix(digits, []byte("#")) {
		return 0, 0
	}
	digits = digits[1:]
	if hex, ok := bytes.CutPrefix(digits, []byte("x")); ok {
		digits, base = hex, 16
	}
	code, err := strconv.ParseUint(string(digits), base, 21)
	if err != nil {
		return 0, 0
	}
	return rune(code), end + 1
}
