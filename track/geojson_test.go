package track_test

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/track"
)

func readGeoJSON(t *testing.T, text string) *track.Log {
	t.Helper()
	log, err := track.ReadGeoJSON(strings.NewReader(text), "walk.json")
	require.NoError(t, err)
	requireSound(t, log)
	require.Equal(t, "GeoJSON", log.Format)
	return log
}

const twoTimes = `["2031-05-04T08:00:00Z","2031-05-04T08:00:01.5Z"]`

// The forms of RFC 7946 (section 1.5 and appendix A) and of the conversions of GPX
// in use, from memory; the values are invented.
func TestReadGeoJSONForms(t *testing.T) {
	geometry := `{"type":"LineString","coordinates":[[-3.5,47.25,80.5],[-3.25,47.5]]}`
	properties := `{"name":"walk","coordTimes":` + twoTimes + `}`
	feature := `{"type":"Feature","properties":` + properties + `,"geometry":` + geometry + `}`
	timed := []string{"-3.5 47.25 80.5 08:00:00", "-3.25 47.5 - 08:00:01"}
	untimed := []string{"-3.5 47.25 80.5 -", "-3.25 47.5 - -"}
	for name, x := range map[string]struct {
		text   string
		tracks []string
		want   []string
	}{
		"geometry":                 {geometry, []string{":2"}, untimed},
		"coordinates before type":  {`{"coordinates":[[-3.5,47.25,80.5],[-3.25,47.5]],"type":"LineString"}`, []string{":2"}, untimed},
		"feature":                  {feature, []string{"walk:2"}, timed},
		"geometry first":           {`{"geometry":` + geometry + `,"properties":` + properties + `,"type":"Feature"}`, []string{"walk:2"}, timed},
		"collection":               {`{"type":"FeatureCollection","features":[` + feature + `]}`, []string{"walk:2"}, timed},
		"features before type":     {`{"features":[` + feature + `],"type":"FeatureCollection"}`, []string{"walk:2"}, timed},
		"a sequence":               {"\x1e" + feature + "\n\x1e" + geometry + "\n", []string{"walk:2", ":2"}, append(append([]string{}, timed...), untimed...)},
		"byte order mark":          {"\ufeff" + feature, []string{"walk:2"}, timed},
		"without a type":           {`{"features":[{"geometry":` + geometry + `,"properties":` + properties + `}]}`, []string{"walk:2"}, timed},
		"null here and there":      {`{"type":"FeatureCollection","bbox":null,"features":[{"type":"Feature","geometry":null,"properties":null},` + feature + `]}`, []string{"walk:2"}, timed},
		"other members":            {`{"crs":{"a":[1,{"coordinates":[[1,2]]}]},"type":"Feature","id":7,"bbox":[1,2,3,4],"properties":{"name":"walk","coordTimes":` + twoTimes + `,"style":{"name":"no","time":[1]}},"geometry":` + geometry + `}`, []string{"walk:2"}, timed},
		"coordinateProperties":     {`{"type":"Feature","geometry":` + geometry + `,"properties":{"title":"walk","coordinateProperties":{"heart":[1,2],"times":` + twoTimes + `}}}`, []string{"walk:2"}, timed},
		"times":                    {`{"type":"Feature","geometry":` + geometry + `,"properties":{"name":"walk","times":[1935648000,1935648001500]}}`, []string{"walk:2"}, timed},
		"with escapes":             {`{"type":"Feature","geometry":` + geometry + `,"properties":{"n\u0061me":"w\u0061lk","coordTimes":["2031-05-04T08:00:00\u005a","2031-05-04T08:00:01.5Z"]}}`, []string{"walk:2"}, timed},
		"lines, times by line":     {`{"type":"Feature","geometry":{"type":"MultiLineString","coordinates":[[[-3.5,47.25,80.5]],[[-3.25,47.5]]]},"properties":{"coordTimes":[["2031-05-04T08:00:00Z"],["2031-05-04T08:00:01Z"]]}}`, []string{":1", ":1"}, timed},
		"lines, times in one":      {`{"type":"Feature","geometry":{"type":"MultiLineString","coordinates":[[[-3.5,47.25,80.5]],[],[[-3.25,47.5]]]},"properties":{"coordTimes":` + twoTimes + `}}`, []string{":1", ":1"}, timed},
		"line, times in a list":    {`{"type":"Feature","geometry":` + geometry + `,"properties":{"coordTimes":[` + twoTimes + `]}}`, []string{":2"}, timed},
		"geometry collection":      {`{"type":"GeometryCollection","geometries":[` + geometry + `,{"type":"Polygon","coordinates":[[[1,1],[1,2],[2,2],[1,1]]]}]}`, []string{":2"}, untimed},
		"polygons":                 {`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":{"type":"MultiPolygon","coordinates":[[[[1,1],[1,2],[2,2],[1,1]]]]}}]}`, nil, nil},
		"more numbers, and spaces": {"{ \"type\" : \"LineString\" ,\n\"coordinates\" : [ [ -3.5 , 47.25 , 80.5 , 7 ] , [ -3.25 , 47.5 ] ] }", []string{":2"}, untimed},
		"numbers in quotes":        {`{"type":"LineString","coordinates":[["-3.5","47.25","80.5"],["-3.25","47.5",null]]}`, []string{":2"}, untimed},
	} {
		t.Run(name, func(t *testing.T) {
			log := readGeoJSON(t, x.text)
			require.Empty(t, log.Notes.List())
			require.Empty(t, log.Waypoints)
			require.Equal(t, x.tracks, shape(log.Tracks))
			require.Equal(t, x.want, places(fixes(log)))
		})
	}
}

