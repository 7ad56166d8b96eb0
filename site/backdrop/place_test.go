package backdrop

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
)

// Recorded: echo LON LAT | gdaltransform -s_srs EPSG:4326 -t_srs EPSG:CODE, GDAL 3.6.2.
func TestSystemsRecorded(t *testing.T) {
	for name, c := range map[string]struct {
		code int
		ll   grid.LonLat
		want grid.XY
	}{
		"UTM 32 north": {32632, grid.LonLat{Lon: 9.5, Lat: 47.25}, grid.XY{X: 537835.077403173, Y: 5233067.54099264}},
		"UTM 55 south": {32755, grid.LonLat{Lon: 147.25, Lat: -42.5}, grid.XY{X: 520541.538860556, Y: 5294676.64374781}},
		// The example of EPSG Guidance Note 7-2 for Popular Visualisation Pseudo Mercator,
		// 24d22'54.433"N 100d20'W, from memory.
		"Web Mercator": {3857, grid.LonLat{Lon: -(100 + 20./60), Lat: 24 + 22./60 + 54.433/3600}, grid.XY{X: -11169055.58, Y: 2800000}},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := systemOfCode(c.code)
			require.NoError(t, err)
			got := s.FromLonLat(c.ll)
			within := 1e-6
			if c.code == 3857 {
				within = 0.01 // of the printed example
			}
			require.InDelta(t, c.want.X, got.X, within)
			require.InDelta(t, c.want.Y, got.Y, within)
			requireNear(t, c.ll, s.ToLonLat(got), 1e-6)
		})
	}
}

// virtual is a picture of 40 x 30 that GDAL takes for one of that place: the numbers are
// those of its GeoTransform.
func virtual(t testing.TB, picture, code, numbers, pixels string) string {
	return inFile(t, "virtual.vrt", fmt.Appendf(nil, `<VRTDataset rasterXSize="40" rasterYSize="30"><SRS>%s</SRS><GeoTransform>%s</GeoTransform>
<Metadata><MDI key="AREA_OR_POINT">%s</MDI></Metadata><VRTRasterBand dataType="Byte" band="1"><SimpleSource><SourceFilename>%s</SourceFilename>
<SourceBand>1</SourceBand></SimpleSource></VRTRasterBand></VRTDataset>`, code, numbers, pixels, picture))
}

