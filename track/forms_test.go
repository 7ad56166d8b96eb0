package track_test

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
	"untrod/track"
)

// A small writer of each format, with the freedom that it leaves: rng chooses among
// the ways to write the same.
type logForm struct {
	write  func(l *track.Log, rng *rand.Rand) string
	read   func(io.Reader, string) (*track.Log, error)
	oracle func(t require.TestingT, text string) []track.Fix
}

var logForms = map[string]logForm{
	"KML":     {kmlOf, track.ReadKML, kmlOracle},
	"TCX":     {tcxOf, track.ReadTCX, tcxOracle},
	"GeoJSON": {geoJSONOf, track.ReadGeoJSON, geoJSONOracle},
}

func stamped(f track.Fix) string {
	if !f.T.Known() {
		return ""
	}
	return f.T.Time().Format("2006-01-02T15:04:05.000Z07:00")
}

// numbers are longitude, latitude and, if any, elevation.
func numbers(f track.Fix, sep string) string {
	text := decimals(f.Pos.Lon) + sep + decimals(f.Pos.Lat)
	if f.EleM == f.EleM {
		text += sep + strconv.FormatFloat(float64(f.EleM), 'g', -1, 32)
	}
	return text
}

func decimals(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func escaped(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s))
	return b.String()
}

func choose(rng *rand.Rand, of ...string) string { return of[rng.IntN(len(of))] }

func kmlOf(l *track.Log, rng *rand.Rand) string {
	var b strings.Builder
	b.WriteString(kmlHead)
	for _, tr := range l.Tracks {
		multi := choose(rng, "MultiGeometry", "gx:MultiTrack", "MultiTrack")
		fmt.Fprintf(&b, "<Placemark><name>%s</name><%s>\n", escaped(tr.Name), multi)
		for _, s := range tr.Segments {
			kmlSegmentOf(&b, s, rng)
		}
		fmt.Fprintf(&b, "</%s></Placemark>\n", multi)
	}
	for _, w := range l.Waypoints {
		when := choose(rng, "<TimeStamp><when>%s</when></TimeStamp>", "<TimeSpan><begin>%s</begin></TimeSpan>")
		fmt.Fprintf(&b, "<Placemark><name>%s</name><description>%s</description>"+when+"<Point><coordinates>%s%s</coordinates></Point></Placemark>\n",
			escaped(w.Name), escaped(w.Desc), stamped(w.Fix), choose(rng, "", " ", "\n"), numbers(w.Fix, ","))
	}
	return b.String() + "</Document></kml>"
}

func kmlSegmentOf(b *strings.Builder, s []track.Fix, rng *rand.Rand) {
	timed := false
	for _, f := range s {
		timed = timed || f.T.Known()
	}
	if !timed {
		b.WriteString("<LineString><coordinates>")
		for _, f := range s {
			b.WriteString(choose(rng, " ", "\n", "\t", "\r\n") + numbers(f, choose(rng, ",", ", ", " ,", " , ")))
		}
		b.WriteString("</coordinates></LineString>\n")
		return
	}
	prefix := choose(rng, "gx:", "")
	turns := rng.IntN(2) == 0
	var coords strings.Builder
	b.WriteString("<" + prefix + "Track>")
	for _, f := range s {
		fmt.Fprintf(b, "<when>%s</when>", stamped(f))
		to := &coords
		if turns {
			to = b
		}
		fmt.Fprintf(to, "<%scoord>%s</%scoord>\n", prefix, numbers(f, " "), prefix)
	}
	b.WriteString(coords.String() + "</" + prefix + "Track>\n")
}

