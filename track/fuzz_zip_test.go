package track_test

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"testing"

	"untrod/track"
)

// FuzzRead reads every format by its content, as it is and from within an archive.
func FuzzRead(f *testing.F) {
	for _, data := range formatFiles(f) {
		f.Add(data)
		f.Add(zipped(f, "walk", string(data)))
		var b bytes.Buffer
		z := gzip.NewWriter(&b)
		_, _ = z.Write(data)
		_ = z.Close()
		f.Add(b.Bytes())
	}
	for _, seed := range []string{
		"", "<html>", `{"type":"Feature"}`, "\x1f\x8b\x08", "PK\x03\x04", "\xff\xfe<\x00g\x00p\x00x\x00/\x00>\x00", "lat,lon\n1,2\n",
		"# x\n$GPGLL,0100,N,00200,E,000000,A\n",
		string(zipped(f, "a/", "", "doc.kml", "<kml/>", "x.kml", "<kml/>", "b.zip", string(zipped(f, "c", "<gpx/>")))),
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		requireReads(t, func() ([]*track.Log, error) { return track.Read(bytes.NewReader(data), "fuzz") })
		packed := archived(t, zip.Store, "b", string(data), "doc.kml", string(data))
		requireReads(t, func() ([]*track.Log, error) { return track.Read(bytes.NewBuffer(packed), "fuzz.kmz") })
	})
}
