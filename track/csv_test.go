package track_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
	"untrod/track"
)

func readCSV(t *testing.T, text string, columns track.Columns) *track.Log {
	t.Helper()
	log, err := track.ReadCSV(strings.NewReader(text), "walk.csv", columns)
	require.NoError(t, err)
	require.Equal(t, "CSV", log.Format)
	requireSound(t, log)
	return log
}

// oddOf are the notes but for that on columns.
func oddOf(l *track.Log) string {
	var odd []string
	for _, e := range examples(l) {
		if !strings.HasPrefix(e, string(track.NoteColumns)+" ") {
			odd = append(odd, e)
		}
	}
	return strings.Join(odd, "|")
}

// Each table says the same of one place at one time.
func TestReadCSVManyWaysToSayOneThing(t *testing.T) {
	for name, text := range map[string]string{
		"plain":                  "lat,lon,time\n47.25,-3.5,2031-05-24T08:15:30Z\n",
		"no line end":            "lat,lon,time\n47.25,-3.5,2031-05-24T08:15:30Z",
		"CRLF":                   "lat,lon,time\r\n47.25,-3.5,2031-05-24T08:15:30Z\r\n",
		"bare CR":                "lat,lon,time\r47.25,-3.5,2031-05-24T08:15:30Z\r",
		"semicolons":             "Lat;Lon;Time\n47.25;-3.5;2031-05-24 08:15:30\n",
		"decimal commas":         "Breite;Länge;Zeit\n47,25;-3,5;2031-05-24 08:15:30\n",
		"Latin-1":                "Breite;L\xe4nge;Zeit\n47,25;-3,5;2031-05-24 08:15:30\n",
		"tabs":                   "LATITUDE\tLONGITUDE\tTIMESTAMP\n47.25\t-3.5\t2031-05-24T08:15:30\n",
		"sep line":               "sep=|\r\nlat|lon|time\r\n47.25|-3.5|2031-05-24T08:15:30Z\r\n",
		"byte order mark":        "\xef\xbb\xbflat,lon,time\n47.25,-3.5,2031-05-24T08:15:30Z\n",
		"UTF-16":                 "\xff\xfe" + utf16le("lat,lon,time\n47.25,-3.5,2031-05-24T08:15:30Z\n"),
		"UTF-16 without a mark":  utf16le("lat,lon,time\n47.25,-3.5,2031-05-24T08:15:30Z\n"),
		"UTF-16, big end first":  "\xfe\xff\x00" + strings.TrimSuffix(utf16le("lat,lon,time\n47.25,-3.5,2031-05-24T08:15:30Z\n"), "\x00"),
		"quoted":                 "\"lat\",\"lon\",\"time\"\n\"47.25\",\"-3.5\",\"2031-05-24T08:15:30Z\"\n",
		"quoted commas":          "lat,lon,time\n\"47,25\",\"-3,5\",\"2031-05-24T08:15:30Z\"\n",
		"spaces":                 "lat , lon , time\n 47.25 , \"-3.5\" , 2031-05-24T08:15:30Z \n",
		"units in brackets":      "Latitude (deg),Longitude [°],Time (UTC)\n47.25,-3.5,2031-05-24T08:15:30\n",
		"units after":            "lat_deg,lon_deg,time_utc\n47.25,-3.5,2031-05-24T08:15:30\n",
		"x and y":                "X,Y,time\n-3.5,47.25,2031-05-24T08:15:30\n",
		"a name outweighs x":     "x,y,z,lat,lon,time\n1,2,,47.25,-3.5,2031-05-24T08:15:30\n",
		"UTC outweighs time":     "time,time (UTC),lat,lon\n2031-05-24T10:15:30,2031-05-24T08:15:30,47.25,-3.5\n",
		"preamble":               "My walk\n\n# by a logger, version 2\nlat,lon,time\n47.25,-3.5,2031-05-24T08:15:30Z\n",
		"hashed header":          "#lat,lon,time\n47.25,-3.5,2031-05-24T08:15:30Z\n",
		"comment within":         "lat,lon,time\n# start, or so\n47.25,-3.5,2031-05-24T08:15:30Z\n",
		"blank rows":             "lat,lon,time\n\n,,\n47.25,-3.5,2031-05-24T08:15:30Z\n\n",
		"trailing delimiters":    "lat,lon,time\n47.25,-3.5,2031-05-24T08:15:30Z,,\n",
		"degrees and minutes":    "lat,lon,time\nN47 15.0,W3 30.0,2031-05-24T08:15:30Z\n",
		"degrees, minutes, secs": "lat;lon;time\n\"47°15'0,0\"\"N\";\"3°30'0,0\"\"W\";2031-05-24T08:15:30Z\n",
		"the same, not escaped":  "lat,lon,time\n47°15'0.0\"N,3°30'0.0\"W,2031-05-24T08:15:30Z\n",
		"degree signs, Latin-1":  "lat,lon,time\n47\xb015'N,3\xb030'W,2031-05-24T08:15:30Z\n",
		"hemispheres after":      "lat,lon,time\n47.25N,3.5 W,2031-05-24T08:15:30Z\n",
		"zone":                   "lat,lon,time\n47.25,-3.5,2031-05-24T10:15:30+02:00\n",
		"date and time":          "date,time,lat,lon\n2031-05-24,08:15:30,47.25,-3.5\n",
		"date, time with zone":   "date,time,lat,lon\n2031-05-24,10:15:30+02:00,47.25,-3.5\n",
		"date and time in one":   "date,lat,lon\n2031-05-24 08:15:30,47.25,-3.5\n",
		"date beside whole time": "date,time,lat,lon\n2031-05-23,2031-05-24T08:15:30Z,47.25,-3.5\n",
		"slashes, year first":    "time,lat,lon\n2031/05/24 8:15:30,47.25,-3.5\n",
		"day first":              "time;lat;lon\n24.05.2031 08:15:30;47,25;-3,5\n",
		"day first, slashes":     "date,time,lat,lon\n24/5/2031,8:15:30,47.25,-3.5\n",
		"month first":            "date,time,lat,lon\n5/24/2031,8:15:30 AM,47.25,-3.5\n",
		"seconds since 1970":     "time,lat,lon\n1937376930,47.25,-3.5\n",
		"milliseconds":           "timestamp,lat,lon\n1937376930000,47.25,-3.5\n",
	} {
		t.Run(name, func(t *testing.T) {
			log := readCSV(t, text, nil)
			require.Empty(t, oddOf(log))
			got := fixes(log)
			require.Len(t, got, 1)
			requireFix(t, fix(-3.5, 47.25, func(f *track.Fix) { f.T = at(t, "2031-05-24T08:15:30Z") }), got[0])
		})
	}
}

