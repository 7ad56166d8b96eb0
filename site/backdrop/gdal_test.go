package backdrop

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Pictures in every packing that GDAL writes, to the pixel.
func TestPicturesOfGDAL(t *testing.T) {
	want := spots(70, 45)
	clear := spots(70, 45)
	for i := range clear.Pix {
		if i%4 == 3 {
			clear.Pix[i] = uint8(i)
		}
	}
	grey := image.NewGray(want.Rect)
	for i := range grey.Pix {
		grey.Pix[i] = uint8(i*i + i/7)
	}
	deep := image.NewRGBA64(want.Rect)
	for i := range deep.Pix {
		deep.Pix[i] = uint8(i * 31)
		if i%8 > 5 {
			deep.Pix[i] = 255
		}
	}
	names := []string{"grey", "colours", "clear in parts", "16 bits"}
	pictures := []image.Image{grey, want, clear, deep}
	var from []string
	for _, m := range pictures {
		from = append(from, inFile(t, "in.png", pngOf(t, m)))
	}
	for _, args := range []string{
		"", "-co COMPRESS=LZW", "-co COMPRESS=LZW -co PREDICTOR=2", "-co COMPRESS=DEFLATE -co PREDICTOR=2 -co TILED=YES -co BLOCKXSIZE=32 -co BLOCKYSIZE=16",
		"-co COMPRESS=PACKBITS -co BLOCKYSIZE=7", "-co INTERLEAVE=BAND -co COMPRESS=DEFLATE", "-co INTERLEAVE=BAND -co TILED=YES -co BLOCKXSIZE=16 -co BLOCKYSIZE=32",
		"-co ENDIANNESS=BIG", "-co ENDIANNESS=BIG -co COMPRESS=DEFLATE -co PREDICTOR=2",
	} {
		for i, data := range translatedAll(t, from, strings.Fields(args)...) {
			t.Run(names[i]+" "+args, func(t *testing.T) { requireReads(t, pictures[i], data) })
		}
	}
	white := image.NewGray(grey.Rect) // GDAL writes the numbers as they are
	for i, v := range grey.Pix {
		white.Pix[i] = 255 - v
	}
	requireReads(t, white, translated(t, from[0], "-co", "PHOTOMETRIC=MINISWHITE"))
}

// requireReads holds that a file is read as a picture, to the pixel, without a place.
func requireReads(t *testing.T, want image.Image, data []byte) {
	t.Helper()
	p, err := Read(data, nil)
	require.NoError(t, err)
	require.False(t, p.Terrain())
	require.Nil(t, p.Numbers)
	requireSame(t, want, p.Image, 0)
}

// Palettes, JPEG inside, and bits.
func TestOddPicturesOfGDAL(t *testing.T) {
	smooth := image.NewNRGBA(image.Rect(0, 0, 70, 45))
	for i := range smooth.Pix {
		x, y := i/4%70, i/280
		smooth.Pix[i] = []uint8{uint8(2*x + y), uint8(100 + x - y), uint8(3 * y), 255}[i%4]
	}
	from := inFile(t, "in.png", pngOf(t, smooth))
	var packed [][]byte
	for _, args := range []string{"", "-co PHOTOMETRIC=YCBCR", "-co PHOTOMETRIC=YCBCR -co TILED=YES -co BLOCKXSIZE=32 -co BLOCKYSIZE=32", "-b 1"} {
		packed = append(packed, translated(t, from, append(strings.Fields(args), "-co", "COMPRESS=JPEG", "-co", "JPEG_QUALITY=95")...))
	}
	bits := image.NewGray(smooth.Rect)
	for i := range bits.Pix {
		bits.Pix[i] = uint8(i*i>>3) & 1
	}
	from = inFile(t, "bits.png", pngOf(t, bits))
	for _, args := range []string{"", "-co COMPRESS=CCITTFAX4", "-co COMPRESS=CCITTFAX3", "-co COMPRESS=CCITTFAX4 -co PHOTOMETRIC=MINISWHITE"} {
		packed = append(packed, translated(t, from, append(strings.Fields(args), "-co", "NBITS=1")...))
	}
	var files []string
	for _, data := range packed {
		files = append(files, inFile(t, "in.tif", data))
	}
	for i, unpacked := range translatedAll(t, files, "-of", "PNG") {
		p, err := Read(packed[i], nil)
		require.NoError(t, err, i)
		want, err := png.Decode(bytes.NewReader(unpacked))
		require.NoError(t, err)
		if i < 4 {
			require.Less(t, meanDifference(want, p.Image), 2.5, i) // colours of half the size are spread differently
		} else {
			requireSame(t, want, p.Image, 0)
		}
	}

	table := image.NewPaletted(smooth.Rect, greys()[1:])
	for i := range table.Pix {
		table.Pix[i] = uint8(i) % 250
	}
	requireReads(t, table, translated(t, inFile(t, "palette.png", pngOf(t, table))))
}

