package site_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// strip lies within field.
const strip = `[[9.0005,48.0005],[9.001,48.0005],[9.001,48.001],[9.0005,48.001],[9.0005,48.0005]]`

var stripOuter = []grid.LonLat{
	{Lon: 9.0005, Lat: 48.0005}, {Lon: 9.001, Lat: 48.0005}, {Lon: 9.001, Lat: 48.001}, {Lon: 9.0005, Lat: 48.001},
}

func TestReadLaidOut(t *testing.T) {
	for name, c := range map[string]struct {
		props string
		want  site.LaidOut
	}{
		"numbers": {`{"role":"laid-out","name":"east strip","spacing":1.4,"direction":12.5,"session":"walk2.gpx"}`,
			site.LaidOut{Area: site.Area{Name: "east strip"}, SpacingM: 1.4, DirectionDeg: 12.5, Session: "walk2.gpx"}},
		"texts with units, any case": {`{"Role":"Laid Out","Spacing":"1.4 m","Direction":"180°"}`,
			site.LaidOut{SpacingM: 1.4, DirectionDeg: 180}},
		"direction 0": {`{"role":"laid_out","spacing":"2","direction":0}`, site.LaidOut{SpacingM: 2}},
	} {
		t.Run(name, func(t *testing.T) {
			s := read(t, collection(feature(`null`, polygon(field)), feature(c.props, polygon(strip))))
			c.want.Outer = stripOuter
			require.Equal(t, []site.LaidOut{c.want}, s.LaidOut)
			require.Len(t, s.Boundary, 1)

			var out bytes.Buffer
			require.NoError(t, s.WriteGeoJSON(&out))
			require.Equal(t, s.LaidOut, read(t, out.String()).LaidOut)
		})
	}
}

func TestReadLaidOutFromKML(t *testing.T) {
	s := read(t, `<kml xmlns="http://www.opengis.net/kml/2.2"><Document>
<Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>9,48 9.002,48 9.002,48.002 9,48.002 9,48</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>
<Placemark><ExtendedData><Data name="role"><value>laid-out</value></Data><Data name="spacing"><value>1.5m</value></Data>
<Data name="direction"><value>90</value></Data></ExtendedData><Polygon><outerBoundaryIs><LinearRing><coordinates>
9.0005,48.0005 9.001,48.0005 9.001,48.001 9.0005,48.001 9.0005,48.0005</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></Document></kml>`)
	require.Equal(t, []site.LaidOut{{Area: site.Area{Outer: stripOuter}, SpacingM: 1.5, DirectionDeg: 90}}, s.LaidOut)
}

func TestLaidOutFaults(t *testing.T) {
	const ok = `"role":"laid-out","spacing":1.4,"direction":90`
	for name, c := range map[string]struct{ feature, want string }{
		"no spacing":       {feature(`{"role":"laid-out","direction":90}`, polygon(strip)), `dir/site.geojson: feature 2: laid-out ground without spacing`},
		"null spacing":     {feature(`{"role":"laid-out","spacing":null,"direction":90}`, polygon(strip)), `dir/site.geojson: feature 2: laid-out ground without spacing`},
		"spacing in words": {feature(`{"role":"laid-out","name":"N","spacing":"wide","direction":90}`, polygon(strip)), `dir/site.geojson: feature 2 "N": spacing "wide" is not a number with or without "m"`},
		"spacing in feet":  {feature(`{"role":"laid-out","spacing":"4ft","direction":90}`, polygon(strip)), `dir/site.geojson: feature 2: spacing "4ft" is not a number with or without "m"`},
		"spacing 0":        {feature(`{"role":"laid-out","spacing":0,"direction":90}`, polygon(strip)), `dir/site.geojson: feature 2: spacing 0 outside [0.1, 20] m`},
		"spacing NaN":      {feature(`{"role":"laid-out","spacing":"NaN","direction":90}`, polygon(strip)), `dir/site.geojson: feature 2: spacing NaN outside [0.1, 20] m`},
		"spacing huge":     {feature(`{"role":"laid-out","spacing":"1e999","direction":90}`, polygon(strip)), `dir/site.geojson: feature 2: spacing +Inf outside [0.1, 20] m`},
		"no direction":     {feature(`{"role":"laid-out","spacing":1.4}`, polygon(strip)), `dir/site.geojson: feature 2: laid-out ground without direction`},
		"direction 270":    {feature(`{"role":"laid-out","spacing":1.4,"direction":270}`, polygon(strip)), `dir/site.geojson: feature 2: direction 270 outside [0, 180] degrees from true north`},
		"a line":           {feature(`{`+ok+`}`, `{"type":"LineString","coordinates":[[9,48],[9.001,48]]}`), `dir/site.geojson: feature 2: role "laidout" needs a polygon`},
		"crosses itself": {feature(`{`+ok+`,"name":"bow"}`, polygon(`[[9,48],[9.001,48.001],[9.001,48],[9,48.001],[9,48]]`)),
			`dir/site.geojson: laid-out ground "bow": outer ring crosses itself at 9.000500,48.000500`},
		"far away": {feature(`{`+ok+`}`, polygon(`[[9,49],[9.001,49],[9,49.001],[9,49]]`)),
			`dir/site.geojson: laid-out ground reaches over 30 km from the boundary's middle; cut it to the site`},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := site.Read(strings.NewReader(collection(feature(`null`, polygon(field)), c.feature)), "dir/site.geojson")
			require.EqualError(t, err, c.want)
		})
	}
}

