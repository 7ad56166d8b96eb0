package track

import (
	"bufio"
	"bytes"
	"io"
	"strings"
)

// sniffBytes is how much of a file is looked at to tell its format.
const sniffBytes = 32 << 10

type format uint8

const (
	formatNone format = iota
	formatGPX
	formatKML
	formatTCX
	formatGeoJSON
	formatFIT
	formatNMEA
	formatCSV
	formatGzip
	formatZip
)

// sniff tells a file's format from its beginning, or else what it looks like. It
// looks at no more than sniffBytes.
func sniff(head []byte, columns Columns) (kind format, found string) {
	switch {
	case bytes.HasPrefix(head, []byte("\x1f\x8b")):
		return formatGzip, ""
	case isZip(head):
		return formatZip, ""
	case isFIT(head):
		return formatFIT, ""
	}
	text := bytes.TrimLeft(headText(head), " \t\r\n")
	if bytes.HasPrefix(text, []byte("<")) {
		if kind, found, is := sniffXML(text); is {
			return kind, found
		}
	}
	switch {
	case isNMEA(text):
		return formatNMEA, ""
	case bytes.HasPrefix(text, []byte("{")) && (len(head) == sniffBytes || looksLike(text) == "looks like GeoJSON"):
		return formatGeoJSON, ""
	case len(text) == 0:
		return formatNone, "is blank"
	case bytes.IndexByte(text, 0) >= 0:
		return formatNone, binaryLooks(head)
	case text[0] == '{' || text[0] == '[':
		return formatNone, "looks like JSON"
	}
	return sniffTable(text, columns)
}

// binaryLooks names kinds of files that lie about among logs.
func binaryLooks(head []byte) string {
	switch {
	case bytes.HasPrefix(head, []byte("\xff\xd8\xff")), bytes.HasPrefix(head, []byte("\x89PNG")):
		return "looks like a picture"
	case bytes.HasPrefix(head, []byte("SQLite format 3")):
		return "looks like a database"
	case len(head) > 262 && string(head[257:262]) == "ustar":
		return "looks like a tar archive"
	}
	return "looks like binary data"
}

// headText is the beginning of a file as UTF-8, if it is text.
func headText(head []byte) []byte {
	r, _ := decoded(bufio.NewReader(bytes.NewReader(head)))
	text, _ := io.ReadAll(r) // from memory; an odd half of the last character does not matter
	return text
}

// appearance is looksLike, XML included.
func appearance(head []byte) string {
	if found := looksLike(head); found != "" {
		return found
	}
	return "looks like XML"
}

// looksLike names what the beginning of a file that is not XML looks like; ""
// when it may be XML.
func looksLike(head []byte) string {
	text := bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), " \t\r\n")
	switch {
	case len(text) == 0:
		return ""
	case bytes.HasPrefix(head, []byte("PK\x03\x04")):
		return "looks like a zip archive"
	case len(head) >= 12 && string(head[8:12]) == ".FIT":
		return "looks like a FIT file"
	case text[0] == '<', bytes.HasPrefix(head, []byte("\xff\xfe")),
		bytes.HasPrefix(head, []byte("\xfe\xff")), bytes.HasPrefix(head, []byte("\x00<")):
		return ""
	case bytes.IndexByte(text, 0) >= 0:
		return "looks like binary data"
	case text[0] == '{' || text[0] == '[':
		if bytes.Contains(text, []byte(`"Feature`)) || bytes.Contains(text, []byte(`"coordinates"`)) {
			return "looks like GeoJSON"
		}
		return "looks like JSON"
	case len(text) > 6 && text[0] == '$' && text[6] == ',':
		return "looks like an NMEA log"
	}
	return "looks like plain text"
}

// sniffXML goes by the root element. Where the text ends before that, GPX's reader
// finds the words for it. It is false for what only begins like XML.
func sniffXML(text []byte) (kind format, found string, is bool) {
	root, is := rootOf(text)
	switch local := root[bytes.IndexByte(root, ':')+1:]; string(local) {
	case "gpx", "":
		return formatGPX, "", is
	case "kml":
		return formatKML, "", is
	case "TrainingCenterDatabase":
		return formatTCX, "", is
	}
	return formatNone, rootLooks(shown(root)), is
}

