package track_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/track"
)

const head = `<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="logger" xmlns="http://www.topografix.com/GPX/1/1">
`

// inTrack wraps points into a whole file; they begin on line 4.
func inTrack(points string) string {
	return head + "<trk><trkseg>\n" + points + "\n</trkseg></trk></gpx>"
}

func read(t *testing.T, text string) *track.Log {
	t.Helper()
	log, err := track.ReadGPX(strings.NewReader(text), "walk.gpx")
	require.NoError(t, err)
	return log
}

// fixes are all track fixes, one after another.
func fixes(l *track.Log) (all []track.Fix) {
	for _, tr := range l.Tracks {
		for _, s := range tr.Segments {
			all = append(all, s...)
		}
	}
	return all
}

// requireFix compares fixes with NaN equal to NaN.
func requireFix(t *testing.T, want, got track.Fix, msg ...any) {
	t.Helper()
	require.Equal(t, fmt.Sprintf("%+v", want), fmt.Sprintf("%+v", got), msg...)
}

func examples(l *track.Log) (all []string) {
	for _, n := range l.Notes.List() {
		all = append(all, fmt.Sprintf("%s %d %s", n.Kind, n.Count, n.Example))
	}
	return all
}

func at(t *testing.T, text string) track.Instant {
	t.Helper()
	v, err := time.Parse(time.RFC3339Nano, text)
	require.NoError(t, err)
	return track.At(v)
}

// fix is NoFix at a place, changed by set.
func fix(lon, lat float64, set func(*track.Fix)) track.Fix {
	f := track.NoFix
	f.Pos = grid.LonLat{Lon: lon, Lat: lat}
	if set != nil {
		set(&f)
	}
	return f
}

func TestReadGPXPoint(t *testing.T) {
	pos := func(set func(*track.Fix)) track.Fix { return fix(-3.5, 47.25, set) }
	for name, c := range map[string]struct {
		inside string
		want   track.Fix
	}{
		"nothing": {``, pos(nil)},
		"all of GPX 1.1": {
			`<ele>80.5</ele><time>2031-05-04T08:00:00.25Z</time><fix>3d</fix><sat>9</sat><hdop>1.2</hdop><vdop>3</vdop><pdop>2.5</pdop>`,
			pos(func(f *track.Fix) {
				f.EleM, f.T, f.Kind, f.Sats, f.HDOP, f.PDOP = 80.5, at(t, "2031-05-04T08:00:00.25Z"), track.Fix3D, 9, 1.2, 2.5
			})},
		"empty elements are missing": {`<ele/><time></time><sat> </sat><hdop><!-- 1 --></hdop><fix/>`, pos(nil)},
		"zero is a value": {`<ele>0</ele><sat>0</sat><hdop>0</hdop>`,
			pos(func(f *track.Fix) { f.EleM, f.Sats, f.HDOP = 0, 0, 0 })},
		"blanks, comments and CDATA": {"<ele>\n 8<!-- not 9 -->0<![CDATA[.5]]>\n</ele>", pos(func(f *track.Fix) { f.EleM = 80.5 })},
		"entities":                   {`<ele>&#56;0&#x2e;5</ele><fix>3&#100;</fix>`, pos(func(f *track.Fix) { f.EleM, f.Kind = 80.5, track.Fix3D })},
		"satellites as 7.0":          {`<sat>7.0</sat>`, pos(func(f *track.Fix) { f.Sats = 7 })},
		"fix words":                  {`<fix>DGPS</fix>`, pos(func(f *track.Fix) { f.Kind = track.FixDGPS })},
		"no fix":                     {`<fix>none</fix>`, pos(func(f *track.Fix) { f.Kind = track.FixNone })},
		"accuracy in extensions": {`<extensions><a:x xmlns:a="urn:a"><a:y><a:hAcc>4.5</a:hAcc></a:y></a:x><vAcc>9</vAcc></extensions>`,
			pos(func(f *track.Fix) { f.AccM = 4.5 })},
		"accuracy as a child":            {`<accuracy_horizontal>4.5</accuracy_horizontal>`, pos(func(f *track.Fix) { f.AccM = 4.5 })},
		"accuracy, any case":             {`<extensions><HorizontalAccuracy>4.5</HorizontalAccuracy></extensions>`, pos(func(f *track.Fix) { f.AccM = 4.5 })},
		"epe":                            {`<extensions><epe>4.5</epe></extensions>`, pos(func(f *track.Fix) { f.AccM = 4.5 })},
		"the point outranks extensions":  {`<hdop>1</hdop><extensions><hdop>2</hdop><pdop>3</pdop></extensions>`, pos(func(f *track.Fix) { f.HDOP, f.PDOP = 1, 3 })},
		"extensions do not set ele":      {`<extensions><ele>5</ele><time>2031-05-04T08:00:00Z</time><name>x</name></extensions>`, pos(nil)},
		"text inside inner elements":     {`<ele>1<b>2</b>3</ele>`, pos(func(f *track.Fix) { f.EleM = 13 })},
		"points inside extensions":       {`<extensions><trkseg><trkpt lat="1" lon="2"/></trkseg></extensions>`, pos(nil)},
		"prefixed":                       {`<q:ele>80.5</q:ele>`, pos(func(f *track.Fix) { f.EleM = 80.5 })},
		"a comment that looks like data": {`<!-- <ele>5</ele> > -- < -->`, pos(nil)},
	} {
		t.Run(name, func(t *testing.T) {
			log := read(t, inTrack(`<trkpt lat="47.25" lon="-3.5">`+c.inside+`</trkpt>`))
			require.Empty(t, log.Notes.List())
			require.Equal(t, 1, log.Fixes())
			requireFix(t, c.want, fixes(log)[0])
		})
	}
}

