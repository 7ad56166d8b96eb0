package backdrop

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
)

// gdal runs a program of GDAL (Debian gdal-bin).
func gdal(t testing.TB, name string, args ...string) {
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
	require.NoError(t, c.Run(), complaints.String())
}

// translated is what gdal_translate makes of a file.
func translated(t testing.TB, from string, args ...string) []byte {
	t.Helper()
	to := filepath.Join(t.TempDir(), "out.tif")
	gdal(t, "gdal_translate", append(append([]string{"-q"}, args...), from, to)...)
	data, err := os.ReadFile(to)
	require.NoError(t, err)
	return data
}

// translatedAll is translated for two files or more in one run, which saves starting the
// program for each: to it they are the parts of one file.
func translatedAll(t testing.TB, from []string, args ...string) (out [][]byte) {
	t.Helper()
	var parts strings.Builder
	for i, path := range from {
		fmt.Fprintf(&parts, `<MDI key="SUBDATASET_%d_NAME">%s</MDI><MDI key="SUBDATASET_%d_DESC">x</MDI>`, i+1, path, i+1)
	}
	whole := inFile(t, "whole.vrt", []byte(`<VRTDataset rasterXSize="1" rasterYSize="1"><Metadata domain="SUBDATASETS">`+parts.String()+
		`</Metadata><VRTRasterBand dataType="Byte" band="1"/></VRTDataset>`))
	dir := t.TempDir()
	gdal(t, "gdal_translate", append(append([]string{"-q", "-sds"}, args...), whole, filepath.Join(dir, "out.tif"))...)
	names, err := filepath.Glob(filepath.Join(dir, "out_*.tif")) // numbered in as many digits as it takes
	require.NoError(t, err)
	require.Len(t, names, len(from))
	for _, name := range names {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		out = append(out, data)
	}
	return out
}

// requireNear holds that two positions are at most that many metres apart.
func requireNear(t testing.TB, want, got grid.LonLat, withinM float64) {
	t.Helper()
	f, err := grid.NewFrame(want)
	require.NoError(t, err)
	q := f.ToXY(got)
	require.InDelta(t, 0, q.X, withinM, "%v, want %v", got, want)
	require.InDelta(t, 0, q.Y, withinM, "%v, want %v", got, want)
}

// spots is a picture each of whose pixels differs from those round it.
func spots(width, height int) *image.NRGBA {
	m := image.NewNRGBA(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			m.SetNRGBA(x, y, color.NRGBA{uint8(7*x + y), uint8(40 + 3*x*y), uint8(x ^ 5*y), 255})
		}
	}
	return m
}

func pngOf(t testing.TB, m image.Image) []byte {
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, m))
	return b.Bytes()
}

// inFile writes data to a file of its own.
func inFile(t testing.TB, name string, data []byte) string {
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, data, 0o600))
	return path
}

// requireSame holds that two pictures are alike to the pixel, or within so many levels.
func requireSame(t testing.TB, want, got image.Image, within int) {
	t.Helper()
	require.Equal(t, want.Bounds(), got.Bounds())
	for y := range want.Bounds().Dy() {
		for x := range want.Bounds().Dx() {
			a, b := color.NRGBAModel.Convert(want.At(x, y)).(color.NRGBA), color.NRGBAModel.Convert(got.At(x, y)).(color.NRGBA)
			for _, d := range []int{int(a.R) - int(b.R), int(a.G) - int(b.G), int(a.B) - int(b.B), int(a.A) - int(b.A)} {
				if d > within || -d > within {
					t.Fatalf("pixel %d, %d: %v, want %v", x, y, b, a)
				}
			}
		}
	}
}