func tcxOf(l *track.Log, rng *rand.Rand) string {
	var b strings.Builder
	point := func(f track.Fix) {
		fields := []string{
			"<Time>" + stamped(f) + "</Time>",
			fmt.Sprintf("<Position><LatitudeDegrees>%s</LatitudeDegrees>\n<LongitudeDegrees>%s</LongitudeDegrees></Position>", decimals(f.Pos.Lat), decimals(f.Pos.Lon)),
		}
		if f.EleM == f.EleM {
			fields = append(fields, "<AltitudeMeters>"+strconv.FormatFloat(float64(f.EleM), 'g', -1, 32)+"</AltitudeMeters>")
		}
		rng.Shuffle(len(fields), func(i, j int) { fields[i], fields[j] = fields[j], fields[i] })
		b.WriteString(strings.Join(fields, choose(rng, "", "\n")))
	}
	b.WriteString(tcxHead + "<Activities>")
	for _, tr := range l.Tracks {
		fmt.Fprintf(&b, "<Activity><Id>%s</Id><Lap>", escaped(tr.Name))
		for _, s := range tr.Segments {
			b.WriteString(choose(rng, "", "</Lap><Lap>") + "<Track>\n")
			for _, f := range s {
				b.WriteString("<Trackpoint>")
				point(f)
				b.WriteString("</Trackpoint>\n")
			}
			b.WriteString("</Track>")
		}
		b.WriteString("</Lap></Activity>")
	}
	b.WriteString("</Activities><Courses><Course>")
	for _, w := range l.Waypoints {
		fmt.Fprintf(&b, "<CoursePoint><Name>%s</Name><Notes>%s</Notes>", escaped(w.Name), escaped(w.Desc))
		point(w.Fix)
		b.WriteString("</CoursePoint>")
	}
	b.WriteString("<Track>")
	b.WriteString("<Trackpoint><Position><LatitudeDegrees>1</LatitudeDegrees><LongitudeDegrees>2</LongitudeDegrees></Position></Trackpoint>")
	return b.String() + "</Track></Course></Courses></TrainingCenterDatabase>"
}

// member is one of a JSON object, which may come in any order.
func objectOf(rng *rand.Rand, members ...string) string {
	rng.Shuffle(len(members), func(i, j int) { members[i], members[j] = members[j], members[i] })
	return "{" + strings.Join(members, choose(rng, ",", ", ", ",\n")) + "}"
}

func quotedJSON(s string) string {
	b, _ := json.Marshal(s)
	return string(b)
}

func timeJSON(f track.Fix, rng *rand.Rand) string {
	if !f.T.Known() {
		return choose(rng, "null", `""`)
	}
	return choose(rng, `"`+stamped(f)+`"`, fmt.Sprint(int64(f.T)), fmt.Sprintf("%d.%03d", f.T/1000, f.T%1000))
}

func geoJSONOf(l *track.Log, rng *rand.Rand) string {
	var features []string
	for _, tr := range l.Tracks {
		var lines, times []string
		for _, s := range tr.Segments {
			var places, when []string
			for _, f := range s {
				places, when = append(places, "["+numbers(f, choose(rng, ",", " , "))+"]"), append(when, timeJSON(f, rng))
			}
			lines, times = append(lines, "["+strings.Join(places, choose(rng, ",", ",\n"))+"]"), append(times, "["+strings.Join(when, ",")+"]")
		}
		kind, places, when := "MultiLineString", "["+strings.Join(lines, ",")+"]", "["+strings.Join(times, ",")+"]"
		if len(lines) == 1 && rng.IntN(2) == 0 {
			kind, places, when = "LineString", lines[0], times[0]
		}
		geometry := objectOf(rng, `"type":"`+kind+`"`, `"coordinates":`+places, `"bbox":[1,2,3,4]`)
		timed := choose(rng, `"coordTimes":`+when, `"coordinateProperties":`+objectOf(rng, `"times":`+when, `"heart":[[1]]`))
		properties := objectOf(rng, `"name":`+quotedJSON(tr.Name), timed, `"color":{"name":"no"}`)
		features = append(features, objectOf(rng, `"type":"Feature"`, `"geometry":`+geometry, `"properties":`+properties))
	}
	for _, w := range l.Waypoints {
		geometry := objectOf(rng, `"type":"Point"`, `"coordinates":[`+numbers(w.Fix, ",")+"]")
		properties := objectOf(rng, `"name":`+quotedJSON(w.Name), `"desc":`+quotedJSON(w.Desc), `"time":`+timeJSON(w.Fix, rng))
		features = append(features, objectOf(rng, `"type":"Feature"`, `"geometry":`+geometry, `"properties":`+properties))
	}
	return objectOf(rng, `"type":"FeatureCollection"`, `"features":[`+strings.Join(features, ",\n")+"]")
}

// The oracles read the text of the track fixes in another way: with the standard
// library's decoders into whole trees, and its parsers of numbers and times.

