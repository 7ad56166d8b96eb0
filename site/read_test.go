package site_test

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/unicode"

	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

const shared = "../../shared/data/"

// field is a square of 0.002 degree near the invented site of these tests.
const field = `[[9,48],[9.002,48],[9.002,48.002],[9,48.002],[9,48]]`

func polygon(rings ...string) string {
	return `{"type":"Polygon","coordinates":[` + strings.Join(rings, ",") + `]}`
}

func feature(props, geometry string) string {
	return `{"type":"Feature","properties":` + props + `,"geometry":` + geometry + `}`
}

func collection(features ...string) string {
	return `{"type":"FeatureCollection","features":[` + strings.Join(features, ",") + `]}`
}

func read(t *testing.T, text string) *site.Site {
	t.Helper()
	s, err := site.Read(strings.NewReader(text), "dir/site.geojson")
	require.NoError(t, err)
	return s
}

func sharedFile(t *testing.T, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(shared, filepath.FromSlash(name)))
	if err != nil {
		t.Skip("shared test data not here: " + name)
	}
	return b
}

func TestReadGeoJSONRoles(t *testing.T) {
	s := read(t, `{"type":"FeatureCollection","name":"Mill Meadow","features":[`+strings.Join([]string{
		feature(`{"name":"north"}`, polygon(field)),
		feature(`{"role":"Keep-Out","Name":"pond"}`, `{"type":"MultiPolygon","coordinates":[
			[[[9.0001,48.0001],[9.0002,48.0001],[9.0002,48.0002],[9.0001,48.0001]]],
			[[[9.0003,48.0001],[9.0004,48.0001],[9.0004,48.0002],[9.0003,48.0001]]]]}`),
		feature(`{"name":7,"kind":"well"}`, `{"type":"Point","coordinates":[9.001,48.001,431.5]}`),
		feature(`{"role":"MARK","name":"post"}`, `{"type":"Point","coordinates":[9.0015,48.001]}`),
		feature(`{"name":"wall"}`, `{"type":"LineString","coordinates":[[9,48],[9.001,48.001]]}`),
		feature(`{"role":"landmark","name":"heap"}`, polygon(`[[9.001,48],[9.0012,48],[9.001,48.0002],[9.001,48]]`)),
		feature(`null`, `null`),
	}, ",")+`]}`)
	require.Equal(t, "Mill Meadow", s.Name)
	require.Equal(t, []site.Area{{Name: "north", Outer: []grid.LonLat{
		{Lon: 9, Lat: 48}, {Lon: 9.002, Lat: 48}, {Lon: 9.002, Lat: 48.002}, {Lon: 9, Lat: 48.002},
	}}}, s.Boundary)
	require.Len(t, s.Keepouts, 2)
	require.Equal(t, "pond", s.Keepouts[1].Name)
	require.Equal(t, []site.Landmark{
		{Name: "7", Kind: "well", Points: []grid.LonLat{{Lon: 9.001, Lat: 48.001}}},
		{Name: "post", Mark: true, Points: []grid.LonLat{{Lon: 9.0015, Lat: 48.001}}},
		{Name: "wall", Shape: site.LineShape, Points: []grid.LonLat{{Lon: 9, Lat: 48}, {Lon: 9.001, Lat: 48.001}}},
		{Name: "heap", Shape: site.AreaShape, Points: []grid.LonLat{
			{Lon: 9.001, Lat: 48}, {Lon: 9.0012, Lat: 48}, {Lon: 9.001, Lat: 48.0002},
		}},
	}, s.Landmarks)
	require.Equal(t, []track.Note{{
		Kind: site.NoteNoGeometry, Count: 1, Example: "dir/site.geojson: feature 7: no geometry",
	}}, s.Notes.List())
}

