package track_test

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/track"
)

// writeLog writes a log of n invented fixes in one segment, about 350 bytes each.
func writeLog(w io.Writer, n int) {
	fmt.Fprint(w, `<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="generator" xmlns="http://www.topografix.com/GPX/1/1" xmlns:ex="urn:example:fix">
 <trk>
  <name>long walk</name>
  <trkseg>
`)
	start := time.Date(2031, 5, 4, 8, 0, 0, 0, time.UTC)
	for i := range n {
		fmt.Fprintf(w, `   <trkpt lat="%.8f" lon="%.8f">
    <ele>%.1f</ele>
    <time>%s</time>
    <fix>3d</fix>
    <sat>%d</sat>
    <hdop>%.1f</hdop>
    <extensions>
     <ex:PointExtension>
      <ex:accuracy>%.2f</ex:accuracy>
      <ex:course>%.1f</ex:course>
     </ex:PointExtension>
    </extensions>
   </trkpt>
`, 47.25+float64(i%5000)*1e-6, -3.5+float64(i/5000)*1e-5, 80+float64(i%90)/10,
			start.Add(time.Duration(i)*time.Second).Format("2006-01-02T15:04:05.000Z"),
			5+i%9, 0.8+float64(i%20)/10, 2+float64(i%300)/100, float64(i%3600)/10)
	}
	fmt.Fprint(w, "  </trkseg>\n </trk>\n</gpx>\n")
}

func logOf(n int) []byte {
	var b bytes.Buffer
	writeLog(&b, n)
	return b.Bytes()
}

func BenchmarkReadGPX(b *testing.B) {
	data := logOf(50_000)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := track.ReadGPX(bytes.NewReader(data), "walk.gpx"); err != nil {
			b.Fatal(err)
		}
	}
}

func TestReadGPXDoesNotAllocatePerPoint(t *testing.T) {
	allocs := func(n int) float64 {
		data := logOf(n)
		return testing.AllocsPerRun(3, func() {
			_, err := track.ReadGPX(bytes.NewReader(data), "walk.gpx")
			require.NoError(t, err)
		})
	}
	few, many := allocs(1000), allocs(21_000)
	t.Logf("allocations: %.0f for 1,000 fixes, %.0f for 21,000", few, many)
	require.Less(t, few, 60.0)
	require.Less(t, many-few, 30.0, "only the pieces of 4,096 fixes")
}

// TestMeasureReadGPX reads a file of 1,000,000 fixes and prints speed and peak
// memory of the whole process. It runs only when asked for.
func TestMeasureReadGPX(t *testing.T) {
	if os.Getenv("UNTROD_MEASURE") == "" {
		t.Skip("set UNTROD_MEASURE=1 to measure")
	}
	path := filepath.Join(t.TempDir(), "long.gpx")
	out, err := os.Create(path)
	require.NoError(t, err)
	w := bufio.NewWriter(out)
	writeLog(w, 1_000_000)
	require.NoError(t, w.Flush())
	require.NoError(t, out.Close())
	info, err := os.Stat(path)
	require.NoError(t, err)
	best := 0.0
	for run := range 7 {
		in, err := os.Open(path)
		require.NoError(t, err)
		start := time.Now()
		log, err := track.ReadGPX(in, "long.gpx")
		best = max(best, float64(info.Size())/1e6/time.Since(start).Seconds())
		require.NoError(t, err)
		require.NoError(t, in.Close())
		require.Equal(t, 1_000_000, log.Fixes())
		if run == 0 { // later runs hold the garbage of earlier ones
			status, _ := os.ReadFile("/proc/self/status")
			t.Logf("first run: %.0f MB/s, %s", best, regexp.MustCompile(`VmHWM:.*`).Find(status))
		}
	}
	t.Logf("best of 7: %.0f MB/s of %.1f MB", best, float64(info.Size())/1e6)
}
