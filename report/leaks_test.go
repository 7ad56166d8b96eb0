package report

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"compress/zlib"
	"encoding/base64"
	"encoding/binary"
	enchex "encoding/hex"
	"encoding/json"
	"fmt"
	"hash/crc32"
	"html"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// hiding is a result about 51.234567, 12.345678 and what of it must stay hidden. Its
// other forms were worked out by PROJ 9.1.1:
//
//	echo 12.345678 51.234567 | cs2cs -f %.3f +proj=longlat +datum=WGS84 +to +proj=utm +zone=33 +datum=WGS84
//	echo 12.345678 51.234567 | cs2cs -f %.3f +proj=longlat +datum=WGS84 +to +proj=utm +zone=32 +datum=WGS84
//	echo 12.345678 51.234567 | cs2cs -f %.3f +proj=longlat +datum=WGS84 +to EPSG:3857
func hiding(t testing.TB) *Secrets {
	r, _ := named(t)
	s := SecretsOf(r, ShareSettings{})
	s.AddName("Øvre Ängsmyr")
	s.AddName("秘密の畑")
	return s
}

var planted = []struct {
	name, text string
	kind       LeakKind
}{
	{"decimal degrees", "51.234567, 12.345678", LeakPosition},
	{"a latitude alone", "lat 51.235", LeakPosition},
	{"a longitude alone", "x=12.34567", LeakPosition},
	{"near, not on it", "51.2201 and nothing else", LeakPosition},
	{"no sign, as west", "12.3457 W", LeakPosition},
	{"decimal commas", "51,23457 N; 12,34568 E", LeakPosition},
	{"an exponent", "5.1234567e1", LeakPosition},
	{"a rough pair", "51.23/12.35", LeakPosition},
	{"a rough pair, longitude first", "12.35 51.24", LeakPosition},
	{"degrees, minutes, seconds", `51°14'04.4"N 12°20'44.4"E`, LeakPosition},
	{"degrees and minutes", "N 51° 14.07'", LeakPosition},
	{"letters, no signs", "51 14 04 N", LeakPosition},
	{"letters before", "E12:20:44", LeakPosition},
	{"degrees in words", "12 deg 20 min 44 sec", LeakPosition},
	{"as receivers speak", "5114.074,N,01220.741,E", LeakPosition},
	{"ten-millionths", "512345670", LeakPosition},
	{"millionths", "12345678", LeakPosition},
	{"semicircles", "611257402", LeakPosition},
	{"UTM", "314711 5679283", LeakPosition},
	{"UTM with thousands", "33U 314,711 5,679,283", LeakPosition},
	{"a northing alone", "5679283.21 m", LeakPosition},
	{"UTM of the zone beside", "733543 5680448", LeakPosition},
	{"web mercator", "x 1374314.59 y 6662785.24", LeakPosition},
	{"wide digits", "５１．２３４５６７", LeakPosition},
	{"the site's name", "Kettle Bank", LeakName},
	{"another case", "kettle BANK", LeakName},
	{"one word of it", "at the kettle we found", LeakName},
	{"run together", "KettleBankSurvey", LeakName},
	{"a landmark", "by the Gatepost Ottoline", LeakName},
	{"a keep-out", "nest_and_reed-bed", LeakName},
	{"a kind with a person in it", "miller's boulder", LeakName},
	{"a walker", "thanks to Quarrendon", LeakName},
	{"a session", "wednesdays stroll", LeakName},
	{"a session as typed", "Wednesday's stroll", LeakName},
	{"a file", "kettlewalk-2.gpx", LeakName},
	{"a file without its ending", "KETTLEWALK-2", LeakName},
	{"accents taken off", "ovre angsmyr", LeakName},
	{"accents", "ØVRE ÄNGSMYR", LeakName},
	{"a script without spaces", "ここは秘密の畑です", LeakName},
	{"a hash", strings.Repeat("0f1e2d3c4b5a6978", 4), LeakHash},
	{"a hash in capitals", strings.ToUpper(strings.Repeat("0f1e2d3c4b5a6978", 4)), LeakHash},
	{"the beginning of a hash", "0f1e2d3c4b5a", LeakHash},
	{"a hash as base64", base64.StdEncoding.EncodeToString(hashBytes()), LeakHash},
	{"a day", "2031-04-02", LeakDate},
	{"a day in words", "on 2 April", LeakDate},
	{"a day in words, month first", "Apr 11th, 2031", LeakDate},
	{"a day with points", "2.4.2031", LeakDate},
	{"a day with strokes", "04/20/2031", LeakDate},
	{"a day as cameras write it", "2031:04:02", LeakDate},
	{"a day run together", "20310411", LeakDate},
	{"a day as PDF writes it", "D:20310411", LeakDate},
	{"a time", "T09:05", LeakDate},
	{"a time of day", "at 09:05:00", LeakDate},
	{"seconds since 1970", fmt.Sprint(time.Date(2031, 4, 11, 9, 5, 0, 0, time.UTC).Unix()), LeakDate},
	{"milliseconds since 1970", fmt.Sprint(time.Date(2031, 4, 11, 9, 5, 0, 0, time.UTC).UnixMilli()), LeakDate},
}

