package track

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"io"
	"math"
	"strconv"
	"strings"
)

// stampLayout is RFC 3339 to the millisecond.
const stampLayout = "2006-01-02T15:04:05.999Z07:00"

// stamp is t as RFC 3339, empty when it is not known.
func stamp(t Instant) string {
	if !t.Known() {
		return ""
	}
	return t.Time().Format(stampLayout)
}

// decimal is v in the fewest digits that read back as v; empty when it is missing.
func decimal(v float64, bits int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return strconv.FormatFloat(v, 'f', -1, bits)
}

// WriteGPX writes l as GPX 1.1, to the last digit: [ReadGPX] gives the same
// positions, times, elevations, HDOP and names. Accuracy, and the planned routes,
// are left out: GPX 1.1 has no place for the one, and a log no need of the others.
func WriteGPX(w io.Writer, l *Log) error {
	b := bufio.NewWriter(w)
	b.WriteString(xml.Header + `<gpx version="1.1" creator="untrod" xmlns="http://www.topografix.com/GPX/1/1">` + "\n")
	for _, p := range l.Waypoints {
		gpxPoint(b, "wpt", p)
	}
	for _, t := range l.Tracks {
		b.WriteString("<trk>")
		xmlField(b, "name", t.Name)
		b.WriteString("\n")
		for _, s := range t.Segments {
			b.WriteString("<trkseg>\n")
			for _, f := range s {
				gpxPoint(b, "trkpt", Waypoint{Fix: f})
			}
			b.WriteString("</trkseg>\n")
		}
		b.WriteString("</trk>\n")
	}
	b.WriteString("</gpx>\n")
	return b.Flush()
}

// gpxPoint writes a point in the order of the GPX 1.1 schema; b keeps its error.
func gpxPoint(b *bufio.Writer, element string, p Waypoint) {
	b.WriteString("<" + element + ` lat="` + decimal(p.Pos.Lat, 64) + `" lon="` + decimal(p.Pos.Lon, 64) + `">`)
	xmlField(b, "ele", decimal(float64(p.EleM), 32))
	xmlField(b, "time", stamp(p.T))
	xmlField(b, "name", p.Name)
	xmlField(b, "desc", p.Desc)
	xmlField(b, "sym", p.Sym)
	xmlField(b, "type", p.Type)
	if p.Sats >= 0 {
		xmlField(b, "sat", strconv.Itoa(int(p.Sats)))
	}
	xmlField(b, "hdop", decimal(float64(p.HDOP), 32))
	xmlField(b, "pdop", decimal(float64(p.PDOP), 32))
	b.WriteString("</" + element + ">\n")
}

// xmlField writes an element with text, nothing when there is none.
func xmlField(b *bufio.Writer, name, text string) {
	if text == "" {
		return
	}
	b.WriteString("<" + name + ">")
	xml.EscapeText(b, []byte(text)) // b keeps its error
	b.WriteString("</" + name + ">")
}

// WriteKML writes l as KML 2.2 with the gx extension: each segment with times a
// gx:Track, without a LineString; waypoints as placemarks. Positions, elevations
// and times read back the same; HDOP and the like have no place in it.
func WriteKML(w io.Writer, l *Log) error {
	b := bufio.NewWriter(w)
	b.WriteString(xml.Header + `<kml xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="http://www.google.com/kml/ext/2.2"><Document>` + "\n")
	for _, p := range l.Waypoints {
		b.WriteString("<Placemark>")
		xmlField(b, "name", p.Name)
		xmlField(b, "description", p.Desc)
		if p.T.Known() {
			b.WriteString("<TimeStamp>")
			xmlField(b, "when", stamp(p.T))
			b.WriteString("</TimeStamp>")
		}
		b.WriteString("<Point><coordinates>" + kmlPlace(p.Fix, ",") + "</coordinates></Point></Placemark>\n")
	}
	for _, t := range l.Tracks {
		b.WriteString("<Placemark>")
		xmlField(b, "name", t.Name)
		b.WriteString("<MultiGeometry>\n")
		for _, s := range t.Segments {
			kmlSegment(b, s)
		}
		b.WriteString("</MultiGeometry></Placemark>\n")
	}
	b.WriteString("</Document></kml>\n")
	return b.Flush()
}

func kmlSegment(b *bufio.Writer, s []Fix) {
	if !someTimes(s) {
		b.WriteString("<LineString><coordinates>\n")
		for _, f := range s {
			b.WriteString(kmlPlace(f, ",") + "\n")
		}
		b.WriteString("</coordinates></LineString>\n")
		return
	}
	b.WriteString("<gx:Track>\n")
	for _, f := range s {
		b.WriteString("<when>" + stamp(f.T) + "</when>\n")
	}
	for _, f := range s {
		b.WriteString("<gx:coord>" + kmlPlace(f, " ") + "</gx:coord>\n")
	}
	b.WriteString("</gx:Track>\n")
}

