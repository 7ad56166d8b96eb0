package track_test

import (
	"bytes"
	"compress/gzip"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"untrod/track"
)

func gzipped(t *testing.T, text []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	_, err := z.Write(text)
	require.NoError(t, err)
	require.NoError(t, z.Close())
	return b.Bytes()
}

func TestReadByContent(t *testing.T) {
	whole := logOf(2000)
	packed := gzipped(t, whole)
	for name, data := range map[string][]byte{"plain": whole, "gzip": packed} {
		log, err := readOne(bytes.NewReader(data), "walk")
		require.NoError(t, err, name)
		require.Equal(t, 2000, log.Fixes(), name)
		require.Empty(t, log.Notes.List(), name)
	}

	log, err := readOne(bytes.NewReader(packed[:len(packed)/2]), "walk.gpx.gz")
	require.NoError(t, err)
	require.Equal(t, 1, log.Notes.Count(track.NoteTruncated))
	require.InDelta(t, 1000, log.Fixes(), 200)

	log, err = readOne(bytes.NewReader(packed[:len(packed)-3]), "walk.gpx.gz")
	require.NoError(t, err)
	require.Equal(t, 1, log.Notes.Count(track.NoteTruncated))
	require.Equal(t, 2000, log.Fixes())

	broken := bytes.Clone(packed)
	broken[len(broken)-5] ^= 1 // in the checksum's neighbour, the length
	log, err = readOne(bytes.NewReader(broken), "walk.gpx.gz")
	require.NoError(t, err)
	require.Equal(t, 1, log.Notes.Count(track.NoteBadXML))
	require.Equal(t, 2000, log.Fixes())
}

func TestReadErrors(t *testing.T) {
	packed := gzipped(t, []byte("<html>"))
	const read = "; read are GPX, KML, KMZ, TCX, FIT, GeoJSON, NMEA and CSV, also in .gz and .zip"
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"empty":               {nil, "walk.gpx: empty file"},
		"blank":               {[]byte("\r\n \n"), "walk.gpx: not a log: is blank" + read},
		"one byte":            {[]byte("\x1f"), "walk.gpx: not a log: looks like plain text" + read},
		"cut gzip header":     {packed[:6], "walk.gpx: unexpected EOF"},
		"cut gzip body":       {packed[:11], "walk.gpx: unexpected EOF"},
		"nothing in gzip":     {gzipped(t, nil), "walk.gpx: empty file"},
		"gzip in gzip":        {gzipped(t, packed), "walk.gpx: not a log: is compressed twice" + read},
		"web page, gzipped":   {packed, "walk.gpx: not a log: starts with <html>, an HTML page" + read},
		"web page":            {[]byte("<!DOCTYPE html>\n<html><p>Walk, 1.5, 2.5"), "walk.gpx: not a log: starts with <html>, an HTML page" + read},
		"other XML":           {[]byte("<?xml version='1.0'?><!-- <gpx> --><!DOCTYPE a [<!ENTITY b '<gpx>'>]><a:svg>"), "walk.gpx: not a log: starts with <a:svg>" + read},
		"cut XML":             {[]byte("<?xml version='1.0'?><!--"), "walk.gpx:1: no complete <gpx> tag"},
		"JSON":                {[]byte(`{"a": [1, 2], "type": "x"}`), "walk.gpx: not a log: looks like JSON" + read},
		"JSON list":           {[]byte("[1,2]\n[1,2]\n[1,2]\n"), "walk.gpx: not a log: looks like JSON" + read},
		"words":               {[]byte("# Walks\n\nSome, I think,\nare good.\n$GPRMC is a sentence.\n"), "walk.gpx: not a log: looks like plain text" + read},
		"picture":             {[]byte("\xff\xd8\xff\xe0\x00\x10JFIF\x00"), "walk.gpx: not a log: looks like a picture" + read},
		"words behind markup": {[]byte("<!-- x -->\n[words] <- here"), "walk.gpx: not a log: looks like plain text" + read},
		"table of numbers":    {[]byte("0.1\t3.4\n0.2\t95\n0.3\t100\n"), "walk.gpx: not a log: looks like a table of which no line names a latitude and a longitude" + read},
		"wider table":         {[]byte("1;2;x\n2;3;y\n3;4;z\n"), "walk.gpx: not a log: looks like a table of which no line names a latitude and a longitude" + read},
		"tar archive":         {append(append([]byte("walk.gpx"), make([]byte, 249)...), "ustar\x00"...), "walk.gpx: not a log: looks like a tar archive" + read},
		"binary":              {[]byte("\x00\x01\x02\x03"), "walk.gpx: not a log: looks like binary data" + read},
		"zip cut":             {[]byte("PK\x03\x04\x14\x00"), "walk.gpx: zip archive: zip: not a valid zip file"},
	} {
		for _, r := range []io.Reader{bytes.NewReader(c.data), bytes.NewBuffer(c.data)} {
			_, err := readOne(r, "walk.gpx")
			require.EqualError(t, err, c.want, name)
		}
	}
}

