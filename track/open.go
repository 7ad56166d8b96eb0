package track

import (
	"bufio"
	"bytes"
	"compress/flate"
	"compress/gzip"
	"errors"
	"io"
	"strings"
)

// Read reads a file by its content, whatever its name: GPX, or GPX compressed
// with gzip. It returns one log for each recording in the file, at least one. A
// compressed file that is cut short or damaged yields what came before, with a
// note. Errors are those of [ReadGPX].
func Read(r io.Reader, name string) ([]*Log, error) {
	in := bufio.NewReader(r)
	if magic, _ := in.Peek(2); string(magic) != "\x1f\x8b" {
		return readOne(in, name)
	}
	z, err := gzip.NewReader(in)
	if err != nil {
		return nil, &ParseError{Name: name, Err: err}
	}
	return readOne(gunzip{z}, name)
}

func readOne(r io.Reader, name string) ([]*Log, error) {
	log, err := ReadGPX(r, name)
	if err != nil {
		return nil, err
	}
	return []*Log{log}, nil
}

// gunzip tells damage within the compressed file from a failing disk.
type gunzip struct{ z *gzip.Reader }

func (g gunzip) Read(p []byte) (int, error) {
	n, err := g.z.Read(p)
	var corrupt flate.CorruptInputError
	if errors.Is(err, gzip.ErrChecksum) || errors.Is(err, gzip.ErrHeader) || errors.As(err, &corrupt) {
		err = damage(err.Error())
	}
	return n, err
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

// rootLooks adds to the root element's name what it is known for.
func rootLooks(root string) string {
	known := map[string]string{
		"html": ", an HTML page", "head": ", an HTML page", "body": ", an HTML page", "kml": ", KML",
	}
	return "starts with <" + root + ">" + known[strings.ToLower(root)]
}
