package track_test

import (
	"bytes"
	"compress/gzip"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"

	"untrod/track"
)

const dataFolder = "../../shared/data"

// corpus calls do with every GPX file of the shared test data.
func corpus(t *testing.T, do func(t *testing.T, path string, data []byte)) {
	t.Helper()
	if _, err := os.Stat(dataFolder); err != nil {
		t.Skip("no shared test data beside the project: ", err)
	}
	count := 0
	for _, folder := range []string{"gpx", "walks", "static"} {
		require.NoError(t, filepath.WalkDir(filepath.Join(dataFolder, folder), func(path string, d os.DirEntry, err error) error {
			if err != nil || !strings.Contains(d.Name(), ".gpx") {
				return err
			}
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			rel, _ := filepath.Rel(dataFolder, path)
			count++
			t.Run(rel, func(t *testing.T) { do(t, filepath.ToSlash(rel), data) })
			return nil
		}))
	}
	require.Greater(t, count, 80)
}

// manifest reads "fixes / segments" of every GPX file from the data's own list.
func manifest(t *testing.T) map[string][2]int {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dataFolder, "MANIFEST.md"))
	require.NoError(t, err)
	counts := map[string][2]int{}
	for line := range strings.Lines(string(text)) {
		cells := strings.Split(line, "|")
		if len(cells) < 7 {
			continue
		}
		var n [2]int
		if k, _ := fmt.Sscanf(cells[5], " %d / %d", &n[0], &n[1]); k == 2 {
			counts[strings.TrimSpace(cells[1])] = n
		}
	}
	return counts
}

// unlisted are the counts of files for which the list gives none, and why.
var unlisted = map[string][2]int{
	// A tag is never closed, which the note says; both points stand before it.
	"gpx/jpx/GPX_invalid_extensions.gpx": {2, 1},
}

func TestCorpusCounts(t *testing.T) {
	var want map[string][2]int
	corpus(t, func(t *testing.T, path string, data []byte) {
		if want == nil {
			want = manifest(t)
		}
		log, err := readOne(bytes.NewReader(data), path)
		require.NoError(t, err)
		requireSound(t, log)
		segments := 0
		for _, tr := range log.Tracks {
			segments += len(tr.Segments)
		}
		n, listed := want[path]
		if !listed {
			n, listed = unlisted[path]
			require.NotEmpty(t, log.Notes.List())
		}
		require.True(t, listed)
		require.Equal(t, n, [2]int{log.Fixes(), segments}, examples(log))
	})
}

// otherLogs are the logs of the shared test data that are neither GPX nor among
// nmeaLogs, and the files read as logs that hold no walk.
var otherLogs = map[string]struct {
	format string
	fixes  int
}{
	// Tables in which each kind of row has a header of its own; the other kinds are
	// noted. The counts are those of the GPX files made of them.
	"static/google-gps-measurement-tools/pseudoranges_log_2016_06_30_21_26_07.txt": {"CSV", 216},
	"static/google-gps-measurement-tools/pseudoranges_log_2016_08_22_14_45_50.txt": {"CSV", 207},
	// Outlines of sites.
	"walks/plant-search/Bellhouse_Park.geojson":        {"GeoJSON", 0},
	"walks/plant-search/Galiano_Fine_Boundary.geojson": {"GeoJSON", 0},
	// A header that names a latitude and a longitude, over rows parted in another way.
	"wmm/wmm2025_test_values.tsv": {"CSV", 0},
}

// TestCorpusEveryFile reads whatever lies in the shared test data: logs of each
// format with their counts, all else is refused with a word on what it is.
func TestCorpusEveryFile(t *testing.T) {
	if _, err := os.Stat(dataFolder); err != nil {
		t.Skip("no shared test data beside the project: ", err)
	}
	logs, refused := map[string]int{}, 0
	require.NoError(t, filepath.WalkDir(dataFolder, func(path string, d os.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() || strings.Contains(d.Name(), ".gpx") { // for those see above
			return err
		}
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		rel, err := filepath.Rel(dataFolder, path)
		require.NoError(t, err)
		rel = filepath.ToSlash(rel)
		want, is := otherLogs[rel]
		if n, nmea := nmeaLogs[rel]; nmea {
			want.format, want.fixes, is = "NMEA", n, true
		}
		if !is {
			requireRefused(t, data, rel)
			refused++
			return nil
		}
		for _, content := range [][]byte{data, gzipped(t, data), zipped(t, "x", string(data))} {
			log, err := readOne(bytes.NewReader(content), "data")
			require.NoError(t, err, rel)
			requireSound(t, log)
			require.Equal(t, want.format, log.Format, rel)
			require.Equal(t, want.fixes, log.Fixes(), "%s: %v", rel, examples(log))
		}
		logs[rel] = want.fixes
		return nil
	}))
	require.Len(t, logs, len(otherLogs)+len(nmeaLogs))
	require.Greater(t, refused, 40)

	listed := manifest(t) // of GPX files made of some of these
	for log, gpx := range map[string]string{
		"walks/em38/em38_demo.nmea": "walks/em38/em38_demo.gpx", "static/gpsd/telit-he910.log": "static/gpsd/telit-he910.gpx",
		"static/google-gps-measurement-tools/pseudoranges_log_2016_06_30_21_26_07.txt": "static/google-gps-measurement-tools/pseudoranges_log_2016_06_30_21_26_07_fix.gpx",
		"static/google-gps-measurement-tools/pseudoranges_log_2016_08_22_14_45_50.txt": "static/google-gps-measurement-tools/pseudoranges_log_2016_08_22_14_45_50_fix.gpx",
	} {
		require.Equal(t, listed[gpx][0], logs[log], log)
	}
}

