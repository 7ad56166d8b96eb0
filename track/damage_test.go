package track_test

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/track"
)

// A small file with something of everything, for cutting.
var small = inTrack(`<trkpt lat="47.25" lon="-3.5"><ele>1</ele><time>2031-05-04T08:00:00Z</time></trkpt>
<trkpt lat="47.25" lon="-3.6"><ele>2</ele><!-- > --><extensions><a:acc xmlns:a="urn:a">&lt;</a:acc></extensions></trkpt>
<trkpt lat="47.25" lon="-3.7"><![CDATA[>]]></trkpt>`)

func TestReadGPXTruncatedAnywhere(t *testing.T) {
	rootEnds := len(head) - 1
	for cut := range len(small) {
		text := small[:cut]
		log, err := track.ReadGPX(strings.NewReader(text), "walk.gpx")
		if cut < rootEnds {
			var parse *track.ParseError
			require.ErrorAs(t, err, &parse, text)
			continue
		}
		require.NoError(t, err, text)
		require.Equal(t, 1, log.Notes.Count(track.NoteTruncated), text)
		require.Equal(t, strings.Count(text, "</trkpt>"), log.Fixes(), text)
	}
	require.Empty(t, read(t, small).Notes.List())
}

// Some byte of the file becomes another: nothing panics, and points before the
// damaged byte are never lost.
func TestReadGPXDamagedAnywhere(t *testing.T) {
	for i := len(head); i < len(small); i++ {
		for _, c := range []byte("<>/&\"' x\x00\xff") {
			text := small[:i] + string(c) + small[i+1:]
			log, err := track.ReadGPX(strings.NewReader(text), "walk.gpx")
			require.NoError(t, err, text)
			require.GreaterOrEqual(t, log.Fixes(), strings.Count(text[:i], "</trkpt>"), text)
		}
	}
}

func TestReadGPXDamage(t *testing.T) {
	good := `<trkpt lat="1" lon="1"/><trkpt lat="2" lon="2"/>` + "\n"
	for name, c := range map[string]struct {
		tail, note string
		fixes      int
	}{
		"wrong end tag":     {good + `<trkpt lat="3" lon="3"><ele>5</time></trkpt>`, `bad-xml 1 walk.gpx:5: <ele> closed by </time>, read up to here`, 2},
		"end without start": {`</trkseg></trk></gpx></gpx>`, `bad-xml 1 walk.gpx:4: </gpx> without a start, read up to here`, 1},
		"second root":       {`</trkseg></trk></gpx><gpx><trk/></gpx>`, `bad-xml 1 walk.gpx:4: content after </gpx>, read up to here`, 1},
		"text at the end":   {"</trkseg></trk></gpx>\n\x00\x00", `bad-xml 1 walk.gpx:5: content after </gpx>, read up to here`, 1},
		"bang":              {good + `<!x>`, `bad-xml 1 walk.gpx:5: malformed <! markup, read up to here`, 2},
		"no name":           {good + `< trkpt>`, `bad-xml 1 walk.gpx:5: a tag without a name, read up to here`, 2},
		"cut":               {good + `<trkpt lat="3" lon="3"><ele>5`, `truncated 1 walk.gpx:5: file ends too early, read up to here`, 2},
		"too deep":          {good + strings.Repeat("<deep>", 70_000), `bad-xml 1 walk.gpx:5: elements nested too deep, read up to here`, 2},
	} {
		t.Run(name, func(t *testing.T) {
			if c.fixes == 1 {
				c.tail = `<trkpt lat="1" lon="1"/>` + c.tail
			}
			log := read(t, head+"<trk><trkseg>\n"+c.tail)
			require.Equal(t, []string{c.note}, examples(log))
			require.Equal(t, c.fixes, log.Fixes())
		})
	}
}

