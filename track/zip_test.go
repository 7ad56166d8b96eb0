package track_test

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/track"
)

var errDisk = errors.New("disk on fire")

func names(logs []*track.Log) (out []string) {
	for _, l := range logs {
		out = append(out, l.Name)
	}
	return out
}

func TestReadZip(t *testing.T) {
	walk := string(logOf(3))
	data := zipped(t, "day1.gpx", walk, "photos/", "", "photos/a.jpg", "\xff\xd8\xff\xe0\x00JFIF", "2/day2.gpx", walk, "readme.txt", "Some words.\n",
		"broken.gpx", "<gpx", `c:\..\odd`+"\n.gpx", walk)
	logs, err := track.Read(bytes.NewReader(data), "walks.zip")
	require.NoError(t, err)
	require.Equal(t, []string{"walks.zip/day1.gpx", "walks.zip/2/day2.gpx", `walks.zip/c_\..\odd_.gpx`}, names(logs))
	for _, l := range logs {
		require.Equal(t, 3, l.Fixes())
		requireSound(t, l)
	}
	require.Equal(t, []string{`passed-over 3 walks.zip:3: "photos/a.jpg" passed over: looks like a picture`}, examples(logs[0]))

	// The same from a file on disk and from a stream.
	path := filepath.Join(t.TempDir(), "walks.zip")
	require.NoError(t, os.WriteFile(path, append([]byte("skipped"), data...), 0o600))
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	_, err = f.Seek(int64(len("skipped")), io.SeekStart)
	require.NoError(t, err)
	for _, r := range []io.Reader{f, io.MultiReader(bytes.NewReader(data))} {
		again, err := track.Read(r, "walks.zip")
		require.NoError(t, err)
		require.Equal(t, names(logs), names(again))
		require.Equal(t, examples(logs[0]), examples(again[0]))
	}
}

func TestReadKMZ(t *testing.T) {
	files := formatFiles(t)
	kml, gpx := string(files["KML"]), string(files["GPX"])
	for name, c := range map[string]struct {
		archive string
		files   []string
		want    []string
		notes   []string
	}{
		"doc.kml":       {"walk.dat", []string{"files/a.kml", kml, "doc.kml", kml}, []string{"walk.dat/doc.kml"}, []string{`passed-over 1 walk.dat:1: "files/a.kml" passed over: belongs to "doc.kml"`}},
		"first of KMZ":  {"walk.KMZ", []string{"a.kml", kml, "b.KML", kml}, []string{"walk.KMZ/a.kml"}, []string{`passed-over 1 walk.KMZ:2: "b.KML" passed over: belongs to "a.kml"`}},
		"zip of KMLs":   {"walk.zip", []string{"a.kml", kml, "b.kml", kml}, []string{"walk.zip/a.kml", "walk.zip/b.kml"}, nil},
		"GPX beside it": {"walk.kmz", []string{"a.gpx", gpx, "doc.kml", kml}, []string{"walk.kmz/a.gpx", "walk.kmz/doc.kml"}, nil},
		"KMZ in zip":    {"walk.zip", []string{"a.kmz", string(zipped(t, "x.kml", kml, "y.kml", kml))}, []string{"walk.zip/a.kmz/x.kml"}, []string{`passed-over 1 walk.zip/a.kmz:2: "y.kml" passed over: belongs to "x.kml"`}},
	} {
		t.Run(name, func(t *testing.T) {
			logs, err := track.Read(bytes.NewReader(zipped(t, c.files...)), c.archive)
			require.NoError(t, err)
			require.Equal(t, c.want, names(logs))
			require.Equal(t, c.notes, examples(logs[0]))
		})
	}
}

func TestReadZipErrors(t *testing.T) {
	walk := string(logOf(3))
	deep := zipped(t, "3.zip", string(zipped(t, "2.zip", string(zipped(t, "1.gpx", walk)))))
	encrypted := zipped(t, "walk.gpx", walk)
	for _, magic := range []string{"PK\x03\x04", "PK\x01\x02"} {
		at := bytes.Index(encrypted, []byte(magic))
		encrypted[at+6+2*(len(magic)-4)] |= 1
		if magic == "PK\x01\x02" {
			encrypted[at+8] |= 1
		}
	}
	const read = "; read are GPX, KML, KMZ, TCX, FIT, GeoJSON, NMEA and CSV, also in .gz and .zip"
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"nothing":   {zipped(t), "a.zip: not a log: is a zip archive with nothing in it" + read},
		"folders":   {zipped(t, "x/", ""), "a.zip: not a log: is a zip archive with nothing in it" + read},
		"cut":       {zipped(t, "walk.gpx", walk)[:200], "a.zip: zip archive: zip: not a valid zip file"},
		"too deep":  {deep, `a.zip: not a log: is a zip archive without a log: "3.zip" is a zip archive without a log: "2.zip" is a zip archive in an archive in an archive` + read},
		"encrypted": {encrypted, `a.zip: not a log: is a zip archive without a log: "walk.gpx" is encrypted` + read},
		"no logs": {zipped(t, "a.txt", "words", "b.html", "<html>", "c.gpx", "<gpx", "d", "", "e\n", "x"),
			`a.zip: not a log: is a zip archive without a log: "a.txt" looks like plain text, "b.html" starts with <html>, an HTML page, "c.gpx" line 1: no complete <gpx> tag, and 2 more` + read},
	} {
		for _, r := range []io.Reader{bytes.NewReader(c.data), bytes.NewBuffer(c.data)} {
			logs, err := track.Read(r, "a.zip")
			require.EqualError(t, err, c.want, name)
			require.Nil(t, logs)
		}
	}
}