func TestReadGeoJSONPoints(t *testing.T) {
	log := readGeoJSON(t, `{"type":"FeatureCollection","features":[
{"type":"Feature","geometry":{"type":"Point","coordinates":[1,2,3]},"properties":{"name":"gate","desc":"by the road","marker-symbol":"flag","type":"mark",
 "timestamp":1935648000000,"accuracy":4.5,"hdop":"1.2","satellites":8,"elevation":99,"altitude":null}},
{"properties":{"time":"2031-05-04T10:00:00+02:00","ele":"7","title":"x"},"type":"Feature","geometry":{"coordinates":[1,2],"type":"Point"}},
{"type":"Feature","properties":{"coordTimes":`+twoTimes+`},"geometry":{"type":"MultiPoint","coordinates":[[1,2],[3,4]]}},
{"type":"Feature","properties":{"name":5},"geometry":{"type":"Point","coordinates":[181,96]}}]}`)
	require.Empty(t, log.Notes.List())
	require.Empty(t, log.Tracks)
	w := log.Waypoints
	require.Len(t, w, 5)
	eight := at(t, "2031-05-04T08:00:00Z")
	require.Equal(t, []string{"gate", "by the road", "flag", "mark"}, []string{w[0].Name, w[0].Desc, w[0].Sym, w[0].Type})
	requireFix(t, fix(1, 2, func(f *track.Fix) { f.EleM, f.T, f.AccM, f.HDOP, f.Sats = 3, eight, 4.5, 1.2, 8 }), w[0].Fix)
	requireFix(t, fix(1, 2, func(f *track.Fix) { f.EleM, f.T = 7, eight }), w[1].Fix)
	requireFix(t, fix(3, 4, func(f *track.Fix) { f.T = eight + 1500 }), w[3].Fix)
	requireFix(t, fix(181, 96, nil), w[4].Fix)
	require.Equal(t, []string{"x", "", "", "5"}, []string{w[1].Name, w[2].Name, w[3].Name, w[4].Name})
}