func hashBytes() []byte {
	b, err := enchex.DecodeString(strings.Repeat("0f1e2d3c4b5a6978", 4))
	if err != nil {
		panic(err)
	}
	return b
}

// carriers put a text into files of every kind that is looked into.
var carriers = map[string]func(text string) []byte{
	"share.txt":     func(s string) []byte { return []byte("Swept: 71 %.\n" + s + "\n") },
	"utf16.txt":     func(s string) []byte { return append([]byte{0xff, 0xfe}, toUTF16LE(s)...) },
	"value.json":    func(s string) []byte { return asJSON(map[string]any{"note": s}) },
	"key.json":      func(s string) []byte { return asJSON(map[string]any{s: 1}) },
	"escaped.json":  func(s string) []byte { return []byte(`{"a":["` + escapeAll(s) + `"]}`) },
	"text.html":     func(s string) []byte { return []byte("<p>It is " + html.EscapeString(s) + ".</p>") },
	"entities.html": func(s string) []byte { return []byte("<p>" + entities(s) + "</p>") },
	"alt.html":      func(s string) []byte { return []byte(`<img alt="` + html.EscapeString(s) + `">`) },
	"comment.html":  func(s string) []byte { return []byte("<p>x</p><!-- " + s + " -->") },
	"broken.html":   func(s string) []byte { return []byte("<p>" + broken(s) + "</p>") },
	"title.svg":     func(s string) []byte { return []byte("<svg><text>" + html.EscapeString(s) + "</text></svg>") },
	"link.html":     func(s string) []byte { return []byte(`<a href="x?q=` + url.PathEscape(s) + `">x</a>`) },
	"data.html": func(s string) []byte {
		return []byte(`<iframe src="data:text/plain;base64,` + base64.StdEncoding.EncodeToString([]byte(s)) + `">`)
	},
	"picture.html": func(s string) []byte {
		return []byte(`<img src="data:image/png;base64,` + html.EscapeString(base64.StdEncoding.EncodeToString(pngWith("tEXt", "Comment\x00"+s))) + `">`)
	},
	"text.png":   func(s string) []byte { return pngWith("tEXt", "Comment\x00"+s) },
	"packed.png": func(s string) []byte { return pngWith("zTXt", "Comment\x00\x00"+deflated(s)) },
	"inter.png":  func(s string) []byte { return pngWith("iTXt", "Comment\x00\x01\x00\x00\x00"+deflated(s)) },
	"exif.png":   func(s string) []byte { return pngWith("eXIf", "MM\x00*"+s) },
	"tail.png":   func(s string) []byte { return append(pngWith("", ""), s...) },
	"exif.jpg":   func(s string) []byte { return jpegWith(0xe1, "Exif\x00\x00"+s) },
	"note.jpg":   func(s string) []byte { return jpegWith(0xfe, s) },
	"tail.jpg":   func(s string) []byte { return append(jpegWith(0, ""), s...) },
	"member.zip": func(s string) []byte { return zipWith("doc.kml", "<kml>"+html.EscapeString(s)+"</kml>") },
	"zip.zip": func(s string) []byte {
		return zipWith("inner.kmz", string(zipWith("a.txt", s)))
	},
	"packed.gz": func(s string) []byte {
		var b bytes.Buffer
		z := gzip.NewWriter(&b)
		z.Write([]byte(s))
		z.Close()
		return b.Bytes()
	},
	"literal.pdf": func(s string) []byte { return pdfWith("BT (" + pdfLiteral(s) + ") Tj ET") },
	"wide.pdf":    func(s string) []byte { return pdfWith("BT <FEFF" + enchex.EncodeToString(toUTF16BE(s)) + "> Tj ET") },
	"title.pdf": func(s string) []byte {
		return append(pdfWith(""), "2 0 obj <</Title (\xfe\xff"+string(pdfLiteralBytes(toUTF16BE(s)))+")>> endobj\n"...)
	},
}

