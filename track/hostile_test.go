package track_test

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"io"
	"os"
	"path/filepath"
	"runtime/metrics"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/track"
)

// TestHostile reads malformed and malicious XML as it is and, so that it gets
// past the root, inside a good file of each XML format. Nothing may panic, be slow or
// take much memory, and what came before is never lost.
func TestHostile(t *testing.T) {
	folder := filepath.Join(dataFolder, "hostile")
	if _, err := os.Stat(folder); err != nil {
		t.Skip("no shared test data beside the project: ", err)
	}
	before := map[string]string{
		"GPX": head + `<wpt lat="1" lon="2"/><trk><trkseg><trkpt lat="1" lon="2"/>`,
		"KML": `<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark><LineString><coordinates>2,1 3,1</coordinates></LineString></Placemark><Placemark>`,
		"TCX": `<TrainingCenterDatabase><Activities><Activity><Lap><Track><Trackpoint><Position><LatitudeDegrees>1</LatitudeDegrees>` +
			`<LongitudeDegrees>2</LongitudeDegrees></Position></Trackpoint>`,
	}
	count := 0
	hostileFiles(t, folder, func(name string, data []byte) {
		count++
		readHostile(t, name, data)
		for format, good := range before {
			if log := readHostile(t, format+" "+name, append([]byte(good), data...)); log != nil {
				require.NotZero(t, log.Fixes()+len(log.Routes), "%s in %s", name, format)
				require.Equal(t, format, log.Format)
			}
		}
	})
	t.Logf("%d hostile files", count)
	require.Greater(t, count, 2500)
}

// readHostile returns nil when the file is refused.
func readHostile(t *testing.T, name string, data []byte) *track.Log {
	t.Helper()
	type outcome struct {
		log       *track.Log
		err       error
		allocated uint64
	}
	done := make(chan outcome, 1)
	go func() {
		var o outcome
		o.allocated = bytesAllocated(func() { o.log, o.err = readOne(bytes.NewReader(data), "hostile.gpx") })
		done <- o
	}()
	select {
	case o := <-done:
		if o.err != nil {
			require.NotContains(t, o.err.Error(), "\n", name)
			return nil
		}
		require.Less(t, o.allocated, uint64(2<<20+64*len(data)), name)
		requireSound(t, o.log)
		return o.log
	case <-time.After(2 * time.Second):
		require.Fail(t, "takes for ever", name)
	}
	return nil
}

func bytesAllocated(f func()) uint64 {
	sample := []metrics.Sample{{Name: "/gc/heap/allocs:bytes"}}
	metrics.Read(sample)
	before := sample[0].Value.Uint64()
	f()
	metrics.Read(sample)
	return sample[0].Value.Uint64() - before
}

// hostileFiles calls do with every file under folder, packed ones unpacked.
func hostileFiles(t *testing.T, folder string, do func(name string, data []byte)) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(folder, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		if !strings.HasSuffix(path, "gz") {
			do(d.Name(), data)
			return nil
		}
		z, err := gzip.NewReader(bytes.NewReader(data))
		require.NoError(t, err)
		for in := tar.NewReader(z); ; {
			h, err := in.Next()
			if err == io.EOF {
				return nil
			}
			require.NoError(t, err)
			content, err := io.ReadAll(in)
			require.NoError(t, err)
			if h.Typeflag == tar.TypeReg {
				do(d.Name()+"/"+h.Name, content)
			}
		}
	}))
}
