package backdrop

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/report"
)

// Pictures of every kind that PNG knows come as they are.
func TestReadPNG(t *testing.T) {
	r := image.Rect(0, 0, 5, 3)
	grey16, deep, greyAlpha := image.NewGray16(r), image.NewNRGBA64(r), image.NewNRGBA(r)
	table := image.NewPaletted(r, color.Palette{color.NRGBA{1, 2, 3, 255}, color.NRGBA{9, 8, 7, 0}, color.NRGBA{200, 0, 0, 128}})
	for i := range 15 {
		grey16.SetGray16(i%5, i/5, color.Gray16{uint16(i * 4001)})
		deep.SetNRGBA64(i%5, i/5, color.NRGBA64{uint16(i * 999), 65535, uint16(i), uint16(65535 - i*3000)})
		greyAlpha.SetNRGBA(i%5, i/5, color.NRGBA{uint8(i * 9), uint8(i * 9), uint8(i * 9), uint8(i * 17)})
		table.SetColorIndex(i%5, i/5, uint8(i%3))
	}
	for name, m := range map[string]image.Image{"16-bit grey": grey16, "16-bit colours": deep, "grey and clear": greyAlpha, "palette": table, "colours": spots(5, 3)} {
		data := pngOf(t, m)
		p, err := Read(data, []byte("1 0 0 -1 0.5 -0.5"))
		require.NoError(t, err, name)
		requireSame(t, m, p.Image, 0)
		require.Equal(t, &Affine{XCol: 1, YRow: -1}, p.Numbers)
		for cut := range data {
			_, err := Read(data[:cut], nil)
			if cut < len(data)-12 { // its end mark
				require.Error(t, err)
			}
		}
	}
	// Grey with how solid it is, as PNG writes it (colour type 4), which the encoder never does.
	p, err := Read(rawPNG(2, 1, 4, []byte{0, 200, 128, 50, 255}), nil)
	require.NoError(t, err)
	require.Equal(t, color.NRGBA{200, 200, 200, 128}, color.NRGBAModel.Convert(p.Image.At(0, 0)))
	require.Equal(t, color.NRGBA{50, 50, 50, 255}, color.NRGBAModel.Convert(p.Image.At(1, 0)))
}

// rawPNG is a PNG of 8 bits a sample and the given colour type and rows.
func rawPNG(width, height uint32, kind byte, rows []byte) []byte {
	var z bytes.Buffer
	w := zlib.NewWriter(&z)
	w.Write(rows)
	w.Close()
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, width), height)
	out := []byte("\x89PNG\r\n\x1a\n")
	for _, c := range [][]byte{append([]byte("IHDR"), append(head, 8, kind, 0, 0, 0)...), append([]byte("IDAT"), z.Bytes()...), []byte("IEND")} {
		out = binary.BigEndian.AppendUint32(out, uint32(len(c)-4))
		out = append(out, c...)
		out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(c))
	}
	return out
}

func TestReadJPEG(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, spots(16, 8), nil))
	p, err := Read(b.Bytes(), nil)
	require.NoError(t, err)
	require.Equal(t, 16, p.Width)
	require.Equal(t, 8, p.Height)
	_, err = Read(b.Bytes()[:300], nil)
	require.ErrorContains(t, err, "damaged")
}

// Nothing is unpacked whose head says that it is too large.
func TestTooLarge(t *testing.T) {
	for name, data := range map[string][]byte{
		"PNG":        rawPNG(20_000, 5_001, 2, nil),
		"PNG wide":   rawPNG(1<<30, 1<<20, 0, nil),
		"deep PNG":   bytes.Replace(rawPNG(8_000, 8_000, 2, nil), []byte{8, 2, 0, 0, 0}, []byte{16, 2, 0, 0, 0}, 1),
		"ASCII grid": []byte("ncols 20000\nnrows 20000\nxllcorner 0\nyllcorner 0\ncellsize 1\n1 2 3"),
		"TIFF":       tiffOf([3]int{tagWidth, 4, 1 << 31}, [3]int{tagHeight, 4, 1 << 31}),
		"tile":       tiffOf([3]int{tagWidth, 4, 100_000_000}, [3]int{tagHeight, 4, 1}, [3]int{tagBits, 3, 8}, [3]int{tagTileWidth, 3, 16}, [3]int{tagTileHeight, 3, 16384}, [3]int{tagTileOffsets, 4, 8}),
	} {
		_, err := Read(fixedPNG(data), nil)
		require.Error(t, err, name)
		require.Regexp(t, "at most|too large", err.Error(), name)
	}
	_, err := Read(make([]byte, MaxBytes+1), nil)
	require.ErrorContains(t, err, "at most 100 MB")
}