// One Point for each fix is a recording; three marks with times are not.
func TestReadGeoJSONPointsThatAreATrack(t *testing.T) {
	point := func(i int, more string) string {
		when := time.Date(2031, 5, 4, 8, 0, i, 0, time.UTC).Format(time.RFC3339)
		return fmt.Sprintf(`{"type":"Feature","geometry":{"type":"Point","coordinates":[%d,1]},"properties":{"time":"%s"%s}}`, i, when, more)
	}
	var points []string
	for i := range 12 {
		points = append(points, point(i, `,"accuracy":4`))
	}
	points = append(points, point(100, `,"name":"gate"`))
	log := readGeoJSON(t, `{"type":"FeatureCollection","features":[`+strings.Join(points, ",\n")+`]}`)
	require.Equal(t, []string{":12"}, shape(log.Tracks))
	require.Equal(t, "11 1 - 08:00:11", places(fixes(log))[11])
	require.EqualValues(t, 4, fixes(log)[0].AccM)
	require.Equal(t, "gate", log.Waypoints[0].Name)
	require.Len(t, log.Waypoints, 1)

	log = readGeoJSON(t, `{"type":"FeatureCollection","features":[`+strings.Join(points[:9], ",")+`]}`)
	require.Empty(t, log.Tracks)
	require.Len(t, log.Waypoints, 9)
}

func TestReadGeoJSONBadFields(t *testing.T) {
	line := func(coordinates, properties string) string {
		return `{"type":"Feature","geometry":{"type":"LineString","coordinates":` + coordinates + `},"properties":` + properties + `}`
	}
	for name, x := range map[string]struct {
		text string
		want []string
		note string
	}{
		"a word":                {line(`[["x",2],[3,4]]`, `{}`), []string{"- 2 - -", "3 4 - -"}, `bad-field 1 walk.json:1: longitude "x" is not a number`},
		"NaN":                   {line(`[[1,2,NaN],[3,4,NaN],[5,6,-Infinity]]`, `{}`), []string{"1 2 - -", "3 4 - -", "5 6 - -"}, `bad-field 3 walk.json:1: elevation "" is not a number`},
		"huge":                  {line(`[[1,2],[1e400,4]]`, `{}`), []string{"1 2 - -", "- 4 - -"}, `bad-field 1 walk.json:1: longitude "1e400" is not a number`},
		"huge first":            {line(`[[-1e400,4]]`, `{}`), []string{"- 4 - -"}, `bad-field 1 walk.json:1: longitude "-1e400" is not a number`},
		"no position":           {line(`[[1,2],7,[3,4]]`, `{}`), []string{"1 2 - -", "- - - -", "3 4 - -"}, `bad-field 1 walk.json:1: a position that is no array`},
		"empty positions":       {line(`[[1,2],[],null]`, `{}`), []string{"1 2 - -", "- - - -", "- - - -"}, `bad-field 1 walk.json:1: a position that is no array`},
		"objects":               {line(`[[1,{"a":[9,9]}],[3,[4]]]`, `{}`), []string{"1 - - -", "3 - - -"}, `bad-field 1 walk.json:1: latitude "[4]" is not a number`},
		"a time short":          {line(`[[1,2],[3,4],[5,6]]`, `{"coordTimes":`+twoTimes+`}`), []string{"1 2 - 08:00:00", "3 4 - 08:00:01", "5 6 - -"}, `bad-field 1 walk.json:1: 2 times for 3 positions`},
		"a time over":           {line(`[[1,2]]`, `{"coordTimes":`+twoTimes+`}`), []string{"1 2 - 08:00:00"}, `bad-field 1 walk.json:1: 2 times for 1 positions`},
		"bad times":             {line(`[[1,2],[3,4],[5,6]]`, `{"coordTimes":["noon",null,5]}`), []string{"1 2 - -", "3 4 - -", "5 6 - -"}, `bad-field 2 walk.json:1: time "noon" is not a date and time`},
		"times of another kind": {line(`[[1,2]]`, `{"coordTimes":"today"}`), []string{"1 2 - -"}, `bad-field 1 walk.json:1: times that is no array`},
		"too shallow":           {line(`[1,2]`, `{}`), nil, `bad-field 1 walk.json:1: coordinates nested 1 deep in a LineString`},
		"no coordinates":        {line(`[]`, `{}`), nil, `empty 1 walk.json:1: LineString without coordinates`},
		"null coordinates":      {line(`null`, `{}`), nil, `empty 1 walk.json:1: LineString without coordinates`},
		"not an array":          {line(`{"a":1}`, `[]`), nil, `bad-field 2 walk.json:1: coordinates that is no array`},
		"a feature of text":     {`{"type":"FeatureCollection","features":["x",[1]]}`, nil, `bad-field 2 walk.json:1: one of features that is no object`},
	} {
		t.Run(name, func(t *testing.T) {
			log := readGeoJSON(t, x.text)
			require.Equal(t, x.want, places(fixes(log)))
			require.Equal(t, x.note, examples(log)[0])
			require.Len(t, log.Notes.List(), 1+strings.Count(name, "not an array"))
		})
	}
}

