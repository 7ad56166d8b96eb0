package track_test

import (
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/track"
)

const tcxHead = `<?xml version="1.0" encoding="UTF-8"?>
<TrainingCenterDatabase xmlns="urn:example:tcx">
`

func readTCX(t *testing.T, text string) *track.Log {
	t.Helper()
	log, err := track.ReadTCX(strings.NewReader(text), "walk.tcx")
	require.NoError(t, err)
	requireSound(t, log)
	return log
}

func tcxPoint(time, lat, lon, ele string) string {
	return "<Trackpoint><Time>" + time + "</Time><Position><LatitudeDegrees>" + lat + "</LatitudeDegrees><LongitudeDegrees>" + lon +
		"</LongitudeDegrees></Position><AltitudeMeters>" + ele + "</AltitudeMeters><DistanceMeters>9</DistanceMeters>" +
		"<HeartRateBpm><Value>99</Value></HeartRateBpm></Trackpoint>\n"
}

// The tree is that of the schema TrainingCenterDatabasev2.xsd, from memory.
func TestReadTCXTree(t *testing.T) {
	log := readTCX(t, tcxHead+`<Folders><History><Name>not this</Name></History></Folders>
<Activities><Activity Sport="Other"><Id>2031-05-04T08:00:00Z</Id>
<Lap StartTime="2031-05-04T08:00:00Z"><TotalTimeSeconds>2</TotalTimeSeconds><Track>
`+tcxPoint("2031-05-04T08:00:00Z", "47.25", "-3.5", "80.5")+tcxPoint("2031-05-04T08:00:01.5Z", "47.5", "-3.25", "")+`</Track>
<Track><Trackpoint><Time>2031-05-04T08:00:05Z</Time><HeartRateBpm><Value>90</Value></HeartRateBpm></Trackpoint>
`+tcxPoint("2031-05-04T10:00:06+02:00", "47.75", "-3", "0")+`</Track><Notes>no</Notes></Lap>
<Lap><Track/></Lap><Lap><Track>`+tcxPoint("2031-05-04T08:00:07Z", "48", "-3", "1")+`</Track></Lap>
<Creator><Name>watch</Name><UnitId>1</UnitId></Creator></Activity>
<MultiSportSession><Id>x</Id><FirstSport><Activity Sport="Other"><Id>second</Id><Lap><Track>`+tcxPoint("", "1", "2", "3")+`</Track></Lap></Activity></FirstSport>
<NextSport><Transition><Track>`+tcxPoint("", "3", "4", "5")+`</Track></Transition><Activity Sport="Other"><Id>none</Id></Activity></NextSport></MultiSportSession></Activities>
<Courses><Course><Name>planned</Name><Lap><BeginPosition><LatitudeDegrees>9</LatitudeDegrees><LongitudeDegrees>9</LongitudeDegrees></BeginPosition></Lap>
<Track>`+tcxPoint("2031-05-04T08:00:00Z", "5", "6", "7")+`</Track>
<CoursePoint><Name>turn</Name><Time>2031-05-04T08:00:00Z</Time><Position><LatitudeDegrees>7</LatitudeDegrees><LongitudeDegrees>8</LongitudeDegrees></Position><PointType>Left</PointType><Notes>at the oak</Notes></CoursePoint>
<CoursePoint><Name>nowhere</Name></CoursePoint></Course></Courses>
<Author><Name>program</Name></Author></TrainingCenterDatabase>`)
	require.Equal(t, []string{"empty 2 walk.tcx:12: segment without points", "no-position 2 walk.tcx:9: a point without a position"}, examples(log))
	require.Equal(t, "TCX", log.Format)
	require.Equal(t, "watch", log.Creator)
	require.Equal(t, []string{"2031-05-04T08:00:00Z:2", "2031-05-04T08:00:00Z:1", "2031-05-04T08:00:00Z:1", "second:1", ":1"}, shape(log.Tracks))
	require.Equal(t, []string{"-3.5 47.25 80.5 08:00:00", "-3.25 47.5 - 08:00:01", "-3 47.75 0 08:00:06", "-3 48 1 08:00:07", "2 1 3 -", "4 3 5 -"},
		places(fixes(log)))
	require.Equal(t, at(t, "2031-05-04T08:00:01.5Z"), fixes(log)[1].T)
	require.Equal(t, []string{"planned:1"}, shape(log.Routes))
	require.Len(t, log.Waypoints, 1)
	w := log.Waypoints[0]
	require.Equal(t, []string{"turn", "at the oak", "Left"}, []string{w.Name, w.Desc, w.Type})
	requireFix(t, fix(8, 7, func(f *track.Fix) { f.T = at(t, "2031-05-04T08:00:00Z") }), w.Fix)
}

