package report

import (
	"bytes"
	"encoding/xml"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check/golden"
)

// TestGallery writes the maps of many kinds of ground to the folder named by
// UNTROD_GALLERY, to be looked at.
func TestGallery(t *testing.T) {
	dir := os.Getenv("UNTROD_GALLERY")
	if dir == "" {
		t.Skip("UNTROD_GALLERY is not set")
	}
	for name, g := range gallery() {
		t.Run(name, func(t *testing.T) {
			r, p := g.make(t)
			var pic, svg bytes.Buffer
			require.NoError(t, mapPNG(&pic, newSheet(r, p, Metric), pngDPI))
			require.NoError(t, mapSVG(&svg, newSheet(r, p, Imperial)))
			require.NoError(t, os.WriteFile(filepath.Join(dir, name+".png"), pic.Bytes(), 0o644))
			require.NoError(t, os.WriteFile(filepath.Join(dir, name+".svg"), svg.Bytes(), 0o644))
			r, p = g.makeUnsure(t)
			pic.Reset()
			svg.Reset()
			require.NoError(t, mapPNG(&pic, newSheet(r, p, Metric), pngDPI))
			require.NoError(t, mapSVG(&svg, newSheet(r, p, Imperial)))
			require.NoError(t, os.WriteFile(filepath.Join(dir, name+"-unsure.png"), pic.Bytes(), 0o644))
			require.NoError(t, os.WriteFile(filepath.Join(dir, name+"-unsure.svg"), svg.Bytes(), 0o644))
		})
	}
}

func gallery() map[string]ground {
	big := field().scaled(2.5, 2.5)
	big.lanes, big.name = 62, "Großes Feld am Mühlbach – Área de prueba, λόφος, Поле"
	long := field().scaled(5, 0.6)
	long.lanes = 13
	tall := field().scaled(0.5, 4)
	tall.lanes = 90
	tiny := field().scaled(0.08, 0.08)
	tiny.lanes, tiny.swathM = 3, 0.6
	huge := field().scaled(130, 130)
	huge.cellM, huge.swathM, huge.lanes, huge.missed = 3, 150, 32, 0.4
	busy := field()
	busy.missed, busy.seed = 0.5, 3
	for i, n := range []string{"oak", "oak", "oak", "a very long name for a very small pile of field stones by the gate", "Čížek’s stile"} {
		busy.landmarks = append(busy.landmarks, point(n, i == 4, -5+0.7*float64(i), 4.6))
	}
	return map[string]ground{"field": field(), "big": big, "long": long, "tall": tall, "tiny": tiny, "huge": huge, "busy": busy}
}

// A map is a metre as long east as north, whatever the ground's shape.
func TestEqualScales(t *testing.T) {
	for name, g := range gallery() {
		t.Run(name, func(t *testing.T) {
			r, p := g.make(t)
			s := newSheet(r, p, Imperial)
			box := draw.Canvas{Rectangle: s.page.mapBox}
			pl := s.plot(box)
			size := pl.DataCanvas(box).Size()
			east, north := float64(size.X)/(pl.X.Max-pl.X.Min), float64(size.Y)/(pl.Y.Max-pl.Y.Min)
			require.InEpsilon(t, east, north, 1e-3)
			b := groundShown(r)
			require.True(t, pl.X.Min <= b.Min.X && pl.X.Max >= b.Max.X && pl.Y.Min <= b.Min.Y && pl.Y.Max >= b.Max.Y)
		})
	}
}

// picture is the picture inside an SVG, whose bytes depend on the compressor
// and whose place is written to the last digit; the PNG holds it to account.
var picture = regexp.MustCompile(`<image [^>]*/>`)

func TestMapGolden(t *testing.T) {
	r, p := field().make(t)
	r.Site.Name = "Große Wiese – λόφος"
	var pic, svg bytes.Buffer
	require.NoError(t, mapPNG(&pic, newSheet(r, p, Metric), 80))
	// Processors differ in the last digit of where a curve runs: a few rim pixels.
	golden.PNG(t, "testdata/map.png", pic.Bytes(), golden.Tolerance{Channel: 24, Pixels: 60})
	require.NoError(t, mapSVG(&svg, newSheet(r, p, Imperial)))
	golden.Bytes(t, "testdata/map.svg", picture.ReplaceAll(svg.Bytes(), []byte("<image/>")))
}

func TestMapOfStatesGolden(t *testing.T) {
	r, p := field().makeUnsure(t)
	var pic bytes.Buffer
	require.NoError(t, mapPNG(&pic, newSheet(r, p, Metric), 80))
	golden.PNG(t, "testdata/unsure.png", pic.Bytes(), golden.Tolerance{Channel: 24, Pixels: 60})
}

