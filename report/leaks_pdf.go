package report

import (
	"bytes"
	"compress/zlib"
	enchex "encoding/hex"
	"io"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"
)

var (
	pdfStream = regexp.MustCompile(`(?s)stream\r?\n(.*?)endstream`)
	pdfHex    = regexp.MustCompile(`<([0-9A-Fa-f\s]{2,})>`)
	pdfOctal  = regexp.MustCompile(`\\([0-7]{1,3})`)
)

// pdf looks into the strings of a PDF (ISO 32000-2, 7.3.4): outside of its streams, and
// in every stream that is plain or packed by Flate. Words in fonts with codes of their
// own are read where the codes are UTF-16, as fpdf writes them; other codes hide them.
func (l *looker) pdf(where string, data []byte, depth int) {
	for _, m := range pdfStream.FindAllSubmatch(data, -1) {
		body := m[1]
		if z, err := zlib.NewReader(bytes.NewReader(body)); err == nil {
			if out, err := io.ReadAll(io.LimitReader(z, maxUnpack)); err == nil || len(out) > 0 {
				body = out
			}
		}
		if bytes.HasPrefix(body, []byte("\xff\xd8\xff")) {
			l.file(where+", its picture", bytes.TrimRight(body, "\r\n"), depth+1)
			continue
		}
		l.pdfText(where+", a stream", body)
	}
	l.pdfText(where, pdfStream.ReplaceAll(data, nil))
}

// pdfText looks at strings one by one and, since a line of print may be cut anywhere,
// joined.
func (l *looker) pdfText(where string, body []byte) {
	strs := pdfStrings(body)
	for _, m := range pdfHex.FindAllSubmatch(body, -1) {
		if raw, err := enchex.DecodeString(strings.Join(strings.Fields(string(m[1])), "")); err == nil {
			strs = append(strs, pdfWords(string(raw)))
		}
	}
	l.text(where, strings.Join(strs, "\n"))
	l.names(where, strings.Join(strs, ""))
	if utf8.Valid(body) {
		l.names(where, string(body))
		l.sums(where, string(body))
	}
}

// pdfStrings are the literal strings, with their escapes undone.
func pdfStrings(body []byte) (out []string) {
	for i := 0; i < len(body); i++ {
		if body[i] != '(' {
			continue
		}
		var b strings.Builder
		deep := 1
		for i++; i < len(body) && deep > 0; i++ {
			switch c := body[i]; {
			case c == '\\' && i+1 < len(body):
				b.Write(body[i : i+2])
				i++
			case c == '(':
				deep++
				b.WriteByte(c)
			case c == ')':
				if deep--; deep > 0 {
					b.WriteByte(c)
				}
			default:
				b.WriteByte(c)
			}
		}
		i--
		out = append(out, pdfWords(pdfEscapes(b.String())))
	}
	return out
}

func pdfEscapes(s string) string {
	s = pdfOctal.ReplaceAllStringFunc(s, func(m string) string {
		v, _ := strconv.ParseUint(m[1:], 8, 16)
		return string([]byte{byte(v)})
	})
	return strings.NewReplacer(`\\`, `\`, `\(`, `(`, `\)`, `)`, `\n`, "\n", `\r`, "\r", `\t`, "\t", "\\\n", "").Replace(s)
}

// pdfWords reads UTF-16, with or without its mark, UTF-8, and Latin letters else.
func pdfWords(s string) string {
	zeros := 0
	for i := 0; i+1 < len(s); i += 2 {
		if s[i] < 0x20 {
			zeros++
		}
	}
	switch {
	case strings.HasPrefix(s, "\xfe\xff"):
		return fromUTF16([]byte(s[2:]), false)
	case len(s) >= 4 && len(s)%2 == 0 && 2*zeros >= len(s)/2:
		return fromUTF16([]byte(s), false)
	case utf8.ValidString(s):
		return s
	}
	var b strings.Builder
	for i := range len(s) {
		b.WriteRune(rune(s[i]))
	}
	return b.String()
}