// fixedPNG puts the head's checksum right.
func fixedPNG(data []byte) []byte {
	if bytes.HasPrefix(data, []byte("\x89PNG")) {
		binary.BigEndian.PutUint32(data[29:], crc32.ChecksumIEEE(data[12:29]))
	}
	return data
}

// tiffOf is a TIFF of fields of one number.
func tiffOf(fields ...[3]int) []byte {
	le := binary.LittleEndian
	out := append([]byte("II*\x00\x08\x00\x00\x00"), byte(len(fields)), 0)
	for _, f := range fields {
		out = le.AppendUint16(le.AppendUint16(out, uint16(f[0])), uint16(f[1]))
		out = le.AppendUint32(le.AppendUint32(out, 1), uint32(f[2]))
	}
	return append(out, 0, 0, 0, 0)
}

func TestNotPictures(t *testing.T) {
	for name, data := range map[string]string{
		"nothing": "", "text": "lon,lat\n1,2\n", "PDF": "%PDF-1.4", "GIF": "GIF89a",
	} {
		_, err := Read([]byte(data), nil)
		require.ErrorContains(t, err, "neither a picture nor a grid of heights", name)
	}
	_, err := Read([]byte("II+\x00\x08\x00\x00\x00\x00\x00\x00\x00"), nil)
	require.ErrorContains(t, err, "BigTIFF")
	_, err = Read(pngOf(t, spots(2, 2)), []byte("1 2 3"))
	require.ErrorContains(t, err, "world file")
}

func TestASCIIGrid(t *testing.T) {
	nan := float32(math.NaN())
	for name, c := range map[string]struct {
		text string
		want []float32
		at   Affine
	}{
		"corner":        {"ncols 2\nnrows 3\nxllcorner 10\nyllcorner 20\ncellsize 5\nNODATA_value -1\n1 2\n3 -1\n5 6\n", []float32{1, 2, 3, nan, 5, 6}, Affine{X0: 10, XCol: 5, Y0: 35, YRow: -5}},
		"centre":        {"NCOLS 1\r\nNROWS 1\r\nXLLCENTER 10\r\nYLLCENTER 20\r\nCELLSIZE 5\r\n-9999", []float32{nan}, Affine{X0: 7.5, XCol: 5, Y0: 22.5, YRow: -5}},
		"two sizes":     {"ncols 1 nrows 2 xllcorner 0 yllcorner 0 dx 2 dy 3 1e2 -1.5e-1", []float32{100, -0.15}, Affine{XCol: 2, Y0: 6, YRow: -3}},
		"nan":           {"ncols 3 nrows 1 xllcorner 0 yllcorner 0 cellsize 1 nodata_value nan nan 1 inf", []float32{nan, 1, nan}, Affine{XCol: 1, Y0: 1, YRow: -1}},
		"one long line": {"\ufeff ncols 2 nrows 1 xllcorner 0 yllcenter 0.5 cellsize 1 7 8", []float32{7, 8}, Affine{XCol: 1, Y0: 1, YRow: -1}},
	} {
		p, err := Read([]byte(c.text), nil)
		require.NoError(t, err, name)
		require.True(t, p.Terrain())
		requireHeights(t, c.want, p.Heights, false)
		require.Equal(t, c.at, *p.Numbers, name)
	}
	for text, want := range map[string]string{
		"ncols 2\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 1\n1 2 3":     "cut short: 3 heights of 4",
		"ncols 2\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 1\n":          "cut short: fewer heights than 2 rows of 2",
		"ncols 2\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 1\n1 2 3 4 5": "more heights than 2 rows of 2",
		"ncols 2\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 1\n1 2 3 low": `height 4: "low" is not a number`,
		"ncols 2\nnrows 2\nxllcorner 0\nyllcorner 0\n1 2 3 4":               "the size of its cells is missing",
		"ncols 2\nnrows 2\ncellsize 1\n1 2 3 4":                             "the corner it is counted from is missing",
		"ncols 2.5\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 1\n1 2 3 4": "2.5 columns and 2 rows: not a grid that can be used",
		"ncols -2\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 1\n1 2 3 4":  "-2 columns and 2 rows: not a grid that can be used",
		"ncols 2\nnrows two\n": "nrows is not a number",
	} {
		_, err := Read([]byte(text), nil)
		require.EqualError(t, err, want, text)
	}
}