// Corners of a GeoTIFF by GDAL and here, within a millimetre. The corners are recorded:
// echo X Y | gdaltransform -s_srs EPSG:CODE -t_srs EPSG:4326, GDAL 3.6.2.
func TestCornersInGDAL(t *testing.T) {
	picture := inFile(t, "spots.png", pngOf(t, spots(40, 30)))
	cases := []struct {
		name, code string
		box        [4]float64     // upper left, lower right
		want       [4]grid.LonLat // clockwise from the upper left
	}{
		{"UTM 32 north", "EPSG:32632", [4]float64{537835, 5233067, 538235.5, 5232767}, [4]grid.LonLat{
			{Lon: 9.49999893132417, Lat: 47.2499951365973}, {Lon: 9.50529142810346, Lat: 47.2499719206502},
			{Lon: 9.50526575580264, Lat: 47.2472725143167}, {Lon: 9.49997352789137, Lat: 47.2472957280842}}},
		{"UTM 55 south", "EPSG:32755", [4]float64{120541.25, 5294676, 120581.25, 5294646}, [4]grid.LonLat{
			{Lon: 142.389061495668, Lat: -42.4074372296519}, {Lon: 142.389546021759, Lat: -42.4074567589919},
			{Lon: 142.389526258266, Lat: -42.4077260637615}, {Lon: 142.389041730117, Lat: -42.4077065342384}}},
		{"Web Mercator", "EPSG:3857", [4]float64{-3072000.5, 5600000, -3071000.5, 5599000}, [4]grid.LonLat{
			{Lon: -27.5962500197281, Lat: 44.8631313936878}, {Lon: -27.5872668668869, Lat: 44.8631313936878},
			{Lon: -27.5872668668869, Lat: 44.8567638376097}, {Lon: -27.5962500197281, Lat: 44.8567638376097}}},
		{"degrees", "EPSG:4326", [4]float64{-27.62, 44.91, -27.58, 44.88}, [4]grid.LonLat{
			{Lon: -27.62, Lat: 44.91}, {Lon: -27.58, Lat: 44.91}, {Lon: -27.58, Lat: 44.88}, {Lon: -27.62, Lat: 44.88}}},
		{"past the antimeridian", "EPSG:4326", [4]float64{179.98, -16, 180.02, -16.03}, [4]grid.LonLat{
			{Lon: 179.98, Lat: -16}, {Lon: 180.02, Lat: -16}, {Lon: 180.02, Lat: -16.03}, {Lon: 179.98, Lat: -16.03}}},
		{"ETRS89", "EPSG:25832", [4]float64{537835, 5233067, 538235, 5232767}, [4]grid.LonLat{
			{Lon: 9.49999893133003, Lat: 47.2499951376909}, {Lon: 9.50528482075173, Lat: 47.2499719508799},
			{Lon: 9.50525914878658, Lat: 47.2472725445437}, {Lon: 9.49997352789723, Lat: 47.2472957291778}}},
		{"NAD 83", "EPSG:26918", [4]float64{537835, 5233067, 538235, 5232767}, [4]grid.LonLat{
			{Lon: -74.50000106867, Lat: 47.2499951376909}, {Lon: -74.4947151792483, Lat: 47.2499719508799},
			{Lon: -74.4947408512134, Lat: 47.2472725445437}, {Lon: -74.5000264721028, Lat: 47.2472957291778}}},
	}
	var from []string
	for _, c := range cases {
		numbers := fmt.Sprintf("%v,%v,0,%v,0,%v", c.box[0], (c.box[2]-c.box[0])/40, c.box[1], (c.box[3]-c.box[1])/30)
		from = append(from, virtual(t, picture, c.code, numbers, "Area"))
	}
	for n, data := range translatedAll(t, from) {
		t.Run(cases[n].name, func(t *testing.T) {
			p, err := Read(data, nil)
			require.NoError(t, err)
			place, guessed, err := p.Place(nil)
			require.NoError(t, err)
			require.False(t, guessed)
			for i, want := range cases[n].want {
				requireNear(t, grid.LonLat{Lon: math.Remainder(want.Lon, 360), Lat: want.Lat}, place.Corners()[i], 1e-3)
				back := place.Pixel(want)
				require.InDelta(t, place.corners()[i][0], back.X, 1e-3)
				require.InDelta(t, place.corners()[i][1], back.Y, 1e-3)
			}
		})
	}
}