func TestReadGPXPosition(t *testing.T) {
	nan := math.NaN()
	for attrs, want := range map[string]struct {
		lon, lat float64
		notes    int
	}{
		`lat="47.25" lon="-3.5"`:               {-3.5, 47.25, 0},
		`lon='-3.5' lat='47.25'`:               {-3.5, 47.25, 0},
		"lat = \"47.25\"\n\tlon\n=\n\"-3.5\" ": {-3.5, 47.25, 0},
		`id="a>b" lat=" 47.25" lon="-3.5 "`:    {-3.5, 47.25, 0},
		`lat="47&#46;25" lon="-3.5"`:           {-3.5, 47.25, 0},
		`lat="96.2" lon="-3.5"`:                {-3.5, 96.2, 0},
		`lat="0" lon="0"`:                      {0, 0, 0},
		`lon="-3.5"`:                           {-3.5, nan, 0},
		`lat="" lon="-3.5"`:                    {-3.5, nan, 0},
		`lat="47,25" lon="-3,5"`:               {-3.5, 47.25, 2},
		`lat="47,250" lon="-3.5"`:              {-3.5, 47.25, 1},
		`lat="NaN" lon="-3.5"`:                 {-3.5, nan, 1},
		`lat="Infinity" lon="-3.5"`:            {-3.5, nan, 1},
		`lat="1e99" lon="-3.5"`:                {-3.5, nan, 1},
		`lat="47.25N" lon="-3.5"`:              {-3.5, nan, 1},
		`lon="-3.5" lat=47.25`:                 {-3.5, nan, 1},
	} {
		log := read(t, inTrack(`<trkpt `+attrs+`/>`))
		require.Equal(t, 1, log.Fixes(), attrs)
		requireFix(t, fix(want.lon, want.lat, nil), fixes(log)[0], attrs)
		require.Equal(t, want.notes, log.Notes.Count(track.NoteBadField), attrs)
	}
}

func TestReadGPXBadFields(t *testing.T) {
	for name, c := range map[string]struct {
		inside, example string
		want            func(*track.Fix)
	}{
		"decimal comma":   {`<ele>1,5</ele>`, `elevation "1,5" has a decimal comma`, func(f *track.Fix) { f.EleM = 1.5 }},
		"thousands":       {`<ele>1,234</ele>`, `elevation "1,234" is not a number`, nil},
		"words":           {`<ele>high</ele>`, `elevation "high" is not a number`, nil},
		"time":            {`<time>noon</time>`, `time "noon" is not a date and time`, nil},
		"fix":             {`<fix>4d</fix>`, `fix "4d" is none of 2d, 3d, dgps, none, pps`, nil},
		"satellites":      {`<sat>7.5</sat>`, `sat "7.5" is not a count`, nil},
		"less than none":  {`<sat>-1</sat>`, `sat "-1" is not a count`, nil},
		"unknown entity":  {`<hdop>&one;</hdop>`, `hdop "&one;" is not a number`, nil},
		"no accuracy":     {`<hAcc>-1</hAcc>`, `accuracy "-1" is negative`, nil},
		"overlong":        {`<pdop>` + strings.Repeat("9x", 50) + `</pdop>`, `pdop "` + strings.Repeat("9x", 20) + `..." is not a number`, nil},
		"control letters": {"<hdop>\x1b[2J</hdop>", `hdop "\x1b[2J" is not a number`, nil},
	} {
		t.Run(name, func(t *testing.T) {
			log := read(t, inTrack(`<trkpt lat="47.25" lon="-3.5">`+"\n"+c.inside+"\n"+`</trkpt>`))
			require.Equal(t, []string{"bad-field 1 walk.gpx:5: " + c.example}, examples(log))
			requireFix(t, fix(-3.5, 47.25, c.want), fixes(log)[0])
		})
	}
}