func TestReadCSVFields(t *testing.T) {
	log := readCSV(t, `Session;Latitude;Longitude;Altitude (ft);HDOP;PDOP;Horizontal accuracy [m];Satellites;Speed
a;47.25;-3.5;100;1,2;2.5;4,5;9;3
b;47.26;-3.6;;;;;;
a;47.27;-3.7;x;-1;;-2;8.5;
`, nil)
	require.Len(t, log.Tracks, 2)
	require.Equal(t, "a", log.Tracks[0].Name)
	require.Len(t, log.Tracks[0].Segments, 1)
	got := log.Tracks[0].Segments[0]
	requireFix(t, fix(-3.5, 47.25, func(f *track.Fix) {
		f.EleM, f.HDOP, f.PDOP, f.AccM, f.Sats = 30.48, 1.2, 2.5, 4.5, 9
	}), got[0])
	requireFix(t, fix(-3.7, 47.27, nil), got[1])
	require.Equal(t, "b", log.Tracks[1].Name)
	requireFix(t, fix(-3.6, 47.26, nil), log.Tracks[1].Segments[0][0])
	require.Equal(t, []string{
		`bad-field 4 walk.csv:4: ele "x" is not a number`,
		`columns 1 walk.csv:1: lat from "Latitude", lon from "Longitude", ele from "Altitude (ft)" in feet, hdop from "HDOP", ` +
			`pdop from "PDOP", accuracy from "Horizontal accuracy [m]", sats from "Satellites", track from "Session"; not used: "Speed"`,
	}, examples(log))
}