func TestReadGeoJSONForms(t *testing.T) {
	multi := `{"type":"MultiPolygon","coordinates":[[` + field + `],[` + field + `]]}`
	for name, c := range map[string]struct {
		text     string
		boundary int
		siteName string
	}{
		"bare polygon":         {polygon(field), 1, "site"},
		"bare multipolygon":    {multi, 2, "site"},
		"bare collection":      {`{"type":"GeometryCollection","geometries":[` + multi + `,{"type":"MultiPoint","coordinates":[[9,48]]}]}`, 2, "site"},
		"feature":              {feature(`{"name":"east"}`, polygon(field)), 1, "east"},
		"feature without name": {feature(`null`, polygon(field)), 1, "site"},
		"crs WGS 84": {strings.Replace(polygon(field), `{`,
			`{"crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:OGC:1.3:CRS84"}},`, 1), 1, "site"},
		"crs EPSG":  {strings.Replace(polygon(field), `{`, `{"crs":{"type":"name","properties":{"name":"EPSG:4326"}},`, 1), 1, "site"},
		"crs null":  {strings.Replace(polygon(field), `{`, `{"crs":null,`, 1), 1, "site"},
		"clockwise": {polygon(`[[9,48],[9,48.002],[9.002,48.002],[9.002,48],[9,48]]`), 1, "site"},
		"hole of either winding": {polygon(field,
			`[[9.0005,48.0005],[9.001,48.0005],[9.001,48.001],[9.0005,48.0005]]`), 1, "site"},
		"hole touching the outer ring": {polygon(field,
			`[[9,48.001],[9.001,48.0005],[9.001,48.001],[9,48.001]]`), 1, "site"},
		"repeated vertices": {polygon(`[[9,48],[9,48],[9.002,48],[9.002,48.002],[9.002,48.002],[9,48],[9,48]]`), 1, "site"},
	} {
		t.Run(name, func(t *testing.T) {
			s := read(t, c.text)
			require.Len(t, s.Boundary, c.boundary)
			require.Equal(t, c.siteName, s.Name)
			require.Empty(t, s.Notes.List())
		})
	}
}

func TestReadTakesEncodings(t *testing.T) {
	text := collection(feature(`{"name":"Wörth"}`, polygon(field)))
	utf16 := func(e unicode.Endianness, bom unicode.BOMPolicy) string {
		s, err := unicode.UTF16(e, bom).NewEncoder().String(text)
		require.NoError(t, err)
		return s
	}
	var zipped bytes.Buffer
	z := gzip.NewWriter(&zipped)
	_, _ = z.Write([]byte(text))
	require.NoError(t, z.Close())
	for name, in := range map[string]string{
		"plain":              text,
		"byte order mark":    "\ufeff" + text,
		"leading space":      " \r\n\t" + text + "\n",
		"UTF-16 LE":          utf16(unicode.LittleEndian, unicode.UseBOM),
		"UTF-16 BE":          utf16(unicode.BigEndian, unicode.UseBOM),
		"UTF-16 LE unmarked": utf16(unicode.LittleEndian, unicode.IgnoreBOM),
		"UTF-16 BE unmarked": utf16(unicode.BigEndian, unicode.IgnoreBOM),
		"gzip":               zipped.String(),
	} {
		t.Run(name, func(t *testing.T) { require.Equal(t, "Wörth", read(t, in).Boundary[0].Name) })
	}
}

func TestReadNotes(t *testing.T) {
	for name, c := range map[string]struct {
		text, example string
		kind          track.NoteKind
	}{
		"unclosed": {polygon(`[[9,48],[9.002,48],[9.002,48.002],[9,48.002]]`),
			"site.geojson: outer ring does not end where it starts; closed", site.NoteUnclosedRing},
		"keep-out outside": {collection(feature(`{}`, polygon(field)),
			feature(`{"role":"keepout","name":"quarry"}`, polygon(`[[9.01,48],[9.02,48],[9.02,48.01],[9.01,48]]`))),
			`site.geojson: keep-out "quarry" lies outside the boundary`, site.NoteKeepoutOutside},
		"keep-out in a hole": {collection(
			feature(`{}`, polygon(field, `[[9.0002,48.0002],[9.0002,48.001],[9.001,48.001],[9.001,48.0002],[9.0002,48.0002]]`)),
			feature(`{"role":"keepout"}`, polygon(`[[9.0004,48.0004],[9.0006,48.0004],[9.0006,48.0006],[9.0004,48.0004]]`))),
			`site.geojson: keep-out lies outside the boundary`, site.NoteKeepoutOutside},
		"far landmark": {collection(feature(`{}`, polygon(field)),
			feature(`{"name":"tower"}`, `{"type":"Point","coordinates":[0,0]}`)),
			`site.geojson: landmark "tower" at 0.000000,0.000000 is over 30 km from the boundary's middle`, site.NoteLandmarkFar},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := site.Read(strings.NewReader(c.text), "site.geojson")
			require.NoError(t, err)
			require.Equal(t, []track.Note{{Kind: c.kind, Count: 1, Example: c.example}}, s.Notes.List())
			require.Len(t, s.Boundary[0].Outer, 4)
			require.Empty(t, s.Landmarks)
		})
	}
}