func inTCX(points string) string {
	return tcxHead + "<Activities><Activity><Lap><Track>\n" + points + "</Track></Lap></Activity></Activities></TrainingCenterDatabase>"
}

func TestReadTCXBadFields(t *testing.T) {
	for name, x := range map[string]struct{ point, want, note string }{
		"time":     {tcxPoint("noon", "1", "2", "3"), "2 1 3 -", `time "noon" is not a date and time`},
		"latitude": {tcxPoint("", "north", "2", "3"), "2 - 3 -", `latitude "north" is not a number`},
		"comma":    {tcxPoint("", "1,5", "2", "3"), "2 1.5 3 -", `latitude "1,5" has a decimal comma`},
		"NaN":      {tcxPoint("", "1", "2", "NaN"), "2 1 - -", `elevation "NaN" is not a number`},
		"huge":     {tcxPoint("", "1", "1e400", "3"), "- 1 3 -", `longitude "1e400" is not a number`},
	} {
		log := readTCX(t, inTCX(x.point))
		require.Equal(t, []string{x.want}, places(fixes(log)), name)
		require.Equal(t, []string{"bad-field 1 walk.tcx:4: " + x.note}, examples(log), name)
	}
}

var smallTCX = inTCX(tcxPoint("2031-05-04T08:00:00Z", "1", "2", "3") + tcxPoint("2031-05-04T08:00:01Z", "4", "5", "6") +
	"<!-- > --></Track></Lap><Lap><Track>" + tcxPoint("2031-05-04T08:00:02Z", "7", "8", "<![CDATA[9]]>"))

func TestReadTCXTruncatedAnywhere(t *testing.T) {
	rootEnds := len(tcxHead) - 1
	whole := places(fixes(readTCX(t, smallTCX)))
	for cut := range len(smallTCX) {
		text := smallTCX[:cut]
		log, err := track.ReadTCX(strings.NewReader(text), "walk.tcx")
		if cut < rootEnds {
			var parse *track.ParseError
			require.ErrorAs(t, err, &parse, text)
			continue
		}
		require.NoError(t, err, text)
		require.Equal(t, 1, log.Notes.Count(track.NoteTruncated), text)
		n := strings.Count(text, "</Trackpoint>")
		require.Equal(t, whole[:n], append([]string{}, places(fixes(log))...), text)
	}
}

func TestReadTCXDamagedAnywhere(t *testing.T) {
	for i := len(tcxHead); i < len(smallTCX); i += 2 {
		for _, c := range []byte("<>/&\"' x\x00\xff") {
			log := readTCX(t, smallTCX[:i]+string(c)+smallTCX[i+1:])
			require.GreaterOrEqual(t, log.Fixes(), strings.Count(smallTCX[:i], "</Trackpoint>"))
		}
	}
}

func TestReadTCXErrors(t *testing.T) {
	for text, want := range map[string]string{
		"":        "walk.tcx: empty file",
		"\n":      "walk.tcx:2: no complete <TrainingCenterDatabase> tag",
		"<gpx/>":  "walk.tcx: not a TCX file: starts with <gpx>",
		"a,b\n":   "walk.tcx: not a TCX file: looks like plain text",
		"<Train ": "walk.tcx:1: no complete <TrainingCenterDatabase> tag",
	} {
		_, err := track.ReadTCX(strings.NewReader(text), "walk.tcx")
		require.EqualError(t, err, want)
	}
}

func TestReadTCXHostile(t *testing.T) {
	for name, tail := range map[string]string{
		"a huge text": "<Trackpoint><Time>", "a huge tag": "<Trackpoint a='", "depth": strings.Repeat("<Track>", 1_000_000),
	} {
		text := strings.TrimSuffix(smallTCX, "</Track></Lap></Activity></Activities></TrainingCenterDatabase>")
		log, err := requireModest(t, func() (*track.Log, error) {
			return track.ReadTCX(io.MultiReader(strings.NewReader(text+tail), &endless{left: 1 << 28}), "walk.tcx")
		})
		require.NoError(t, err)
		require.Equal(t, 3, log.Fixes(), name)
		require.Equal(t, []string{"bad-xml"}, kinds(log), name)
	}
}
