package backdrop

import (
	"image"
	"image/color"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/grid"
)

func siteFrame(t testing.TB) grid.Frame {
	f, err := grid.NewFrame(grid.LonLat{Lon: -27.6, Lat: 44.9})
	require.NoError(t, err)
	return f
}

// Every pixel of a tile is what the picture has at its place, worked out one by one.
func TestTileIsThePicture(t *testing.T) {
	f := siteFrame(t)
	o := utm(26, false).FromLonLat(f.Datum())
	m := image.NewNRGBA(image.Rect(0, 0, 200, 160)) // smooth, so that a little off is a little off
	for y := range 160 {
		for x := range 200 {
			m.SetNRGBA(x, y, color.NRGBA{uint8(x), uint8(y), uint8((x + y) / 2), 255})
		}
	}
	for name, a := range map[string]Affine{
		"north up":  {X0: o.X - 50, XCol: 0.5, Y0: o.Y + 40, YRow: -0.5},
		"turned":    {X0: o.X - 60, XCol: 0.4, XRow: 0.3, Y0: o.Y, YCol: 0.3, YRow: -0.4},
		"bottom up": {X0: o.X - 50, XCol: 0.5, Y0: o.Y - 40, YRow: 0.5},
	} {
		p := &Picture{Width: 200, Height: 160, Image: m, Numbers: &a, System: utm(26, false)}
		place, _, err := p.Place(nil)
		require.NoError(t, err)
		tile := Tile{Frame: f, West: -64, North: 64, PixelM: 0.5}
		got := p.Drawing(&place).Tile(place, tile)
		require.NotNil(t, got)
		inside := 0
		for y := range TileSide {
			for x := range TileSide {
				q := place.Pixel(f.ToLonLat(grid.XY{X: tile.West + (float64(x)+0.5)*tile.PixelM, Y: tile.North - (float64(y)+0.5)*tile.PixelM}))
				c := got.RGBAAt(x, y)
				switch {
				case q.X < -1 || q.Y < -1 || q.X > 201 || q.Y > 161:
					if c.A != 0 {
						t.Fatalf("%s: %v at %v", name, c, q)
					}
				case q.X > 1 && q.Y > 1 && q.X < 199 && q.Y < 159:
					inside++
					if c.A != 255 || math.Abs(q.X-0.5-float64(c.R)) > 1.01 || math.Abs(q.Y-0.5-float64(c.G)) > 1.01 {
						t.Fatalf("%s: %v at %v", name, c, q)
					}
				}
			}
		}
		require.Greater(t, inside, 10_000)
		require.Nil(t, p.Drawing(&place).Tile(place, Tile{Frame: f, West: 100, North: 64, PixelM: 0.5}))
	}
}

// Between its nodes a tile is a straight line; at the coarsest zoom and far from the
// picture's meridian that is under a twentieth of a pixel off.
func TestNodesAreEnough(t *testing.T) {
	f, err := grid.NewFrame(grid.LonLat{Lon: -27.6, Lat: 70})
	require.NoError(t, err)
	place, err := newPlace(4000, 4000, Affine{XCol: 128, X0: 50_000, Y0: 8_200_000, YRow: -128}, utm(27, false))
	require.NoError(t, err)
	at := func(x, y float64) grid.XY {
		return place.Pixel(f.ToLonLat(grid.XY{X: -32768 + x*128, Y: 32768 - y*128}))
	}
	for y := 0.0; y < 512; y += 61 {
		for x := 0.0; x < 512; x += 61 {
			a, b, m := at(x, y), at(x+nodes, y+nodes), at(x+nodes/2, y+nodes/2)
			require.InDelta(t, (a.X+b.X)/2, m.X, 0.05)
			require.InDelta(t, (a.Y+b.Y)/2, m.Y, 0.05)
		}
	}
}

// From far off a picture is its mean, not some of its pixels.
func TestFarZoomIsTheMean(t *testing.T) {
	f := siteFrame(t)
	m := image.NewGray(image.Rect(0, 0, 1000, 1000))
	for i := range m.Pix {
		m.Pix[i] = uint8(255 * ((i + i/1000) % 2)) // a chessboard
	}
	place, _, err := FromTies(1000, 1000, tied(t, Affine{X0: -50, XCol: 0.1, Y0: 50, YRow: -0.1}, [2]float64{0, 0}, [2]float64{1000, 1000}))
	require.NoError(t, err)
	d := (&Picture{Width: 1000, Height: 1000, Image: m}).Drawing(&place)
	got := d.Tile(place, Tile{Frame: f, West: -256, North: 256, PixelM: 2})
	require.InDelta(t, 127, float64(got.RGBAAt(128, 128).R), 1)
	require.InDelta(t, 127, float64(got.RGBAAt(110, 140).R), 1)
	require.Equal(t, 500, d.Whole(999).Bounds().Dx())
	require.Equal(t, 1000, d.Whole(1000).Bounds().Dx())
	require.Equal(t, 1, d.Whole(0).Bounds().Dx())
}