// Predictor 3 in big-endian order, which GDAL 3.6 writes wrongly: numbers 20 and 21, the
// highest bytes first, as differences.
func TestFloatRow(t *testing.T) {
	row := []byte{0x41, 0, 0xa0 - 0x41, 0x08, 0x100 - 0xa8, 0, 0, 0}
	for _, order := range []binary.ByteOrder{binary.BigEndian, binary.LittleEndian} {
		r := &raster{directory: &directory{order: order}, samples: 1, bits: 32}
		got := bytes.Clone(row)
		r.floatRow(got)
		require.Equal(t, float32(20), math.Float32frombits(order.Uint32(got)))
		require.Equal(t, float32(21), math.Float32frombits(order.Uint32(got[4:])))
	}
}

func meanDifference(a, b image.Image) float64 {
	sum, n := 0.0, 0.0
	for y := range a.Bounds().Dy() {
		for x := range a.Bounds().Dx() {
			c, d := color.NRGBAModel.Convert(a.At(x, y)).(color.NRGBA), color.NRGBAModel.Convert(b.At(x, y)).(color.NRGBA)
			sum += math.Abs(float64(c.R)-float64(d.R)) + math.Abs(float64(c.G)-float64(d.G)) + math.Abs(float64(c.B)-float64(d.B))
			n += 3
		}
	}
	return sum / n
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}

// hills are heights that are whole quarters of a metre, with a hole.
func hills(cols, rows int) (text string, heights []float32) {
	var b strings.Builder
	fmt.Fprintf(&b, "ncols %d\nnrows %d\nxllcorner 500000\nyllcorner 5000000\ncellsize 2\nNODATA_value -99\n", cols, rows)
	for row := range rows {
		for col := range cols {
			x, y := float64(col), float64(row)
			h := math.Round(4*(20+8*math.Sin(x/9)*math.Cos(y/7)+x*y/200)) / 4
			if col == 20 && row > 10 && row < 14 {
				h = -99
			}
			fmt.Fprintf(&b, "%g ", h)
			heights = append(heights, height(h, -99))
		}
		b.WriteString("\n")
	}
	return b.String(), heights
}

// requireHeights holds that heights are the same, NaN where NaN.
func requireHeights(t testing.TB, want, got []float32, whole bool) {
	t.Helper()
	require.Len(t, got, len(want))
	for i, w := range want {
		if whole {
			w = float32(math.Round(float64(w)))
		}
		if g := got[i]; (w != w) != (g != g) || w == w && math.Abs(float64(w-g)) > 0.5*float64(boolInt(whole)) {
			t.Fatalf("height %d: %v, want %v", i, g, w)
		}
	}
}

