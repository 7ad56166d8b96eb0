package report

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"io"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check/golden"
	"untrod/track"
)

// twoGaps is a result with one gap with a hole and one in two pieces.
func twoGaps(t testing.TB, datum grid.LonLat) *coverage.Result {
	f, err := grid.NewFrame(datum)
	require.NoError(t, err)
	square := func(x, y, side float64) grid.Ring { // clockwise, to be turned
		return grid.Ring{{X: x, Y: y}, {X: x, Y: y + side}, {X: x + side, Y: y + side}, {X: x + side, Y: y}}
	}
	r := &coverage.Result{Frame: f}
	r.Site.Name = "Kettle & Bank <north>"
	at := grid.XY{X: 2, Y: 5}
	r.Gaps = []coverage.Gap{
		{ID: 1, AreaM2: 84.00499, ChanceSwept: 0.123456, UntroddenM2: 60.128, WidestM: 4.2, CentreXY: at, Centre: f.ToLonLat(at),
			Outline: []grid.Polygon{{Outer: square(-5, -5, 10), Holes: []grid.Ring{square(-2, -2, 4)}}}},
		{ID: 2, AreaM2: 8, UntroddenM2: 8, WidestM: 2, CentreXY: grid.XY{X: 21, Y: 1}, Centre: f.ToLonLat(grid.XY{X: 21, Y: 1}),
			Outline: []grid.Polygon{{Outer: square(20, 0, 2)}, {Outer: square(22, 2, 2)}}},
	}
	return r
}

func TestGapsGeoJSONGolden(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, GapsGeoJSON(&b, twoGaps(t, grid.LonLat{Lon: 12.345678, Lat: 51.234567})))
	golden.Bytes(t, "testdata/gaps.geojson", b.Bytes())
}

func readFeatures(t *testing.T, r *coverage.Result) *geojson.FeatureCollection {
	var b bytes.Buffer
	require.NoError(t, GapsGeoJSON(&b, r))
	fc, err := geojson.UnmarshalFeatureCollection(b.Bytes())
	require.NoError(t, err)
	return fc
}

// Rings follow the right-hand rule of RFC 7946 section 3.1.6 and lie where the
// gaps do, to 8 decimals of a degree: 1.1 mm.
func TestGapsGeoJSONRings(t *testing.T) {
	r := twoGaps(t, grid.LonLat{Lon: 12.345678, Lat: 51.234567})
	fc := readFeatures(t, r)
	require.Len(t, fc.Features, 2)
	hole := fc.Features[0].Geometry.(orb.Polygon)
	require.Len(t, hole, 2)
	require.Equal(t, orb.CCW, hole[0].Orientation())
	require.Equal(t, orb.CW, hole[1].Orientation())
	require.Equal(t, hole[0][0], hole[0][len(hole[0])-1])
	require.Len(t, fc.Features[1].Geometry.(orb.MultiPolygon), 2)
	for _, p := range hole[0] {
		q := r.Frame.ToXY(grid.LonLat{Lon: p[0], Lat: p[1]})
		require.InDelta(t, 5, max(math.Abs(q.X), math.Abs(q.Y)), 0.002)
	}
	require.Equal(t, 84.0, fc.Features[0].Properties["area_m2"])
	require.Equal(t, "gap 1", fc.Features[0].Properties["name"])
	require.Equal(t, 0.1235, fc.Features[0].Properties["chance_swept"])
	require.Equal(t, 60.13, fc.Features[0].Properties["untrodden_m2"])
}

// A gap across the 180th meridian is cut there (RFC 7946 section 3.1.9).
func TestGapsGeoJSONAcrossTheMeridian(t *testing.T) {
	for _, lon := range []float64{180, -180, 179.99999, -179.99999} {
		fc := readFeatures(t, twoGaps(t, grid.LonLat{Lon: lon, Lat: -17}))
		mp := fc.Features[0].Geometry.(orb.MultiPolygon)
		require.Len(t, mp, 2)
		for _, p := range mp {
			b := p.Bound()
			require.Less(t, b.Max[0]-b.Min[0], 0.001, "a piece reaches round the globe")
			require.True(t, b.Min[0] >= -180 && b.Max[0] <= 180)
		}
	}
}

func TestNoGaps(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, GapsGeoJSON(&b, &coverage.Result{}))
	require.JSONEq(t, `{"type":"FeatureCollection","features":[]}`, b.String())
	b.Reset()
	require.NoError(t, GapsGPX(&b, &coverage.Result{}, Metric))
	log, err := track.ReadGPX(bytes.NewReader(b.Bytes()), "gaps.gpx")
	require.NoError(t, err)
	require.Empty(t, log.Waypoints)
}

func TestGapsGPXGolden(t *testing.T) {
	r := twoGaps(t, grid.LonLat{Lon: 12.345678, Lat: 51.234567})
	var b bytes.Buffer
	require.NoError(t, GapsGPX(&b, r, Metric))
	golden.Bytes(t, "testdata/gaps.gpx", b.Bytes())
}

func TestGapsGPXTellsTheChance(t *testing.T) {
	r := twoGaps(t, grid.LonLat{Lon: 12.345678, Lat: 51.234567})
	r.Certainty = &coverage.Certainty{}
	var b bytes.Buffer
	require.NoError(t, GapsGPX(&b, r, Metric))
	require.Contains(t, b.String(), "<desc>84 m2, 4.2 m wide, chance swept 12 %</desc>")
	require.Contains(t, b.String(), "<desc>8.0 m2, 2.0 m wide, chance swept 0 %</desc>")
}