// What is turned, upside down, or counted from the middles of pixels. What GDAL makes of
// its file is recorded: echo COL ROW | gdaltransform -t_srs EPSG:4326 FILE, GDAL 3.6.2.
func TestMatrixInGDAL(t *testing.T) {
	picture := inFile(t, "spots.png", pngOf(t, spots(40, 30)))
	cases := []struct {
		name, world, numbers, pixels string
		first, last                  grid.LonLat // of pixel 0, 0 and of the end
	}{
		{"north up", "2\n0\n0\n-2\n500001\n4999999\n", "500000,2,0,5000000,0,-2", "Area", grid.LonLat{Lon: -33, Lat: 45.153477183356}, grid.LonLat{Lon: -32.9989822574696, Lat: 45.1529370777458}},
		{"turned", "1.5\n0.75\n0.75\n-1.5\n500001\n4999999\n", "499999.875,1.5,0.75,4999999.375,0.75,-1.5", "Area", grid.LonLat{Lon: -33.0000015902376, Lat: 45.1534715573034}, grid.LonLat{Lon: -32.9989520359175, Lat: 45.1533365272313}},
		{"bottom up", "2\n0\n0\n2\n500001\n4999999\n", "500000,2,0,4999998,0,2", "Area", grid.LonLat{Lon: -33, Lat: 45.1534591799877}, grid.LonLat{Lon: -32.9989822385637, Lat: 45.1539992764789}},
		{"points", "2\n0\n0\n-2\n500001\n4999999\n", "500000,2,0,5000000,0,-2", "Point", grid.LonLat{Lon: -33, Lat: 45.153477183356}, grid.LonLat{Lon: -32.9989822574696, Lat: 45.1529370777458}},
	}
	var from []string
	for _, c := range cases {
		from = append(from, virtual(t, picture, "EPSG:32625", c.numbers, c.pixels))
	}
	for n, data := range translatedAll(t, from) {
		c := cases[n]
		t.Run(c.name, func(t *testing.T) {
			p, err := Read(data, nil)
			require.NoError(t, err)
			got, _, err := p.Place(nil)
			require.NoError(t, err)
			byWorld, err := ReadWorld([]byte(c.world))
			require.NoError(t, err)
			want, err := newPlace(40, 30, byWorld, utm(25, false))
			require.NoError(t, err)
			for i, ll := range want.Corners() {
				requireNear(t, ll, got.Corners()[i], 1e-6)
			}
			requireNear(t, c.first, got.LonLat(0, 0), 1e-3)
			requireNear(t, c.last, got.LonLat(40, 30), 1e-3)
		})
	}
}

// The world file's numbers are the middle of the upper left pixel.
func TestReadWorld(t *testing.T) {
	a, err := ReadWorld([]byte("\ufeff0.5\r\n0\r\n0\r\n-0.25\r\n1000.25\r\n1999.875\r\n"))
	require.NoError(t, err)
	require.Equal(t, grid.XY{X: 1000, Y: 2000}, a.At(0, 0))
	require.Equal(t, grid.XY{X: 1005, Y: 1995}, a.At(10, 20))
	for text, want := range map[string]string{
		"":                    "world file of 0 numbers: it must have six",
		"1 0 0 -1 5":          "world file of 5 numbers: it must have six",
		"1 0 0 -1 5 6 7":      "world file of 7 numbers: it must have six",
		"1 0 0 -1 5 six":      `world file, line 6: "six" is not a number`,
		"1 0 0 NaN 5 6":       `world file, line 4: "NaN" is not a number`,
		"0 0 0 -1 5 6":        "world file whose pixels have no size",
		"1 2 2 4 5 6":         "world file whose pixels have no size",
		"1 0 0 -1 1e999 6":    `world file, line 5: "1e999" is not a number`,
		"1e300 0 0 1e300 1 1": "world file whose pixels have no size",
	} {
		_, err := ReadWorld([]byte(text))
		require.EqualError(t, err, want)
	}
}