// What map programs get of a result lies where it was worked out.
func TestOwnGeoTIFF(t *testing.T) {
	f, err := grid.NewFrame(grid.LonLat{Lon: -27.6, Lat: 44.9})
	require.NoError(t, err)
	s := grid.Spec{CellM: 0.25, Cols: 64, Rows: 128}
	r := &coverage.Result{Spec: s, Frame: f, Searchable: grid.NewMask(s)}
	for name, write := range map[string]func(*bytes.Buffer) error{
		"passes": func(b *bytes.Buffer) error { return report.GeoTIFF(b, r) },
		"chance": func(b *bytes.Buffer) error { return report.ChanceTIFF(b, r) },
	} {
		var b bytes.Buffer
		require.NoError(t, write(&b))
		p, err := Read(b.Bytes(), nil)
		require.NoError(t, err)
		place, _, err := p.Place(nil)
		require.NoError(t, err)
		box := s.Bounds()
		for i, want := range []grid.XY{{X: box.Min.X, Y: box.Max.Y}, box.Max, {X: box.Max.X, Y: box.Min.Y}, box.Min} {
			got := f.ToXY(place.Corners()[i])
			require.InDelta(t, want.X, got.X, 1e-7, name)
			require.InDelta(t, want.Y, got.Y, 1e-7, name)
		}
		if name == "chance" { // all of it is no data
			require.Zero(t, p.Image.RGBA64At(3, 3).A)
		}
	}
}

// Systems that are not known are named, and the numbers kept.
func TestOtherSystems(t *testing.T) {
	for name, keys := range map[string]map[int]float64{
		"EPSG 27700":              {keyModel: 1, keyProjected: 27700},
		"units other than":        {keyModel: 1, keyProjected: 32632, keyLength: 9002},
		"neither a map":           {keyModel: 2, keyGeodetic: 4277},
		"a projection of its":     {keyModel: 1, keyProjected: userDefined, keyMethod: 8},
		"a projection of its own": {keyModel: 1, keyProjected: userDefined, keyMethod: 1, keyLat: 90},
	} {
		_, err := systemOf(keys)
		require.ErrorContains(t, err, name)
		require.ErrorContains(t, err, "place it by tie points")
	}
	from := inFile(t, "a.png", pngOf(t, spots(8, 8)))
	p, err := Read(translated(t, from, "-a_srs", "EPSG:27700", "-a_ullr", "400000", "300000", "400100", "299900"), nil)
	require.NoError(t, err)
	_, _, err = p.Place(&grid.LonLat{})
	require.ErrorContains(t, err, "EPSG 27700")
}

// Cut anywhere, a TIFF is an error or a picture, and never a panic.
func TestCutTIFF(t *testing.T) {
	text, _ := hills(40, 30)
	for _, data := range [][]byte{
		translated(t, inFile(t, "a.asc", []byte(text)), "-ot", "Float32", "-co", "COMPRESS=DEFLATE", "-co", "PREDICTOR=3", "-a_srs", "EPSG:32626"),
		translated(t, inFile(t, "a.png", pngOf(t, spots(40, 30))), "-co", "COMPRESS=JPEG"),
	} {
		for cut := range data {
			p, err := Read(data[:cut], nil)
			if err == nil {
				require.Equal(t, 40, p.Width)
			}
		}
	}
}
