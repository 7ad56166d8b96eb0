package check

import (
	"bufio"
	"encoding/xml"
	"fmt"
	"io"

	"untrod/grid"
	"untrod/track"
)

// Fixes puts logged points in degrees.
func Fixes(f grid.Frame, ps []track.Point) []track.Fix {
	out := make([]track.Fix, len(ps))
	for i, p := range ps {
		out[i] = track.NoFix
		out[i].Pos, out[i].T = f.ToLonLat(p.XY), p.T
		out[i].AccM, out[i].HDOP = p.AccM, p.HDOP
	}
	return out
}

// WriteGPX writes waypoints and one track of one segment as GPX 1.1: positions to
// 1e-7 degrees (about 1 cm), and for each fix the time and HDOP where known.
func WriteGPX(w io.Writer, name string, fixes []track.Fix, marked ...track.Waypoint) error {
	b := bufio.NewWriter(w)
	b.WriteString(xml.Header + `<gpx version="1.1" creator="untrod demo" xmlns="http://www.topografix.com/GPX/1/1">` + "\n")
	for _, p := range marked {
		writePoint(b, "wpt", p.Fix, p.Name)
	}
	b.WriteString("<trk><name>")
	if err := xml.EscapeText(b, []byte(name)); err != nil {
		return err
	}
	b.WriteString("</name><trkseg>\n")
	for _, f := range fixes {
		writePoint(b, "trkpt", f, "")
	}
	b.WriteString("</trkseg></trk>\n</gpx>\n")
	return b.Flush()
}

// writePoint writes a point in the order of the GPX 1.1 schema; b keeps its error.
func writePoint(b *bufio.Writer, element string, f track.Fix, name string) {
	fmt.Fprintf(b, `<%s lat="%.7f" lon="%.7f">`, element, f.Pos.Lat, f.Pos.Lon)
	if f.T.Known() {
		fmt.Fprintf(b, "<time>%s</time>", f.T.Time().Format("2006-01-02T15:04:05.999Z07:00"))
	}
	if name != "" {
		b.WriteString("<name>")
		xml.EscapeText(b, []byte(name))
		b.WriteString("</name>")
	}
	if f.HDOP == f.HDOP {
		fmt.Fprintf(b, "<hdop>%.1f</hdop>", f.HDOP)
	}
	fmt.Fprintf(b, "</%s>\n", element)
}