func TestGuess(t *testing.T) {
	site := grid.LonLat{Lon: -27.6, Lat: 44.9} // zone 26
	south := grid.LonLat{Lon: 179.999, Lat: -16}
	for name, c := range map[string]struct {
		in   System
		near grid.LonLat
		at   grid.LonLat // the picture's corner
		step float64
		want string
	}{
		"degrees":               {wgs84Degrees, site, site, 1e-5, "degrees on WGS 84"},
		"its own zone":          {utm(26, false), site, site, 1, "UTM zone 26 north"},
		"the zone beside":       {utm(25, false), grid.LonLat{Lon: -29.99, Lat: 44.9}, grid.LonLat{Lon: -30.01, Lat: 44.9}, 1, "UTM zone 25 north"},
		"round the globe":       {utm(1, true), south, grid.LonLat{Lon: -179.99, Lat: -16}, 1, "UTM zone 1 south"},
		"degrees over 180":      {wgs84Degrees, south, grid.LonLat{Lon: 180.01, Lat: -16}, 1e-5, "degrees on WGS 84"},
		"near the equator":      {utm(26, true), grid.LonLat{Lon: -27, Lat: 0.01}, grid.LonLat{Lon: -27, Lat: 0.01}, 1, "UTM zone 26 south"},
		"web":                   {web, site, site, 1, "Web Mercator"},
		"10 km off":             {utm(26, false), site, grid.LonLat{Lon: -27.6, Lat: 45}, 1, "UTM zone 26 north"},
		"30 km off":             {utm(26, false), site, grid.LonLat{Lon: -27.6, Lat: 45.18}, 1, ""},
		"the site is inside it": {utm(26, false), site, grid.LonLat{Lon: -29, Lat: 46}, 3000, "UTM zone 26 north"},
	} {
		t.Run(name, func(t *testing.T) {
			o := c.in.FromLonLat(c.at)
			if c.at.Lon > 180 {
				o.X = c.at.Lon
			}
			p := &Picture{Width: 100, Height: 100, Numbers: &Affine{X0: o.X, XCol: c.step, Y0: o.Y, YRow: -c.step}}
			got, guessed, err := p.Place(&c.near)
			if c.want == "" {
				require.ErrorIs(t, err, errNoGuess)
				return
			}
			require.NoError(t, err)
			require.True(t, guessed)
			require.Equal(t, c.want, got.System.Name)
			requireNear(t, grid.LonLat{Lon: math.Remainder(c.at.Lon, 360), Lat: c.at.Lat}, got.LonLat(0, 0), 1e-6)
			require.LessOrEqual(t, got.FromM(c.near), float64(nearM))
		})
	}
	_, _, err := (&Picture{}).Place(&site)
	require.ErrorIs(t, err, ErrNoNumbers)
	_, _, err = (&Picture{Width: 1, Height: 1, Numbers: &Affine{XCol: 1, YRow: -1}}).Place(nil)
	require.ErrorIs(t, err, errNoSite)
}

func TestFromM(t *testing.T) {
	p, err := newPlace(100, 50, Affine{X0: 500_000, XCol: 10, Y0: 5_000_000, YRow: -10}, utm(26, false))
	require.NoError(t, err)
	require.Zero(t, math.Round(1e6*p.FromM(p.LonLat(30, 20))))
	require.InDelta(t, 3000, p.FromM(p.LonLat(400, 20)), 3, "the plane's scale is 0.9996")
	require.InDelta(t, 5000, p.FromM(p.LonLat(-300, -400)), 3)
}

func TestNoPlace(t *testing.T) {
	for name, a := range map[string]Affine{
		"no size":      {X0: 5, Y0: 5},
		"over a pole":  {X0: 0, XCol: 1, Y0: 89.5, YRow: 1},
		"far off":      {X0: 5000, XCol: 1, Y0: 10, YRow: -1},
		"not a number": {X0: math.NaN(), XCol: 1, YRow: -1},
		"infinite":     {X0: math.Inf(1), XCol: 1, YRow: -1},
	} {
		_, err := newPlace(10, 10, a, wgs84Degrees)
		require.ErrorIs(t, err, errElsewhere, name)
	}
	for _, s := range []System{utm(31, false), web} {
		_, err := newPlace(10, 10, Affine{X0: 1e12, XCol: 1, Y0: 1e12, YRow: -1}, s)
		require.ErrorIs(t, err, errElsewhere, s.Name)
	}
}

// tied are ties of pixels whose true place a gives, in metres about a datum.
func tied(t testing.TB, a Affine, pixels ...[2]float64) (ties []Tie) {
	f, err := grid.NewFrame(grid.LonLat{Lon: -27.6, Lat: 44.9})
	require.NoError(t, err)
	for _, p := range pixels {
		ties = append(ties, Tie{p[0], p[1], f.ToLonLat(a.At(p[0], p[1]))})
	}
	return ties
}