// Heights in every kind of number and packing that GDAL writes.
func TestHeightsOfGDAL(t *testing.T) {
	text, want := hills(70, 45)
	p, err := Read([]byte(text), nil)
	require.NoError(t, err)
	requireHeights(t, want, p.Heights, false)
	from := inFile(t, "in.asc", []byte(text))
	for _, kind := range []string{"Float32", "Float64", "Int16", "Int32"} {
		for _, args := range []string{
			"", "-co COMPRESS=LZW -co PREDICTOR=2", "-co COMPRESS=DEFLATE -co PREDICTOR=3", "-co COMPRESS=LZW -co PREDICTOR=3 -co TILED=YES -co BLOCKXSIZE=32 -co BLOCKYSIZE=32",
			"-co COMPRESS=PACKBITS", "-co ENDIANNESS=BIG",
		} {
			whole := kind[0] == 'I'
			if whole && strings.Contains(args, "PREDICTOR=3") || kind != "Int16" && strings.Contains(args, "PREDICTOR=2") || kind[3:] != "at32" && len(args) < 30 {
				continue
			}
			t.Run(kind+" "+args, func(t *testing.T) {
				p, err := Read(translated(t, from, append(strings.Fields(args), "-ot", kind, "-a_srs", "EPSG:32626")...), nil)
				require.NoError(t, err)
				requireHeights(t, want, p.Heights, whole)
				require.Equal(t, Affine{X0: 500000, XCol: 2, Y0: 5000090, YRow: -2}, *p.Numbers)
				require.Equal(t, utm(26, false), p.System)
			})
		}
	}
}

// A file that holds only some of its blocks.
func TestSparse(t *testing.T) {
	text, _ := hills(70, 45)
	text = strings.ReplaceAll(text, "NODATA_value -99", "NODATA_value 0")
	head, _, _ := strings.Cut(text, "20 ")
	flat := head + strings.Repeat("0 ", 70*45-1) + "7"
	data := translated(t, inFile(t, "in.asc", []byte(flat)), "-co", "SPARSE_OK=TRUE", "-co", "TILED=YES", "-co", "BLOCKXSIZE=16", "-co", "BLOCKYSIZE=16", "-ot", "Float32", "-a_srs", "EPSG:32626")
	p, err := Read(data, nil)
	require.NoError(t, err)
	for i, h := range p.Heights {
		if i < 70*45-1 {
			require.True(t, h != h)
		} else {
			require.Equal(t, float32(7), h)
		}
	}
}

// The shading against GDAL's, a grey level apart at most, but at edges and holes.
func TestShadingInGDAL(t *testing.T) {
	text, _ := hills(120, 90)
	for name, dem := range map[string]string{
		"square": text,
		"oblong": strings.Replace(text, "cellsize 2\n", "dx 3\ndy 1.5\n", 1),
		"steep":  strings.Replace(text, "cellsize 2\n", "cellsize 0.25\n", 1),
	} {
		t.Run(name, func(t *testing.T) {
			to := filepath.Join(t.TempDir(), "shade.tif")
			gdal(t, "gdaldem", "hillshade", "-q", inFile(t, "dem.asc", []byte(dem)), to)
			shade, err := os.ReadFile(to)
			require.NoError(t, err)
			want, err := Read(shade, nil)
			require.NoError(t, err)
			p, err := Read([]byte(dem), nil)
			require.NoError(t, err)
			p.System = utm(26, false)
			place, _, err := p.Place(nil)
			require.NoError(t, err)
			got := p.Drawing(&place).levels[0].(*image.Paletted)
			compared, apart := 0, 0
			for y := 1; y < 89; y++ {
				for x := 1; x < 119; x++ {
					w := want.Image.RGBA64At(x, y)
					if x > 18 && x < 22 && y > 9 && y < 15 {
						continue // round the hole
					}
					require.NotZero(t, w.A)
					compared++
					d := int(got.Pix[y*120+x]) - int(w.R>>8)
					require.LessOrEqual(t, d*d, 1, "%d, %d: %d, GDAL %d", x, y, got.Pix[y*120+x], w.R>>8)
					if d != 0 {
						apart++
					}
				}
			}
			t.Logf("%d of %d pixels differ by one level", apart, compared)
			require.Zero(t, got.Pix[12*120+20], "the hole")
		})
	}
}
