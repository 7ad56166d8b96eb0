package report

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"encoding/json"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
)

func TestGeoTIFFCells(t *testing.T) {
	r, p := field().make(t)
	var b bytes.Buffer
	require.NoError(t, geoTIFF(&b, r, passBand(p)))
	got := readStrips(t, b.Bytes(), r.Spec.Cols, 2)
	require.Len(t, got, r.Spec.Rows*r.Spec.Cols)
	for i, v := range got {
		c := grid.Cell{Col: i % r.Spec.Cols, Row: r.Spec.Rows - 1 - i/r.Spec.Cols}
		want := uint16(65535)
		if r.Searchable.Has(c) {
			want = p.n[c.Row*p.cols+c.Col]
		}
		if v != want {
			t.Fatalf("cell %v: %d, want %d", c, v, want)
		}
	}
}

// readStrips is a plain reader of such files: TIFF 6.0, section 2.
func readStrips(t *testing.T, b []byte, cols, sample int) (cells []uint16) {
	le := binary.LittleEndian
	require.Equal(t, "II*\x00", string(b[:4]))
	dir := b[le.Uint32(b[4:]):]
	lists := map[uint16][]uint32{}
	last := uint16(0)
	for i := range int(le.Uint16(dir)) {
		e := dir[2+12*i:]
		tag, kind, n := le.Uint16(e), le.Uint16(e[2:]), int(le.Uint32(e[4:]))
		require.Greater(t, tag, last, "tags in order")
		last = tag
		if kind != 4 {
			continue
		}
		at := e[8:]
		if n > 1 {
			at = b[le.Uint32(e[8:]):]
		}
		for j := range n {
			lists[tag] = append(lists[tag], le.Uint32(at[4*j:]))
		}
	}
	require.Equal(t, uint32(cols), lists[256][0])
	for i, off := range lists[273] {
		z, err := zlib.NewReader(bytes.NewReader(b[off:][:lists[279][i]]))
		require.NoError(t, err)
		raw, err := io.ReadAll(z)
		require.NoError(t, err)
		for ; len(raw) > 0; raw = raw[sample:] {
			if sample == 1 {
				cells = append(cells, uint16(raw[0]))
			} else {
				cells = append(cells, le.Uint16(raw))
			}
		}
	}
	return cells
}

// The chance goes cell by cell on the cells of the passes, and to all or nothing
// without receiver error.
func TestChanceTIFFCells(t *testing.T) {
	r, _ := field().makeUnsure(t)
	for _, sure := range []*coverage.Certainty{r.Certainty, nil} {
		r.Certainty = sure
		var b bytes.Buffer
		require.NoError(t, ChanceTIFF(&b, r))
		got := readStrips(t, b.Bytes(), r.Spec.Cols, 1)
		require.Len(t, got, r.Spec.Rows*r.Spec.Cols)
		for i, v := range got {
			c := grid.Cell{Col: i % r.Spec.Cols, Row: r.Spec.Rows - 1 - i/r.Spec.Cols}
			want := 255.0
			switch {
			case !r.Searchable.Has(c):
			case sure != nil:
				want = math.Round(100 * sure.ChanceAt(r.Spec.Centre(c)))
			case r.Swept.Has(c):
				want = 100
			default:
				want = 0
			}
			if float64(v) != want {
				t.Fatalf("cell %v: %d, want %g", c, v, want)
			}
		}
	}
}

type constant uint16

func (c constant) RowPasses(_, _ int, dst []uint16) {
	for i := range dst {
		dst[i] = uint16(c)
	}
}

func TestGeoTIFFCapsPasses(t *testing.T) {
	s := grid.Spec{CellM: 1, Cols: 3, Rows: 2}
	r := &coverage.Result{Spec: s, Searchable: grid.NewMask(s)}
	r.Searchable.Set(grid.Cell{Col: 1, Row: 0})
	var b bytes.Buffer
	require.NoError(t, geoTIFF(&b, r, passBand(constant(65535))))
	require.Equal(t, []uint16{65535, 65535, 65535, 65535, 65534, 65535}, readStrips(t, b.Bytes(), 3, 2))
}