func TestKeepoutsThatCountAreNotNoted(t *testing.T) {
	for name, ring := range map[string]string{
		"inside":            `[[9.0004,48.0004],[9.0006,48.0004],[9.0006,48.0006],[9.0004,48.0004]]`,
		"around all of it":  `[[8.9,47.9],[9.1,47.9],[9.1,48.1],[8.9,48.1],[8.9,47.9]]`,
		"across, no vertex": `[[8.999,48.001],[9.003,48.001],[9.003,48.0011],[8.999,48.0011],[8.999,48.001]]`,
	} {
		t.Run(name, func(t *testing.T) {
			s := read(t, collection(feature(`{}`, polygon(field)), feature(`{"role":"keepout"}`, polygon(ring))))
			require.Empty(t, s.Notes.List())
		})
	}
}

// TestRFC7946 holds the worked shapes of RFC 7946 appendix A (A.3 and A.6, as
// quoted by public implementations' documentation), scaled by 1/100 because a
// degree is more than a site may span. Section 3.1.6: parsers should not refuse
// rings for their winding.
func TestRFC7946(t *testing.T) {
	const outer = `[[1.000,0.000],[1.010,0.000],[1.010,0.010],[1.000,0.010],[1.000,0.000]]`
	t.Run("A.3 without holes", func(t *testing.T) {
		require.Equal(t, []grid.LonLat{{Lon: 1}, {Lon: 1.01}, {Lon: 1.01, Lat: 0.01}, {Lon: 1, Lat: 0.01}},
			read(t, polygon(outer)).Boundary[0].Outer)
	})
	t.Run("A.3 with holes", func(t *testing.T) {
		s := read(t, polygon(outer, `[[1.008,0.008],[1.008,0.002],[1.002,0.002],[1.002,0.008],[1.008,0.008]]`))
		require.Equal(t, [][]grid.LonLat{{
			{Lon: 1.008, Lat: 0.008}, {Lon: 1.008, Lat: 0.002}, {Lon: 1.002, Lat: 0.002}, {Lon: 1.002, Lat: 0.008},
		}}, s.Boundary[0].Holes)
	})
	t.Run("A.6 MultiPolygon", func(t *testing.T) {
		s := read(t, `{"type":"MultiPolygon","coordinates":[
			[[[1.02,0.02],[1.03,0.02],[1.03,0.03],[1.02,0.03],[1.02,0.02]]],
			[`+outer+`,[[1.002,0.002],[1.002,0.008],[1.008,0.008],[1.008,0.002],[1.002,0.002]]]]}`)
		require.Len(t, s.Boundary, 2)
		require.Len(t, s.Boundary[1].Holes, 1)
	})
	t.Run("unscaled is too wide", func(t *testing.T) {
		_, err := site.Read(strings.NewReader(polygon(`[[100,0],[101,0],[101,1],[100,1],[100,0]]`)), "a.json")
		require.ErrorIs(t, err, grid.ErrTooWide)
	})
}

