package track_test

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/track"
)

// nmeaOf writes a log of n invented fixes as a receiver does each second.
func nmeaOf(n int) []byte {
	var b bytes.Buffer
	start := time.Date(2031, 5, 4, 8, 0, 0, 0, time.UTC)
	for i := range n {
		at := start.Add(time.Duration(i) * time.Second)
		tod := at.Format("150405.00")
		place := fmt.Sprintf("%02d%09.6f,N,%03d%09.6f,W", 47, 15+float64(i%5000)*1e-4, 3, 30+float64(i/5000)*1e-3)
		b.WriteString(sentence(fmt.Sprintf("GNRMC,%s,A,%s,0.4,%.1f,%s,,,A", tod, place, float64(i%360), at.Format("020106"))))
		b.WriteString(sentence(fmt.Sprintf("GNGGA,%s,%s,1,%02d,%.1f,%.1f,M,47.0,M,,", tod, place, 5+i%9, 0.8+float64(i%20)/10, 80+float64(i%90)/10)))
		b.WriteString(sentence("GNGSA,A,3,80,71,73,79,69,,,,,,,,1.83,1.09,1.47"))
		for range 4 {
			b.WriteString(sentence("GPGSV,3,1,11,03,03,111,00,04,15,270,00,06,01,010,00,13,06,292,00"))
		}
		b.WriteString(sentence(fmt.Sprintf("GNGST,%s,15,,,,%.1f,%.1f,2.5", tod, 1+float64(i%7)/10, 1.5)))
	}
	return b.Bytes()
}

// csvOf writes a table of n invented fixes.
func csvOf(n int) []byte {
	var b bytes.Buffer
	b.WriteString("time,latitude,longitude,elevation,accuracy,satellites,speed\r\n")
	start := time.Date(2031, 5, 4, 8, 0, 0, 0, time.UTC)
	for i := range n {
		fmt.Fprintf(&b, "%s,%.8f,%.8f,%.1f,%.2f,%d,%.2f\r\n", start.Add(time.Duration(i)*time.Second).Format("2006-01-02T15:04:05.000Z"),
			47.25+float64(i%5000)*1e-6, -3.5+float64(i/5000)*1e-5, 80+float64(i%90)/10, 2+float64(i%300)/100, 5+i%9, 0.4)
	}
	return b.Bytes()
}

func readTable(r io.Reader) (*track.Log, error) { return track.ReadCSV(r, "walk.csv", nil) }
func readLines(r io.Reader) (*track.Log, error) { return track.ReadNMEA(r, "walk.nmea") }

func BenchmarkReadNMEA(b *testing.B) { benchmark(b, nmeaOf(50_000), readLines) }
func BenchmarkReadCSV(b *testing.B)  { benchmark(b, csvOf(50_000), readTable) }

func benchmark(b *testing.B, data []byte, read func(io.Reader) (*track.Log, error)) {
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := read(bytes.NewReader(data)); err != nil {
			b.Fatal(err)
		}
	}
}

func TestTablesDoNotAllocatePerFix(t *testing.T) {
	for name, c := range map[string]struct {
		of   func(int) []byte
		read func(io.Reader) (*track.Log, error)
	}{"NMEA": {nmeaOf, readLines}, "CSV": {csvOf, readTable}} {
		allocs := func(n int) float64 {
			data := c.of(n)
			return testing.AllocsPerRun(3, func() {
				log, err := c.read(bytes.NewReader(data))
				require.NoError(t, err)
				require.Equal(t, n, log.Fixes())
			})
		}
		few, many := allocs(1000), allocs(11_000)
		t.Logf("%s: allocations: %.0f for 1,000 fixes, %.0f for 11,000", name, few, many)
		require.Less(t, many-few, 40.0, name)
	}
}

// TestHostileTables reads what is meant to hurt: nothing may panic, be slow or take
// much memory.
func TestHostileTables(t *testing.T) {
	const size = 512 << 10
	all := map[string][]byte{}
	for name, part := range map[string]string{
		"dollars": "$", "tags": "$GPGGA,", "sentences without end": "$GPRMC,1,A" + strings.Repeat(",", 900),
		"talkers": "$AAGLL,1,N,1,E,000000,A$BBGLL,1,N,1,E,000000,A", "tiny fixes": "$GPGLL,1,N,1,E\n",
		"waypoints": "$GPWPL,1,N,1,E,a\n$GPWPL,2,N,1,E,b\n", "zeros": "\x00", "line ends": "\r\n", "letters": "x",
	} {
		all[name] = bytes.Repeat([]byte(part), size/len(part))
	}
	for name, part := range map[string]string{
		"quotes": `"`, "open quotes": "\"a\n", "spaced quotes": `"  `, "delimiters": ",", "blank rows": ",\n", "tiny rows": "1,2\n",
		"dates": "1,2,3/4/2031 5:6 PM\n", "swapped": "1,2,3/4/2031 5:6 PM\n1,2,4/13/2031 5:6 PM\n", "comments": "#\n",
	} {
		all["rows of "+name] = append([]byte("lat,lon,time\n1,2,1937376930\n"), bytes.Repeat([]byte(part), size/len(part))...)
	}
	tracks := bytes.NewBufferString("lat,lon,track\n")
	for i := range 50_000 {
		fmt.Fprintf(tracks, "1,2,%x\n", i)
	}
	all["many tracks"] = tracks.Bytes()
	all["a wide header"] = []byte("lat,lon" + strings.Repeat(",lat(", 12_000) + "\n1,2\n")
	if folder := filepath.Join(dataFolder, "hostile"); exists(folder) {
		hostileFiles(t, folder, func(name string, data []byte) { all[name] = data })
	}
	for name, data := range all {
		for _, read := range []func(io.Reader) (*track.Log, error){readLines, readTable} {
			start := time.Now()
			var log *track.Log
			var err error
			allocated := bytesAllocated(func() { log, err = read(bytes.NewReader(data)) })
			require.Less(t, time.Since(start), 2*time.Second, name)
			require.Less(t, allocated, uint64(8<<20+64*len(data)), name)
			if err == nil && len(data) < 1<<20 {
				requireSound(t, log)
			}
		}
	}
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
