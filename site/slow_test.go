package site_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/site"
)

func TestReadSlow(t *testing.T) {
	for name, c := range map[string]struct {
		props string
		want  site.Slow
	}{
		"a share":             {`{"role":"slow","name":"thorns","pace":0.5}`, site.Slow{Area: site.Area{Name: "thorns"}, Pace: 0.5}},
		"percent":             {`{"role":"Slow","Pace":"50%"}`, site.Slow{Pace: 0.5}},
		"percent, spaced":     {`{"role":"slow","pace":" 7 % "}`, site.Slow{Pace: 0.07}},
		"a share as text":     {`{"role":"slow","pace":"0.57"}`, site.Slow{Pace: 0.57}},
		"slowest":             {`{"role":"slow","pace":0.05}`, site.Slow{Pace: 0.05}},
		"slowest, in percent": {`{"role":"slow","pace":"5%"}`, site.Slow{Pace: 0.05}},
		"not slow at all":     {`{"role":"slow","pace":"100%"}`, site.Slow{Pace: 1}},
	} {
		t.Run(name, func(t *testing.T) {
			s := read(t, collection(feature(`null`, polygon(field)), feature(c.props, polygon(strip))))
			c.want.Outer = stripOuter
			require.Equal(t, []site.Slow{c.want}, s.Slow)
			require.Len(t, s.Boundary, 1)
			require.Empty(t, s.Keepouts)
			for form, write := range map[string]func(*bytes.Buffer) error{
				"GeoJSON": func(b *bytes.Buffer) error { return s.WriteGeoJSON(b) },
				"KML":     func(b *bytes.Buffer) error { return s.WriteKML(b) },
			} {
				var out bytes.Buffer
				require.NoError(t, write(&out), form)
				require.Equal(t, s.Slow, read(t, out.String()).Slow, form)
			}
		})
	}
}

func TestReadSlowFromKML(t *testing.T) {
	s := read(t, `<kml xmlns="http://www.opengis.net/kml/2.2"><Document>
<Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>9,48 9.002,48 9.002,48.002 9,48.002 9,48</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>
<Placemark><name>bog</name><ExtendedData><Data name="role"><value>slow</value></Data><Data name="pace"><value>25 %</value></Data></ExtendedData>
<Polygon><outerBoundaryIs><LinearRing><coordinates>
9.0005,48.0005 9.001,48.0005 9.001,48.001 9.0005,48.001 9.0005,48.0005</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></Document></kml>`)
	require.Equal(t, []site.Slow{{Area: site.Area{Name: "bog", Outer: stripOuter}, Pace: 0.25}}, s.Slow)
}

// TestWriteSlow: GPX and CSV have the role, for eyes and other programs.
func TestWriteSlow(t *testing.T) {
	s := read(t, collection(feature(`null`, polygon(field)), feature(`{"role":"slow","name":"bog","pace":0.5}`, polygon(strip))))
	var gpx, csv bytes.Buffer
	require.NoError(t, s.WriteGPX(&gpx))
	require.NoError(t, s.WriteCSV(&csv))
	require.Contains(t, gpx.String(), `<rte><name>bog</name><type>slow</type><rtept lat="48.0005" lon="9.0005">`)
	require.Contains(t, csv.String(), `slow,bog,,"POLYGON((9.0005 48.0005,`)
}

func TestSlowFaults(t *testing.T) {
	const ok = `"role":"slow","pace":0.5`
	for name, c := range map[string]struct{ feature, want string }{
		"no pace":       {feature(`{"role":"slow"}`, polygon(strip)), `dir/site.geojson: feature 2: slow ground without pace`},
		"null pace":     {feature(`{"role":"slow","pace":null}`, polygon(strip)), `dir/site.geojson: feature 2: slow ground without pace`},
		"pace in words": {feature(`{"role":"slow","name":"N","pace":"half"}`, polygon(strip)), `dir/site.geojson: feature 2 "N": pace "half" is not a number with or without "%"`},
		"a bare sign":   {feature(`{"role":"slow","pace":"%"}`, polygon(strip)), `dir/site.geojson: feature 2: pace "%" is not a number with or without "%"`},
		"pace 0":        {feature(`{"role":"slow","pace":0}`, polygon(strip)), `dir/site.geojson: feature 2: pace 0 outside [0.05, 1], that is 5% to 100%`},
		"pace 50":       {feature(`{"role":"slow","pace":50}`, polygon(strip)), `dir/site.geojson: feature 2: pace 50 outside [0.05, 1], that is 5% to 100%`},
		"pace 4%":       {feature(`{"role":"slow","pace":"4%"}`, polygon(strip)), `dir/site.geojson: feature 2: pace 0.04 outside [0.05, 1], that is 5% to 100%`},
		"pace NaN":      {feature(`{"role":"slow","pace":"NaN"}`, polygon(strip)), `dir/site.geojson: feature 2: pace NaN outside [0.05, 1], that is 5% to 100%`},
		"pace huge":     {feature(`{"role":"slow","pace":"1e999"}`, polygon(strip)), `dir/site.geojson: feature 2: pace +Inf outside [0.05, 1], that is 5% to 100%`},
		"a line":        {feature(`{`+ok+`}`, `{"type":"LineString","coordinates":[[9,48],[9.001,48]]}`), `dir/site.geojson: feature 2: role "slow" needs a polygon`},
		"crosses itself": {feature(`{`+ok+`,"name":"bow"}`, polygon(`[[9,48],[9.001,48.001],[9.001,48],[9,48.001],[9,48]]`)),
			`dir/site.geojson: slow ground "bow": outer ring crosses itself at 9.000500,48.000500`},
		"far away": {feature(`{`+ok+`}`, polygon(`[[9,49],[9.001,49],[9,49.001],[9,49]]`)),
			`dir/site.geojson: slow ground reaches over 30 km from the boundary's middle; cut it to the site`},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := site.Read(strings.NewReader(collection(feature(`null`, polygon(field)), c.feature)), "dir/site.geojson")
			require.EqualError(t, err, c.want)
		})
	}
}

// TestValidateSlow: a site that was made or edited elsewhere has its paces checked too.
func TestValidateSlow(t *testing.T) {
	s := read(t, collection(feature(`null`, polygon(field)), feature(`{"role":"slow","pace":0.5}`, polygon(strip))))
	s.Slow = append(s.Slow, s.Slow[0])
	require.NoError(t, s.Validate())
	for _, bad := range []float64{0, -1, 1.01, math.NaN()} {
		s.Slow[1].Pace = bad
		require.ErrorContains(t, s.Validate(), "slow ground 2: pace ")
	}
}

func TestLocalSlow(t *testing.T) {
	s := read(t, collection(feature(`null`, polygon(field)), feature(`{"role":"slow","name":"bog","pace":0.5}`, polygon(strip))))
	f, err := s.Frame()
	require.NoError(t, err)
	got := s.Local(f).Slow
	require.Len(t, got, 1)
	require.Equal(t, s.Slow[0], got[0].Slow)
	var want grid.Ring
	for _, p := range stripOuter {
		want = append(want, f.ToXY(p))
	}
	require.Equal(t, grid.Polygon{Outer: want}, got[0].Polygon)
}
