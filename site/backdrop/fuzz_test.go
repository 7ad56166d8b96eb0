package backdrop

import (
	"bytes"
	"image"
	"image/png"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/tiff"

	"untrod/grid"
)

// FuzzReadGeoTIFF begins with the files of testdata too, of which gdal_* are what
// gdal_translate (GDAL 3.6.2) made of hills(9, 7).
func FuzzReadGeoTIFF(f *testing.F) {
	for _, kind := range []tiff.CompressionType{tiff.Uncompressed, tiff.Deflate} {
		var b bytes.Buffer
		require.NoError(f, tiff.Encode(&b, spots(9, 7), &tiff.Options{Compression: kind, Predictor: kind == tiff.Deflate}))
		f.Add(b.Bytes())
		table := image.NewPaletted(image.Rect(0, 0, 9, 7), greys())
		b = bytes.Buffer{}
		require.NoError(f, tiff.Encode(&b, table, nil))
		f.Add(b.Bytes())
	}
	f.Add(tiffOf([3]int{tagWidth, 4, 4}, [3]int{tagHeight, 4, 1}, [3]int{tagBits, 3, 32}, [3]int{tagStripOffsets, 4, 8}, [3]int{tagSamples, 3, 1}, [3]int{tagStripSizes, 4, 16}, [3]int{tagFormat, 3, 3}))
	f.Fuzz(func(t *testing.T, data []byte) {
		if d, err := readDirectory(data); err == nil && d.number(tagWidth, 0)*d.number(tagHeight, 0) > 1<<20 {
			return // right, but slow
		}
		useAll(t, data)
	})
}

func FuzzReadASCIIGrid(f *testing.F) {
	text, _ := hills(4, 3)
	f.Add([]byte(text))
	f.Add([]byte("ncols 1 nrows 2 xllcenter 0 yllcenter 0 dx 2 dy 3 1e2 nan"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if isASCIIGrid(data) {
			useAll(t, data)
		}
	})
}

// useAll reads a file and does with it all that can be done.
func useAll(t *testing.T, data []byte) {
	site := grid.LonLat{Lon: -27.6, Lat: 44.9}
	p, err := Read(data, nil)
	if err != nil {
		return
	}
	require.Equal(t, p.Terrain(), p.Image == nil)
	if p.Terrain() {
		require.Len(t, p.Heights, p.Width*p.Height)
	}
	place, _, err := p.Place(&site)
	if err != nil {
		require.NoError(t, png.Encode(&bytes.Buffer{}, p.Drawing(nil).Whole(64)))
		return
	}
	for i, c := range place.Corners() {
		require.True(t, c.Valid(), "%v", c)
		at := place.Pixel(c)
		require.InDelta(t, place.corners()[i][0], at.X, 0.1)
		require.InDelta(t, place.corners()[i][1], at.Y, 0.1)
	}
	f, err := grid.NewFrame(place.LonLat(0, 0))
	if err == nil {
		p.Drawing(&place).Tile(place, Tile{Frame: f, West: -128, North: 128, PixelM: 1})
	}
}

func FuzzReadWorld(f *testing.F) {
	f.Add("2\n0\n0\n-2\n500001\n4999999\n")
	f.Add("1.5 0.75 0.75 -1.5 -27.6 44.9")
	f.Fuzz(func(t *testing.T, text string) {
		a, err := ReadWorld([]byte(text))
		if err != nil {
			return
		}
		site := grid.LonLat{Lon: -27.6, Lat: 44.9}
		p := &Picture{Width: 100, Height: 80, Numbers: &a}
		if place, _, err := p.Place(&site); err == nil {
			require.LessOrEqual(t, place.FromM(site), float64(nearM))
		}
	})
}
