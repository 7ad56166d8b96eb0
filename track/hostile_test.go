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
// past the root, inside a waypoint of a good file. Nothing may panic, be slow or
// take much memory, and what came before is never lost.
func TestHostile(t *testing.T) {
	folder := filepath.Join(dataFolder, "hostile")
	if _, err := os.Stat(folder); err != nil {
		t.Skip("no shared test data beside the project: ", err)
	}
	before := head + `<wpt lat="1" lon="2"/><trk><trkseg><trkpt lat="1" lon="2"/>`
	count := 0
	hostileFiles(t, folder, func(name string, data []byte) {
		count++
		readHostile(t, name, data)
		if log := readHostile(t, name, append([]byte(before), data...)); log != nil {
			require.NotEmpty(t, log.Waypoints, name)
			require.NotZero(t, log.Fixes(), name)
		}
	})
	t.Logf("%d hostile files", count)
	require.Greater(t, count, 2500)
}

// readHostile returns nil when the file is refused.
func readHostile(t *testing.T, name string, data []byte) (log *track.Log) {
	t.Helper()
	start := time.Now()
	allocated := bytesAllocated(func() {
		var err error
		if log, err = readOne(bytes.NewReader(data), "hostile.gpx"); err != nil {
			require.NotContains(t, err.Error(), "\n", name)
		}
	})
	require.Less(t, time.Since(start), 2*time.Second, name)
	require.Less(t, allocated, uint64(2<<20+64*len(data)), name)
	if log != nil {
		requireSound(t, log)
	}
	return log
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