func TestReadCSVWaypoints(t *testing.T) {
	log := readCSV(t, "name,lat,lon,description\r\nOak,47.25,-3.5,\"big, with \"\"A+B\"\"\r\non it\"\r\nGate\xe9,47.26,-3.6\r\n", nil)
	require.Empty(t, log.Tracks)
	require.Len(t, log.Waypoints, 2)
	require.Equal(t, "Oak", log.Waypoints[0].Name)
	require.Equal(t, "big, with \"A+B\"\r\non it", log.Waypoints[0].Desc)
	require.Equal(t, grid.LonLat{Lon: -3.5, Lat: 47.25}, log.Waypoints[0].Pos)
	require.Equal(t, "Gateé", log.Waypoints[1].Name)

	rows := "name,time,lat,lon\n"
	for i := range 5 {
		rows += fmt.Sprintf("walk,2031-05-04T08:15:3%d,47.25,-3.5\n", i)
	}
	log = readCSV(t, rows, nil)
	require.Empty(t, log.Waypoints)
	require.Equal(t, "walk", log.Tracks[0].Name)
	require.Equal(t, 5, log.Fixes())

	log = readCSV(t, rows+"Oak,,47.25,-3.5\n,2031-05-04T08:16:00,47.25,-3.5\n", nil)
	require.Len(t, log.Waypoints, 6)
	require.Equal(t, 1, log.Fixes())
}

// The order of day and month is told by any date of the file, wherever it is.
func TestReadCSVDates(t *testing.T) {
	for name, c := range map[string]struct {
		dates, want string
		notes       string
		columns     track.Columns
	}{
		"day first, told later":   {"3/4/2031 13/4/2031 5/5/2031", "2031-04-03 2031-04-13 2031-05-05", "", nil},
		"month first, told later": {"3/4/2031 12/11/2031 5/5/2031 4/13/2031 4/5/2031", "2031-03-04 2031-12-11 2031-05-05 2031-04-13 2031-04-05", "", nil},
		"told by columns":         {"3.4.2031 4.4.2031", "2031-04-03 2031-04-04", "", track.Columns{"dates": "dmy"}},
		"told by columns, month":  {"3/4/2031 4/4/2031", "2031-03-04 2031-04-04", "", track.Columns{"dates": "mdy"}},
		"the same either way":     {"4/4/2031", "2031-04-04", "", nil},
		"contradicting":           {"13/4/2031 4/13/2031", "2031-04-13 -", "bad-field 1 walk.csv:3: time \"4/13/2031 08:15:30\" is not a date and time", nil},
		"two styles":              {"13/4/2031 2031-04-14", "2031-04-13 -", "bad-field 1 walk.csv:3: time \"2031-04-14 08:15:30\" is not a date and time", nil},
		"no such day":             {"31/4/2031 13/4/2031", "- 2031-04-13", "bad-field 1 walk.csv:2: time \"31/4/2031 08:15:30\" is not a date and time", nil},
	} {
		t.Run(name, func(t *testing.T) {
			text := "lat,lon,time\n"
			for d := range strings.FieldsSeq(c.dates) {
				text += "47.25,-3.5," + d + " 08:15:30\n"
			}
			log := readCSV(t, text, c.columns)
			var got []string
			for _, f := range fixes(log) {
				if !f.T.Known() {
					got = append(got, "-")
					continue
				}
				require.Equal(t, "08:15:30", f.T.Time().Format(time.TimeOnly))
				got = append(got, f.T.Time().Format(time.DateOnly))
			}
			require.Equal(t, c.want, strings.Join(got, " "))
			require.Equal(t, c.notes, oddOf(log))
		})
	}
}

