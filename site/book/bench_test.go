package book_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/site/book"
)

// longWalk is a GPX file of n fixes, as a phone writes them: seven decimals,
// elevation, HDOP, one a second, in lanes that waver, with 5 cm of noise.
func longWalk(seed uint64, n int) []byte {
	rng := rand.New(rand.NewPCG(seed, 5))
	var b strings.Builder
	b.WriteString(`<gpx version="1.1" creator="bench" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>walk</name><trkseg>` + "\n")
	start := time.UnixMilli(1_750_000_000_000).UTC().Add(time.Duration(seed) * 24 * time.Hour)
	wander := [2]float64{}
	for i := range n {
		for k := range wander {
			wander[k] += 0.02*rng.NormFloat64() - 0.005*wander[k]
		}
		along := math.Mod(float64(i)*0.5, 100)
		if along > 50 {
			along = 100 - along
		}
		p := at(along-25+wander[0]+0.05*rng.NormFloat64(), math.Mod(float64(i)/100*1.4, 50)-25+wander[1]+0.05*rng.NormFloat64())
		fmt.Fprintf(&b, `<trkpt lat="%.7f" lon="%.7f"><ele>%.1f</ele><time>%s</time><hdop>%.1f</hdop></trkpt>`+"\n",
			p.Lat, p.Lon, 50+5*wander[0], start.Add(time.Duration(i)*time.Second).Format(time.RFC3339), 0.8+0.1*rng.Float64())
	}
	b.WriteString("</trkseg></trk></gpx>\n")
	return []byte(b.String())
}

// longBook takes so many files of so many fixes, as many prepared at a time as there
// are cores.
func longBook(t testing.TB, files, fixes int) (path string, took time.Duration) {
	ring := make([][]byte, min(files, 8)) // the rest differ by a comment
	for i := range ring {
		ring[i] = longWalk(uint64(i), fixes)
	}
	path = newBook(t, plainSite())
	start := time.Now()
	writing(t, path, func(b *book.Book) {
		require.NoError(t, b.Begin("added files"))
		ready := make([]chan *book.Prepared, files)
		prepare := func(i int) {
			if i >= files {
				return
			}
			ready[i] = make(chan *book.Prepared, 1)
			go func() {
				data := append(ring[i%len(ring)], fmt.Sprintf("<!-- %d -->", i)...)
				p, err := book.Prepare(context.Background(), fileOf(fmt.Sprintf("%d.gpx", i), data))
				if err != nil {
					panic(err)
				}
				ready[i] <- p
			}()
		}
		for i := range runtime.GOMAXPROCS(0) {
			prepare(i)
		}
		for i := range files {
			p := <-ready[i]
			ready[i] = nil
			prepare(i + runtime.GOMAXPROCS(0))
			_, err := b.Take(context.Background(), p)
			require.NoError(t, err)
		}
	})
	return path, time.Since(start)
}

// BenchmarkTake is preparing and taking 100 files of 10,000 fixes.
func BenchmarkTake(b *testing.B) {
	for b.Loop() {
		longBook(b, 100, 10_000)
	}
}

// BenchmarkList is opening a book of 100 visits of 3,600 fixes and listing them.
func BenchmarkList(b *testing.B) {
	path, _ := longBook(b, 100, 3600)
	for b.Loop() {
		viewing(b, path, func(k *book.Book) {
			all, err := k.Sessions()
			require.NoError(b, err)
			require.Len(b, all, 100)
		})
	}
}

// BenchmarkCover is opening the same and computing coverage as logged.
func BenchmarkCover(b *testing.B) {
	path, _ := longBook(b, 100, 3600)
	set := coverage.DefaultSettings()
	set.SwathM = 1.4
	for b.Loop() {
		viewing(b, path, func(k *book.Book) {
			s, err := k.Site()
			require.NoError(b, err)
			sources, err := k.Sources()
			require.NoError(b, err)
			_, err = coverage.Assess(context.Background(), coverage.Input{Site: s, Logs: sources}, set, nil)
			require.NoError(b, err)
		})
	}
}

// TestSizeOfFixes holds the bytes a fix takes, the line for the GIS included: 12 at
// most. With UNTROD_MEASURE=book it takes 1,000 files and prints the time.
func TestSizeOfFixes(t *testing.T) {
	files := 10
	if os.Getenv("UNTROD_MEASURE") == "book" {
		files = 1000
	}
	path, took := longBook(t, files, 10_000)
	info, err := os.Stat(path)
	require.NoError(t, err)
	t.Logf("%d files of 10,000 fixes in %v, %.1f MB", files, took, float64(info.Size())/1e6)
	require.Less(t, logBytes(t, path, files*10_000), 12.0)
	if files > 10 {
		start := time.Now()
		viewing(t, path, func(b *book.Book) { requireSound(t, b) })
		t.Log("checking them:", time.Since(start))
	}
}