func TestReadBadInput(t *testing.T) {
	deep := strings.Repeat(`{"type":"GeometryCollection","geometries":[`, 20_000)
	for name, c := range map[string]struct{ text, want string }{
		"empty file":      {"", "x: the file is empty"},
		"only space":      {" \n", "x: the file is empty"},
		"text":            {"hello", `x: not GeoJSON, KML or GPX: starts with "hello"`},
		"web page":        {"<!DOCTYPE html><html><body>Not found<br></body></html>", "x: this is a web page, not GeoJSON, KML or GPX"},
		"web page, plain": {"<html><p>404", "x: this is a web page, not GeoJSON, KML or GPX"},
		"other XML":       {"<svg/>", "x: not KML or GPX: XML of <svg>"},
		"broken XML":      {"<<", "x: not GeoJSON, KML or GPX: damaged XML"},
		"damaged gzip":    {"\x1f\x8b\x08\x00", "x: damaged gzip"},
		"truncated":       {"{\n\"type\":\"Polygon\",\n\"coordinates\":[[[9,4", "x:3: cut short: unexpected end of JSON input"},
		"NaN":             {"{\"type\":\n\"Polygon\",\"coordinates\":[[[NaN,48]]]}", "x:2: not JSON: invalid character 'N'"},
		"deep nesting":    {deep, "x:1: not JSON: invalid character '{' exceeded max depth"},
		"array":           {"[1]", `x: not GeoJSON, KML or GPX: starts with "[1]"`},
		"wrong json":      {`{"type":5}`, `x:1: "type" cannot be of type number`},
		"no type":         {`{}`, `x: type "" is not of GeoJSON`},
		"topology":        {`{"type":"Topology"}`, `x: type "Topology" is not of GeoJSON`},
		"no features":     {collection(), "x: collection without features"},
		"null feature":    {collection("null"), "x: feature 1: not of type Feature"},
		"null geometry":   {`{"type":"GeometryCollection","geometries":[null]}`, "x: null among geometries"},
		"no boundary": {collection(feature(`{}`, `{"type":"Point","coordinates":[9,48]}`)),
			"x: no boundary: no polygon has that role"},
		"role":            {collection(feature(`{"role":"moat","name":"a%d"}`, polygon(field))), `x: feature 1 "a%d": role "moat" is not boundary, keepout, landmark, mark, laid-out or slow`},
		"role of a point": {feature(`{"role":"keepout"}`, `{"type":"Point","coordinates":[9,48]}`), `x: feature: role "keepout" needs a polygon`},
		"metres": {collection(feature(`{"name":"a"}`, polygon(field)), feature(`{"name":"b"}`, polygon(`[[501200.5,5411935],[501300,5411935],[501300,5412000]]`))),
			`x: feature 2 "b": outer ring: vertex 1: latitude 5411935 outside [-90, 90]; are these metres? the file must be in longitude, latitude`},
		"swapped": {polygon(`[[9,48],[48,99],[9,48.1]]`),
			"x: outer ring: vertex 2: latitude 99 outside [-90, 90]; are longitude and latitude swapped?"},
		"longitude":         {polygon(`[[180.5,48],[180.6,48],[180.6,48.1]]`), "x: outer ring: vertex 1: longitude 180.5 outside [-180, 180]; past 180 it is written -179.5"},
		"rounded longitude": {polygon(`[[180.00030000000001,48],[180.6,48],[180.6,48.1]]`), "x: outer ring: vertex 1: longitude 180.0003 outside [-180, 180]; past 180 it is written -179.9997"},
		"barely past 180":   {polygon(`[[180.0000001,48],[180.6,48],[180.6,48.1]]`), "x: outer ring: vertex 1: longitude 180.0000001 outside [-180, 180]; past 180 it is written -180"},
		"null coordinate":   {polygon(`[[9,48],[null,48],[9,48.1]]`), "x: position [null,48] is not [longitude, latitude]"},
		"one coordinate":    {polygon(`[[9],[9,48],[9,48.1]]`), "x: position [9] is not [longitude, latitude]"},
		"text coordinate":   {polygon(`[["9","48"],[9,48],[9,48.1]]`), `x: position ["9","48"] is not [longitude, latitude]`},
		"huge number":       {polygon(`[[1e999,48],[9,48],[9,48.1]]`), "x: position [1e999,48] is not [longitude, latitude]"},
		"null position":     {polygon(`[null,[9,48],[9,48.1]]`), "x: position null is not [longitude, latitude]"},
		"nested too little": {`{"type":"Polygon","coordinates":` + field + `}`, "x: position 9 is not [longitude, latitude]"},
		"nested too much":   {`{"type":"Point","coordinates":` + field + `}`, "x: position [[9,48],[9.002,48],[9.002,48.002],[9,48.002],[9,48]] is not [longitude, latitude]"},
		"not nested":        {`{"type":"Polygon","coordinates":7}`, "x: coordinates not nested as those of a Polygon"},
		"no coordinates":    {`{"type":"Polygon"}`, "x: Polygon without coordinates"},
		"no rings":          {polygon(), "x: polygon without rings"},
		"two vertices":      {polygon(`[[9,48],[9.1,48],[9,48],[9.1,48],[9,48]]`), "x: outer ring: 2 distinct vertices, needs 3"},
		"empty ring":        {polygon(field, `[]`), "x: hole 1: 0 distinct vertices, needs 3"},
		"short line":        {feature(`{}`, `{"type":"LineString","coordinates":[[9,48]]}`), "x: feature: line of 1 vertices, needs 2"},
		"crs": {strings.Replace(polygon(field), `{`, `{"crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::25832"}},`, 1),
			`x: crs "urn:ogc:def:crs:EPSG::25832" is not WGS 84 longitude, latitude`},
		"crs link": {strings.Replace(polygon(field), `{`, `{"crs":{"type":"link"},`, 1), `x: crs {"type":"link"} is not WGS 84 longitude, latitude`},
		"crs of a feature": {collection(strings.Replace(feature(`{}`, polygon(field)), `{`, `{"crs":{"properties":{"name":"EPSG:3857"}},`, 1)),
			`x: feature 1: crs "EPSG:3857" is not WGS 84 longitude, latitude`},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := site.Read(strings.NewReader(c.text), "x")
			require.Nil(t, s)
			require.ErrorContains(t, err, c.want)
			require.True(t, strings.HasPrefix(err.Error(), c.want), err.Error())
		})
	}
}

