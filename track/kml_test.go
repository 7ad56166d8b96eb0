package track_test

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/track"
)

const kmlHead = `<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="urn:example:gx"><Document>
`

func readKML(t *testing.T, text string) *track.Log {
	t.Helper()
	log, err := track.ReadKML(strings.NewReader(text), "walk.kml")
	require.NoError(t, err)
	requireSound(t, log)
	return log
}

// inKML wraps placemarks into a whole file; they begin on line 3.
func inKML(placemarks string) string { return kmlHead + placemarks + "\n</Document></kml>" }

// places shows fixes as "lon lat ele time", what is missing as -.
func places(fixes []track.Fix) (all []string) {
	for _, f := range fixes {
		text := ""
		for _, v := range []float64{f.Pos.Lon, f.Pos.Lat, float64(f.EleM)} {
			if math.IsNaN(v) {
				text += "- "
			} else {
				text += fmt.Sprint(v) + " "
			}
		}
		if f.T.Known() {
			text += f.T.Time().Format("15:04:05")
		} else {
			text += "-"
		}
		all = append(all, text)
	}
	return all
}

// shape shows a log's tracks as "name:fixes" of each segment.
func shape(tracks []track.Track) (all []string) {
	for _, tr := range tracks {
		for _, s := range tr.Segments {
			all = append(all, fmt.Sprintf("%s:%d", tr.Name, len(s)))
		}
	}
	return all
}

// The forms are those of the Track and MultiTrack examples of OGC 12-007r2 (KML 2.3)
// and of the gx extension to KML 2.2, from memory; the values are invented.
func TestReadKMLTrackForms(t *testing.T) {
	want := []string{"-3.5 47.25 80.5 08:00:00", "-3.25 47.5 81 08:00:01", "-3 47.75 0 08:00:02"}
	whens := []string{"<when>2031-05-04T08:00:00Z</when>", "<when>2031-05-04T10:00:01+02:00</when>", "<when>2031-05-04T08:00:02.000Z</when>"}
	coords := []string{"<gx:coord>-3.5 47.25 80.5</gx:coord>", "<gx:coord>\n-3.25\t47.5  81 </gx:coord>", "<gx:coord>-3,47.75,0</gx:coord>"}
	turns := whens[0] + coords[0] + whens[1] + "\n" + coords[1] + whens[2] + coords[2]
	blocks := strings.Join(whens, "") + strings.Join(coords, "")
	for name, inside := range map[string]string{
		"gx, blocks":      "<gx:Track>" + blocks + "</gx:Track>",
		"gx, by turns":    "<gx:Track>" + turns + "</gx:Track>",
		"positions first": "<gx:Track>" + strings.Join(coords, "") + strings.Join(whens, "") + "</gx:Track>",
		"KML 2.3":         strings.ReplaceAll("<gx:Track>"+blocks+"</gx:Track>", "gx:", ""),
		"other prefix":    strings.ReplaceAll("<gx:Track>"+blocks+"</gx:Track>", "gx:", "q:"),
		"with angles":     "<gx:Track><altitudeMode>absolute</altitudeMode>" + blocks + "<gx:angles>1 2 3</gx:angles></gx:Track>",
		"in a MultiTrack": "<gx:MultiTrack><gx:interpolate>0</gx:interpolate><gx:Track>" + blocks + "</gx:Track></gx:MultiTrack>",
		"in a collection": "<MultiGeometry><MultiGeometry><gx:Track>" + turns + "</gx:Track></MultiGeometry></MultiGeometry>",
		"with a model":    "<gx:Track>" + blocks + "<Model><Location><longitude>1</longitude></Location></Model></gx:Track>",
	} {
		t.Run(name, func(t *testing.T) {
			log := readKML(t, inKML("<Folder><Placemark><name>walk</name>"+inside+"</Placemark></Folder>"))
			require.Empty(t, log.Notes.List())
			require.Equal(t, []string{"walk:3"}, shape(log.Tracks))
			require.Equal(t, want, places(fixes(log)))
			require.Equal(t, "KML", log.Format)
		})
	}
}

