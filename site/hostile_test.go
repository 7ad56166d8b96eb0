package site_test

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/site"
)

// checkSite holds what is true of every site that Read returns.
func checkSite(t *testing.T, s *site.Site) {
	t.Helper()
	require.NoError(t, s.Validate())
	require.NotEmpty(t, s.Boundary)
	f, err := s.Frame()
	require.NoError(t, err)
	l := s.Local(f)
	require.Len(t, l.Boundary, len(s.Boundary))
	require.Len(t, l.Keepouts, len(s.Keepouts))
	require.Len(t, l.Landmarks, len(s.Landmarks))
	for _, p := range append(l.Boundary, l.Keepouts...) {
		require.GreaterOrEqual(t, len(p.Outer), 3)
		for _, q := range p.Outer {
			require.LessOrEqual(t, math.Hypot(q.X, q.Y), 30_000.0)
		}
	}
	for _, m := range s.Landmarks {
		require.NotEmpty(t, m.Points)
	}
	require.NotEqual(t, grid.LonLat{Lon: math.NaN()}, f.Datum())
}

// readAny reads hostile bytes: any answer will do but a panic, a long wait or an
// error without its place.
func readAny(t *testing.T, name string, b []byte) {
	t.Helper()
	start := time.Now()
	s, err := site.Read(bytes.NewReader(b), "h")
	require.Less(t, time.Since(start), 10*time.Second, name)
	if err != nil {
		require.Nil(t, s, name)
		require.True(t, strings.HasPrefix(err.Error(), "h:"), "%s: %v", name, err)
		return
	}
	checkSite(t, s)
}

func TestReadHostileXML(t *testing.T) {
	n := 0
	each := func(name string, b []byte) {
		n++
		readAny(t, name, b)
		readAny(t, name, append([]byte("<kml>"), b...))
		readAny(t, name, append(append([]byte("<kml><Document><Placemark><name>"), b...), "</name></Placemark></Document></kml>"...))
	}
	dir := filepath.Join(filepath.FromSlash(shared), "hostile")
	if _, err := os.Stat(dir); err != nil {
		t.Skip("shared test data not here: hostile")
	}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		require.NoError(t, err)
		if strings.HasSuffix(path, "gz") {
			eachOfTar(t, b, each)
			return nil
		}
		each(path, b)
		return nil
	}))
	t.Log(n, "files, each read three ways")
	require.Greater(t, n, 900)
}

func eachOfTar(t *testing.T, b []byte, each func(string, []byte)) {
	z, err := gzip.NewReader(bytes.NewReader(b))
	require.NoError(t, err)
	in := tar.NewReader(z)
	for {
		h, err := in.Next()
		if errors.Is(err, io.EOF) {
			return
		}
		require.NoError(t, err)
		text, err := io.ReadAll(in)
		require.NoError(t, err)
		each(h.Name, text)
	}
}

func FuzzRead(f *testing.F) {
	for _, seed := range []string{
		polygon(field),
		collection(feature(`{"name":"a"}`, polygon(field)), feature(`{"role":"keepout"}`, polygon(`[[9,48],[9.001,48],[9.001,48.001],[9,48]]`)),
			feature(`{"role":"mark","kind":"k"}`, `{"type":"Point","coordinates":[9.001,48.001]}`)),
		collection(feature(`null`, polygon(field)), feature(`{"role":"slow","pace":"50%"}`, polygon(field)), feature(`{"role":"laid-out","spacing":1,"direction":2}`, polygon(field))),
		`{"type":"GeometryCollection","geometries":[{"type":"MultiPolygon","coordinates":[[` + field + `]]},{"type":"LineString","coordinates":[[9,48],[9.1,48]]}]}`,
		`{"type":"Feature","crs":{"properties":{"name":"EPSG:4326"}},"geometry":{"type":"Polygon","coordinates":[[[179.999,-17],[-179.999,-17],[-179.999,-16.998]]]}}`,
		`<kml><Document><name>d</name><Placemark><name>n</name><ExtendedData><Data name="role"><value>boundary</value></Data></ExtendedData><MultiGeometry><Polygon><outerBoundaryIs><LinearRing><coordinates>9,48 9.002,48 9.002,48.002</coordinates></LinearRing></outerBoundaryIs></Polygon></MultiGeometry></Placemark></Document></kml>`,
		gpx("<trk><trkseg>" + points("trkpt", 9, 48, 9.002, 48, 9.002, 48.002, 9, 48.002, 9, 48) + "</trkseg></trk>" + points("wpt", 9.001, 48.001)),
		"\xff\xfe{\x00}\x00", "\x1f\x8b\x08", "<html>",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		readAny(t, "fuzz", b)
		s, err := site.Read(bytes.NewReader(b), "h")
		if err != nil {
			return
		}
		var out bytes.Buffer
		require.NoError(t, s.WriteGeoJSON(&out))
		back, err := site.Read(&out, "h")
		require.NoError(t, err)
		sameSite(t, s, back)
	})
}

// sameSite holds that two sites agree but for the rings' winding and start and
// 1e-8 degree of rounding.
func sameSite(t *testing.T, a, b *site.Site) {
	t.Helper()
	require.Len(t, b.Boundary, len(a.Boundary))
	require.Len(t, b.Keepouts, len(a.Keepouts))
	require.Len(t, b.Landmarks, len(a.Landmarks))
	for i, m := range a.Landmarks {
		require.Equal(t, m.Name, b.Landmarks[i].Name)
		require.Equal(t, m.Mark, b.Landmarks[i].Mark)
		require.Equal(t, m.Shape, b.Landmarks[i].Shape)
	}
	f, err := a.Frame()
	require.NoError(t, err)
	la, lb := a.Local(f), b.Local(f)
	for i, p := range append(la.Boundary, la.Keepouts...) {
		q := append(lb.Boundary, lb.Keepouts...)[i]
		require.Len(t, q.Holes, len(p.Holes))
		// 1.2 mm of rounding along the whole outline, which is under 1,000 km.
		require.InDelta(t, p.Area(), q.Area(), 0.001+1e-3*girth(p))
	}
}

func girth(p grid.Polygon) (m float64) {
	for _, r := range append([]grid.Ring{p.Outer}, p.Holes...) {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			m += math.Hypot(b.X-a.X, b.Y-a.Y)
		}
	}
	return m
}