func TestReadSizeCap(t *testing.T) {
	var zipped bytes.Buffer
	z := gzip.NewWriter(&zipped)
	for range 17 {
		_, _ = z.Write(make([]byte, 1<<20))
	}
	require.NoError(t, z.Close())
	_, err := site.Read(&zipped, "bomb.gz")
	require.EqualError(t, err, "bomb.gz: gzip: larger than 16 MB, too large for a site file")
}

func TestReadSharedBoundaries(t *testing.T) {
	const dir = "walks/plant-search/"
	s, err := site.Read(bytes.NewReader(sharedFile(t, dir+"Bellhouse_Park.geojson")), "Bellhouse_Park.geojson")
	require.NoError(t, err)
	require.Equal(t, "Bellhouse_Park", s.Name)
	require.Len(t, s.Boundary[0].Outer, 4)
	// About 366 m by 311 m: on the WGS 84 ellipsoid a degree at latitude 48.8726
	// is 73.38 km of parallel and 111.21 km of meridian (series of the ellipsoid,
	// from memory), so 0.005 by 0.0028 degree.
	f, err := s.Frame()
	require.NoError(t, err)
	require.InDelta(t, 366.9*311.4, s.Local(f).Boundary[0].Area(), 120)

	// This one's outline is some 20 km east-west.
	_, err = site.Read(bytes.NewReader(sharedFile(t, dir+"Galiano_Fine_Boundary.geojson")), "g")
	require.ErrorIs(t, err, grid.ErrTooWide)
}