// Ground far apart costs what is searched, not what lies between.
func TestGeoTIFFOfSparseGround(t *testing.T) {
	s := grid.Spec{CellM: 0.25, Cols: 9000, Rows: 9000}
	r := &coverage.Result{Spec: s, Searchable: grid.NewMask(s)}
	r.Searchable.SetSpan(8999, 10, 300)
	var b bytes.Buffer
	require.NoError(t, geoTIFF(&b, r, passBand(constant(1))))
	require.Less(t, b.Len(), 40_000)
}

func TestGeoTIFFRefusesTooManyCells(t *testing.T) {
	for _, s := range []grid.Spec{{CellM: 0.1, Cols: 20_001, Rows: 20_000}, {CellM: 0.1, Cols: 1 << 40, Rows: 1 << 40}, {}} {
		var b bytes.Buffer
		require.ErrorIs(t, GeoTIFF(&b, &coverage.Result{Spec: s}), ErrTooManyCells)
		require.Zero(t, b.Len())
	}
}

// GDAL reads size, no-data, frame and place as we mean them.
func TestGeoTIFFInGDAL(t *testing.T) {
	needTool(t, "gdalinfo")
	r, p := field().make(t)
	path := filepath.Join(t.TempDir(), "coverage.tif")
	var b bytes.Buffer
	require.NoError(t, geoTIFF(&b, r, passBand(p)))
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o644))
	out, err := exec.Command("gdalinfo", "-json", "-stats", "-norat", path).Output()
	require.NoError(t, err)
	var info struct {
		Size              []int
		CornerCoordinates struct{ UpperLeft, LowerRight []float64 }
		WGS84Extent       struct{ Coordinates [][][]float64 }
		Bands             []struct {
			Type        string
			NoDataValue float64
			Maximum     float64
		}
		CoordinateSystem struct{ WKT string }
	}
	require.NoError(t, json.Unmarshal(out, &info))
	box := r.Spec.Bounds()
	require.Equal(t, []int{r.Spec.Cols, r.Spec.Rows}, info.Size)
	require.InDeltaSlice(t, []float64{box.Min.X, box.Max.Y}, info.CornerCoordinates.UpperLeft, 1e-6)
	require.InDeltaSlice(t, []float64{box.Max.X, box.Min.Y}, info.CornerCoordinates.LowerRight, 1e-6)
	require.Equal(t, "UInt16", info.Bands[0].Type)
	require.Equal(t, 65535.0, info.Bands[0].NoDataValue)
	require.Equal(t, float64(r.Passes[len(r.Passes)-1].Passes), info.Bands[0].Maximum)
	require.Contains(t, info.CoordinateSystem.WKT, "Transverse Mercator")
	// Degrees of the upper left corner by GDAL and by our frame, within a cell.
	ul := info.WGS84Extent.Coordinates[0][0]
	q := r.Frame.ToXY(grid.LonLat{Lon: ul[0], Lat: ul[1]})
	require.InDelta(t, box.Min.X, q.X, r.Spec.CellM)
	require.InDelta(t, box.Max.Y, q.Y, r.Spec.CellM)
}

// GDAL reads the chance as bytes with their own no-data.
func TestChanceTIFFInGDAL(t *testing.T) {
	needTool(t, "gdalinfo")
	r, _ := field().makeUnsure(t)
	path := filepath.Join(t.TempDir(), "chance.tif")
	var b bytes.Buffer
	require.NoError(t, ChanceTIFF(&b, r))
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o644))
	out, err := exec.Command("gdalinfo", "-json", "-stats", "-norat", path).Output()
	require.NoError(t, err)
	var info struct {
		Bands []struct {
			Type        string
			NoDataValue float64
			Mean        float64
		}
	}
	require.NoError(t, json.Unmarshal(out, &info))
	require.Equal(t, "Byte", info.Bands[0].Type)
	require.Equal(t, 255.0, info.Bands[0].NoDataValue)
	require.InDelta(t, r.Certainty.ExpectedPercent, info.Bands[0].Mean, 1.5)
}

func needTool(t *testing.T, name string) {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		if os.Getenv("UNTROD_REQUIRE_TOOLS") == "1" {
			t.Fatalf("%s is not installed", name)
		}
		t.Skipf("%s is not installed", name)
	}
}
