package grid

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A scaled and shifted projection, as national grids have it.
type tmGrid struct {
	ellipsoid              *krueger
	lon0, lat0, k0, fe, fn float64
}

func (g tmGrid) project(p LonLat) XY {
	q, o := g.ellipsoid.forward(p.Lon-g.lon0, p.Lat), g.ellipsoid.forward(0, g.lat0)
	return XY{g.fe + g.k0*q.X, g.fn + g.k0*(q.Y-o.Y)}
}

func (g tmGrid) invert(q XY) LonLat {
	o := g.ellipsoid.forward(0, g.lat0)
	p := g.ellipsoid.inverse(XY{(q.X - g.fe) / g.k0, (q.Y-g.fn)/g.k0 + o.Y})
	return LonLat{p.Lon + g.lon0, p.Lat}
}

func TestPublishedProjections(t *testing.T) {
	// Parameters of EPSG 27700: Airy 1830, scale 0.9996012717.
	britain := tmGrid{newKrueger(6377563.396, 299.3249646), -2, 49, 0.9996012717, 400000, -100000}
	utm := tmGrid{wgs84, 0, 0, 0.9996, 0, 0}
	tests := []struct {
		name string
		grid tmGrid
		at   LonLat
		want XY
		tolM float64
	}{
		// Ordnance Survey, Guide to coordinate systems in Great Britain, annex C.
		{"survey guide annex C", britain, LonLat{dms(1, 43, 4.5177), dms(52, 39, 27.2531)}, XY{651409.903, 313177.270}, 6e-4},
		// EPSG Guidance Note 7-2, transverse Mercator example; printed from a shorter series.
		{"EPSG guidance note 7-2", britain, LonLat{0.5, 50.5}, XY{577274.99, 69740.50}, 0.0101},
		// The same with the sixth order, recomputed with GeographicLib 2.1.2.
		{"EPSG example, sixth order", britain, LonLat{0.5, 50.5}, XY{577274.984, 69740.492}, 6e-4},
		// Krueger sixth order by GeographicLib 2.1.2, scale 0.9996, meridian 0.
		{"scale 0.9996 at 0 N", utm, LonLat{3, 0}, XY{333978.556919, 0}, 6e-7},
		{"scale 0.9996 at 40 N", utm, LonLat{3, 40}, XY{256099.647970, 4432069.056899}, 6e-7},
		{"scale 0.9996 at 60 N", utm, LonLat{3, 60}, XY{167294.821124, 6655205.483635}, 6e-7},
		{"scale 0.9996 at 80 N", utm, LonLat{3, 80}, XY{58132.215133, 8883084.955948}, 6e-7},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := tt.grid.project(tt.at)
			t.Logf("off by %.2g m", dist(got, tt.want))
			require.LessOrEqual(t, math.Abs(got.X-tt.want.X), tt.tolM)
			require.LessOrEqual(t, math.Abs(got.Y-tt.want.Y), tt.tolM)
			back := tt.grid.invert(got)
			require.InDelta(t, tt.at.Lon, back.Lon, 1e-13)
			require.InDelta(t, tt.at.Lat, back.Lat, 1e-13)
		})
	}
}

func TestFrameAgainstRecordedPrograms(t *testing.T) {
	// Karney's bound for the series is 5 nm; both programs print whole nanometres
	// or finer, and the inputs carry 1e-14 degree, 1e-9 m.
	const tolM = 1e-8
	var worstGL, worstProj, worstBack float64
	var datum XY // as GeographicLib prints it, from the equator
	for _, row := range readTSV(t, "testdata/frame.tsv") {
		at, f := row.lonLat("lat", "lon"), row.frame()
		gl, proj := row.xy("gl_x", "gl_y"), row.xy("proj_x", "proj_y")
		if at == f.Datum() {
			datum = gl
			require.Equal(t, XY{0, 0}, f.ToXY(at))
		}
		got := f.ToXY(at)
		worstGL = math.Max(worstGL, dist(got, XY{gl.X - datum.X, gl.Y - datum.Y}))
		worstProj = math.Max(worstProj, dist(got, proj))
		worstBack = math.Max(worstBack, dist(f.ToXY(f.ToLonLat(got)), got))
	}
	t.Logf("worst against GeographicLib %.2g m, PROJ %.2g m, there and back %.2g m", worstGL, worstProj, worstBack)
	require.Less(t, worstGL, tolM)
	require.Less(t, worstProj, 2*tolM) // PROJ subtracts 1e7 m to reach the datum
	require.Less(t, worstBack, tolM)
}