// someTimes reports whether any fix has a time.
func someTimes(s []Fix) bool {
	for _, f := range s {
		if f.T.Known() {
			return true
		}
	}
	return false
}

// kmlPlace is longitude, latitude and, where known, elevation.
func kmlPlace(f Fix, sep string) string {
	parts := []string{decimal(f.Pos.Lon, 64), decimal(f.Pos.Lat, 64)}
	if ele := decimal(float64(f.EleM), 32); ele != "" {
		parts = append(parts, ele)
	}
	return strings.Join(parts, sep)
}

// geoFeature is a GeoJSON feature as written.
type geoFeature struct {
	Type       string         `json:"type"`
	Properties map[string]any `json:"properties"`
	Geometry   geoShape       `json:"geometry"`
}

type geoShape struct {
	Type        string `json:"type"`
	Coordinates any    `json:"coordinates"`
}

// WriteGeoJSON writes l as an RFC 7946 FeatureCollection: a MultiLineString for
// each track, its times as the property coordTimes; a Point for each waypoint.
// Positions, elevations and times read back the same.
func WriteGeoJSON(w io.Writer, l *Log) error {
	b := bufio.NewWriter(w)
	b.WriteString(`{"type":"FeatureCollection","features":[`)
	sep := "\n"
	write := func(f geoFeature) error {
		text, err := json.Marshal(f)
		b.WriteString(sep)
		b.Write(text)
		sep = ",\n"
		return err
	}
	for _, p := range l.Waypoints {
		about := map[string]any{"name": p.Name}
		for k, v := range map[string]string{"description": p.Desc, "time": stamp(p.T), "sym": p.Sym, "type": p.Type} {
			if v != "" {
				about[k] = v
			}
		}
		if err := write(geoFeature{"Feature", about, geoShape{"Point", geoPlace(p.Fix)}}); err != nil {
			return err
		}
	}
	for _, t := range l.Tracks {
		if err := write(geoTrack(t)); err != nil {
			return err
		}
	}
	b.WriteString("\n]}\n")
	return b.Flush()
}

func geoTrack(t Track) geoFeature {
	lines, times := [][][]float64{}, [][]any{}
	some := false
	for _, s := range t.Segments {
		line, when := [][]float64{}, []any{}
		for _, f := range s {
			line = append(line, geoPlace(f))
			if f.T.Known() {
				when = append(when, stamp(f.T))
			} else {
				when = append(when, nil)
			}
		}
		lines, times, some = append(lines, line), append(times, when), some || someTimes(s)
	}
	about := map[string]any{"name": t.Name}
	if some {
		about["coordTimes"] = times
	}
	return geoFeature{"Feature", about, geoShape{"MultiLineString", lines}}
}

func geoPlace(f Fix) []float64 {
	at := []float64{f.Pos.Lon, f.Pos.Lat}
	if ele, err := strconv.ParseFloat(decimal(float64(f.EleM), 32), 64); err == nil {
		at = append(at, ele)
	}
	return at
}

// WriteCSV writes the tracks of l as rows of time, latitude, longitude and what
// else is known, with the names of track and segment; a log of waypoints alone as
// rows of name, place and text. Cells that a spreadsheet would take for a formula
// are written with an apostrophe before them.
func WriteCSV(w io.Writer, l *Log) error {
	c := csv.NewWriter(w)
	if len(l.Tracks) == 0 {
		c.Write([]string{"name", "time", "lat", "lon", "ele", "description", "type"})
		for _, p := range l.Waypoints {
			c.Write([]string{Inert(p.Name), stamp(p.T), decimal(p.Pos.Lat, 64), decimal(p.Pos.Lon, 64),
				decimal(float64(p.EleM), 32), Inert(p.Desc), Inert(p.Type)})
		}
	} else {
		c.Write([]string{"track", "segment", "time", "lat", "lon", "ele", "hdop", "accuracy"})
	}
	for _, t := range l.Tracks {
		for i, s := range t.Segments {
			for _, f := range s {
				c.Write([]string{Inert(t.Name), strconv.Itoa(i + 1), stamp(f.T), decimal(f.Pos.Lat, 64), decimal(f.Pos.Lon, 64),
					decimal(float64(f.EleM), 32), decimal(float64(f.HDOP), 32), decimal(float64(f.AccM), 32)})
			}
		}
	}
	c.Flush()
	return c.Error()
}

// Inert is text as a cell that no spreadsheet takes for a formula.
func Inert(text string) string {
	if strings.ContainsAny(text[:min(1, len(text))], "=+-@\t\r") {
		return "'" + text
	}
	return text
}
