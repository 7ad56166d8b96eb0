package track_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/proto"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/unicode"

	"untrod/track"
)

// formatFiles is the same walk of three fixes, 47 N, 11 E and on by ten seconds
// and a ten-thousandth of a degree, in each format.
func formatFiles(t testing.TB) map[string][]byte {
	var gpx, kml, tcx, nmea, csv strings.Builder
	var line [][]float64
	var times []string
	messages := []proto.Message{fitID(typedef.FileActivity)}
	for i := range 3 {
		lat, when := 47+float64(i)/1e4, fmt.Sprintf("2031-05-04T08:00:%02dZ", 10*i)
		fmt.Fprintf(&gpx, `<trkpt lat="%.4f" lon="11"><time>%s</time></trkpt>`, lat, when)
		fmt.Fprintf(&kml, "<when>%s</when><gx:coord>11 %.4f 500</gx:coord>\n", when, lat)
		fmt.Fprintf(&tcx, "<Trackpoint><Time>%s</Time><Position><LatitudeDegrees>%.4f</LatitudeDegrees><LongitudeDegrees>11</LongitudeDegrees></Position></Trackpoint>", when, lat)
		fmt.Fprintf(&nmea, "$GPRMC,0800%02d.00,A,47%07.4f,N,01100.0000,E,0.5,0.0,040531,,,A\r\n", 10*i, 60*(lat-47))
		fmt.Fprintf(&csv, "%s;%.4f;11\n", when, lat)
		line, times = append(line, []float64{11, lat}), append(times, when)
		messages = append(messages, fitRecord(10*i).SetPositionLat(int32(lat/180*(1<<31))).SetPositionLong(131_235_112).ToMesg(nil))
	}
	geojson, err := json.Marshal(map[string]any{"type": "Feature", "geometry": map[string]any{"type": "LineString", "coordinates": line},
		"properties": map[string]any{"coordTimes": times}})
	require.NoError(t, err)
	return map[string][]byte{
		"GPX":     []byte(inTrack(gpx.String())),
		"KML":     []byte(`<?xml version="1.0"?><!-- <gpx> --><kml xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="http://www.google.com/kml/ext/2.2"><Placemark><gx:Track>` + kml.String() + `</gx:Track></Placemark></kml>`),
		"TCX":     []byte(`<TrainingCenterDatabase xmlns="http://www.garmin.com/xmlschemas/TrainingCenterDatabase/v2"><Activities><Activity Sport="Other"><Id>2031-05-04T08:00:00Z</Id><Lap StartTime="2031-05-04T08:00:00Z"><Track>` + tcx.String() + `</Track></Lap></Activity></Activities></TrainingCenterDatabase>`),
		"GeoJSON": geojson,
		"FIT":     fitFile(t, nil, messages...),
		"NMEA":    []byte(nmea.String()),
		"CSV":     []byte("time;latitude;longitude\n" + csv.String()),
	}
}

// zipped packs files, given as name and content in turn.
func zipped(t testing.TB, files ...string) []byte { return archived(t, zip.Deflate, files...) }