func TestReadCSVTimes(t *testing.T) {
	for in, want := range map[string]string{
		"2031-05-24T08:15:30.25": "2031-05-24T08:15:30.25Z", "2031-05-24 8:15": "2031-05-24T08:15:00Z",
		"24.05.2031, 08:15:30,5": "2031-05-24T08:15:30.5Z", "5/24/2031 12:05 AM": "2031-05-24T00:05:00Z",
		"5/24/2031 12:05:01pm": "2031-05-24T12:05:01Z", "2031-05-24 08:15:30 UTC": "2031-05-24T08:15:30Z",
		"2031/05/24 08:15:30 +02:00": "2031-05-24T06:15:30Z", "1937376930.123": "2031-05-24T08:15:30.123Z",
		"1937376930123": "2031-05-24T08:15:30.123Z", "24.05.2031 08:15:30Z": "2031-05-24T08:15:30Z",
		"20310524T081530Z": "2031-05-24T08:15:30Z",
	} {
		log := readCSV(t, "time\tlat\tlon\n"+in+"\t47.25\t-3.5\n", nil)
		require.Equal(t, at(t, want).Time(), fixes(log)[0].T.Time(), in)
	}
	for _, in := range []string{"noon", "08:15:30", "12.5", "5/24/31 08:15:30", "2031-05-24 25:15", "2031-05-24 08:60",
		"5/24/2031 13:05 PM", "5/24/2031 0:05 AM", "24.05.2031 08:15 +02:00", "24.05-2031 08:15", "24/2031 08:15", "1e30"} {
		_, err := track.ReadCSV(strings.NewReader("time\tlat\tlon\n"+in+"\t47.25\t-3.5\n"), "walk.csv", nil)
		require.EqualError(t, err, fmt.Sprintf(`walk.csv: "time" taken as time: no value can be read as a date and time, such as %q in line 2; say time=COLUMN or time=none`, in))
	}
	for ms := range 1000 { // none lost to binary fractions
		log := readCSV(t, fmt.Sprintf("time,lat,lon\n1080000000.%03d,47.25,-3.5\n", ms), nil)
		require.Equal(t, track.Instant(1_080_000_000_000+ms), fixes(log)[0].T)
	}
	log := readCSV(t, "date,lat,lon\n2031-05-24,47.25,-3.5\n", nil)
	require.Equal(t, track.NoTime, fixes(log)[0].T)
	require.Equal(t, `bad-field 1 walk.csv:2: date "2031-05-24" has no time of day`, oddOf(log))
}

func TestReadCSVColumns(t *testing.T) {
	for name, c := range map[string]struct {
		text    string
		columns track.Columns
		note    string
	}{
		"by name":             {"a;b;c\n1;47.25;-3.5\n", track.Columns{"lat": "b", "lon": "C"}, `walk.csv:1: lat from "b", lon from "c"; not used: "a"`},
		"by number":           {"a,b,c\n1,47.25,-3.5\n", track.Columns{"lat": "2", "lon": "3"}, `walk.csv:1: lat from "b", lon from "c"; not used: "a"`},
		"number, no header":   {"1,47.25,-3.5\n2,47.25,-3.5\n", track.Columns{"lat": "2", "lon": "3"}, `walk.csv:1: lat from column 2, lon from column 3`},
		"another than guess":  {"lat,lon,y,x\n0,0,47.25,-3.5\n", track.Columns{"lat": "y", "lon": "x"}, `walk.csv:1: lat from "y", lon from "x"; not used: "lat", "lon"`},
		"not that":            {"lat,lon,time\n47.25,-3.5,noon\n", track.Columns{"time": "none"}, `walk.csv:1: lat from "lat", lon from "lon"; not used: "time"`},
		"no header, by signs": {"N47.25,W3.5\n", nil, `walk.csv:1: lat from column 1, lon from column 2`},
		"no header, beyond 90": {"2031-05-04T08:15:30Z;-103,500;47,250\n2031-05-04T08:15:31Z;-103,501;47,250\n", nil,
			`walk.csv:1: lat from column 3, lon from column 2, time from column 1`},
		"many columns": {"lat,lon,1,2,3,4,5,6,7,8,9\n47.25,-3.5\n", nil,
			`walk.csv:1: lat from "lat", lon from "lon"; not used: "1", "2", "3", "4", "5", "6", "7", "8" and 1 more`},
	} {
		t.Run(name, func(t *testing.T) {
			log := readCSV(t, c.text, c.columns)
			require.Equal(t, []string{"columns 1 " + c.note}, examples(log))
			for _, f := range fixes(log) {
				require.InDelta(t, 47.25, f.Pos.Lat, 0)
				require.Less(t, f.Pos.Lon, -3.4)
			}
			require.NotZero(t, log.Fixes())
		})
	}
}