// rootOf is the name of the first element, empty where the text ends before it;
// false where other text or markup comes first.
func rootOf(text []byte) (name []byte, is bool) {
	for {
		text = bytes.TrimLeft(text, " \t\r\n")
		if len(text) == 0 {
			return nil, true
		}
		if text[0] != '<' {
			return nil, false
		}
		end := ""
		switch text = text[1:]; {
		case bytes.HasPrefix(text, []byte("!--")):
			end = "-->"
		case bytes.HasPrefix(text, []byte("?")):
			end = "?>"
		case bytes.HasPrefix(text, []byte("!")):
			end = ">"
			if open := bytes.IndexByte(text, '['); open >= 0 && open < bytes.IndexByte(text, '>') {
				end = "]"
			}
		default:
			n := 0
			for n < len(text) && !endsName[text[n]] {
				n++
			}
			return text[:n], n > 0 && bytes.IndexByte([]byte("<-=0123456789"), text[0]) < 0
		}
		_, rest, found := bytes.Cut(text, []byte(end))
		if !found {
			return nil, true
		}
		if text = rest; end == "]" {
			_, text, _ = bytes.Cut(text, []byte(">"))
		}
	}
}

// rootLooks adds to the root element's name what it is known for.
func rootLooks(root string) string {
	known := map[string]string{
		"html": ", an HTML page", "head": ", an HTML page", "body": ", an HTML page", "kml": ", KML",
	}
	return "starts with <" + root + ">" + known[strings.ToLower(root)]
}

// isNMEA reports whether text is made of sentences: at least half of its lines,
// comments and those with an exclamation mark apart, or amid binary data any that
// is whole.
func isNMEA(text []byte) bool {
	sentences, whole, lines := 0, 0, 0
	for line := range bytes.Lines(text) {
		line = bytes.TrimSpace(line)
		if len(line) == 0 || line[0] == '#' || line[0] == '!' {
			continue
		}
		lines++
		if is, checked := sentenceIn(line); is {
			sentences++
			if checked {
				whole++
			}
		}
	}
	return sentences > 0 && 2*sentences >= lines || whole > 0 && bytes.IndexByte(text, 0) >= 0
}

// sentenceIn finds $, five capitals or digits and a comma in a line, and whether
// the right checksum ends it.
func sentenceIn(line []byte) (is, checked bool) {
	at := bytes.LastIndexByte(line, '$') + 1
	if at == 0 || len(line) <= at+tagBytes || line[at+tagBytes] != ',' {
		return false, false
	}
	for _, c := range line[at : at+tagBytes] {
		if (c < 'A' || c > 'Z') && c-'0' > 9 {
			return false, false
		}
	}
	body, check := cutSentence(line[at:])
	sum := byte(0)
	for _, c := range body {
		sum ^= c
	}
	return true, len(check) == 2 && hexDigit(check[0]) == sum>>4 && hexDigit(check[1]) == sum&15
}

// sniffTable takes text for a table when its columns are known by a header or by
// what the user said. Without either, a table of equally long rows is one if it has
// times; two columns of numbers may be anything.
func sniffTable(text []byte, columns Columns) (format, string) {
	l, err := layoutOf(text, columns)
	switch known := err == nil; {
	case len(columns) > 0, known && (l.header != nil || l.at[columnTime] >= 0):
		return formatCSV, ""
	case known, looksEven(text):
		return formatNone, "looks like a table of which no line names a latitude and a longitude"
	}
	return formatNone, "looks like plain text"
}

// looksEven reports whether the text begins with three rows of equally many columns.
func looksEven(text []byte) bool {
	for i := range len(delimiters) {
		if rows := dataRows(sample(text, delimiters[i], 0, headerWithin)); len(rows) >= 3 && even(rows) {
			return true
		}
	}
	return false
}