func TestFrameLengthsAreGeodesic(t *testing.T) {
	tolM := map[string]float64{"through": 1e-3, "side": 1e-3, "edge": 7e-3}
	worst := map[string]float64{}
	for _, row := range readTSV(t, "testdata/distances.tsv") {
		f, line := row.frame(), row.text("line")
		got := dist(f.ToXY(row.lonLat("lat1", "lon1")), f.ToXY(row.lonLat("lat2", "lon2")))
		worst[line] = math.Max(worst[line], math.Abs(got-row.num("s")))
	}
	t.Logf("worst in metres over 5 km: %v", worst)
	require.Len(t, worst, len(tolM))
	for line, w := range worst {
		require.Less(t, w, tolM[line], line)
	}
}

func TestFrameAreasAreGeodesic(t *testing.T) {
	// Planimeter's own error is 0.0013 m2 for a perimeter under 10 km and 0.007 m2
	// under 100 km (its manual); the plane at 2.5 km adds up to 8e-8 of the area.
	worst := map[string]float64{}
	for _, row := range readTSV(t, "testdata/areas.tsv") {
		f, r := row.frame(), Ring{}
		for _, v := range strings.Split(row.text("vertices"), ";") {
			lat, lon, _ := strings.Cut(v, " ")
			r = append(r, f.ToXY(LonLat{number(t, lon), number(t, lat)}))
		}
		want := row.num("area")
		off := math.Abs(r.Area() - want)
		worst[row.text("name")] = math.Max(worst[row.text("name")], off)
		require.Less(t, off, 0.0013+8e-8*want, row.text("name"))
		if row.text("name") == "km_square" {
			require.InDelta(t, 1e6, r.Area(), 0.01) // Karney's test suite, Planimeter29
		}
	}
	t.Logf("worst in square metres: %v", worst)
	require.Len(t, worst, 5)
}

func TestFrameSmallField(t *testing.T) {
	// GeographicLib 2.1.2: perimeter 509.238187 m, area 15949.1 m2.
	f := mustFrame(t, LonLat{-0.999, 50.0005})
	var r Ring
	for _, p := range []LonLat{{-1, 50}, {-0.998, 50}, {-0.998, 50.001}, {-1, 50.001}} {
		r = append(r, f.ToXY(p))
	}
	perimeter := 0.0
	for i, p := range r {
		perimeter += dist(p, r[(i+1)%len(r)])
	}
	require.InDelta(t, 509.238187, perimeter, 1e-6)
	require.InDelta(t, 15949.1, r.Area(), 0.05)
}

func TestFrameThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		datum := LonLat{rapid.Float64Range(-180, 180).Draw(t, "lon"), rapid.Float64Range(-89, 89).Draw(t, "lat")}
		f, err := NewFrame(datum)
		require.NoError(t, err)
		q := XY{rapid.Float64Range(-30e3, 30e3).Draw(t, "x"), rapid.Float64Range(-30e3, 30e3).Draw(t, "y")}
		p := f.ToLonLat(q)
		require.True(t, p.Valid(), "%v", p)
		require.Less(t, dist(f.ToXY(p), q), 1e-8)
	})
}

func TestFrameAcrossTheAntimeridian(t *testing.T) {
	east, west := mustFrame(t, LonLat{180, 10}), mustFrame(t, LonLat{-180, 10})
	for _, p := range []LonLat{{179.99, 10.01}, {-179.99, 9.99}, {180, 10}, {-180, 10}} {
		require.Equal(t, east.ToXY(p), west.ToXY(p))
		require.Less(t, math.Abs(east.ToXY(p).X), 1100.0)
		back := east.ToLonLat(east.ToXY(p))
		require.InDelta(t, 0, turn(back.Lon-p.Lon), 1e-13)
	}
	require.Greater(t, east.ToXY(LonLat{-179.99, 10}).X, 0.0)
	require.Less(t, dist(east.ToXY(LonLat{-179.99, 10}), east.ToXY(LonLat{180.01 + 360, 10})), 1e-8)
}

func TestNewFrameErrors(t *testing.T) {
	nan := math.NaN()
	tests := []struct {
		at   LonLat
		want string
	}{
		{LonLat{0, 89.7}, "latitude 89.7 outside [-89, 89]"},
		{LonLat{0, -89.1}, "latitude -89.1 outside [-89, 89]"},
		{LonLat{0, nan}, "latitude NaN outside [-89, 89]"},
		{LonLat{180.5, 0}, "longitude 180.5 outside [-180, 180]"},
		{LonLat{nan, 0}, "longitude NaN outside [-180, 180]"},
		{LonLat{math.Inf(1), 0}, "longitude +Inf outside [-180, 180]"},
		{LonLat{-180, 89}, ""},
		{LonLat{180, -89}, ""},
	}
	for _, tt := range tests {
		_, err := NewFrame(tt.at)
		if tt.want == "" {
			require.NoError(t, err)
			continue
		}
		require.EqualError(t, err, tt.want)
	}
}