func TestReadKMLPairing(t *testing.T) {
	w := func(s int) string { return fmt.Sprintf("<when>2031-05-04T08:00:%02dZ</when>", s) }
	c := func(lon int) string { return fmt.Sprintf("<gx:coord>%d 1</gx:coord>", lon) }
	for name, x := range map[string]struct {
		inside string
		want   []string
		notes  []string
	}{
		"empty elements hold a place": {w(0) + "<when/>" + w(2) + c(0) + c(1) + "<gx:coord/>",
			[]string{"0 1 - 08:00:00", "1 1 - -", "- - - 08:00:02"}, nil},
		"a time short, blocks": {w(0) + w(1) + c(0) + c(1) + c(2),
			[]string{"0 1 - 08:00:00", "1 1 - 08:00:01", "2 1 - -"}, []string{"bad-field 1 walk.kml:3: 2 times for 3 positions"}},
		"a position short, blocks": {w(0) + w(1) + w(2) + c(0) + c(1),
			[]string{"0 1 - 08:00:00", "1 1 - 08:00:01"}, []string{"bad-field 1 walk.kml:3: 3 times for 2 positions"}},
		"a time short, by turns": {w(0) + c(0) + c(1) + w(2) + c(2),
			[]string{"0 1 - 08:00:00", "1 1 - -", "2 1 - 08:00:02"}, []string{"bad-field 1 walk.kml:3: 2 times for 3 positions"}},
		"a position short, by turns": {w(0) + c(0) + w(1) + w(2) + c(2) + w(3) + c(3),
			[]string{"0 1 - 08:00:00", "2 1 - 08:00:02", "3 1 - 08:00:03"}, []string{"bad-field 1 walk.kml:3: 4 times for 3 positions"}},
		"no times": {c(0) + c(1), []string{"0 1 - -", "1 1 - -"}, []string{"bad-field 1 walk.kml:3: 0 times for 2 positions"}},
		"a bad time": {w(0) + "<when>noon</when>" + c(0) + c(1),
			[]string{"0 1 - 08:00:00", "1 1 - -"}, []string{`bad-field 1 walk.kml:3: time "noon" is not a date and time`}},
		"bad numbers": {w(0) + "<gx:coord>x 1,5 3 4</gx:coord>",
			[]string{"- 1.5 3 08:00:00"}, []string{`bad-field 3 walk.kml:3: longitude "x" is not a number`}},
		"nothing": {"", nil, []string{"empty 1 walk.kml:3: segment without points"}},
	} {
		t.Run(name, func(t *testing.T) {
			log := readKML(t, inKML("<Placemark><gx:Track>"+x.inside+"</gx:Track></Placemark>"))
			require.Equal(t, x.want, places(fixes(log)))
			require.Equal(t, x.notes, examples(log))
		})
	}
}

func TestReadKMLMeasures(t *testing.T) {
	values := func(name string, v ...string) string {
		return `<gx:SimpleArrayData name="` + name + `"><gx:value>` + strings.Join(v, "</gx:value><gx:value>") + "</gx:value></gx:SimpleArrayData>"
	}
	in := func(arrays string) string {
		return inKML(`<Placemark><gx:Track><when>2031-05-04T08:00:00Z</when><when>2031-05-04T08:00:01Z</when>` +
			`<gx:coord>1 2</gx:coord><gx:coord>1 3</gx:coord>
<ExtendedData><SchemaData schemaUrl="#s">` + arrays + `</SchemaData></ExtendedData></gx:Track></Placemark>`)
	}
	log := readKML(t, in(values("accuracy", "4.5", "-1")+values("HDOP", "1", "2")+values("satellites", "7", "")+values("speed", "1")+values("pdop", "3")))
	all := fixes(log)
	require.Equal(t, []string{`bad-field 2 walk.kml:4: accuracy "-1" is negative`}, examples(log), "and one pdop for two positions")
	start := at(t, "2031-05-04T08:00:00Z") // PDOP is missing: whose it is cannot be told
	requireFix(t, fix(1, 2, func(f *track.Fix) { f.T, f.AccM, f.HDOP, f.Sats = start, 4.5, 1, 7 }), all[0])
	requireFix(t, fix(1, 3, func(f *track.Fix) { f.T, f.HDOP = start+1000, 2 }), all[1])

	log = readKML(t, inKML(`<Placemark><ExtendedData><Data name="accuracy"><displayName>9</displayName><value>4</value></Data>`+
		`<SchemaData><SimpleData name="sat">8</SimpleData></SchemaData></ExtendedData><Point><coordinates>1,2</coordinates></Point></Placemark>`))
	requireFix(t, fix(1, 2, func(f *track.Fix) { f.AccM, f.Sats = 4, 8 }), log.Waypoints[0].Fix)
}

