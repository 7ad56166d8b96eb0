package book_test

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/site"
	"untrod/site/book"
)

// gdal runs a program of GDAL (Debian gdal-bin), which must have nothing to
// complain of, and returns what it prints.
func gdal(t testing.TB, name string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("UNTROD_REQUIRE_TOOLS") != "" {
			t.Fatalf("%s is not installed", name)
		}
		t.Skipf("%s is not installed (Debian package gdal-bin)", name)
	}
	var complaints strings.Builder
	c := exec.Command(path, args...)
	c.Stderr = &complaints
	out, err := c.Output()
	require.NoError(t, err, complaints.String())
	require.Empty(t, complaints.String())
	return string(out)
}

// counts are the features that ogrinfo -ro -so -al reports for each layer.
func counts(t testing.TB, args ...string) map[string]string {
	t.Helper()
	out := map[string]string{}
	text := gdal(t, "ogrinfo", append([]string{"-ro", "-so", "-al"}, args...)...)
	for _, m := range regexp.MustCompile(`Layer name: (\w+)\n(?:Geometry: (.*)\n)?Feature Count: (\d+)`).FindAllStringSubmatch(text, -1) {
		out[m[1]] = m[3] + " " + m[2]
	}
	return out
}

func TestGISReadsEveryLayer(t *testing.T) {
	path := newBook(t, wholeSite())
	writing(t, path, func(b *book.Book) {
		for i := range 3 {
			take(t, b, fmt.Sprintf("%d.gpx", i), walkFile(t, i, 600))
		}
		require.NoError(t, b.Set("coil", "28cm"))
		sessions, err := b.Sessions()
		require.NoError(t, err)
		require.NoError(t, b.Drop(sessions[0].ID))
	})
	plain := filepath.Join(t.TempDir(), "book.gpkg") // GDAL takes some signs of a name for its own
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(plain, data, 0o600))
	want := map[string]string{
		"boundary": "2 Polygon", "keepouts": "1 Polygon", "landmarks": "4 Unknown (any)", "marks": "2 Unknown (any)", "laid_out": "1 Polygon", "slow": "2 Polygon",
		"finds": "3 Point", "tracks": "2 Multi Line String",
		"site": "1 None", "sessions": "2 None", "files": "3 None", "settings": "1 None", "places": "6 None", "photos": "0 None", "find_photos": "0 None", "backdrop": "0 None",
	}
	require.Equal(t, want, counts(t, plain))

	// The box holds the landmarks at 1,2 and on the wall from 0,0 to 9,1.
	low, high := at(0.5, 1.5), at(1.5, 2.5)
	box := []string{"-spat", fmt.Sprint(low.Lon), fmt.Sprint(low.Lat), fmt.Sprint(high.Lon), fmt.Sprint(high.Lat)}
	got := counts(t, append(box, plain, "landmarks", "marks")...)
	require.Equal(t, map[string]string{"landmarks": "2 Unknown (any)", "marks": "0 Unknown (any)"}, got)
	require.Contains(t, gdal(t, "ogrinfo", "-ro", "-q", "-sql", "SELECT HasSpatialIndex('landmarks', 'geom')", plain), "(Integer) = 1")

	for layer, n := range want {
		out := filepath.Join(t.TempDir(), layer+".geojson")
		args := []string{"-f", "GeoJSON", out, plain, layer}
		if layer == "files" { // its bytes are nothing for GeoJSON
			args = append(args, "-select", "name,sha256,size")
		}
		gdal(t, "ogr2ogr", args...)
		var c struct {
			Features []struct {
				Properties map[string]any
				Geometry   struct{ Coordinates []any }
			}
		}
		text, err := os.ReadFile(out)
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(text, &c))
		require.Equal(t, n[:1], fmt.Sprint(len(c.Features)), layer)
		if layer == "finds" {
			require.Equal(t, "find 1", c.Features[0].Properties["name"])
			require.Contains(t, c.Features[0].Properties["time"], "2025-")
		}
	}
	requireExtent(t, plain)
}

// requireExtent holds that the extent stated for the boundary is that of its shapes.
func requireExtent(t *testing.T, path string) {
	text := gdal(t, "ogrinfo", "-ro", "-so", path, "boundary")
	var e [4]float64
	i := strings.Index(text, "Extent: ")
	_, err := fmt.Sscanf(text[i:], "Extent: (%f, %f) - (%f, %f)", &e[0], &e[1], &e[2], &e[3])
	require.NoError(t, err)
	low, high := at(-40, -40), at(60, 60)
	for k, v := range []float64{low.Lon, low.Lat, high.Lon, high.Lat} {
		require.InDelta(t, v, e[k], 1e-5)
	}
}

// TestGISEdits holds that another program may edit a layer, and that this shows.
func TestGISEdits(t *testing.T) {
	path := newBook(t, plainSite())
	plain := filepath.Join(filepath.Dir(path), "book.gpkg")
	require.NoError(t, os.Rename(path, plain))
	writing(t, plain, func(b *book.Book) {
		s := plainSite()
		s.Landmarks = []site.Landmark{{Name: "well", Points: []grid.LonLat{at(1, 2)}}}
		require.NoError(t, b.SetSite(s))
	})
	gdal(t, "ogrinfo", "-q", plain, "-sql", "UPDATE landmarks SET name = 'old well', geom = NULL WHERE name = 'nothing'")
	more := filepath.Join(t.TempDir(), "more.geojson")
	gdal(t, "ogr2ogr", "-f", "GeoJSON", "-lco", "COORDINATE_PRECISION=17", more, plain, "landmarks")
	gdal(t, "ogr2ogr", "-f", "GPKG", "-update", "-append", "-nln", "landmarks", plain, more)
	viewing(t, plain, func(b *book.Book) {
		s, err := b.Site()
		require.NoError(t, err)
		require.Len(t, s.Landmarks, 2)
		require.Equal(t, s.Landmarks[0].Points, s.Landmarks[1].Points)
		faults, err := b.Check(context.Background(), nil)
		require.NoError(t, err)
		require.NotEmpty(t, faults)
		for _, f := range faults {
			require.Contains(t, f.What, "was changed by another program, or is damaged")
		}
	})
	writing(t, plain, func(b *book.Book) {
		require.NoError(t, b.Set("coil", "28cm"))
		requireSound(t, b)
	})
	viewing(t, plain, func(b *book.Book) { requireSound(t, b) })
}