func oracleFix(t require.TestingT, when, lon, lat, ele string) track.Fix {
	f := track.NoFix
	number := func(text string, bits int) float64 {
		v, err := strconv.ParseFloat(strings.TrimSpace(text), bits)
		require.NoError(t, err, text)
		return v
	}
	f.Pos = grid.LonLat{Lon: number(lon, 64), Lat: number(lat, 64)}
	if ele != "" {
		f.EleM = float32(number(ele, 64))
	}
	if when != "" {
		v, err := time.Parse(time.RFC3339Nano, when)
		require.NoError(t, err)
		f.T = track.At(v)
	}
	return f
}

func kmlOracle(t require.TestingT, text string) (all []track.Fix) {
	type kmlTrack struct {
		When  []string `xml:"when"`
		Coord []string `xml:"coord"`
	}
	var file struct {
		Document struct {
			Placemark []struct {
				MultiGeometry struct {
					Raw string `xml:",innerxml"`
				}
				MultiTrack struct {
					Raw string `xml:",innerxml"`
				}
			}
		}
	}
	require.NoError(t, xml.Unmarshal([]byte(text), &file))
	for _, p := range file.Document.Placemark {
		d := xml.NewDecoder(strings.NewReader("<x>" + p.MultiGeometry.Raw + p.MultiTrack.Raw + "</x>"))
		for { // tracks and lines in their order
			tok, err := d.Token()
			if err == io.EOF {
				break
			}
			require.NoError(t, err)
			e, is := tok.(xml.StartElement)
			switch {
			case is && e.Name.Local == "Track":
				var tr kmlTrack
				require.NoError(t, d.DecodeElement(&tr, &e))
				for i, c := range tr.Coord {
					n := append(strings.Fields(c), "")
					all = append(all, oracleFix(t, tr.When[i], n[0], n[1], n[2]))
				}
			case is && e.Name.Local == "coordinates":
				var c string
				require.NoError(t, d.DecodeElement(&c, &e))
				for _, blank := range []string{", ", " ,"} {
					c = strings.ReplaceAll(c, blank, ",")
				}
				for _, tuple := range strings.Fields(c) {
					n := append(strings.Split(tuple, ","), "")
					all = append(all, oracleFix(t, "", n[0], n[1], n[2]))
				}
			}
		}
	}
	return all
}

func tcxOracle(t require.TestingT, text string) (all []track.Fix) {
	var file struct {
		Activities struct {
			Activity []struct {
				Lap []struct {
					Track []struct {
						Trackpoint []struct {
							Time     string
							Position struct{ LatitudeDegrees, LongitudeDegrees string }
							Ele      string `xml:"AltitudeMeters"`
						}
					}
				}
			}
		}
	}
	require.NoError(t, xml.Unmarshal([]byte(text), &file))
	for _, a := range file.Activities.Activity {
		for _, l := range a.Lap {
			for _, tr := range l.Track {
				for _, p := range tr.Trackpoint {
					all = append(all, oracleFix(t, p.Time, p.Position.LongitudeDegrees, p.Position.LatitudeDegrees, p.Ele))
				}
			}
		}
	}
	return all
}

func geoJSONOracle(t require.TestingT, text string) (all []track.Fix) {
	var file struct {
		Features []struct {
			Geometry struct {
				Type        string
				Coordinates any
			}
			Properties struct {
				CoordTimes           any
				CoordinateProperties struct{ Times any }
			}
		}
	}
	d := json.NewDecoder(strings.NewReader(text))
	d.UseNumber()
	require.NoError(t, d.Decode(&file))
	for _, f := range file.Features {
		lines, _ := f.Geometry.Coordinates.([]any)
		times, _ := f.Properties.CoordTimes.([]any)
		if times == nil {
			times, _ = f.Properties.CoordinateProperties.Times.([]any)
		}
		switch f.Geometry.Type {
		case "Point":
			continue
		case "LineString":
			lines, times = []any{lines}, []any{times}
		}
		for i, line := range lines {
			for j, p := range line.([]any) {
				ele := ""
				if n := p.([]any); len(n) > 2 {
					ele = string(n[2].(json.Number))
				}
				fix := oracleFix(t, "", string(p.([]any)[0].(json.Number)), string(p.([]any)[1].(json.Number)), ele)
				switch v := times[i].([]any)[j].(type) {
				case string:
					fix.T = oracleFix(t, v, "0", "0", "").T
				case json.Number:
					number, err := v.Float64()
					require.NoError(t, err)
					if number < 1e11 {
						number *= 1000
					}
					fix.T = track.Instant(math.Round(number))
				}
				all = append(all, fix)
			}
		}
	}
	return all
}