// Our own reader takes the file back without a note, and every segment closes.
func TestGapsGPXReadsBack(t *testing.T) {
	r := twoGaps(t, grid.LonLat{Lon: 12.345678, Lat: 51.234567})
	var b bytes.Buffer
	require.NoError(t, GapsGPX(&b, r, Imperial))
	log, err := track.ReadGPX(bytes.NewReader(b.Bytes()), "gaps.gpx")
	require.NoError(t, err)
	for _, n := range log.Notes.List() {
		require.Equal(t, track.NoteNoTimes, n.Kind, n.Example) // outlines have no times
	}
	require.Len(t, log.Waypoints, 2)
	require.Equal(t, "Gap 1", log.Waypoints[0].Name)
	require.Equal(t, "904 sq ft, 14 ft wide", log.Waypoints[0].Desc)
	require.Len(t, log.Tracks, 2)
	for _, tr := range log.Tracks {
		require.Len(t, tr.Segments, 2)
		for _, s := range tr.Segments {
			require.Equal(t, s[0].Pos, s[len(s)-1].Pos)
		}
	}
}

// Children come in the order that the GPX 1.1 schema's sequences fix
// (topografix.com/GPX/1/1/gpx.xsd: gpxType, wptType, trkType).
func TestGapsGPXElementOrder(t *testing.T) {
	order := map[string][]string{
		"gpx":      {"metadata", "wpt", "rte", "trk", "extensions"},
		"metadata": {"name", "desc", "author", "copyright", "link", "time", "keywords", "bounds", "extensions"},
		"wpt":      {"ele", "time", "magvar", "geoidheight", "name", "cmt", "desc", "src", "link", "sym", "type"},
		"trk":      {"name", "cmt", "desc", "src", "link", "number", "type", "extensions", "trkseg"},
		"trkseg":   {"trkpt", "extensions"},
		"trkpt":    {"ele", "time"},
	}
	var b bytes.Buffer
	require.NoError(t, GapsGPX(&b, twoGaps(t, grid.LonLat{Lon: 179.9999999999, Lat: 1}), Metric))
	require.NotContains(t, b.String(), `lon="180"`, "the schema's longitudes end short of 180")
	dec := xml.NewDecoder(&b)
	type level struct {
		name string
		last int
	}
	stack := []*level{{name: ""}}
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			return
		}
		require.NoError(t, err)
		switch e := tok.(type) {
		case xml.StartElement:
			require.Equal(t, gpxNS, e.Name.Space)
			if up := stack[len(stack)-1]; up.name != "" {
				i := slices.Index(order[up.name], e.Name.Local)
				require.GreaterOrEqual(t, i, up.last, "%s in %s", e.Name.Local, up.name)
				up.last = i
			}
			stack = append(stack, &level{name: e.Name.Local})
		case xml.EndElement:
			stack = stack[:len(stack)-1]
		}
	}
}

func TestSummaryGolden(t *testing.T) {
	r := summaryResult(t)
	var b bytes.Buffer
	require.NoError(t, WriteJSON(&b, r))
	golden.Bytes(t, "testdata/summary.json", b.Bytes())
}

func TestSummaryOfUnsureGolden(t *testing.T) {
	r, _ := field().makeUnsure(t)
	var b bytes.Buffer
	require.NoError(t, WriteJSON(&b, r))
	golden.Bytes(t, "testdata/unsure.json", b.Bytes())
}

func summaryResult(t testing.TB) *coverage.Result {
	r, _ := field().make(t)
	r.Notes = oddNotes()
	r.Skipped = []coverage.Skipped{{File: "notes.txt", Err: io.ErrUnexpectedEOF}}
	r.Sessions[1].Start, r.Sessions[1].End = track.NoTime, track.NoTime
	return r
}

func TestSummaryRoundTrip(t *testing.T) {
	roundTrip(t, summaryResult(t))
	r, _ := field().makeUnsure(t)
	roundTrip(t, r)
}

func roundTrip(t *testing.T, r *coverage.Result) {
	var b bytes.Buffer
	require.NoError(t, WriteJSON(&b, r))
	var back SummaryDoc
	dec := json.NewDecoder(bytes.NewReader(b.Bytes()))
	dec.DisallowUnknownFields()
	require.NoError(t, dec.Decode(&back))
	var again bytes.Buffer
	enc := json.NewEncoder(&again)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	require.NoError(t, enc.Encode(back))
	require.Equal(t, b.String(), again.String())
}

// What is not known is null, never NaN, and lists are never null.
func TestSummaryOfUnknowns(t *testing.T) {
	nan := math.NaN()
	r := &coverage.Result{AsLoggedPercent: nan, CoverageFactor: math.Inf(1)}
	r.Settings.CellM = nan
	r.Gaps = []coverage.Gap{{ID: 1, AreaM2: nan, Centre: grid.LonLat{Lon: nan, Lat: nan}}}
	r.Sessions = []coverage.Session{{Start: track.NoTime, End: track.NoTime, RewalkedPercent: -1e-9}}
	var b bytes.Buffer
	require.NoError(t, WriteJSON(&b, r))
	require.True(t, json.Valid(b.Bytes()))
	require.Contains(t, b.String(), `"as_logged_percent": null`)
	require.Contains(t, b.String(), `"start": null`)
	require.Contains(t, b.String(), `"notes": []`)
	require.NotContains(t, b.String(), "-0")
	b.Reset()
	require.NoError(t, WriteJSON(&b, &coverage.Result{}))
	for _, list := range []string{"passes", "sessions", "gaps", "strays", "laid_out", "lane_proposals", "notes"} {
		require.Contains(t, b.String(), `"`+list+`": []`)
	}
	for _, absent := range []string{"at_least_percent", "interval_90_percent", "canopy", "detection", "thoroughness"} {
		require.Contains(t, b.String(), `"`+absent+`": null`)
	}
	require.False(t, strings.Contains(b.String(), "NaN"))
}
