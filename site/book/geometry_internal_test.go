package book

import (
	"encoding/hex"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
)

func unhex(t *testing.T, parts ...string) []byte {
	b, err := hex.DecodeString(strings.ReplaceAll(strings.Join(parts, ""), " ", ""))
	require.NoError(t, err)
	return b
}

// TestReadShape reads geometries as other programs write them. Headers are put
// together by OGC 12-128r17 clause 2.1.3.1.1, WKB by OGC 06-103r4 clause 8.2.
func TestReadShape(t *testing.T) {
	const (
		one, two, three = "3ff0000000000000", "4000000000000000", "4008000000000000" // 1.0, 2.0, 3.0
		le1, le2        = "000000000000f03f", "0000000000000040"
		nan             = "7ff8000000000000"
		plain           = "4750 00 00 000010e6" // big-endian header without bounds, srs 4326
	)
	at := func(xy ...float64) (out []grid.LonLat) {
		for i := 0; i < len(xy); i += 2 {
			out = append(out, grid.LonLat{Lon: xy[i], Lat: xy[i+1]})
		}
		return out
	}
	point := shape{kind: wkbPoint, parts: [][]grid.LonLat{at(1, 2)}}
	line := shape{kind: wkbLine, parts: [][]grid.LonLat{at(1, 2, 2, 3)}}
	for name, c := range map[string]struct {
		blob []byte
		want shape
		box  box
	}{
		"big-endian point":    {unhex(t, plain, "00 00000001", one, two), point, box{1, 1, 2, 2}},
		"little-endian point": {unhex(t, "4750 00 01 e6100000", "01 01000000", le1, le2), point, box{1, 1, 2, 2}},
		"point with bounds":   {unhex(t, "4750 00 02 000010e6", one, one, two, two, "00 00000001", one, two), point, box{1, 1, 2, 2}},
		"point with height":   {unhex(t, plain, "00 000003e9", one, two, three), point, box{1, 1, 2, 2}},
		"height and measure":  {unhex(t, plain, "00 00000bb9", one, two, three, three), point, box{1, 1, 2, 2}},
		"line":                {unhex(t, plain, "00 00000002 00000002", one, two, two, three), line, box{1, 2, 2, 3}},
		"multiline":           {unhex(t, plain, "00 00000005 00000001", "00 00000002 00000002", one, two, two, three), shape{kind: wkbMultiLine, members: []shape{line}}, box{1, 2, 2, 3}},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := readShape(c.blob)
			require.NoError(t, err)
			require.Equal(t, c.want, got)
			b, ok, err := boundsOf(c.blob)
			require.NoError(t, err)
			require.True(t, ok)
			require.Equal(t, c.box, b)
			back, err := readShape(got.binary())
			require.NoError(t, err)
			require.Equal(t, got, back)
			for n := range c.blob {
				_, err := readShape(c.blob[:n])
				require.ErrorIs(t, err, errGeometry, "%d bytes", n)
			}
		})
	}
	for name, blob := range map[string][]byte{
		"empty point": unhex(t, "4750 00 10 000010e6 00 00000001", nan, nan),
		"empty line":  unhex(t, "4750 00 10 000010e6 00 00000002 00000000"),
	} {
		_, ok, err := boundsOf(blob)
		require.NoError(t, err, name)
		require.False(t, ok, name)
	}
	for name, blob := range map[string][]byte{
		"nothing": nil, "unknown bounds": unhex(t, "4750 00 0a 000010e6 00 00000001", one, two), "curve": unhex(t, plain, "00 00000008 00000000"),
		"huge count": unhex(t, plain, "00 00000002 ffffffff", one, two), "bytes after": unhex(t, plain, "00 00000001", one, two, "00"),
		"nested too deep": unhex(t, plain, strings.Repeat("00 00000007 00000001", 4), "00 00000001", one, two),
	} {
		_, err := readShape(blob)
		require.ErrorIs(t, err, errGeometry, name)
	}
}

func TestSingle(t *testing.T) {
	point := shape{kind: wkbPoint, parts: [][]grid.LonLat{{{Lon: 1, Lat: 2}}}}
	got, err := shape{kind: wkbMultiPoint, members: []shape{point}}.single()
	require.NoError(t, err)
	require.Equal(t, point, got)
	_, err = shape{kind: wkbMultiPoint, members: []shape{point, point}}.single()
	require.EqualError(t, err, "a shape of 2 parts, needs 1")
}

// TestIndexFunctions asks SQLite itself, as the triggers do.
func TestIndexFunctions(t *testing.T) {
	b, err := Create(t.TempDir()+"/b.gpkg", nil)
	require.NoError(t, err)
	defer b.Close()
	line := shape{kind: wkbLine, parts: [][]grid.LonLat{{{Lon: -1.5, Lat: 2}, {Lon: 3, Lat: -4.25}}}}.binary()
	var got [5]float64
	require.NoError(t, b.db.QueryRow(`SELECT ST_MinX(?1), ST_MaxX(?1), ST_MinY(?1), ST_MaxY(?1), ST_IsEmpty(?1)`, line).Scan(&got[0], &got[1], &got[2], &got[3], &got[4]))
	require.Equal(t, [5]float64{-1.5, 3, -4.25, 2, 0}, got)
	empty := shape{kind: wkbPoint, parts: [][]grid.LonLat{{{Lon: math.NaN(), Lat: math.NaN()}}}}.binary()
	var isEmpty, nothing any
	require.NoError(t, b.db.QueryRow(`SELECT ST_IsEmpty(?), ST_MinX(NULL)`, empty).Scan(&isEmpty, &nothing))
	require.Equal(t, []any{int64(1), nil}, []any{isEmpty, nothing})
}