func TestReadGPXErrors(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"empty":       {"", "walk.gpx: empty file"},
		"blank":       {" \n\n", "walk.gpx:3: no complete <gpx> tag"},
		"declaration": {"<?xml version='1.0'?>\n", "walk.gpx:2: no complete <gpx> tag"},
		"cut root":    {"<gpx version='1.1", "walk.gpx:1: no complete <gpx> tag"},
		"nonsense":    {"\n<!x><gpx/>", "walk.gpx:2: malformed <! markup"},
		"end first":   {"</gpx><gpx/>", "walk.gpx:1: </gpx> without a start"},
		"web page":    {"<!DOCTYPE html>\n<html><p>Not found", "walk.gpx: not a GPX file: starts with <html>, an HTML page; export it as GPX"},
		"KML":         {"<?xml version='1.0'?><kml xmlns='x'>", "walk.gpx: not a GPX file: starts with <kml>, KML; export it as GPX"},
		"other XML":   {"<a:b\x1b/>", `walk.gpx: not a GPX file: starts with <a:b\x1b>; export it as GPX`},
		"JSON":        {`{"a":1}`, "walk.gpx: not a GPX file: looks like JSON; export it as GPX"},
		"GeoJSON":     {` {"type":"FeatureCollection"}`, "walk.gpx: not a GPX file: looks like GeoJSON; export it as GPX"},
		"zip":         {"PK\x03\x04\x14\x00", "walk.gpx: not a GPX file: looks like a zip archive; export it as GPX"},
		"FIT":         {"\x0e\x10\x6d\x08\x00\x00\x01\x00.FIT\x00\x00", "walk.gpx: not a GPX file: looks like a FIT file; export it as GPX"},
		"NMEA":        {"$GPRMC,081530,A,4715.0,N,", "walk.gpx: not a GPX file: looks like an NMEA log; export it as GPX"},
		"zeros":       {strings.Repeat("\x00", 3000), "walk.gpx: not a GPX file: looks like binary data; export it as GPX"},
		"text":        {"lat,lon\n1,2\n", "walk.gpx: not a GPX file: looks like plain text; export it as GPX"},
	} {
		t.Run(name, func(t *testing.T) {
			log, err := track.ReadGPX(strings.NewReader(c.text), "walk.gpx")
			require.EqualError(t, err, c.want)
			require.Nil(t, log)
			var parse *track.ParseError
			var unsupported *track.UnsupportedError
			require.Equal(t, strings.Contains(c.want, "export"), errors.As(err, &unsupported))
			require.NotEqual(t, errors.As(err, &unsupported), errors.As(err, &parse))
		})
	}
}

// A reader that fails is an error, not a truncated file.
func TestReadGPXReaderFails(t *testing.T) {
	broken := errors.New("disk on fire")
	for _, cut := range []int{0, 10, len(head) + 40, len(small)} {
		r := io.MultiReader(strings.NewReader(small[:cut]), failing{broken})
		_, err := track.ReadGPX(r, "walk.gpx")
		require.ErrorIs(t, err, broken)
	}
	_, err := track.ReadGPX(io.MultiReader(strings.NewReader(small[:300]), failing{nil}), "walk.gpx")
	require.ErrorIs(t, err, io.ErrNoProgress)
}

type failing struct{ err error }

func (f failing) Read([]byte) (int, error) { return 0, f.err }

// An entity bomb is never lit: neither time nor memory follow the expansion.
func TestReadGPXEntityBomb(t *testing.T) {
	bomb := `<!DOCTYPE gpx [<!ENTITY a "ha">`
	for c := 'b'; c <= 'z'; c++ {
		bomb += fmt.Sprintf(`<!ENTITY %c "%s">`, c, strings.Repeat(fmt.Sprintf("&%c;", c-1), 10))
	}
	log := read(t, bomb+`]><gpx><wpt lat="1" lon="2"><name>&z;</name></wpt></gpx>`)
	require.Equal(t, "&z;", log.Waypoints[0].Name)
}

func TestReadGPXHugeTokens(t *testing.T) {
	for name, part := range map[string]string{
		"comment": "<!-- ", "text": "", "tag": "<wpt a", "quote": `<wpt a="`, "CDATA": "<![CDATA[", "instruction": "<?",
		"end tag": "</",
	} {
		start := head + `<wpt lat="1" lon="2"/><wpt lat="1" lon="2"><name>` + part
		log, err := track.ReadGPX(io.MultiReader(strings.NewReader(start), &endless{left: 1 << 30}), "walk.gpx")
		require.NoError(t, err, name)
		require.Len(t, log.Waypoints, 1, name)
		require.Equal(t, []string{"bad-xml 1 walk.gpx:3: a piece of text or markup over 16 MB, read up to here"}, examples(log), name)
	}
}

// Many CDATA sections in one element are one text.
func TestReadGPXHugeText(t *testing.T) {
	section := `<![CDATA[` + strings.Repeat("x", 1<<20) + `]]>`
	log := read(t, head+`<wpt lat="1" lon="2"><name>`+strings.Repeat(section, 20)+`</name></wpt></gpx>`)
	require.Equal(t, []string{"bad-xml 1 walk.gpx:3: an element with too much text, read up to here"}, examples(log))
}

type endless struct{ left int }

func (e *endless) Read(p []byte) (int, error) {
	if e.left -= len(p); e.left < 0 {
		return 0, io.EOF
	}
	for i := range p {
		p[i] = 'x'
	}
	return len(p), nil
}
