package report

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"image"
	"image/png"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/track"
)

// readKMZ reads an overlay as KML viewers do: boxes and pictures.
func readKMZ(t testing.TB, data []byte) (boxes []lonLatBox, pics []*image.Paletted) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	open := func(name string) []byte {
		f, err := z.Open(name)
		require.NoError(t, err)
		defer f.Close()
		b, err := io.ReadAll(f)
		require.NoError(t, err)
		return b
	}
	doc := string(open("doc.kml"))
	value := func(tag string) float64 {
		_, rest, ok := strings.Cut(doc, "<"+tag+">")
		require.True(t, ok)
		text, _, _ := strings.Cut(rest, "<")
		v, err := strconv.ParseFloat(text, 64)
		require.NoError(t, err)
		return v
	}
	for strings.Contains(doc, "<north>") {
		_, rest, _ := strings.Cut(doc, "<href>")
		name, _, _ := strings.Cut(rest, "<")
		boxes = append(boxes, lonLatBox{value("west"), value("south"), value("east"), value("north")})
		pic, err := png.Decode(bytes.NewReader(open(name)))
		require.NoError(t, err)
		pics = append(pics, pic.(*image.Paletted))
		_, doc, _ = strings.Cut(doc, "</GroundOverlay>")
	}
	return boxes, pics
}

// Every cell is found again in the overlay, at its own place in degrees: its class is
// that of a pixel within a cell of it. So too for ground kilometres wide, far north,
// south and across the 180th meridian.
func TestOverlayHoldsTheCells(t *testing.T) {
	wide := field().scaled(100, 60)
	wide.cellM, wide.swathM, wide.lanes = 5, 150, 25
	for name, c := range map[string]struct {
		g     ground
		datum grid.LonLat
	}{
		"field": {field(), grid.LonLat{Lon: 12.345678, Lat: 51.234567}}, "wide": {wide, grid.LonLat{Lon: -70, Lat: 62}},
		"south": {field(), grid.LonLat{Lon: 170.2, Lat: -45.1}}, "equator": {field(), grid.LonLat{}},
		"meridian": {field(), grid.LonLat{Lon: 180, Lat: 65}}, "other side": {wide, grid.LonLat{Lon: -179.99, Lat: 65}},
	} {
		t.Run(name, func(t *testing.T) {
			c.g.datum = c.datum
			r, p := c.g.makeUnsure(t)
			var b bytes.Buffer
			require.NoError(t, groundKMZ(&b, r, p))
			boxes, pics := readKMZ(t, b.Bytes())
			require.Equal(t, c.datum.Lon*c.datum.Lon > 179.9*179.9, len(boxes) == 2)
			classes := cellClasses{r, p, gapMask(r)}
			n, at := 0, 0
			r.Searchable.Cells(func(k grid.Cell) {
				if n++; n%7 != 0 {
					return
				}
				if !nearby(boxes, pics, r.Frame.ToLonLat(r.Spec.Centre(k)), uint8(classes.at(k))) {
					at++
				}
			})
			require.Zero(t, at, "of %d cells", n/7)
		})
	}
}

// nearby reports whether a class stands at a place or in a pixel next to it.
func nearby(boxes []lonLatBox, pics []*image.Paletted, p grid.LonLat, want uint8) bool {
	for i, b := range boxes {
		size := pics[i].Rect.Size()
		x := int((p.Lon - b.west) / (b.east - b.west) * float64(size.X))
		y := int((b.north - p.Lat) / (b.north - b.south) * float64(size.Y))
		for dy := -1; dy <= 1; dy++ {
			for dx := -1; dx <= 1; dx++ {
				if q := image.Pt(x+dx, y+dy); q.In(pics[i].Rect) && pics[i].ColorIndexAt(q.X, q.Y) == want {
					return true
				}
			}
		}
	}
	return false
}

// Classes by passes are those of the map.
func TestCellClassesAreTheMaps(t *testing.T) {
	r, p := field().make(t)
	c := cellClasses{r, p, gapMask(r)}
	var cells [classes]int
	r.Searchable.Cells(func(k grid.Cell) { cells[c.at(k)]++ })
	want := rasterise(r, p).cells
	require.Equal(t, want, cells)
	require.Equal(t, outside, c.at(grid.Cell{Col: -1}))
}

// The same result gives the same bytes.
func TestKMZIsTheSame(t *testing.T) {
	r, p := field().makeUnsure(t)
	var a, b bytes.Buffer
	require.NoError(t, groundKMZ(&a, r, p))
	require.NoError(t, groundKMZ(&b, r, p))
	require.Equal(t, a.Bytes(), b.Bytes())
}

type rasterInfo struct {
	Size              []int
	GeoTransform      []float64
	CoordinateSystem  struct{ WKT string }
	WGS84Extent       struct{ Coordinates [][][]float64 }
	CornerCoordinates struct{ UpperLeft, LowerRight []float64 }
	Bands             []struct {
		Type, Unit, Description                  string
		Scale, Offset, NoDataValue, Max, Maximum float64
	}
}

func gdalInfo(t *testing.T, path string) (info rasterInfo) {
	needTool(t, "gdalinfo")
	out, err := exec.Command("gdalinfo", "-json", "-stats", "-norat", path).Output()
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(out, &info))
	return info
}