func TestReadKML(t *testing.T) {
	const coords = "9,48,0 9.002,48,0\n 9.002,48.002,0\t9,48.002,0 9,48,0"
	kml := func(body string) string {
		return `<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>
<name> Mill Meadow </name><Style id="a"><LineStyle/></Style><Folder><name>f</name>` + body + `</Folder></Document></kml>`
	}
	ring := func(c string) string { return "<LinearRing><coordinates>" + c + "</coordinates></LinearRing>" }
	data := func(k, v string) string { return `<Data name="` + k + `"><value>` + v + `</value></Data>` }
	outline := `<Placemark><name>north</name><Polygon><outerBoundaryIs>` + ring(coords) + `</outerBoundaryIs>
<innerBoundaryIs>` + ring("9.0005,48.0005 9.001,48.0005 9.001,48.001 9.0005,48.0005") + `</innerBoundaryIs></Polygon></Placemark>`
	t.Run("all shapes", func(t *testing.T) {
		s, err := site.Read(strings.NewReader(kml(outline+
			`<Placemark><name>pond</name><ExtendedData>`+data("role", "keep-out")+`</ExtendedData><MultiGeometry><Polygon><outerBoundaryIs>`+
			ring("9.0015,48.0005 9.0016,48.0005 9.0016,48.001 9.0015,48.0005")+`</outerBoundaryIs></Polygon></MultiGeometry></Placemark>
<Placemark><name>post</name><ExtendedData><SchemaData><SimpleData name="role">mark</SimpleData><SimpleData name="kind">iron</SimpleData></SchemaData></ExtendedData><Point><coordinates>9.001,48.001,3</coordinates></Point></Placemark>
<Placemark><name>wall</name><LineString><coordinates>9,48 9.001,48.001</coordinates></LineString></Placemark>
<Placemark><name>view</name></Placemark>`)), "a.kml")
		require.NoError(t, err)
		require.Equal(t, "Mill Meadow", s.Name)
		require.Len(t, s.Boundary, 1)
		require.Equal(t, "north", s.Boundary[0].Name)
		require.Len(t, s.Boundary[0].Outer, 4)
		require.Len(t, s.Boundary[0].Holes[0], 3)
		require.Equal(t, "pond", s.Keepouts[0].Name)
		require.Equal(t, []site.Landmark{
			{Name: "post", Kind: "iron", Mark: true, Points: []grid.LonLat{{Lon: 9.001, Lat: 48.001}}},
			{Name: "wall", Shape: site.LineShape, Points: []grid.LonLat{{Lon: 9, Lat: 48}, {Lon: 9.001, Lat: 48.001}}},
		}, s.Landmarks)
		require.Equal(t, []track.Note{{Kind: site.NoteNoGeometry, Count: 1, Example: `a.kml:7: placemark "view": no geometry`}}, s.Notes.List())
	})
	t.Run("latin-1", func(t *testing.T) {
		text := strings.Replace(kml(strings.Replace(outline, "north", "W\xf6rth", 1)), "UTF-8", "ISO-8859-1", 1)
		s, err := site.Read(strings.NewReader(text), "a.kml")
		require.NoError(t, err)
		require.Equal(t, "Wörth", s.Boundary[0].Name)
		require.Empty(t, s.Notes.List())
	})
	t.Run("UTF-16", func(t *testing.T) {
		text, err := unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewEncoder().String(strings.Replace(kml(outline), "UTF-8", "UTF-16", 1))
		require.NoError(t, err)
		_, err = site.Read(strings.NewReader(text), "a.kml")
		require.NoError(t, err)
	})
	t.Run("unknown charset", func(t *testing.T) {
		s, err := site.Read(strings.NewReader(strings.Replace(kml(outline), "UTF-8", "x-runes", 1)), "a.kml")
		require.NoError(t, err)
		require.Equal(t, 1, s.Notes.Count(track.NoteCharset))
	})
	for name, c := range map[string]struct{ text, want string }{
		"truncated":      {kml(outline)[:400], "a.kml:4: cut short: the file ends within an element"},
		"bad tuple":      {kml(strings.Replace(outline, "9.002,48,0", "9.002", 1)), `a.kml:2: placemark "north": position "9.002" is not longitude,latitude`},
		"NaN":            {kml(strings.Replace(outline, "9.002,48,0", "NaN,48", 1)), `a.kml:2: placemark "north": position "NaN,48" is not longitude,latitude`},
		"metres":         {kml(strings.Replace(outline, "9,48,0", "9,5400000", 1)), `a.kml:2: placemark "north": outer ring: vertex 1: latitude 5400000 outside [-90, 90]; are these metres?`},
		"role":           {kml(strings.Replace(outline, "<Polygon>", "<ExtendedData>"+data("role", "moat")+"</ExtendedData><Polygon>", 1)), `a.kml:2: placemark "north": role "moat" is not`},
		"no polygon":     {kml(""), "a.kml: no boundary: no polygon has that role"},
		"no outer ring":  {kml("<Placemark><Polygon/></Placemark>"), "a.kml:2: placemark: polygon with 0 outer rings, needs 1"},
		"two roots":      {"<kml/><name/>", "a.kml: no boundary"},
		"entity bomb":    {`<!DOCTYPE kml [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><kml><Document><name>&b;</name></Document></kml>`, "a.kml:1: not XML: invalid character entity &b;"},
		"nested deep":    {"<kml>" + strings.Repeat("<Folder>", 100_000), "a.kml:1: elements nested more than 1000 deep"},
		"nested deep in": {"<kml><Placemark>" + strings.Repeat("<MultiGeometry>", 100_000), "a.kml:1: "},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := site.Read(strings.NewReader(c.text), "a.kml")
			require.ErrorContains(t, err, c.want)
		})
	}
}

func gpx(body string) string {
	return `<?xml version="1.0"?><gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">` + body + `</gpx>`
}

func points(tag string, lonLats ...float64) string {
	var b strings.Builder
	for i := 0; i+1 < len(lonLats); i += 2 {
		fmt.Fprintf(&b, `<%s lat="%.8f" lon="%.8f"/>`, tag, lonLats[i+1], lonLats[i])
	}
	return b.String()
}