// exact shows fixes to the last digit.
func exact(fixes []track.Fix) string {
	var b strings.Builder
	for _, f := range fixes {
		fmt.Fprintf(&b, "%v %v %v %v %v\n", f.Pos.Lon, f.Pos.Lat, f.EleM, int64(f.T), f.AccM)
	}
	return b.String()
}

func randomLog(t *rapid.T) *track.Log {
	l := drawLog(t)
	for _, tr := range l.Tracks {
		for _, s := range tr.Segments {
			keep := rapid.IntRange(0, 2).Draw(t, "times")
			for i := range s {
				if keep == 0 || keep == 1 && i%2 == 1 {
					s[i].T = track.NoTime
				} else {
					s[i].T += 1e11 // after 1973: numbers below are not taken for times
				}
			}
		}
	}
	l.Waypoints[0].T, l.Waypoints[0].Desc = 2e11+250, "a < b & c"
	return l
}

func TestWrittenFormsReadBack(t *testing.T) {
	for name, form := range logForms {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				l := randomLog(t)
				text := form.write(l, rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1)))
				again, err := form.read(strings.NewReader(text), "walk")
				require.NoError(t, err)
				require.Empty(t, again.Notes.List(), text)
				require.Equal(t, shape(l.Tracks), shape(again.Tracks), text)
				require.Equal(t, exact(fixes(l)), exact(fixes(again)), text)
				require.Equal(t, exact(form.oracle(t, text)), exact(fixes(again)), text)
				w, got := l.Waypoints[0], again.Waypoints[0]
				require.Equal(t, exact([]track.Fix{w.Fix}), exact([]track.Fix{got.Fix}), text)
				require.Equal(t, []string{w.Name, w.Desc}, []string{got.Name, got.Desc})
			})
		})
	}
}

// Every GPX file of the shared data, written as each format, reads the same and as
// its oracle reads it.
func TestCorpusInOtherForms(t *testing.T) {
	corpus(t, func(t *testing.T, path string, data []byte) {
		log, err := readOne(bytes.NewReader(data), path)
		require.NoError(t, err)
		all := fixes(log)
		if len(all) > 5000 {
			t.Skip("long")
		}
		for i := range all {
			if !all[i].T.Known() || all[i].T < 1e11 || math.IsNaN(all[i].Pos.Lat+all[i].Pos.Lon) {
				t.Skip("not every fix has a place and a time")
			}
		}
		log.Waypoints, log.Notes = nil, track.Notes{}
		for name, form := range logForms {
			text := form.write(log, rand.New(rand.NewPCG(1, 2)))
			again, err := form.read(strings.NewReader(text), path)
			require.NoError(t, err)
			require.Empty(t, again.Notes.List(), name)
			require.Equal(t, shape(log.Tracks), shape(again.Tracks), name)
			require.True(t, placesOnly(all) == placesOnly(fixes(again)), name)
			require.True(t, placesOnly(form.oracle(t, text)) == placesOnly(fixes(again)), name)
		}
	})
}

func placesOnly(all []track.Fix) string {
	for i := range all {
		all[i].AccM = track.NoFix.AccM // which not every format has
	}
	return exact(all)
}

func benchmarkForm(b *testing.B, name string) {
	l := &track.Log{Tracks: []track.Track{{Name: "long walk", Segments: [][]track.Fix{{}}}}}
	for i := range 50_000 {
		f := track.NoFix
		f.Pos = grid.LonLat{Lon: -3.5 + float64(i/5000)*1e-5, Lat: 47.25 + float64(i%5000)*1e-6}
		f.T, f.EleM = track.Instant(1935648000000+1000*i), float32(800+i%90)/10
		l.Tracks[0].Segments[0] = append(l.Tracks[0].Segments[0], f)
	}
	text := []byte(logForms[name].write(l, rand.New(rand.NewPCG(1, 2))))
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if log, err := logForms[name].read(bytes.NewReader(text), "walk"); err != nil || log.Fixes() != 50_000 {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadKML(b *testing.B)     { benchmarkForm(b, "KML") }
func BenchmarkReadTCX(b *testing.B)     { benchmarkForm(b, "TCX") }
func BenchmarkReadGeoJSON(b *testing.B) { benchmarkForm(b, "GeoJSON") }