func TestFrameAround(t *testing.T) {
	nan := math.NaN()
	tests := []struct {
		name string
		ps   []LonLat
		want LonLat
		err  string
	}{
		{"one position", []LonLat{{12.34567891, 50}}, LonLat{12.345679, 50}, ""},
		{"middle of the box, not of the points", []LonLat{{1, 2}, {1.1, 2.1}, {1.1, 2.1}}, LonLat{1.05, 2.05}, ""},
		{"across the antimeridian", []LonLat{{179.95, 1}, {-179.97, 1}}, LonLat{179.99, 1}, ""},
		{"bad positions passed over", []LonLat{{nan, 1}, {5, 5}, {5, 99}, {400, 5}}, LonLat{5, 5}, ""},
		{"none", nil, LonLat{}, "no valid position"},
		{"none valid", []LonLat{{nan, nan}, {1, 91}}, LonLat{}, "no valid position"},
		{"at the pole", []LonLat{{0, 89.9}}, LonLat{}, "latitude 89.9 outside [-89, 89]"},
		{"20 km long is not too wide", []LonLat{{0, 0}, {0, 0.18}}, LonLat{0, 0.09}, ""},
		{"too long", []LonLat{{7, 40}, {7.01, 40.3}}, LonLat{},
			"ground of 0.9 km east-west by 33.3 km north-south is wider than 20 km: split the site"},
		{"half the globe", []LonLat{{-90, 0}, {90, 0}}, LonLat{},
			"ground of over 1000 km east-west by 0.0 km north-south is wider than 20 km: split the site"},
		{"too wide at 85 N", []LonLat{{-2, 85}, {2, 85}}, LonLat{},
			"ground of 38.9 km east-west by 0.3 km north-south is wider than 20 km: split the site"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f, err := FrameAround(tt.ps)
			if tt.err != "" {
				require.EqualError(t, err, tt.err)
				return
			}
			require.NoError(t, err)
			require.Equal(t, tt.want, f.Datum())
		})
	}
}

func TestFrameAroundRefusesWideGround(t *testing.T) {
	for _, ps := range [][]LonLat{
		{{0, 40}, {0, 40.3}},
		{{0, 0}, {180, 0}},                       // antipodes
		{{0, 89.9}, {10, -89.9}},                 // pole to pole
		{{-170, 1}, {-60, 1}, {60, 1}, {170, 1}}, // all around
		{{-90, 0}, {90, 0}},                      // the far side has no finite X
	} {
		_, err := FrameAround(ps)
		require.ErrorIs(t, err, ErrTooWide, "%v", ps)
		t.Log(err)
	}
}

func ExampleFrame() {
	f, err := NewFrame(LonLat{Lon: 179.9999, Lat: 45})
	if err != nil {
		fmt.Println(err)
		return
	}
	q := f.ToXY(LonLat{Lon: -179.9999, Lat: 45.0001}) // across the antimeridian
	fmt.Printf("%.3f m east, %.3f m north\n", q.X, q.Y)
	fmt.Println(f.ToLonLat(q))
	// Output:
	// 15.769 m east, 11.113 m north
	// -179.999900,45.000100
}

func BenchmarkToXY(b *testing.B) {
	f, _ := NewFrame(LonLat{12.5, 50})
	p := LonLat{12.51, 50.01}
	for b.Loop() {
		f.ToXY(p)
	}
}

func BenchmarkToLonLat(b *testing.B) {
	f, _ := NewFrame(LonLat{12.5, 50})
	for b.Loop() {
		f.ToLonLat(XY{1234, 987})
	}
}

func dms(d, m, s float64) float64 { return d + m/60 + s/3600 }

func dist(a, b XY) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }

func mustFrame(t *testing.T, datum LonLat) Frame {
	t.Helper()
	f, err := NewFrame(datum)
	require.NoError(t, err)
	return f
}

// tsvRow is one line of a table whose first line without # names the columns.
type tsvRow struct {
	t      *testing.T
	fields map[string]string
}

func readTSV(t *testing.T, name string) []tsvRow {
	t.Helper()
	file, err := os.Open(name)
	require.NoError(t, err)
	defer file.Close()
	var names []string
	var rows []tsvRow
	for sc := bufio.NewScanner(file); sc.Scan(); {
		cells := strings.Split(sc.Text(), "\t")
		switch {
		case strings.HasPrefix(sc.Text(), "#"):
		case names == nil:
			names = cells
		default:
			row := tsvRow{t, map[string]string{}}
			for i, n := range names {
				row.fields[n] = cells[i]
			}
			rows = append(rows, row)
		}
	}
	require.NotEmpty(t, rows)
	return rows
}

func (r tsvRow) text(name string) string { return r.fields[name] }

func (r tsvRow) num(name string) float64 { return number(r.t, r.fields[name]) }

func (r tsvRow) lonLat(lat, lon string) LonLat { return LonLat{r.num(lon), r.num(lat)} }

func (r tsvRow) xy(x, y string) XY { return XY{r.num(x), r.num(y)} }

func (r tsvRow) frame() Frame { return mustFrame(r.t, r.lonLat("lat0", "lon0")) }

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}