// The SVG stays well-formed XML whatever names hold.
func TestSVGIsXML(t *testing.T) {
	r, p := field().make(t)
	r.Site.Name = "a & b <c> \x01\xff \"d\""
	r.Local.Landmarks[0].Name = "\x02 <&> '"
	r.Certainty = unsure(r)
	var svg bytes.Buffer
	require.NoError(t, mapSVG(&svg, newSheet(r, p, Metric)))
	dec := xml.NewDecoder(&svg)
	for {
		_, err := dec.Token()
		if err == io.EOF {
			return
		}
		require.NoError(t, err)
	}
}

func TestMapSize(t *testing.T) {
	for name, g := range gallery() {
		t.Run(name, func(t *testing.T) {
			r, p := g.make(t)
			r.Certainty = &coverage.Certainty{Chance: grid.NewField(r.Spec)}
			s := newSheet(r, p, Metric)
			px := float64(s.page.width) / 72 * pngDPI
			require.True(t, px >= 1600 && px <= 2100, "%v", px)
			require.Less(t, float64(s.page.height), 1.35*float64(s.page.width))
		})
	}
}

func TestLabelsNeverOverlap(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	c := draw.New(vgimg.New(300, 200))
	l := &labels{c: c}
	for i := range 60 {
		at := vg.Point{X: vg.Length(rng.Float64() * 300), Y: vg.Length(rng.Float64() * 200)}
		if i%2 == 0 {
			l.tag(at, strconv.Itoa(i))
		} else {
			l.name(at, "stone "+strconv.Itoa(i), i%4 == 1)
		}
	}
	require.Greater(t, len(l.taken), 20)
	for i, a := range l.taken {
		for _, b := range l.taken[:i] {
			over := a.Min.X < b.Max.X && b.Min.X < a.Max.X && a.Min.Y < b.Max.Y && b.Min.Y < a.Max.Y
			require.False(t, over, "%v and %v", a, b)
		}
	}
}

// Chords of a square with a square hole, 10 and 4 on a side, a step of 1 apart,
// half a step in from either edge: 10 chords of 10, less 4 of 4.
func TestChords(t *testing.T) {
	ring := func(lo, hi vg.Length) []vg.Point {
		return []vg.Point{{X: lo, Y: lo}, {X: hi, Y: lo}, {X: hi, Y: hi}, {X: lo, Y: hi}, {X: lo, Y: lo}}
	}
	rings := [][]vg.Point{ring(0.5, 10.5), ring(3.5, 7.5)}
	for _, angle := range []float64{0, math.Pi / 2} {
		sum := 0.0
		for _, s := range chords(rings, 1, angle) {
			sum += math.Hypot(float64(s[1].X-s[0].X), float64(s[1].Y-s[0].Y))
		}
		require.InDelta(t, 10*10-4*4, sum, 1e-9)
	}
}

func TestNiceBelow(t *testing.T) {
	for x, want := range map[float64]float64{1: 1, 1.99: 1, 2: 2, 4.9: 2, 5: 5, 9.9: 5, 10: 10, 0.3: 0.2, 730: 500} {
		require.InEpsilon(t, want, niceBelow(x), 1e-12)
	}
}

func TestTickLabels(t *testing.T) {
	for x, want := range map[float64]string{0: "0", math.Copysign(0, -1): "0", -20: "\u221220", 0.5: "0.5", 30.000000000000004: "30"} {
		require.Equal(t, want, tickLabel(x))
	}
}

func BenchmarkMapPNGOfStates(b *testing.B) {
	r, p := million(b)
	r.Certainty = unsure(r)
	for b.Loop() {
		require.NoError(b, mapPNG(io.Discard, newSheet(r, p, Metric), pngDPI))
	}
}

// BenchmarkMapPNG draws a site of a million cells.
func BenchmarkMapPNG(b *testing.B) {
	r, p := million(b)
	for b.Loop() {
		require.NoError(b, mapPNG(io.Discard, newSheet(r, p, Metric), pngDPI))
	}
}

func BenchmarkMapSVG(b *testing.B) {
	r, p := million(b)
	for b.Loop() {
		require.NoError(b, mapSVG(io.Discard, newSheet(r, p, Metric)))
	}
}

func BenchmarkGeoTIFF(b *testing.B) {
	r, p := million(b)
	for b.Loop() {
		require.NoError(b, geoTIFF(io.Discard, r, passBand(p)))
	}
}

func million(b *testing.B) (*coverage.Result, fakePasses) {
	g := field().scaled(2.5, 3.5)
	g.lanes = 80
	return g.make(b)
}