func TestReadGPX(t *testing.T) {
	square := []float64{9, 48, 9.002, 48, 9.002, 48.002, 9, 48.002, 9, 48.00005} // ends 5.6 m apart
	open := []float64{9, 48, 9.002, 48, 9.002, 48.002}
	trk := func(name string, ps ...float64) string {
		return "<trk><name>" + name + "</name><trkseg>" + points("trkpt", ps...) + "</trkseg></trk>"
	}
	t.Run("closed track", func(t *testing.T) {
		s, err := site.Read(strings.NewReader(gpx(
			`<wpt lat="48.001" lon="9.001"><name>post</name><type>Mark</type></wpt><wpt lat="48.001" lon="9.0015"><name>oak</name><sym>Tree</sym></wpt><wpt lat="0" lon="0"/>`+
				trk("walk", open...)+trk("edge", square...))), "meadow.gpx")
		require.NoError(t, err)
		require.Equal(t, "edge", s.Name)
		require.Len(t, s.Boundary[0].Outer, 5)
		require.Equal(t, []site.Landmark{
			{Name: "post", Kind: "Mark", Mark: true, Points: []grid.LonLat{{Lon: 9.001, Lat: 48.001}}},
			{Name: "oak", Kind: "Tree", Points: []grid.LonLat{{Lon: 9.0015, Lat: 48.001}}},
		}, s.Landmarks)
		require.Equal(t, 1, s.Notes.Count(track.NoteZeroZero))
	})
	t.Run("route before track", func(t *testing.T) {
		s, err := site.Read(strings.NewReader(gpx("<rte><name>plan</name>"+points("rtept", square...)+"</rte>"+trk("edge", square...))), "a.gpx")
		require.NoError(t, err)
		require.Equal(t, "plan", s.Boundary[0].Name)
	})
	t.Run("knots are cut", func(t *testing.T) {
		// A loop of 10 m on the south side, and the walk's end laid over its start.
		s, err := site.Read(strings.NewReader(gpx(trk("edge", 9, 48, 9.001, 48, 9.00103, 48.00003, 9.00097, 48.00003, 9.00102, 47.9999,
			9.002, 48, 9.002, 48.002, 9, 48.002, 9.00001, 47.99996))), "a.gpx")
		require.NoError(t, err)
		require.Equal(t, 2, s.Notes.Count(site.NoteKnot))
	})
	t.Run("rests are cut", func(t *testing.T) {
		// Once round 149 by 167 m with two minutes' rest on each side; the receiver
		// errs by 1 m at rest and 0.2 m on the move.
		r := rand.New(rand.NewPCG(1, 2))
		var ps []float64
		add := func(x, y, errM float64) {
			ps = append(ps, 9+0.002*x+r.NormFloat64()*errM/74_400, 48+0.0015*y+r.NormFloat64()*errM/111_200)
		}
		for side := range 4 {
			for i := range 150 {
				f := float64(i) / 150
				x, y := []float64{f, 1, 1 - f, 0}[side], []float64{0, f, 1, 1 - f}[side]
				add(x, y, 0.2)
				for k := 0; i == 70 && k < 120; k++ {
					add(x, y, 1)
				}
			}
		}
		s, err := site.Read(strings.NewReader(gpx(trk("edge", ps...))), "a.gpx")
		require.NoError(t, err)
		require.Positive(t, s.Notes.Count(site.NoteKnot))
		f, err := s.Frame()
		require.NoError(t, err)
		require.InDelta(t, 0.002*74_630*0.0015*111_200, s.Local(f).Boundary[0].Area(), 150) // 0.25 m along 630 m
	})
	t.Run("large loops are not", func(t *testing.T) {
		_, err := site.Read(strings.NewReader(gpx(trk("edge", 9, 48, 9.003, 48.003, 9.003, 48, 9, 48.001, 9, 48))), "a.gpx")
		require.EqualError(t, err, `a.gpx: boundary "edge": outer ring crosses itself at 9.000750,48.000750`)
	})
	t.Run("open", func(t *testing.T) {
		_, err := site.Read(strings.NewReader(gpx(trk("walk", open...))), "a.gpx")
		require.EqualError(t, err, `a.gpx: no closed route or track to be the boundary: the ends of "walk" are 268 m apart`)
	})
	t.Run("waypoints only", func(t *testing.T) {
		_, err := site.Read(strings.NewReader(gpx(`<wpt lat="48" lon="9"/>`)), "a.gpx")
		require.EqualError(t, err, `a.gpx: no closed route or track to be the boundary: none has 3 points`)
	})
}