func TestLaidOutOf(t *testing.T) {
	for name, c := range map[string]struct {
		session string
		want    bool
	}{
		"any":                        {"", true},
		"name":                       {"second visit", true},
		"other case, spaces round":   {" Second Visit ", true},
		"file":                       {"tracks/walk2.gpx.gz", true},
		"last part of the path":      {"walk2.gpx.gz", true},
		"without extension":          {"walk2", true},
		"another":                    {"walk1", false},
		"beginning of the name only": {"second", false},
	} {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, c.want, site.LaidOut{Session: c.session}.Of("Second visit", `tracks\walk2.gpx.gz`))
		})
	}
}

// A proposal pasted into a site file reads back as the same lanes.
func TestProposal(t *testing.T) {
	f, err := grid.NewFrame(grid.LonLat{Lon: 9.001, Lat: 48.001})
	require.NoError(t, err)
	b := track.LaneBlock{
		Lanes: 20, SpacingM: 1.4049, DirectionDeg: 179.97,
		Corners: [4]grid.XY{{X: -20, Y: -15}, {X: 8, Y: -15}, {X: 8, Y: 15}, {X: -20, Y: 15}},
	}
	text, err := site.Proposal(b, f, "walk2.gpx").Feature()
	require.NoError(t, err)
	s := read(t, collection(feature(`null`, polygon(field)), string(text)))
	require.Len(t, s.LaidOut, 1)
	require.Equal(t, site.LaidOut{Area: site.Area{Name: "20 lanes", Outer: s.LaidOut[0].Outer}, SpacingM: 1.4, Session: "walk2.gpx"}, s.LaidOut[0])
	local := s.Local(f).LaidOut[0]
	require.Len(t, local.Polygon.Outer, 4)
	for i, q := range local.Polygon.Outer {
		require.Less(t, math.Hypot(q.X-b.Corners[i].X, q.Y-b.Corners[i].Y), 2e-3, "corners are written to about 1 mm")
	}
}

func TestLocalMarks(t *testing.T) {
	s := read(t, collection(feature(`null`, polygon(field)),
		feature(`{"role":"mark","name":"post"}`, `{"type":"Point","coordinates":[9.001,48.001]}`),
		feature(`{"role":"mark","name":"wall"}`, `{"type":"LineString","coordinates":[[9,48],[9.001,48.001]]}`),
		feature(`{"name":"well"}`, `{"type":"Point","coordinates":[9.001,48.001]}`)))
	f, err := s.Frame()
	require.NoError(t, err)
	marks := s.Local(f).Marks()
	require.Len(t, marks, 1)
	require.Equal(t, track.MarkAt{Name: "post", XY: f.ToXY(grid.LonLat{Lon: 9.001, Lat: 48.001})}, marks[0])
}