// Clear pixels do not darken those beside them.
func TestClearPixelsFade(t *testing.T) {
	m := image.NewNRGBA(image.Rect(0, 0, 2, 2))
	m.SetNRGBA(0, 0, color.NRGBA{200, 100, 0, 255})
	h := halved(m)
	require.Equal(t, color.NRGBA{199, 99, 0, 64}, color.NRGBAModel.Convert(h.RGBAAt(0, 0)))
}

// A slope of 45 degrees that faces the light is white, one that faces away black, and
// flat ground between, however the grid is laid.
func TestShadingOfPlanes(t *testing.T) {
	s := utm(26, false)
	o := s.FromLonLat(siteFrame(t).Datum())
	for name, a := range map[string]Affine{
		"north up":  {X0: o.X, XCol: 2, Y0: o.Y, YRow: -2},
		"bottom up": {X0: o.X, XCol: 2, Y0: o.Y, YRow: 2},
		"turned":    {X0: o.X, XCol: 1.2, XRow: 1.6, Y0: o.Y, YCol: 1.6, YRow: -1.2},
	} {
		for _, c := range []struct{ rise, want float64 }{{1, 255}, {0, 1 + 254*math.Sqrt2/2}, {-1, 1}} {
			p := &Picture{Width: 9, Height: 9, Numbers: &a, System: s, Heights: make([]float32, 81)}
			for i := range p.Heights {
				q := a.At(float64(i%9), float64(i/9)) // rises to the south-east
				p.Heights[i] = float32(c.rise * ((q.X - o.X) - (q.Y - o.Y)) / math.Sqrt2)
			}
			place, _, err := p.Place(nil)
			require.NoError(t, err)
			got := p.Drawing(&place).levels[0].(*image.Paletted)
			require.InDelta(t, c.want, float64(got.Pix[40]), 1.5, "%s %v", name, c.rise)
		}
	}
}

// In degrees and in Web Mercator the metres of the ground count.
func TestShadingInOtherSystems(t *testing.T) {
	f := siteFrame(t)
	for _, s := range []System{wgs84Degrees, web} {
		o := s.FromLonLat(f.Datum())
		step := 2e-5
		if s == web {
			step = 2
		}
		p := &Picture{Width: 9, Height: 9, Numbers: &Affine{X0: o.X, XCol: step, Y0: o.Y, YRow: -step}, System: s, Heights: make([]float32, 81)}
		place, _, err := p.Place(nil)
		require.NoError(t, err)
		for i := range p.Heights {
			q := f.ToXY(place.LonLat(float64(i%9), float64(i/9)))
			p.Heights[i] = float32((q.X - q.Y) / math.Sqrt2)
		}
		got := p.Drawing(&place).levels[0].(*image.Paletted)
		require.InDelta(t, 255, float64(got.Pix[40]), 1.5, s.Name)
	}
}

// 100 ms is the most a tile may take, at any zoom.
func BenchmarkTile(b *testing.B) {
	m := image.NewYCbCr(image.Rect(0, 0, 8000, 5000), image.YCbCrSubsampleRatio420)
	place, _, err := FromTies(8000, 5000, tied(b, Affine{X0: -800, XCol: 0.2, Y0: 500, YRow: -0.2}, [2]float64{0, 0}, [2]float64{8000, 5000}))
	require.NoError(b, err)
	p := &Picture{Width: 8000, Height: 5000, Image: m}
	start := time.Now()
	d := p.Drawing(&place)
	b.Logf("40 megapixels made ready in %v", time.Since(start))
	for _, pixel := range []float64{0.05, 0.2, 2, 128} {
		b.Run(time.Duration(pixel*1e9).String(), func(b *testing.B) {
			for b.Loop() {
				d.Tile(place, Tile{Frame: siteFrame(b), West: -128 * pixel, North: 128 * pixel, PixelM: pixel})
			}
		})
	}
}