// Line numbers hold wherever the pieces of the file happen to be parted.
func TestReadGeoJSONLineNumbers(t *testing.T) {
	for _, bad := range []int{1, 777, 4999} {
		lines := make([]string, 5000)
		for i := range lines {
			lines[i] = fmt.Sprintf(`[%d.5,1,%d]`, i%90, i)
		}
		lines[bad] = `[1,1,"x"]`
		log := readGeoJSON(t, "{\"type\":\"LineString\",\"coordinates\":[\n"+strings.Join(lines, ",\n")+"]}")
		require.Equal(t, []string{fmt.Sprintf(`bad-field 1 walk.json:%d: elevation "x" is not a number`, bad+2)}, examples(log))
	}
}

// A small file with something of everything, for cutting.
const smallGeoJSON = `{"type":"FeatureCollection","features":[
{"type":"Feature","geometry":{"type":"LineString","coordinates":[[1,10],[2,20,NaN],[3,30]]},"properties":{"coordTimes":["2031-05-04T08:00:00Z",1935648001,null],"a":{"b":["c\"]"]}}},
{"properties":{"name":"gate"},"geometry":{"coordinates":[9,9],"type":"Point"},"type":"Feature"},
{"geometry":{"coordinates":[[4,40],[5,50]],"type":"LineString"},"properties":{},"type":"Feature"}
]}`

func TestReadGeoJSONTruncatedAnywhere(t *testing.T) {
	for cut := range len(smallGeoJSON) {
		text := smallGeoJSON[:cut]
		log, err := track.ReadGeoJSON(strings.NewReader(text), "walk.json")
		if cut < len(`{"type":"FeatureCollection"`) {
			var parse *track.ParseError
			require.ErrorAs(t, err, &parse, text)
			continue
		}
		require.NoError(t, err, text)
		requireSound(t, log)
		require.Equal(t, 1, log.Notes.Count(track.NoteTruncated), text)
		got := fixes(log)
		least := 0
		for i, position := range []string{"[1,10]", "[2,20,NaN]", "[3,30]", "[4,40]", "[5,50]"} {
			if strings.Contains(text, position) {
				least = i + 1
			}
		}
		require.Len(t, got, least, text)
		for i, f := range got {
			require.EqualValues(t, i+1, f.Pos.Lon)
		}
		require.Equal(t, strings.Contains(text, `[9,9],"type":"Point"`), len(log.Waypoints) == 1, text)
	}
	require.Equal(t, []string{"bad-field 1 walk.json:2: elevation \"\" is not a number"}, examples(readGeoJSON(t, smallGeoJSON)))
}

func TestReadGeoJSONDamagedAnywhere(t *testing.T) {
	for i := len(`{"type":"FeatureCollection",`); i < len(smallGeoJSON); i++ {
		for _, c := range []byte("{}[]:,\"\\ 9x\x00\xff") {
			text := smallGeoJSON[:i] + string(c) + smallGeoJSON[i+1:]
			log := readGeoJSON(t, text)
			if strings.Contains(smallGeoJSON[:i], "[3,30]]}") {
				require.GreaterOrEqual(t, log.Fixes(), 3, text)
			}
		}
	}
}