// Every kind of leak is caught in every kind of file, and as what it is.
func TestPlantedLeaks(t *testing.T) {
	s := hiding(t)
	for file, carry := range carriers {
		t.Run(file, func(t *testing.T) {
			for _, l := range s.Leaks(file, carry("nothing of it")) {
				require.Equal(t, LeakMetadata, l.Kind, "%v", l) // in pictures, there should be none at all
			}
			for _, p := range planted {
				found := s.Leaks(file, carry(p.text))
				kinds := map[LeakKind]bool{}
				for _, l := range found {
					kinds[l.Kind] = true
				}
				require.True(t, kinds[p.kind], "%s: %q not found, only %v", p.name, p.text, found)
			}
		})
	}
}

// Numbers in JSON are found too, not only words.
func TestPlantedNumbers(t *testing.T) {
	s := hiding(t)
	for _, text := range []string{
		`{"lat": 51.234567}`, `{"a": [51.23, 12.35]}`, `{"lat": 51.23, "longitude": 12.35}`, `{"e7": 512345670}`,
		`{"x": 5.1234567e+1}`, `{"utm": {"easting": 314711, "northing": 5679283}}`,
	} {
		require.NotEmpty(t, s.Leaks("a.json", []byte(text)), text)
	}
}

// Names hidden in a picture's values or their lowest bits are found; what an honest
// picture holds is not taken for one.
func TestPlantedPixels(t *testing.T) {
	s := hiding(t)
	pic := image.NewNRGBA(image.Rect(0, 0, 64, 64))
	for i := range pic.Pix {
		pic.Pix[i] = 0xfc
	}
	require.Empty(t, s.Leaks("a.png", pngOf(t, pic)))
	plain := image.NewNRGBA(pic.Rect)
	copy(plain.Pix, pic.Pix)
	copy(plain.Pix[400:], "Kettle Bank")
	require.Equal(t, LeakName, s.Leaks("a.png", pngOf(t, plain))[0].Kind)
	for i, c := range []byte("\x00Kettle Bank\x00") {
		for bit := range 8 {
			pic.Pix[8*i+bit] |= c >> (7 - bit) & 1
		}
	}
	require.Equal(t, LeakName, s.Leaks("a.png", pngOf(t, pic))[0].Kind)
}

// What stands beside a picture is a leak whatever it says, and what cannot be looked
// into is one.
func TestClosedFiles(t *testing.T) {
	s := hiding(t)
	for name, c := range map[string]struct {
		data []byte
		kind LeakKind
	}{
		"a chunk":             {pngWith("tIME", "\x07\xef\x04\x02\x09\x05\x00"), LeakMetadata},
		"bytes after the end": {append(pngWith("", ""), 1, 2, 3), LeakMetadata},
		"a segment":           {jpegWith(0xe2, "ICC"), LeakMetadata},
		"no known kind":       {[]byte("II*\x00\x01\x02\xff"), LeakClosed},
		"a broken picture":    {pngWith("", "")[:60], LeakClosed},
		"a broken archive":    {[]byte("PK\x03\x04 and no more"), LeakClosed},
		"a broken data URI":   {[]byte(`<img src="data:image/png;base64,@@@">`), LeakClosed},
		"a hash as bytes":     {append(pngWith("", ""), hashBytes()...), LeakHash},
		"a hash in a chunk":   {pngWith("puBt", string(hashBytes())), LeakHash},
	} {
		t.Run(name, func(t *testing.T) {
			kinds := map[LeakKind]bool{}
			for _, l := range s.Leaks("a", c.data) {
				kinds[l.Kind] = true
			}
			require.True(t, kinds[c.kind], "%v", kinds)
		})
	}
}

