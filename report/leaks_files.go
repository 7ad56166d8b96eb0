package report

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html"
	"io"
	"net/url"
	"regexp"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

const (
	maxInside = 6         // files within files
	maxUnpack = 256 << 20 // bytes out of one packed piece
)

// file looks into one file of whatever kind it is.
func (l *looker) file(where string, data []byte, depth int) {
	switch {
	case depth > maxInside:
		l.leak(where, LeakClosed, "files too deep within files")
	case len(data) == 0:
	case bytes.HasPrefix(data, []byte(pngHead)):
		l.png(where, data, depth)
	case bytes.HasPrefix(data, []byte("\xff\xd8\xff")):
		l.jpeg(where, data, depth)
	case bytes.HasPrefix(data, []byte("PK\x03\x04")) || bytes.HasPrefix(data, []byte("PK\x05\x06")):
		l.zip(where, data, depth)
	case bytes.HasPrefix(data, []byte("\x1f\x8b")):
		l.gzip(where, data, depth)
	case bytes.HasPrefix(data, []byte("%PDF-")):
		l.pdf(where, data, depth)
	case utf8.Valid(data) && !bytes.ContainsRune(data, 0):
		l.document(where, string(data), depth)
	case bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")):
		l.document(where, fromUTF16(data[2:], data[0] == 0xff), depth)
	default:
		l.leak(where, LeakClosed, "a kind of file that is not known here")
	}
}

func fromUTF16(data []byte, little bool) string {
	var u []uint16
	for i := 0; i+1 < len(data); i += 2 {
		hi, lo := data[i], data[i+1]
		if little {
			hi, lo = lo, hi
		}
		u = append(u, uint16(hi)<<8|uint16(lo))
	}
	return string(utf16.Decode(u))
}

// text looks for everything in plain words.
func (l *looker) text(where, text string) {
	for _, t := range []string{text, unescaped(text)} {
		if t == "" {
			continue
		}
		t = norm.NFKC.String(t) // digits of other widths are digits
		l.positions(where, t)
		l.names(where, t)
		l.sums(where, t)
		l.moments(where, t)
	}
}

// unescaped is a text with the escapes of URLs undone; "" when it has none.
func unescaped(text string) string {
	if !strings.Contains(text, "%") {
		return ""
	}
	out := percentForm.ReplaceAllStringFunc(text, func(m string) string {
		s, err := url.PathUnescape(m)
		if err != nil {
			return m
		}
		return s
	})
	if out == text {
		return ""
	}
	return out
}

var (
	percentForm = regexp.MustCompile(`(?:%[0-9a-fA-F]{2})+`)
	dataHead    = regexp.MustCompile(`^data:([-\w.+/]*)((?:;[^,;"'\s]*)*),`) // of a data URI
	// Marks within a word or a number; any other tag parts words.
	inlineForm = regexp.MustCompile(`(?is)</?(?:a|b|i|em|strong|span|tspan|sup|sub|small|u|font|mark|code|wbr)\b[^>]*>|<!--.*?-->|<!\[CDATA\[|\]\]>`)
	tagForm    = regexp.MustCompile(`(?s)<[^>]*>`)
)

// document looks into a text, and into what the forms of JSON and of HTML and XML hide.
func (l *looker) document(where, text string, depth int) {
	marked := strings.Contains(text, "<") && strings.Contains(text, ">")
	if marked {
		l.text(where, replaceData(text, func(_, _, _ string) string { return " " }))
		text = html.UnescapeString(text)
	}
	rest := l.dataURIs(where, text, depth)
	l.text(where, rest)
	switch {
	case json.Valid([]byte(rest)):
		var b strings.Builder
		jsonWords(json.NewDecoder(strings.NewReader(rest)), &b)
		l.inner(where, b.String(), rest, depth)
	case marked:
		bare := tagForm.ReplaceAllString(inlineForm.ReplaceAllString(rest, ""), " ")
		l.inner(where, bare, rest, depth)
	}
}

// inner looks into what was undone of a text, and into files within that.
func (l *looker) inner(where, text, was string, depth int) {
	if text == was || text == "" {
		return
	}
	l.text(where, l.dataURIs(where, text, depth))
}

// jsonWords writes keys and values line by line, their escapes undone. Keys stand with
// their values, so that a latitude and a longitude stay next to each other.
func jsonWords(d *json.Decoder, b *strings.Builder) {
	d.UseNumber()
	for {
		t, err := d.Token()
		if err != nil {
			return
		}
		if _, mark := t.(json.Delim); !mark {
			fmt.Fprintln(b, t)
		}
	}
}

// dataURIs looks into the files inside a text and returns it without them.
func (l *looker) dataURIs(where, text string, depth int) string {
	return replaceData(text, func(kind, how, packed string) string {
		data := []byte(packed)
		if strings.Contains(how, ";base64") {
			var err error
			if data, err = base64.StdEncoding.DecodeString(packed); err != nil {
				l.leak(where, LeakClosed, "a data URI that is not base64")
				return " "
			}
		} else if s, err := url.PathUnescape(packed); err == nil {
			data = []byte(s)
		}
		l.file(where+", data of "+kind, data, depth+1)
		return "data:" + kind + how + " "
	})
}

// replaceData returns a text with by's words in place of each data URI, which may be
// megabytes long: too slow for a regular expression.
func replaceData(text string, by func(kind, how, data string) string) string {
	var b strings.Builder
	done := 0
	for at := 0; ; {
		i := strings.Index(text[at:], "data:")
		if i < 0 {
			return b.String() + text[done:]
		}
		at += i
		head := dataHead.FindStringSubmatch(text[at:])
		if head == nil {
			at += len("data:")
			continue
		}
		b.WriteString(text[done:at])
		at += len(head[0])
		done = len(text)
		if n := strings.IndexAny(text[at:], "\"'()<> \t\n\f\r"); n >= 0 {
			done = at + n
		}
		b.WriteString(by(head[1], head[2], text[at:done]))
		at = done
	}
}

func (l *looker) zip(where string, data []byte, depth int) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		l.leak(where, LeakClosed, err.Error())
		return
	}
	l.text(where+", its comment", z.Comment)
	for _, f := range z.File {
		at := where + ", " + f.Name
		l.text(at, f.Name+"\n"+f.Comment)
		if len(f.Extra) > 0 || f.ModifiedTime != 0 || f.ModifiedDate != 0 {
			l.leak(at, LeakMetadata, "its time in the archive")
		}
		r, err := f.Open()
		if err != nil {
			l.leak(at, LeakClosed, err.Error())
			continue
		}
		l.unpacked(at, r, depth)
		r.Close()
	}
}

func (l *looker) gzip(where string, data []byte, depth int) {
	r, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		l.leak(where, LeakClosed, err.Error())
		return
	}
	l.text(where, r.Name+"\n"+r.Comment)
	l.unpacked(where+", unpacked", r, depth)
}

func (l *looker) unpacked(where string, r io.Reader, depth int) {
	data, err := io.ReadAll(io.LimitReader(r, maxUnpack+1))
	switch {
	case err != nil:
		l.leak(where, LeakClosed, err.Error())
	case len(data) > maxUnpack:
		l.leak(where, LeakClosed, fmt.Sprintf("over %d MB when unpacked", maxUnpack>>20))
	default:
		l.file(where, data, depth+1)
	}
}