func TestReadGeoJSONErrors(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"empty":       {"", "walk.json: empty file"},
		"blank":       {" \n", "walk.json:2: no GeoJSON object"},
		"cut":         {`{"type":`, "walk.json:1: no GeoJSON object"},
		"other JSON":  {`{"type":"Topology","objects":{}}`, "walk.json: not a GeoJSON file: looks like JSON"},
		"an array":    {`[{"a":1}]`, "walk.json: not a GeoJSON file: looks like JSON"},
		"XML":         {"<gpx/>", "walk.json: not a GeoJSON file: looks like XML"},
		"text":        {"lat,lon\n", "walk.json: not a GeoJSON file: looks like plain text"},
		"not JSON":    {"{a}", "walk.json:1: invalid character 'a'"},
		"content too": {`{"type":"Point"} x`, ""},
	} {
		log, err := track.ReadGeoJSON(strings.NewReader(c.text), "walk.json")
		if c.want == "" {
			require.NoError(t, err)
			require.Equal(t, 1, log.Notes.Count(track.NoteTruncated))
			continue
		}
		require.ErrorContains(t, err, c.want, name)
		require.Nil(t, log)
	}
	broken := errors.New("disk on fire")
	for _, cut := range []int{0, 10, 200, len(smallGeoJSON)} {
		_, err := track.ReadGeoJSON(io.MultiReader(strings.NewReader(smallGeoJSON[:cut]), failing{broken}), "walk.json")
		require.ErrorIs(t, err, broken)
	}
}

func TestReadGeoJSONHostile(t *testing.T) {
	start := `{"type":"FeatureCollection","features":[{"type":"Feature","geometry":{"type":"LineString","coordinates":[[1,2],[3,4]]}},` + "\n"
	for name, x := range map[string]struct{ tail, note string }{
		"a huge text":          {`{"a":"`, "a piece of text or markup over 16 MB"},
		"a huge key":           {`{"`, "a piece of text or markup over 16 MB"},
		"a huge number":        {`{"a":` + strings.Repeat("9", 1<<20), "invalid character 'x'"},
		"a huge position":      {`{"coordinates":[[[1,1],[` + strings.Repeat("1,", 9<<20), "a piece of text or markup over 16 MB"},
		"nested arrays":        {`{"a":` + strings.Repeat("[", 1_000_000), "values nested too deep"},
		"nested objects":       {`{"a":` + strings.Repeat(`{"a":`, 1_000_000), "values nested too deep"},
		"nested coordinates":   {`{"coordinates":` + strings.Repeat("[", 1_000_000), "coordinates nested too deep"},
		"nested position":      {`{"coordinates":[[[1,2],` + strings.Repeat("[", 1_000_000), "exceeded max depth"},
		"nested geometries":    {strings.Repeat(`{"geometry":`, 1_000_000), "objects nested too deep"},
		"nested features":      {strings.Repeat(`{"features":[`, 1_000_000), "objects nested too deep"},
		"nested collections":   {strings.Repeat(`{"geometries":[`, 1_000_000), "objects nested too deep"},
		"blanks":               {strings.Repeat(" ", 15<<20), "over 1 MB of blanks"},
		"escapes without end":  {`{"` + strings.Repeat(`\\`, 9<<20), "a piece of text or markup over 16 MB"},
		"words without end":    {`{"a":` + strings.Repeat("NaN", 1<<20), "invalid character"},
		"coordTimes in itself": {`{"properties":{"coordTimes":` + strings.Repeat("[", 1_000_000), "exceeded max depth"},
	} {
		t.Run(name, func(t *testing.T) {
			log, err := requireModest(t, func() (*track.Log, error) {
				return track.ReadGeoJSON(io.MultiReader(strings.NewReader(start+x.tail), &endless{left: 1 << 28}), "walk.json")
			})
			require.NoError(t, err)
			require.GreaterOrEqual(t, log.Fixes(), 2)
			require.Equal(t, []string{"truncated"}, kinds(log))
			require.Contains(t, examples(log)[0], x.note)
		})
	}
}