func TestTiesGiveThePlaceBack(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		angle, scale := rapid.Float64Range(-7, 7).Draw(r, "angle"), rapid.Float64Range(0.01, 5).Draw(r, "scale")
		sin, cos := math.Sincos(angle)
		a := Affine{X0: 100, XCol: scale * cos, XRow: scale * sin, Y0: -50, YCol: scale * sin, YRow: -scale * cos}
		ties := tied(t, a, [2]float64{10, 20}, [2]float64{900, 700})
		requirePlaced(t, ties, a)
		a.XCol *= 1.1
		requirePlaced(t, tied(t, a, [2]float64{10, 20}, [2]float64{900, 700}, [2]float64{100, 600}), a)
		requirePlaced(t, tied(t, a, [2]float64{10, 20}, [2]float64{900, 700}, [2]float64{100, 600}, [2]float64{800, 10}, [2]float64{333, 333}), a)
	})
}

func requirePlaced(t testing.TB, ties []Tie, a Affine) {
	t.Helper()
	p, off, err := FromTies(1000, 800, ties)
	require.NoError(t, err)
	for i, tie := range ties {
		require.InDelta(t, 0, off[i], 1e-3)
		requireNear(t, tie.At, p.LonLat(tie.Col, tie.Row), 1e-3)
	}
	requireNear(t, tied(t, a, [2]float64{500, 400})[0].At, p.LonLat(500, 400), 1e-3)
}

// One of four ties at the corners of a square is 4 m off: least squares put a quarter of
// it on each, along the diagonals' sign.
func TestTieResiduals(t *testing.T) {
	a := Affine{XCol: 1, YRow: -1}
	ties := tied(t, a, [2]float64{0, 0}, [2]float64{1000, 0}, [2]float64{1000, 1000}, [2]float64{0, 1000})
	f, _ := grid.NewFrame(ties[0].At)
	q := f.ToXY(ties[2].At)
	ties[2].At = f.ToLonLat(grid.XY{X: q.X + 4, Y: q.Y})
	_, off, err := FromTies(1000, 1000, ties)
	require.NoError(t, err)
	for _, o := range off {
		require.InDelta(t, 1, o, 1e-3)
	}
}

func TestTiesRefused(t *testing.T) {
	a := Affine{XCol: 1, YRow: -1}
	for name, c := range map[string]struct {
		ties []Tie
		want error
	}{
		"none":       {nil, errFewTies},
		"one":        {tied(t, a, [2]float64{5, 5}), errFewTies},
		"same":       {tied(t, a, [2]float64{5, 5}, [2]float64{5, 5}), errLine},
		"in a row":   {tied(t, a, [2]float64{0, 0}, [2]float64{50, 50.1}, [2]float64{100, 100}), errLine},
		"all same":   {tied(t, a, [2]float64{7, 7}, [2]float64{7, 7}, [2]float64{7, 7}), errLine},
		"mirrored":   {tied(t, Affine{XCol: 1, YRow: 1}, [2]float64{0, 0}, [2]float64{50, 0}, [2]float64{0, 50}), errMirror},
		"one ground": {[]Tie{{1, 1, grid.LonLat{}}, {2, 9, grid.LonLat{}}, {7, 3, grid.LonLat{}}}, errLine},
	} {
		_, _, err := FromTies(1000, 1000, c.ties)
		require.ErrorIs(t, err, c.want, name)
	}
	_, _, err := FromTies(10, 10, []Tie{{Col: math.Inf(1)}, {Col: 5}})
	require.ErrorContains(t, err, "tied point 1 is not a place")
	_, _, err = FromTies(10, 10, []Tie{{At: grid.LonLat{Lat: 91}}, {Col: 5}})
	require.ErrorContains(t, err, "tied point 1 is not a place")
	_, _, err = FromTies(10, 10, []Tie{{At: grid.LonLat{Lat: 1}}, {Col: 5}})
	require.ErrorIs(t, err, grid.ErrTooWide)
}