func requireRefused(t *testing.T, data []byte, name string) {
	t.Helper()
	_, err := track.Read(bytes.NewReader(data), name)
	var unsupported *track.UnsupportedError
	require.ErrorAs(t, err, &unsupported, name)
	require.NotEmpty(t, unsupported.Found)
}

// TestCorpusAgainstStandardLibrary reads every file a second time with
// encoding/xml and the standard library's number and time parsers.
func TestCorpusAgainstStandardLibrary(t *testing.T) {
	corpus(t, func(t *testing.T, path string, data []byte) {
		if bytes.HasPrefix(data, []byte("\x1f\x8b")) {
			z, err := gzip.NewReader(bytes.NewReader(data))
			require.NoError(t, err)
			data, err = io.ReadAll(z)
			require.NoError(t, err)
		}
		log, err := track.ReadGPX(bytes.NewReader(data), path)
		require.NoError(t, err)
		want, err := oracle(data)
		require.Equal(t, err != nil, log.Notes.Count(track.NoteBadXML)+log.Notes.Count(track.NoteTruncated) > 0,
			"%v, %v", err, examples(log))

		got := map[string][]track.Fix{"trkpt": fixes(log)}
		for _, r := range log.Routes {
			got["rtept"] = append(got["rtept"], r.Segments[0]...)
		}
		for _, w := range log.Waypoints {
			got["wpt"] = append(got["wpt"], w.Fix)
		}
		for _, kind := range []string{"trkpt", "rtept", "wpt"} {
			require.Equal(t, len(want[kind]), len(got[kind]), kind)
			for i, w := range want[kind] {
				requireFix(t, w, got[kind][i], kind, i)
			}
		}
	})
}

// oracle reads the points of a file, by kind, the slow and simple way.
func oracle(data []byte) (map[string][]track.Fix, error) {
	d := xml.NewDecoder(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff"))))
	d.CharsetReader = func(label string, r io.Reader) (io.Reader, error) {
		if strings.EqualFold(label, "iso-8859-1") {
			return charmap.ISO8859_1.NewDecoder().Reader(r), nil
		}
		return r, nil
	}
	found := map[string][]track.Fix{}
	var path []string
	var fix track.Fix
	text := ""
	at := -1 // depth of the open point
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return found, nil
		} else if err != nil {
			return found, err
		}
		switch e := tok.(type) {
		case xml.StartElement:
			path, text = append(path, e.Name.Local), ""
			if at < 0 && isPoint(path) {
				at, fix = len(path), track.NoFix
				for _, a := range e.Attr {
					oracleField(&fix, a.Name.Local, a.Value)
				}
			}
		case xml.CharData:
			text += string(e)
		case xml.EndElement:
			switch name := e.Name.Local; {
			case len(path) == at:
				found[name], at = append(found[name], fix), -1
			case at > 0 && (len(path) == at+1 || oracleAccuracy[name]):
				oracleField(&fix, name, strings.TrimSpace(text))
			}
			path, text = path[:len(path)-1], ""
		}
	}
}

func isPoint(path []string) bool {
	switch strings.Join(path, "/") {
	case "gpx/wpt", "gpx/rte/rtept", "gpx/trk/trkseg/trkpt":
		return true
	}
	return false
}

var oracleAccuracy = map[string]bool{"accuracy": true, "hAcc": true, "accuracy_horizontal": true}

func oracleField(f *track.Fix, name, text string) {
	v, err := strconv.ParseFloat(text, 64)
	isNumber := err == nil
	switch {
	case name == "time":
		for _, layout := range []string{time.RFC3339Nano, "2006-01-02T15:04:05.999999999", "2006-01-02T15:04:05Z0700"} {
			if when, err := time.Parse(layout, text); err == nil {
				f.T = track.At(when)
			}
		}
	case name == "fix":
		f.Kind = map[string]track.FixKind{"none": track.FixNone, "2d": track.Fix2D, "3d": track.Fix3D,
			"dgps": track.FixDGPS, "pps": track.FixPPS}[text]
	case !isNumber:
	case name == "lat":
		f.Pos.Lat = v
	case name == "lon":
		f.Pos.Lon = v
	case name == "ele":
		f.EleM = float32(v)
	case name == "sat":
		f.Sats = int16(v)
	case name == "hdop":
		f.HDOP = float32(v)
	case name == "pdop":
		f.PDOP = float32(v)
	case oracleAccuracy[name] && v >= 0:
		f.AccM = float32(v)
	}
}