func TestReadKMLCoordinates(t *testing.T) {
	for text, x := range map[string]struct {
		want  []string
		notes int
	}{
		"1,2,3 4,5,6":              {[]string{"1 2 3 -", "4 5 6 -"}, 0},
		"1,2 4,5":                  {[]string{"1 2 - -", "4 5 - -"}, 0},
		"\n  1,2,3\r\n\t4,5,6\n":   {[]string{"1 2 3 -", "4 5 6 -"}, 0},
		"1, 2, 3 4, 5, 6":          {[]string{"1 2 3 -", "4 5 6 -"}, 0},
		"1 ,2 , 3 4 ,5":            {[]string{"1 2 3 -", "4 5 - -"}, 0},
		"1,2,3, 4,5,6,":            {[]string{"1 2 3 -", "4 5 6 -"}, 0},
		"1,2,\n4,5,\n":             {[]string{"1 2 - -", "4 5 - -"}, 0},
		"1,2,,\n4,5":               {[]string{"1 2 - -", "4 5 - -"}, 0},
		"190.5,-95,1e2":            {[]string{"190.5 -95 100 -"}, 0},
		"1,2,3,4 5,6":              {[]string{"1 2 3 -", "5 6 - -"}, 1},
		"1 2,3":                    {[]string{"1 - - -", "2 3 - -"}, 0},
		"x,2 3,NaN,inf":            {[]string{"- 2 - -", "3 - - -"}, 3},
		"1e400,2":                  {[]string{"- 2 - -"}, 1},
		"&#49;,2<!-- 9 -->,3":      {[]string{"1 2 3 -"}, 0},
		"<![CDATA[1,2,3\n4,5]]>,6": {[]string{"1 2 3 -", "4 5 6 -"}, 0},
		",":                        {[]string{"- - - -"}, 0},
	} {
		t.Run(text, func(t *testing.T) {
			log := readKML(t, inKML("<Placemark><LineString><coordinates>"+text+"</coordinates></LineString></Placemark>"))
			require.Equal(t, x.want, places(fixes(log)))
			require.Equal(t, x.notes, log.Notes.Count(track.NoteBadField), examples(log))
		})
	}
}

func TestReadKMLTree(t *testing.T) {
	log := readKML(t, `<kml:kml xmlns:kml="http://www.opengis.net/kml/2.3"><kml:Document><kml:name>not this</kml:name>
<atom:author xmlns:atom="http://www.w3.org/2005/Atom"><atom:name>logger</atom:name></atom:author>
<kml:Placemark><kml:name>Gate &amp; <![CDATA[<post>]]></kml:name><kml:description>by the road</kml:description>
 <LookAt><gx:TimeStamp><when>2001-01-01T00:00:00Z</when></gx:TimeStamp></LookAt>
 <kml:TimeSpan><kml:begin>2031-05-04T08:00:00Z</kml:begin><kml:end>2031-05-04T09:00:00Z</kml:end></kml:TimeSpan>
 <kml:Point><kml:coordinates> 2, 1, 3 </kml:coordinates></kml:Point></kml:Placemark>
<Placemark><name>two posts</name><MultiGeometry><Point><coordinates>4,5</coordinates></Point><Point><coordinates>6,7 8,9</coordinates></Point><Point/></MultiGeometry></Placemark>
<Placemark><name>field</name><Polygon><outerBoundaryIs><LinearRing><coordinates>1,1 1,2 2,2 1,1</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>
<Placemark><MultiGeometry><LineString><coordinates>1,1 2,2</coordinates></LineString><LineString/><LineString><coordinates>3,3</coordinates></LineString></MultiGeometry><name>late</name></Placemark>
<Placemark><name>nothing</name></Placemark>
<NetworkLink><name>no</name><Link><href>http://x.invalid/a.kml</href></Link></NetworkLink>
<PhotoOverlay><Point><coordinates>9,9</coordinates></Point></PhotoOverlay>
</kml:Document></kml:kml>`)
	require.Equal(t, []string{
		`bad-field 1 walk.kml:7: coordinates " 8,9" are of more than one point`,
		"empty 1 walk.kml:9: line without points",
		"no-position 1 walk.kml:7: a point without coordinates"}, examples(log))
	require.Equal(t, "logger", log.Creator)
	require.Equal(t, []string{"late:2", "late:1"}, shape(log.Tracks))
	require.Len(t, log.Waypoints, 3)
	w := log.Waypoints[0]
	require.Equal(t, []string{"Gate & <post>", "by the road"}, []string{w.Name, w.Desc})
	requireFix(t, fix(2, 1, func(f *track.Fix) { f.EleM, f.T = 3, at(t, "2031-05-04T08:00:00Z") }), w.Fix)
	require.Equal(t, []string{"4 5 - -", "6 7 - -"}, places([]track.Fix{log.Waypoints[1].Fix, log.Waypoints[2].Fix}))
	require.Equal(t, "two posts", log.Waypoints[2].Name)
}