// Ordinary words and figures raise no alarm, near the site's latitude too.
func TestNoFalseAlarms(t *testing.T) {
	s := hiding(t)
	for _, text := range []string{
		"At least 51 % of 1.24 ha has been swept; most likely 51.2 %, as logged 12.35 %.",
		"51.23 % and 71.9 %", "12.3 m wide, 51.2 m long", "14 visits, April to June 2031; 3 h 05 min",
		"1,240,000 m2 in 12 gaps; 312,000 m2", "scale 1:200, step 12:20", "version 1.2.20, page 4 of 12",
		"12 may be found", "the bank of the pond", "a walk of 51 m", "0.235 0.35 0.012", "font: 12px/1.5 serif",
		"f(51,12)", "2031-04", "April 2031", "100000 200000", "15 1.1", "deadbeefdeadbeef",
	} {
		require.Empty(t, s.Leaks("a.txt", []byte(text)), text)
	}
	for p := 0.0; p <= 100; p += 0.05 { // any percentage, to what a share copy tells
		text := fmt.Sprintf("%.1f %% and %.2f %%; \"percent\": %.1f, \"other\": %.1f", p, p, p, 100-p)
		require.Empty(t, s.Leaks("a.txt", []byte(text)), text)
	}
}

// A place anywhere on the globe is hidden in the forms that people use, and its numbers
// are no alarm for a site far away.
func TestPlacesAnywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := grid.LonLat{Lon: rapid.Float64Range(-180, 180).Draw(t, "lon"), Lat: rapid.Float64Range(-80, 80).Draw(t, "lat")}
		f, err := grid.NewFrame(p)
		require.NoError(t, err)
		r := &coverage.Result{Frame: f, Local: site.Local{Boundary: []grid.Polygon{{Outer: grid.Ring{{X: -30, Y: -30}, {X: 30, Y: -30}, {Y: 30}}}}}}
		s := SecretsOf(r, ShareSettings{})
		at := f.ToLonLat(grid.XY{X: rapid.Float64Range(-500, 500).Draw(t, "x"), Y: rapid.Float64Range(-500, 500).Draw(t, "y")})
		inUTM := utm(at, zoneOf(at.Lon))
		if at.Lat < 0 {
			inUTM.Y += falseNorthing
		}
		texts := []string{
			fmt.Sprintf("%.6f, %.6f", at.Lat, at.Lon), fmt.Sprintf(`{"lon":%.5f,"lat":%.5f}`, at.Lon, at.Lat),
			fmt.Sprintf("%.1f %.1f", inUTM.X, inUTM.Y),
		}
		if max(math.Abs(at.Lon), math.Abs(at.Lat)) > 1 {
			texts = append(texts, fmt.Sprintf("%d %d", int(at.Lat*1e7), int(at.Lon*1e7)), fmt.Sprintf("%.1f %.1f", webMercator(at).X, webMercator(at).Y))
		}
		for _, text := range texts {
			require.NotEmpty(t, s.Leaks("a.txt", []byte(text)), text)
		}
		require.Empty(t, s.Leaks("a.txt", []byte("71 % of 1.24 ha, 12 gaps, April 2031")))
	})
}

func zoneOf(lon float64) float64 { return float64(int((lon+180)/6))*6 - 177 }

// The projections agree with PROJ; the commands stand at hiding.
func TestPlacesInMetres(t *testing.T) {
	p := grid.LonLat{Lon: 12.345678, Lat: 51.234567}
	for name, c := range map[string]struct{ got, want grid.XY }{
		"zone 33":      {utm(p, 15), grid.XY{X: 314702.247, Y: 5679257.852}},
		"zone 32":      {utm(p, 9), grid.XY{X: 733550.580, Y: 5681229.640}},
		"web mercator": {webMercator(p), grid.XY{X: 1374314.588, Y: 6662891.265}},
	} {
		require.InDelta(t, c.want.X, c.got.X, 0.002, name)
		require.InDelta(t, c.want.Y, c.got.Y, 0.002, name)
	}
}

