package web

import (
	"encoding/json"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sync/errgroup"

	"untrod/grid"
	"untrod/report"
)

// BenchmarkTile draws single tiles of a site of 10 million cells.
func BenchmarkTile(b *testing.B) {
	now := season()
	for _, layer := range []string{"states", "chance", "passes", "seconds", "latest", "swept-50"} {
		for name, at := range map[string]tileAt{"whole": {4, 15, 15}, "most": {9, 512, 511}, "nearest": {11, 2050, 2050}} {
			b.Run(layer+"/"+name, func(b *testing.B) {
				l, err := now.layer(layer)
				require.NoError(b, err)
				for b.Loop() {
					_, err := drawTile(l, at)
					require.NoError(b, err)
				}
			})
		}
	}
}

// BenchmarkScreen draws all tiles of a screen of 3840 x 2160 pixels about the middle of
// the site, as many at a time as there are cores, with the layer's first use.
func BenchmarkScreen(b *testing.B) {
	now := season()
	for _, layer := range []string{"states", "seconds", "latest", "swept-50"} {
		for _, z := range []int{5, 8, 9, 10, 12} {
			b.Run(layer+"/"+string('A'+rune(z)), func(b *testing.B) {
				for b.Loop() {
					now.once = lazy{}
					l, err := now.layer(layer)
					require.NoError(b, err)
					var g errgroup.Group
					g.SetLimit(runtime.GOMAXPROCS(0))
					mid := 1 << z
					for dx := -8; dx < 7; dx++ {
						for dy := -5; dy < 4; dy++ {
							g.Go(func() error { _, err := drawTile(l, tileAt{z, mid + dx, mid + dy}); return err })
						}
					}
					require.NoError(b, g.Wait())
				}
			})
		}
	}
}

// BenchmarkSpot asks for spots of the searched ground, and BenchmarkTracks for the
// tracks the first time.
func BenchmarkSpot(b *testing.B) {
	now := season()
	fixes := 0
	for _, w := range now.walks {
		fixes += w.Fixes
	}
	rng := rand.New(rand.NewPCG(1, 1))
	_, err := now.pieces()
	require.NoError(b, err)
	b.ResetTimer()
	for b.Loop() {
		_, err := now.spot(grid.XY{X: 300*rng.Float64() - 150, Y: 300*rng.Float64() - 150})
		require.NoError(b, err)
	}
	b.ReportMetric(float64(fixes), "fixes")
}

func BenchmarkTracks(b *testing.B) {
	now, size := season(), 0
	for b.Loop() {
		now.once = lazy{}
		docs, err := now.thinned()
		require.NoError(b, err)
		text, err := json.Marshal(docs)
		require.NoError(b, err)
		size = len(text)
	}
	b.ReportMetric(float64(size), "bytes")
}

func BenchmarkOutline(b *testing.B) {
	now := season()
	for b.Loop() {
		_, err := proposal(now, 16)
		require.NoError(b, err)
	}
}

// BenchmarkMemory tells what all layers of the site take once they have been painted.
func BenchmarkMemory(b *testing.B) {
	now := season()
	for b.Loop() {
		now.once = lazy{}
		before := heapBytes()
		for _, name := range append(slices.Clone(report.LayerNames), "swept-50") {
			l, err := now.layer(name)
			require.NoError(b, err)
			_, err = drawTile(l, tileOver(5, grid.XY{X: 1, Y: 1}))
			require.NoError(b, err)
			for x := range 2 {
				for y := range 2 {
					mid := tileOver(5, grid.XY{X: 1, Y: 1})
					_, err = drawTile(l, tileAt{5, mid.x - x, mid.y + y})
					require.NoError(b, err)
				}
			}
		}
		b.ReportMetric(float64(heapBytes()-before)/1e6, "MB")
	}
}

func heapBytes() uint64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}