// GDAL reads the overlay as a picture on the globe; its corners are those of the cells.
func TestKMZInGDAL(t *testing.T) {
	needTool(t, "gdalinfo")
	r, p := field().makeUnsure(t)
	var b bytes.Buffer
	require.NoError(t, groundKMZ(&b, r, p))
	path := filepath.Join(t.TempDir(), "ground.kmz")
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o644))
	info := gdalInfo(t, path)
	require.Contains(t, info.CoordinateSystem.WKT, "WGS 84")
	box := degreeBox(r)
	for _, c := range []struct{ got, want []float64 }{
		{info.CornerCoordinates.UpperLeft, []float64{box.west, box.north}}, {info.CornerCoordinates.LowerRight, []float64{box.east, box.south}},
	} {
		got := r.Frame.ToXY(grid.LonLat{Lon: c.got[0], Lat: c.got[1]})
		want := r.Frame.ToXY(grid.LonLat{Lon: c.want[0], Lat: c.want[1]})
		require.InDelta(t, want.X, got.X, r.Spec.CellM)
		require.InDelta(t, want.Y, got.Y, r.Spec.CellM)
	}
}

// GDAL reads the picture with its world file and projection as we mean them, and so it
// does the .prj by itself.
func TestWorldFileInGDAL(t *testing.T) {
	needTool(t, "gdalinfo")
	r, p := field().makeUnsure(t)
	ras := rasterise(r, p)
	dir := t.TempDir()
	for name, write := range map[string]func(io.Writer) error{
		"ground.png":         func(w io.Writer) error { return png.Encode(w, ras.img) },
		"ground.pgw":         func(w io.Writer) error { return worldFile(w, ras) },
		"ground.prj":         func(w io.Writer) error { return GroundPRJ(w, r) },
		"ground.png.aux.xml": func(w io.Writer) error { return GroundAux(w, r) },
	} {
		var b bytes.Buffer
		require.NoError(t, write(&b))
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), b.Bytes(), 0o644))
	}
	info := gdalInfo(t, filepath.Join(dir, "ground.png"))
	require.InDeltaSlice(t, []float64{ras.bounds.Min.X, ras.bounds.Max.Y}, info.CornerCoordinates.UpperLeft, 1e-6)
	require.InDeltaSlice(t, []float64{ras.bounds.Max.X, ras.bounds.Min.Y}, info.CornerCoordinates.LowerRight, 1e-6)
	ul := info.WGS84Extent.Coordinates[0][0]
	q := r.Frame.ToXY(grid.LonLat{Lon: ul[0], Lat: ul[1]})
	require.InDelta(t, ras.bounds.Min.X, q.X, r.Spec.CellM)
	require.InDelta(t, ras.bounds.Max.Y, q.Y, r.Spec.CellM)
	needTool(t, "gdalsrsinfo")
	out, err := exec.Command("gdalsrsinfo", "-o", "proj4", filepath.Join(dir, "ground.prj")).Output()
	require.NoError(t, err)
	require.Contains(t, string(out), "+proj=tmerc +lat_0=51.234567 +lon_0=12.345678 +k=1 +x_0=0 +y_0=0 +datum=WGS84")
}

type fakeEffort struct{ r *coverage.Result }

func (f fakeEffort) SecondsPerM2(c grid.Cell) float64 {
	if c.Col == 100 {
		return 1e9
	}
	return 0.25 * float64(c.Col%40)
}

// Seconds go cell by cell, rounded to a tenth, and stay below what means no data.
func TestSecondsTIFFCells(t *testing.T) {
	r, _ := field().make(t)
	var b bytes.Buffer
	require.NoError(t, secondsTIFF(&b, r, fakeEffort{r}))
	for i, v := range readStrips(t, b.Bytes(), r.Spec.Cols, 2) {
		c := grid.Cell{Col: i % r.Spec.Cols, Row: r.Spec.Rows - 1 - i/r.Spec.Cols}
		switch {
		case !r.Searchable.Has(c):
			require.EqualValues(t, 65535, v)
		case c.Col == 100:
			require.EqualValues(t, 65534, v)
		default:
			require.InDelta(t, fakeEffort{r}.SecondsPerM2(c), float64(v)*secondsScale, 0.0501)
		}
	}
	r.Spec = grid.Spec{}
	require.ErrorIs(t, SecondsTIFF(io.Discard, r), ErrTooManyCells)
}

func TestSecondsTIFFInGDAL(t *testing.T) {
	needTool(t, "gdalinfo")
	r, _ := field().make(t)
	var b bytes.Buffer
	require.NoError(t, secondsTIFF(&b, r, fakeEffort{r}))
	path := filepath.Join(t.TempDir(), "seconds.tif")
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o644))
	info := gdalInfo(t, path)
	require.Equal(t, 0.1, info.Bands[0].Scale)
	require.Equal(t, "s/m2", info.Bands[0].Unit)
	require.Equal(t, "seconds of searching a square metre", info.Bands[0].Description)
	require.Equal(t, 65535.0, info.Bands[0].NoDataValue)
	require.Equal(t, 65534.0, info.Bands[0].Maximum)
	box := r.Spec.Bounds()
	require.InDeltaSlice(t, []float64{box.Min.X, box.Max.Y}, info.CornerCoordinates.UpperLeft, 1e-6)
}

func TestVisitsCSV(t *testing.T) {
	r, _ := field().makeUnsure(t)
	r.Sessions[0].Name = "=1+1"
	r.Sessions[0].Walker = "one, \"two\""
	r.Sessions[1].Start, r.Sessions[1].End = track.NoTime, track.NoTime
	var b bytes.Buffer
	require.NoError(t, VisitsCSV(&b, r))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 1+len(r.Sessions))
	require.Equal(t, []string{"'=1+1", "walk1.gpx", "one, \"two\"", "2031-04-02T09:05:00Z", "2031-04-02T10:40:00Z", "4000", "4200"}, rows[1][:7])
	require.Empty(t, rows[2][3])
	require.Equal(t, "00ff", rows[1][16])
}