// What may be told is no leak.
func TestToldIsNoLeak(t *testing.T) {
	r, _ := named(t)
	s := SecretsOf(r, ShareSettings{Names: true, Dates: true})
	require.Empty(t, s.Leaks("a.txt", []byte("old well, gatepost, boulder; 2 April 2031 to 20310420")))
	require.NotEmpty(t, s.Leaks("a.txt", []byte("at 09:05:00")), "days, but no times")
	require.NotEmpty(t, s.Leaks("a.txt", []byte("nest, reed bed")))
	s = &Secrets{first: track.NoTime, last: track.NoTime}
	s.AddName("the walk")
	s.AddName("old well 2")
	s.AddName("oak")
	require.Empty(t, s.ids, "made of plain words, or short")
}

func FuzzLeaks(f *testing.F) {
	s := hiding(f)
	for _, carry := range carriers {
		f.Add(carry("51.234567"))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		for _, l := range s.Leaks("a", data) {
			require.NotEmpty(t, l.Kind)
		}
	})
}

func asJSON(v any) []byte {
	b, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		panic(err)
	}
	return b
}

func escapeAll(s string) string {
	var b strings.Builder
	for _, u := range toUTF16BE16(s) {
		fmt.Fprintf(&b, `\u%04x`, u)
	}
	return b.String()
}

func entities(s string) string {
	var b strings.Builder
	for _, r := range s {
		fmt.Fprintf(&b, "&#%d;", r)
	}
	return b.String()
}

// broken puts marks between the letters, as an editor might.
func broken(s string) string {
	var b strings.Builder
	for _, r := range s {
		b.WriteString("<b>" + html.EscapeString(string(r)) + "</b>")
	}
	return b.String()
}

func toUTF16BE16(s string) []uint16 {
	var out []uint16
	for _, r := range s {
		out = append(out, uint16(r)) // test texts stay in the basic plane
	}
	return out
}

func toUTF16BE(s string) (b []byte) {
	for _, u := range toUTF16BE16(s) {
		b = binary.BigEndian.AppendUint16(b, u)
	}
	return b
}

func toUTF16LE(s string) (b []byte) {
	for _, u := range toUTF16BE16(s) {
		b = binary.LittleEndian.AppendUint16(b, u)
	}
	return b
}

func deflated(s string) string {
	var b bytes.Buffer
	z := zlib.NewWriter(&b)
	z.Write([]byte(s))
	z.Close()
	return b.String()
}

func pngOf(t testing.TB, pic image.Image) []byte {
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, pic))
	return b.Bytes()
}

// pngWith is a small picture with one chunk more, before its pixels.
func pngWith(kind, body string) []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewPaletted(image.Rect(0, 0, 3, 3), color.Palette{color.White})); err != nil {
		panic(err)
	}
	if kind == "" {
		return b.Bytes()
	}
	chunk := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
	chunk = append(append(chunk, kind...), body...)
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
	const head = 8 + 25
	return append(append(bytes.Clone(b.Bytes()[:head]), chunk...), b.Bytes()[head:]...)
}

// jpegWith is a small picture with one segment more at its beginning.
func jpegWith(kind byte, body string) []byte {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 8, 8)), nil); err != nil {
		panic(err)
	}
	if kind == 0 {
		return b.Bytes()
	}
	segment := binary.BigEndian.AppendUint16([]byte{0xff, kind}, uint16(len(body)+2))
	return append(append([]byte{0xff, 0xd8}, append(segment, body...)...), b.Bytes()[2:]...)
}

func zipWith(name, text string) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate})
	if err != nil {
		panic(err)
	}
	w.Write([]byte(text))
	z.Close()
	return b.Bytes()
}

// pdfWith is as much of a PDF as the check reads: one packed stream.
func pdfWith(stream string) []byte {
	return []byte("%PDF-1.7\n1 0 obj <</Filter /FlateDecode>> stream\n" + deflated(stream) + "\nendstream endobj\n")
}

func pdfLiteral(s string) string {
	return strings.NewReplacer(`\`, `\\`, "(", `\(`, ")", `\)`).Replace(s)
}

func pdfLiteralBytes(b []byte) []byte { return []byte(pdfLiteral(string(b))) }