func archived(t testing.TB, method uint16, files ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for pair := range slices.Chunk(files, 2) {
		w, err := z.CreateHeader(&zip.FileHeader{Name: pair[0], Method: method})
		require.NoError(t, err)
		_, err = io.WriteString(w, pair[1])
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.Bytes()
}

// Every format is known by its content, plain and packed, whatever the file's name.
func TestReadEveryFormat(t *testing.T) {
	for format, data := range formatFiles(t) {
		t.Run(format, func(t *testing.T) {
			for packing, packed := range map[string]struct {
				data []byte
				name string
			}{
				"plain":       {data, "walk.dat"},
				"gzip":        {gzipped(t, data), "walk.dat"},
				"zip":         {zipped(t, "a/walk.dat", string(data)), "walk.dat/a/walk.dat"},
				"gzip in zip": {zipped(t, "walk", string(gzipped(t, data))), "walk.dat/walk"},
				"zip in zip":  {zipped(t, "b", string(zipped(t, "c", string(data)))), "walk.dat/b/c"},
				"zip in gzip": {gzipped(t, zipped(t, "walk", string(data))), "walk.dat/walk"},
			} {
				for _, r := range []io.Reader{bytes.NewReader(packed.data), bytes.NewBuffer(packed.data)} {
					logs, err := track.Read(r, "walk.dat")
					require.NoError(t, err, packing)
					require.Len(t, logs, 1, packing)
					log := logs[0]
					require.Equal(t, format, log.Format, packing)
					require.Equal(t, packed.name, log.Name, packing)
					requireWalk(t, log)
				}
			}
		})
	}
}

// requireWalk checks that log holds the walk of formatFiles.
func requireWalk(t *testing.T, log *track.Log) {
	t.Helper()
	requireSound(t, log)
	require.Equal(t, 3, log.Fixes(), examples(log))
	for i, f := range fixes(log) {
		require.InDelta(t, 11, f.Pos.Lon, 1e-6)
		require.InDelta(t, 47+float64(i)/1e4, f.Pos.Lat, 1e-6)
		require.Equal(t, track.At(fitStart)+track.Instant(10_000*i), f.T)
	}
}

// Text may be UTF-16 or begin with a byte order mark in every format.
func TestReadEveryFormatCharsets(t *testing.T) {
	for format, data := range formatFiles(t) {
		if format == "FIT" || format == "NMEA" {
			continue // bytes, and ASCII by definition
		}
		utf16 := func(e unicode.Endianness) []byte {
			b, err := unicode.UTF16(e, unicode.UseBOM).NewEncoder().Bytes(data)
			require.NoError(t, err)
			return b
		}
		for charset, text := range map[string][]byte{
			"mark": append([]byte("\xef\xbb\xbf"), data...), "UTF-16 LE": utf16(unicode.LittleEndian), "UTF-16 BE": utf16(unicode.BigEndian),
		} {
			t.Run(format+" "+charset, func(t *testing.T) {
				log, err := readOne(bytes.NewReader(text), "walk")
				require.NoError(t, err)
				require.Equal(t, format, log.Format)
				requireWalk(t, log)
			})
		}
	}
}

// What stands before a log, or lies within it, does not hide what it is.
func TestReadOddBeginnings(t *testing.T) {
	files := formatFiles(t)
	sentences := string(files["NMEA"])
	for name, c := range map[string]struct{ data, format string }{
		"comments":             {"# a receiver\n# of some kind\n\n" + sentences, "NMEA"},
		"half a sentence":      {"2,3,,4*55\r\n" + sentences, "NMEA"},
		"time stamps":          {strings.ReplaceAll(sentences, "$", "[08:00:00.123] $"), "NMEA"},
		"time stamps of dates": {strings.ReplaceAll(sentences, "$", "2031-05-04 08:00:00,$"), "NMEA"},
		"binary": {"\xb5\x62\x00\x01\x02\n\xb5\x62\x00\x00\n\x00\x00\n\xd3\x00" +
			"$GPGLL,4700.0000,N,01100.0000,E,080000.00,A*0F\r\n\xb5\x62\x00\n", "NMEA"},
		"proprietary first": {"$PUBX,00,1\r\n$PUBX,00,1\r\n$GPTXT,01,01,02,x\r\n" + sentences, "NMEA"},
		"header of a table": {"made by a logger\n\n" + string(files["CSV"]), "CSV"},
		"long comment":      {"<?xml version='1.0'?><!--" + strings.Repeat("-x", 5000) + "-->\n" + string(files["GPX"][len(`<?xml version="1.0" encoding="UTF-8"?>`):]), "GPX"},
		"document type":     {"<!DOCTYPE kml [ <!ELEMENT gpx ANY> ]>\n" + string(files["KML"][len(`<?xml version="1.0"?>`):]), "KML"},
		"prefix":            {`<g:gpx xmlns:g="http://www.topografix.com/GPX/1/1"><g:wpt lat="1" lon="2"/></g:gpx>`, "GPX"},
	} {
		t.Run(name, func(t *testing.T) {
			log, err := readOne(strings.NewReader(c.data), "walk")
			require.NoError(t, err)
			require.Equal(t, c.format, log.Format)
		})
	}
}

// A map of areas is a log without fixes; what to say of it is the caller's.
func TestReadAreasOnly(t *testing.T) {
	ring := `[[11,47],[11.001,47],[11.001,47.001],[11,47]]`
	for name, data := range map[string]string{
		"GeoJSON": `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[` + ring + `]}}]}`,
		"KML": `<kml><Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>11,47 11.001,47 11.001,47.001 11,47</coordinates>` +
			`</LinearRing></outerBoundaryIs></Polygon></Placemark></kml>`,
	} {
		log, err := readOne(strings.NewReader(data), "site")
		require.NoError(t, err, name)
		require.Equal(t, name, log.Format)
		require.Zero(t, log.Fixes(), name)
		require.Empty(t, log.Tracks, name)
	}
}

// What is said of a table's columns makes it one.
func TestOpenerColumns(t *testing.T) {
	table := "47.5;11.5\n47.6;11.5\n47.7;11.5\n"
	_, err := track.Read(strings.NewReader(table), "walk.csv")
	require.ErrorContains(t, err, "walk.csv")
	logs, err := track.Opener{CSV: track.Columns{"lat": "1", "lon": "2"}}.Read(strings.NewReader(table), "walk.csv")
	require.NoError(t, err)
	require.Equal(t, 3, logs[0].Fixes())
	require.Equal(t, 11.5, fixes(logs[0])[0].Pos.Lon)
}

// A reader that fails is an error in every format.
func TestReadEveryFormatFails(t *testing.T) {
	for format, data := range formatFiles(t) {
		for packing, packed := range map[string][]byte{"plain": data, "gzip": gzipped(t, data), "zip": zipped(t, "a", string(data))} {
			for _, cut := range []int{0, 20, len(packed) - 4} {
				_, err := track.Read(io.MultiReader(bytes.NewReader(packed[:cut]), failing{errDisk}), "walk")
				require.ErrorIs(t, err, errDisk, "%s %s %d", format, packing, cut)
			}
		}
	}
}