// A small file that would unpack to a gigabyte is left off at 8 MB, whatever it is
// made of.
func TestReadBomb(t *testing.T) {
	for name, c := range map[string]struct{ head, piece string }{
		"nothing":  {"<gpx>", strings.Repeat("<a> </a>\n", 1<<13)},
		"table":    {"lat,lon\n", strings.Repeat("1,2\n", 1<<14)},
		"sentence": {"", strings.Repeat("$GPGLL,0100.0,N,00200.0,E,000000,A\n", 1<<11)},
	} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			z := gzip.NewWriter(&b)
			_, _ = z.Write([]byte(c.head))
			for range 1 << 8 {
				_, _ = z.Write([]byte(c.piece))
			}
			require.NoError(t, z.Close())
			allocated := bytesAllocated(func() {
				log, err := readOne(bytes.NewReader(b.Bytes()), "walk.gz")
				require.NoError(t, err)
				require.Contains(t, strings.Join(examples(log), "\n"), "unpacks to more than a hundred times its size")
			})
			require.Less(t, allocated, uint64(700<<20))
		})
	}
}

func TestReadGPXCharsets(t *testing.T) {
	text := `<gpx creator="Müller"><wpt lat="1" lon="2"><name>Près – 5 €</name></wpt>` + "\n" +
		`<wpt lat="x" lon="2"><name>ÿ</name></wpt></gpx>`
	latin := strings.NewReplacer("–", "-", "€", "E").Replace(text)
	utf16 := func(e unicode.Endianness, bom unicode.BOMPolicy) string {
		s, err := unicode.UTF16(e, bom).NewEncoder().String(text)
		require.NoError(t, err)
		return s
	}
	single := func(m *charmap.Charmap, s string) string {
		out, err := m.NewEncoder().String(s)
		require.NoError(t, err)
		return out
	}
	for name, c := range map[string]struct{ data, like string }{
		"UTF-8":                     {text, text},
		"UTF-8 with mark":           {"\ufeff" + text, text},
		"UTF-8 declared UTF-16":     {`<?xml version="1.0" encoding="UTF-16"?>` + text, text},
		"mark outweighs":            {"\ufeff" + `<?xml version="1.0" encoding="windows-1252"?>` + text, text},
		"UTF-16 LE with mark":       {utf16(unicode.LittleEndian, unicode.UseBOM), text},
		"UTF-16 BE with mark":       {utf16(unicode.BigEndian, unicode.UseBOM), text},
		"UTF-16 LE":                 {utf16(unicode.LittleEndian, unicode.IgnoreBOM), text},
		"UTF-16 BE":                 {utf16(unicode.BigEndian, unicode.IgnoreBOM), text},
		"ISO-8859-1":                {`<?xml version="1.0" encoding="ISO-8859-1"?>` + single(charmap.ISO8859_1, latin), latin},
		"latin1, quotes and blanks": {`<?xml version='1.0' encoding = 'latin1' ?>` + single(charmap.ISO8859_1, latin), latin},
		"windows-1252":              {`<?xml version="1.0" encoding="Windows-1252"?>` + single(charmap.Windows1252, text), text},
		"ISO-8859-15":               {`<?xml version="1.0" encoding="iso-8859-15"?>` + single(charmap.ISO8859_15, strings.ReplaceAll(text, "–", "-")), strings.ReplaceAll(text, "–", "-")},
	} {
		t.Run(name, func(t *testing.T) {
			want, got := read(t, c.like), read(t, c.data)
			require.Equal(t, "Müller", got.Creator)
			require.Equal(t, want.Waypoints[0].Name, got.Waypoints[0].Name)
			require.Equal(t, examples(want), examples(got))
		})
	}
}

func TestReadGPXUnknownCharset(t *testing.T) {
	log := read(t, `<?xml version="1.0" encoding="klingon"?>`+"\n<gpx><wpt lat='1' lon='2'><name>caf\xe9</name></wpt></gpx>")
	require.Equal(t, []string{`charset 1 walk.gpx:1: unknown character set "klingon", read as UTF-8`}, examples(log))
	require.Equal(t, "caf\ufffd", log.Waypoints[0].Name)
}

// readOne reads a file that holds one recording.
func readOne(r io.Reader, name string) (*track.Log, error) {
	logs, err := track.Read(r, name)
	if err != nil {
		return nil, err
	}
	return logs[0], nil
}