func TestReadGPXTree(t *testing.T) {
	log := read(t, `<?xml version="1.0"?>
<!DOCTYPE gpx [<!ENTITY secret "boom">]>
<g:gpx xmlns:g="http://www.topografix.com/GPX/1/0" creator="a &quot;logger&quot;" version="1.0">
<g:metadata><g:name>not this</g:name><g:time>2031-05-04T08:00:00Z</g:time><wpt lat="1" lon="1"/></g:metadata>
<g:wpt lat="1" lon="2"><g:ele>3</g:ele><g:name>Gate &amp; <![CDATA[<post> &amp;]]></g:name><g:desc>&secret;</g:desc>
 <g:sym>Flag</g:sym><g:type>mark</g:type><g:extensions><g:name>no</g:name><g:accuracy>4</g:accuracy></g:extensions></g:wpt>
<g:rte><g:name>edge</g:name><g:rtept lat="1" lon="1"/><g:rtept lat="1" lon="2"/></g:rte>
<g:trk><g:name>first</g:name>
 <g:trkseg><g:trkpt lat="1" lon="1"><g:name>no</g:name></g:trkpt></g:trkseg>
 <g:trkseg/>
 <g:trkseg><g:trkpt lat="2" lon="2"/><g:trkpt lat="3" lon="3"/></g:trkseg>
</g:trk>
<g:trk><g:name>empty</g:name></g:trk>
<g:trk><g:trkpt lat="4" lon="4"/><g:trkseg><g:trkpt lat="5" lon="5"/></g:trkseg></g:trk>
<g:extensions><g:trk><g:trkseg><g:trkpt lat="9" lon="9"/></g:trkseg></g:trk><wpt lat="9" lon="9"/></g:extensions>
</g:gpx>
<!-- the end -->`)
	require.Equal(t, "walk.gpx", log.Name)
	require.Equal(t, `a "logger"`, log.Creator)
	require.Equal(t, []string{"empty 2 walk.gpx:10: segment without points"}, examples(log))

	require.Len(t, log.Waypoints, 1)
	w := log.Waypoints[0]
	requireFix(t, fix(2, 1, func(f *track.Fix) { f.EleM, f.AccM = 3, 4 }), w.Fix)
	require.Equal(t, []string{"Gate & <post> &amp;", "&secret;", "Flag", "mark"}, []string{w.Name, w.Desc, w.Sym, w.Type})

	require.Len(t, log.Routes, 1)
	require.Equal(t, "edge", log.Routes[0].Name)
	require.Len(t, log.Routes[0].Segments, 1)
	require.Len(t, log.Routes[0].Segments[0], 2)

	var shape []string
	for _, tr := range log.Tracks {
		for _, s := range tr.Segments {
			shape = append(shape, fmt.Sprintf("%s:%d", tr.Name, len(s)))
		}
	}
	require.Equal(t, []string{"first:1", "first:2", ":1", ":1"}, shape)
	require.Equal(t, 5, log.Fixes())
}

func TestReadGPXManyPieces(t *testing.T) {
	log, err := track.ReadGPX(strings.NewReader(string(logOf(10_000))), "walk.gpx")
	require.NoError(t, err)
	require.Empty(t, log.Notes.List())
	all := fixes(log)
	require.Len(t, all, 10_000)
	for i, f := range all {
		require.Equal(t, at(t, "2031-05-04T08:00:00Z")+track.Instant(1000*i), f.T)
	}
}

func TestReadGPXNamespace(t *testing.T) {
	for ns, notes := range map[string]int{
		`xmlns="http://www.topografix.com/GPX/1/0"`: 0,
		`xmlns="http://www.topografix.com/GPX/1/1"`: 0,
		``:                             0,
		`xmlns:ex="urn:example:other"`: 0,
		`xmlns="http://www.topografix.com/GPX/2/0"`: 1,
		`xmlns=""`: 1,
	} {
		log := read(t, `<gpx `+ns+`><trk><trkseg><trkpt lat="1" lon="2"/></trkseg></trk></gpx>`)
		require.Equal(t, notes, log.Notes.Count(track.NoteOddNamespace), ns)
		require.Equal(t, 1, log.Fixes(), ns)
	}
}

// Line numbers hold wherever the pieces of the file happen to be parted.
func TestReadGPXLineNumbers(t *testing.T) {
	for _, bad := range []int{0, 1, 777, 4999} {
		lines := make([]string, 5000)
		for i := range lines {
			lines[i] = fmt.Sprintf(`<trkpt lat="%d.5" lon="1"><ele>%d</ele></trkpt>`, i%90, i)
		}
		lines[bad] = `<trkpt lat="1" lon="1"><ele>x</ele></trkpt>`
		log := read(t, inTrack(strings.Join(lines, "\n")))
		require.Equal(t, []string{fmt.Sprintf(`bad-field 1 walk.gpx:%d: elevation "x" is not a number`, bad+4)}, examples(log))
	}
}