// A small file with something of everything, for cutting.
var smallKML = inKML(`<Placemark><name>a</name><LineString><coordinates>1,10,5 2, 20, 6
 3,30 4,40</coordinates></LineString></Placemark>
<Placemark><TimeStamp><when>2031-05-04T08:00:00Z</when></TimeStamp><Point><coordinates>9,9</coordinates></Point></Placemark>
<Placemark><gx:Track><when>2031-05-04T08:00:00Z</when><when>2031-05-04T08:00:01Z</when><gx:coord>5 50 1</gx:coord>
<gx:coord>6 60</gx:coord></gx:Track></Placemark>`)

// Whatever is left of a file is a beginning of what was in it.
func TestReadKMLTruncatedAnywhere(t *testing.T) {
	whole := places(fixes(readKML(t, smallKML)))
	require.Len(t, whole, 6)
	rootEnds := strings.Index(smallKML, "<Document>")
	for cut := range len(smallKML) {
		text := smallKML[:cut]
		log, err := track.ReadKML(strings.NewReader(text), "walk.kml")
		if cut < rootEnds {
			var parse *track.ParseError
			require.ErrorAs(t, err, &parse, text)
			continue
		}
		require.NoError(t, err, text)
		require.Equal(t, []string{"truncated"}, kinds(log), text)
		got := places(fixes(log))
		require.Equal(t, whole[:len(got)], append([]string{}, got...), text)
		least := min(4, max(0, strings.Count(text, ",")-2)/3) + strings.Count(text, "</gx:coord>")
		require.GreaterOrEqual(t, len(got)+1, least, text)
		require.Equal(t, strings.Contains(text, "9,9</coordinates></Point>"), len(log.Waypoints) == 1, text)
	}
}

func kinds(l *track.Log) (all []string) {
	for _, n := range l.Notes.List() {
		all = append(all, string(n.Kind))
	}
	return all
}

func TestReadKMLDamagedAnywhere(t *testing.T) {
	done := strings.Index(smallKML, "</LineString>")
	for i := len(kmlHead); i < len(smallKML); i++ {
		for _, c := range []byte("<>/&\"' x\x00\xff") {
			log := readKML(t, smallKML[:i]+string(c)+smallKML[i+1:])
			if i > done {
				require.GreaterOrEqual(t, log.Fixes(), 4)
			}
		}
	}
}

func TestReadKMLErrors(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"empty":    {"", "walk.kml: empty file"},
		"blank":    {" \n", "walk.kml:2: no complete <kml> tag"},
		"cut root": {"<kml xmlns='", "walk.kml:1: no complete <kml> tag"},
		"GPX":      {"<gpx/>", "walk.kml: not a KML file: starts with <gpx>"},
		"web page": {"<html>", "walk.kml: not a KML file: starts with <html>, an HTML page"},
		"JSON":     {`{"a":1}`, "walk.kml: not a KML file: looks like JSON"},
	} {
		log, err := track.ReadKML(strings.NewReader(c.text), "walk.kml")
		require.EqualError(t, err, c.want, name)
		require.Nil(t, log)
	}
	broken := errors.New("disk on fire")
	for _, cut := range []int{0, 10, 200, len(smallKML)} {
		_, err := track.ReadKML(io.MultiReader(strings.NewReader(smallKML[:cut]), failing{broken}), "walk.kml")
		require.ErrorIs(t, err, broken)
	}
}

// requireModest runs a read of a hostile file within 2 s and 300 MB.
func requireModest(t *testing.T, read func() (*track.Log, error)) (log *track.Log, err error) {
	t.Helper()
	start := time.Now()
	allocated := bytesAllocated(func() { log, err = read() })
	require.Less(t, time.Since(start), 20*time.Second) // ten times the promise, for busy machines
	require.Less(t, allocated, uint64(300<<20))
	return log, err
}