func TestReadCSVOddRows(t *testing.T) {
	const good = "47.25,-3.5\n"
	for name, c := range map[string]struct {
		text  string
		fixes int
		notes string
	}{
		"no angle":            {"lat,lon\n" + good + "north,-3.5\n", 1, `bad-row 1 walk.csv:3: position "north", "-3.5" is not two angles`},
		"half a position":     {"lat,lon\n" + good + "47.25\n", 1, `bad-row 1 walk.csv:3: position "47.25", "" is not two angles`},
		"no position":         {"lat,lon,ele\n47.25,-3.5,1\n,,80\n", 1, "no-position 1 walk.csv:3: a row without a position"},
		"decimal commas bare": {"lat,lon\n" + good + "47,25,-3,5\n", 1, "bad-row 1 walk.csv:3: 4 fields, not 2"},
		"thousands":           {"lat,lon,ele\n47.25,-3.5,80\n47.25,-3.5,\"1,080\"\n", 2, `bad-field 1 walk.csv:3: ele "1,080" is not a number`},
		"cut short":           {"lat,lon,ele\n47.25,-3.5,80\n47.2", 1, "truncated 1 walk.csv:3: the last row is cut short, left out"},
		"open quote":          {"lat,lon,note\n47.25,-3.5,\"oak\n" + "47.25,-3.5,\n", 2, "bad-row 1 walk.csv:2: a quote that is never closed, read as text"},
		"open quote at start": {"lat,lon\n\"" + good + good, 1, `bad-row 2 walk.csv:2: a quote that is never closed, read as text`},
		"off the globe":       {"lat,lon\n" + good + "147.25,-3.5\n", 2, ""},
		"long row":            {"lat,lon\n" + good + strings.Repeat("x", 200_000) + "\n" + good, 2, "bad-row 1 walk.csv:3: a row over 64 kB"},
		"no rows":             {"lat,lon\n", 0, "empty 1 walk.csv:2: no rows"},
		"header again":        {"lat,lon\n" + good + "lat,lon\n" + good, 2, `bad-row 1 walk.csv:3: position "lat", "lon" is not two angles`},
	} {
		t.Run(name, func(t *testing.T) {
			log := readCSV(t, c.text, nil)
			require.Equal(t, c.notes, oddOf(log))
			require.Equal(t, c.fixes, log.Fixes())
		})
	}
}

func TestReadCSVErrors(t *testing.T) {
	for name, c := range map[string]struct {
		text    string
		columns track.Columns
		want    string
	}{
		"empty":             {"", nil, "empty file"},
		"blank":             {"\n\n", nil, "no rows"},
		"unknown names":     {"oben;rechts\n1;2\n", nil, `no line names a latitude and a longitude; the first has "oben", "rechts"; say which they are, such as lat=1 lon=2`},
		"no header":         {"47.251,-3.501\n47.252,-3.502\n", nil, `no line names a latitude and a longitude; the first has "47.251", "-3.501"; say which they are, such as lat=1 lon=2`},
		"both beyond 90":    {"103.251,-103.501\n", nil, `no line names a latitude and a longitude; the first has "103.251", "-103.501"; say which they are, such as lat=1 lon=2`},
		"no such column":    {"lat,lon\n1,2\n", track.Columns{"time": "when"}, `no column "when" for time; the first has "lat", "lon"`},
		"no such number":    {"47.25,-3.5\n", track.Columns{"lat": "1", "lon": "3"}, `no column "3" for lon; the first has "47.25", "-3.5"`},
		"no such meaning":   {"lat,lon\n1,2\n", track.Columns{"depth": "1"}, `column "depth": must be one of lat, lon, time, date, ele, hdop, pdop, accuracy, sats, track, name, desc`},
		"no such order":     {"lat,lon\n1,2\n", track.Columns{"dates": "ymd"}, `order of dates "ymd": must be dmy or mdy`},
		"metres":            {"x,y\n412345.2,5234567.1\n", nil, `"y" taken as lat: no value can be read as degrees of latitude, such as "5234567.1" in line 2; say lat=COLUMN`},
		"never an accuracy": {"lat,lon,acc\n1,2,good\n1,2,\n1,2,fair\n", nil, `"acc" taken as accuracy: no value can be read as a number, such as "good" in line 2; say accuracy=COLUMN or accuracy=none`},
		"open order":        {"lat,lon,time\n1,2,3/4/2031 08:15\n1,2,3/5/2031 08:15\n", nil, `date "3/4/2031" may have the day or the month first, and no date in the file tells; say dates=dmy or dates=mdy`},
		"binary":            {strings.Repeat("\x00\x01\x02\xff", 99), nil, ""},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := track.ReadCSV(strings.NewReader(c.text), "walk.csv", c.columns)
			var parse *track.ParseError
			require.ErrorAs(t, err, &parse)
			if c.want != "" {
				require.EqualError(t, err, "walk.csv: "+c.want)
			}
		})
	}
	broken := errors.New("disk on fire")
	for _, cut := range []int{0, 4, 30} {
		text := "lat,lon\n47.25,-3.5\n47.25,-3.5\n47.25,-3.5\n"[:cut]
		_, err := track.ReadCSV(io.MultiReader(strings.NewReader(text), failing{broken}), "walk.csv", nil)
		require.ErrorIs(t, err, broken)
	}
	log, err := track.ReadCSV(io.MultiReader(strings.NewReader("lat,lon\n1,2\n3,4"), failing{io.ErrUnexpectedEOF}), "walk.csv", nil)
	require.NoError(t, err)
	require.Equal(t, 1, log.Fixes())
	require.Equal(t, "truncated 1 walk.csv:3: file ends too early, read up to here", oddOf(log))
}