// A member whose bytes are damaged gives what came before.
func TestReadZipDamaged(t *testing.T) {
	data := zipped(t, "walk.gpx", string(logOf(2000)), "two.gpx", string(logOf(3)))
	for _, at := range []int{len(data) / 4, len(data) / 3, len(data) / 2} {
		broken := bytes.Clone(data)
		broken[at] ^= 0xff
		logs, err := track.Read(bytes.NewReader(broken), "a.zip")
		require.NoError(t, err)
		require.Len(t, logs, 2)
		require.Positive(t, logs[0].Notes.Count(track.NoteBadXML), examples(logs[0]))
		require.Less(t, 10, logs[0].Fixes())
		require.Equal(t, 3, logs[1].Fixes())
	}
}

// failingAt is a file on a disk that fails before a place, but for the first bytes,
// by which the file is known.
type failingAt struct {
	*bytes.Reader
	from int64
}

func (f failingAt) ReadAt(p []byte, off int64) (int, error) {
	if off < f.from && len(p) != 4 {
		return 0, errDisk
	}
	return f.Reader.ReadAt(p, off)
}

func TestReadZipDiskFails(t *testing.T) {
	data := zipped(t, "a.gpx", string(logOf(200)), "b.gpx", string(logOf(2000)))
	for _, from := range []int64{1, 1000, int64(len(data)) / 2, int64(len(data) - 10)} {
		_, err := track.Read(failingAt{bytes.NewReader(data), from}, "a.zip")
		require.ErrorIs(t, err, errDisk, from)
	}
}

// Small archives that would unpack to much, or list much, are left off.
func TestReadZipBombs(t *testing.T) {
	table := "lat,lon\n" + strings.Repeat("1,2\n", 2<<20)
	bomb := zipped(t, "a.csv", table, "b.csv", table, "c.csv", table)
	wide := "lat,lon\n" + strings.Repeat("1,2"+strings.Repeat(" ", 500)+"\n", 32<<10) // few fixes: what they take is tried above
	nested := zipped(t, "one.zip", string(zipped(t, "two.gz", string(gzipped(t, []byte(wide))))))
	for name, c := range map[string]struct {
		data []byte
		most uint64
	}{
		"three tables": {bomb, 1 << 30}, "nested": {nested, 1 << 30}, "many members": {manyMembers(t, 11_000), 64 << 20},
		"overlapping": {overlapping(t, 600), 1 << 30},
	} {
		var logs []*track.Log
		var err error
		allocated := bytesAllocated(func() { logs, err = track.Read(bytes.NewReader(c.data), "a.zip") })
		require.Less(t, allocated, c.most, name)
		said := fmt.Sprint(err)
		for _, l := range logs {
			said += strings.Join(examples(l), "\n")
		}
		require.Regexp(t, "hundred times its size|more than 10000 members", said, name)
	}
	huge := bytes.Repeat([]byte("PK\x01\x02"), 4<<20)
	_, err := track.Read(bytes.NewReader(append([]byte("PK\x03\x04"), huge...)), "a.zip")
	require.Error(t, err)
}

func manyMembers(t *testing.T, n int) []byte {
	var files []string
	for i := range n {
		files = append(files, fmt.Sprint(i), "")
	}
	return zipped(t, files...)
}

// overlapping is an archive whose n members are all the same bytes.
func overlapping(t *testing.T, n int) []byte {
	t.Helper()
	var packed bytes.Buffer
	w, err := flate.NewWriter(&packed, flate.BestCompression)
	require.NoError(t, err)
	content := []byte("lat,lon\n" + strings.Repeat("1,2\n", 1<<16))
	_, _ = w.Write(content)
	require.NoError(t, w.Close())
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	raw, err := z.CreateRaw(&zip.FileHeader{Name: "a", Method: zip.Deflate, CompressedSize64: uint64(packed.Len()), UncompressedSize64: uint64(len(content))})
	require.NoError(t, err)
	_, _ = raw.Write(packed.Bytes())
	require.NoError(t, z.Close())
	one := b.Bytes()
	at := bytes.LastIndex(one, []byte("PK\x01\x02"))
	end := bytes.LastIndex(one, []byte("PK\x05\x06"))
	entry := one[at:end]
	tail := bytes.Clone(one[end:])
	size := len(entry) * n
	tail[8], tail[9], tail[10], tail[11] = byte(n), byte(n>>8), byte(n), byte(n>>8)
	tail[12], tail[13], tail[14], tail[15] = byte(size), byte(size>>8), byte(size>>16), byte(size>>24)
	return append(append(bytes.Clone(one[:at]), bytes.Repeat(entry, n)...), tail...)
}