func TestReadKMLHostile(t *testing.T) {
	line := kmlHead + "<Placemark><LineString><coordinates>1,2 3,4</coordinates></LineString></Placemark>\n<Placemark>"
	for name, x := range map[string]struct{ tail, note string }{
		"a huge text":        {"<LineString><coordinates>", "bad-xml 1 walk.kml:4: a piece of text or markup over 16 MB, read up to here"},
		"a huge tag":         {"<Data name='", "bad-xml 1 walk.kml:4: a piece of text or markup over 16 MB, read up to here"},
		"nested geometries":  {strings.Repeat("<MultiGeometry>", 1_000_000), "bad-xml 1 walk.kml:4: elements nested too deep, read up to here"},
		"nested placemarks":  {strings.Repeat("<Placemark>", 1_000_000), "bad-xml 1 walk.kml:4: elements nested too deep, read up to here"},
		"huge numbers":       {"<LineString><coordinates>" + strings.Repeat("9", 1<<20) + "," + strings.Repeat("1", 1<<20) + "</coordinates>", ""},
		"a text of commas":   {"<LineString><coordinates>" + strings.Repeat(",", 4<<20) + "</coordinates>", ""},
		"commas with blanks": {"<LineString><coordinates>" + strings.Repeat(", ", 1<<20) + "</coordinates>", ""},
	} {
		t.Run(name, func(t *testing.T) {
			log, err := requireModest(t, func() (*track.Log, error) {
				return track.ReadKML(io.MultiReader(strings.NewReader(line+x.tail), &endless{left: 1 << 28}), "walk.kml")
			})
			require.NoError(t, err)
			require.GreaterOrEqual(t, log.Fixes(), 2)
			if x.note != "" {
				require.Equal(t, []string{x.note}, examples(log))
			}
		})
	}
	bomb := `<!DOCTYPE kml [<!ENTITY a "1,2 ">`
	for c := 'b'; c <= 'z'; c++ {
		bomb += fmt.Sprintf(`<!ENTITY %c "%s">`, c, strings.Repeat(fmt.Sprintf("&%c;", c-1), 10))
	}
	log := readKML(t, bomb+`]><kml><Placemark><LineString><coordinates>&z;</coordinates></LineString></Placemark></kml>`)
	require.Equal(t, 1, log.Fixes(), "one position that cannot be read")
}

// timedPoints are n placemarks, so many seconds apart.
func timedPoints(n, step int, name func(i int) string) (all string) {
	start := time.Date(2031, 5, 4, 8, 0, 0, 0, time.UTC)
	for i := range n {
		all += fmt.Sprintf("<Placemark><name>%s</name><TimeStamp><when>%s</when></TimeStamp><Point><coordinates>%d,1</coordinates></Point></Placemark>\n",
			name(i), start.Add(time.Duration(i*step)*time.Second).Format(time.RFC3339), i)
	}
	return all
}

func TestPointsThatAreATrack(t *testing.T) {
	same := func(text string) func(int) string { return func(int) string { return text } }
	numbered := func(i int) string { return fmt.Sprint("Point ", i) }
	line := func(places string) string {
		return "<Placemark><name>path</name><LineString><coordinates>" + places + "</coordinates></LineString></Placemark>"
	}
	for name, x := range map[string]struct {
		inside    string
		tracks    []string
		waypoints int
	}{
		"without names":          {timedPoints(10, 1, same("")), []string{":10"}, 0},
		"of one name":            {timedPoints(12, 60, same("walk 3")), []string{"walk 3:12"}, 0},
		"numbered":               {timedPoints(12, 5, numbered), []string{"Point:12"}, 0},
		"nine":                   {timedPoints(9, 1, same("")), nil, 9},
		"one by one, with a dig": {timedPoints(12, 61, same("find")), nil, 12},
		"with names of their own": {timedPoints(12, 1, func(i int) string { return strings.Repeat("x", i) }),
			nil, 12},
		"beside marks":       {timedPoints(3, 600, same("gate")) + timedPoints(10, 1, same("")), []string{":10"}, 3},
		"beside a track":     {timedPoints(10, 1, same("")) + "<Placemark><gx:Track><when>2031-05-04T08:00:00Z</when><gx:coord>1 2</gx:coord></gx:Track></Placemark>", []string{":1"}, 10},
		"with their line":    {timedPoints(10, 1, numbered) + line("0,1 1,1 3,1 9,1"), []string{"Point:10"}, 0},
		"with another line":  {timedPoints(10, 1, numbered) + line("0,1 1,1 8,2"), []string{"path:3", "Point:10"}, 0},
		"with it, backwards": {timedPoints(10, 1, numbered) + line("3,1 1,1"), []string{"path:2", "Point:10"}, 0},
	} {
		t.Run(name, func(t *testing.T) {
			log := readKML(t, inKML(x.inside))
			require.Equal(t, x.tracks, shape(log.Tracks))
			require.Len(t, log.Waypoints, x.waypoints)
			repeated := 0
			if name == "with their line" {
				repeated = 1
			}
			require.Equal(t, repeated, log.Notes.Count(track.NoteRepeated))
		})
	}
}