// What encoding/csv writes, with any names and delimiter, is read back bit for bit.
func TestReadCSVReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		w.Comma = rapid.SampledFrom([]rune{',', ';', '\t'}).Draw(t, "comma")
		w.UseCRLF = rapid.Bool().Draw(t, "CRLF")
		require.NoError(t, w.Write([]string{"lon", "name", "lat", "time", "desc", "hdop"}))
		var want []track.Waypoint
		for i := range rapid.IntRange(1, 20).Draw(t, "n") {
			p := track.Waypoint{Fix: track.NoFix, Name: fmt.Sprint("p", i), Desc: rapid.StringMatching(`([a-z",; ]|\n){0,9}x`).Draw(t, "desc")}
			p.Desc = strings.TrimSpace(p.Desc)
			p.Pos = grid.LonLat{Lon: rapid.Float64Range(-180, 180).Draw(t, "lon"), Lat: rapid.Float64Range(-90, 90).Draw(t, "lat")}
			p.T = track.Instant(rapid.Int64Range(0, 4e12).Draw(t, "t"))
			p.HDOP = rapid.Float32Range(0, 100).Draw(t, "hdop")
			number := func(v float64, bits int) string { return strconv.FormatFloat(v, 'g', -1, bits) }
			require.NoError(t, w.Write([]string{number(p.Pos.Lon, 64), p.Name, number(p.Pos.Lat, 64),
				p.T.Time().Format(time.RFC3339Nano), p.Desc, number(float64(p.HDOP), 32)}))
			want = append(want, p)
		}
		w.Flush()
		log, err := track.ReadCSV(&b, "walk.csv", nil)
		require.NoError(t, err)
		got := log.Waypoints
		if len(log.Tracks) > 0 { // one name throughout
			t.Skip()
		}
		require.Len(t, got, len(want))
		for i := range got {
			got[i].Desc = strings.ReplaceAll(got[i].Desc, "\r\n", "\n") // as encoding/csv would
			require.Equal(t, fmt.Sprintf("%+v", want[i]), fmt.Sprintf("%+v", got[i]))
			require.Equal(t, math.Float64bits(want[i].Pos.Lat), math.Float64bits(got[i].Pos.Lat))
		}
	})
}

func FuzzReadCSV(f *testing.F) {
	for _, seed := range []string{
		"", "lat,lon\n1,2\n", "sep=;\nlat;lon;time;name\n1,5;2;3/4/2031 5:6 PM;a\n", "N1,E2\n", "1.2345,101.2345\n",
		"date\ttime\tx\ty\talt(ft)\tsats\n13/4/2031\t08:15:30.5\t\"1°2'3\"\"E\"\t-2\t\"1,5\"\t7\n",
		"\xff\xfel\x00a\x00t\x00,\x00", "track,lat,lon,acc,desc\n\"a\"\"b\",1,2,-3,\"x\r\ny\"\n#\n,,,,\n\"",
	} {
		f.Add([]byte(seed), "lat", "1")
	}
	f.Fuzz(func(t *testing.T, data []byte, word, column string) {
		for _, columns := range []track.Columns{nil, {word: column}} {
			log, err := track.ReadCSV(bytes.NewReader(data), "fuzz.csv", columns)
			if err != nil {
				var parse *track.ParseError
				require.ErrorAs(t, err, &parse)
				require.Nil(t, log)
				require.NotContains(t, err.Error(), "\n")
				continue
			}
			requireSound(t, log)
			again, err := track.ReadCSV(iotest.OneByteReader(bytes.NewReader(data)), "fuzz.csv", columns)
			require.NoError(t, err)
			require.Equal(t, examples(log), examples(again))
			require.Equal(t, fmt.Sprint(log.Tracks, log.Waypoints), fmt.Sprint(again.Tracks, again.Waypoints))
		}
	})
}
