package track

import (
	"bytes"
	"math"
	"strconv"
	"strings"
)

func (g *gpxReader) startPoint() {
	g.inPoint = true
	g.point = Waypoint{Fix: NoFix}
	for {
		key, value, err := g.x.attribute()
		switch {
		case err != nil:
			g.note(NoteBadField, "unreadable attribute of <"+shown(g.x.name)+">")
			return
		case len(key) == 0:
			return
		case string(key) == "lat":
			g.point.Pos.Lat = g.number("latitude", value)
		case string(key) == "lon":
			g.point.Pos.Lon = g.number("longitude", value)
		}
	}
}

// setField puts the text of a closed element where it belongs. An empty element
// is as good as none. Inside extensions it only fills what is still missing.
func (g *gpxReader) setField(el element) {
	text := bytes.TrimSpace(g.text)
	p, nested := &g.point, !g.top().isPoint()
	if nested && g.given(el) {
		return
	}
	switch el {
	case elName:
		g.setName(plain(text))
	case elDesc:
		p.Desc = plain(text)
	case elSym:
		p.Sym = plain(text)
	case elType:
		p.Type = plain(text)
	case elTime:
		g.setTime(text)
	case elEle:
		p.EleM = float32(g.number("elevation", text))
	case elFix:
		g.setKind(text)
	case elSat:
		g.setSats(text)
	case elHDOP:
		g.setMeasure(&p.HDOP, "hdop", text)
	case elPDOP:
		g.setMeasure(&p.PDOP, "pdop", text)
	case elAccuracy:
		g.setMeasure(&p.AccM, "accuracy", text)
	}
}

// given reports whether the point has a value for el already.
func (g *gpxReader) given(el element) bool {
	p := &g.point
	switch el {
	case elFix:
		return p.Kind != FixUnknown
	case elSat:
		return p.Sats >= 0
	case elHDOP:
		return !math.IsNaN(float64(p.HDOP))
	case elPDOP:
		return !math.IsNaN(float64(p.PDOP))
	case elAccuracy:
		return !math.IsNaN(float64(p.AccM))
	}
	return false
}

func (g *gpxReader) setName(name string) {
	if g.inPoint {
		g.point.Name = name
	} else {
		g.line.Name = name
	}
}

func (g *gpxReader) setTime(text []byte) {
	if len(text) == 0 {
		return
	}
	t, ok := parseTime(text)
	if !ok {
		g.badField("time", text, "is not a date and time")
		return
	}
	g.point.T = t
}

// fixKinds are GPX's words for how a fix was got, the commonest first.
var fixKinds = [...]struct {
	word string
	kind FixKind
}{{"3d", Fix3D}, {"2d", Fix2D}, {"dgps", FixDGPS}, {"none", FixNone}, {"pps", FixPPS}}

func (g *gpxReader) setKind(text []byte) {
	for _, k := range fixKinds {
		if bytes.EqualFold(text, []byte(k.word)) {
			g.point.Kind = k.kind
			return
		}
	}
	if len(text) > 0 {
		g.badField("fix", text, "is none of 2d, 3d, dgps, none, pps")
	}
}

func (g *gpxReader) setSats(text []byte) {
	v := g.number("sat", text)
	if math.IsNaN(v) {
		return
	}
	if v < 0 || v > math.MaxInt16 || v != math.Trunc(v) {
		g.badField("sat", text, "is not a count")
		return
	}
	g.point.Sats = int16(v)
}

// setMeasure sets one of the fields that cannot be negative: receivers mark an
// unknown accuracy so.
func (g *gpxReader) setMeasure(to *float32, what string, text []byte) {
	v := g.number(what, text)
	if v < 0 {
		g.badField(what, text, "is negative")
		return
	}
	*to = float32(v)
}

// number reads text, or notes that it cannot and returns NaN; NaN without a note
// when there is none.
func (g *gpxReader) number(what string, text []byte) float64 {
	v, ok := parseNumber(text)
	if ok {
		return v
	}
	text = bytes.TrimSpace(text)
	if len(text) == 0 {
		return math.NaN()
	}
	if v, ok = parseNumber(text); ok {
		return v
	}
	thousands := what == "elevation" && bytes.IndexByte(text, ',') == len(text)-4
	if v, ok = parseCommaNumber(text); ok && !thousands {
		g.badField(what, text, "has a decimal comma")
		return v
	}
	g.badField(what, text, "is not a number")
	return math.NaN()
}

func (g *gpxReader) badField(what string, text []byte, why string) {
	g.note(NoteBadField, what+" "+quoted(string(text))+" "+why)
}

// quoted shows text from a file in a message, cut to a fit length.
func quoted(text string) string {
	const most = 40
	if len(text) > most {
		text = text[:most] + "..."
	}
	return strconv.Quote(text)
}

// shown is quoted without the quotes, for names of elements.
func shown(name []byte) string {
	q := quoted(string(name))
	return q[1 : len(q)-1]
}

// plain is text as valid UTF-8, which undeclared character sets are not.
func plain(text []byte) string { return strings.ToValidUTF8(string(text), "\uFFFD") }
