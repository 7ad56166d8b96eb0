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
	if nested && p.has(el) {
		return
	}
	switch {
	case el >= elEle:
		g.set(&p.Fix, el, text)
	case el == elName:
		g.setName(plain(text))
	case el == elDesc:
		p.Desc = plain(text)
	case el == elSym:
		p.Sym = plain(text)
	case el == elType:
		p.Type = plain(text)
	}
}

func (g *gpxReader) setName(name string) {
	if g.inPoint {
		g.point.Name = name
	} else {
		g.line.Name = name
	}
}

// has reports whether there is a value for el, one of those in extensions.
func (f *Fix) has(el element) bool {
	switch el {
	case elFix:
		return f.Kind != FixUnknown
	case elSat:
		return f.Sats >= 0
	case elHDOP:
		return !math.IsNaN(float64(f.HDOP))
	case elPDOP:
		return !math.IsNaN(float64(f.PDOP))
	case elAccuracy:
		return !math.IsNaN(float64(f.AccM))
	}
	return false
}

// unset takes the measure el out.
func (f *Fix) unset(el element) {
	switch el {
	case elSat:
		f.Sats = NoFix.Sats
	case elHDOP:
		f.HDOP = nan32
	case elPDOP:
		f.PDOP = nan32
	case elAccuracy:
		f.AccM = nan32
	}
}

// fieldReader reads single values into a log, and notes those that it cannot read.
type fieldReader struct {
	log  *Log
	line func() int // of what was read last
}

// note counts what is odd in what was read last.
func (r *fieldReader) note(k NoteKind, what string) {
	r.log.Notes.Add(k, func() string { return where(r.log.Name, r.line()) + ": " + what })
}

func (r *fieldReader) badField(what string, text []byte, why string) {
	r.note(NoteBadField, what+" "+quoted(string(text))+" "+why)
}

// set puts text, which has no blanks around it, into the field of f that el is.
func (r *fieldReader) set(f *Fix, el element, text []byte) {
	switch el {
	case elTime:
		r.setTime(f, text)
	case elEle:
		f.EleM = float32(r.number("elevation", text))
	case elFix:
		r.setKind(f, text)
	case elSat:
		r.setSats(f, text)
	case elHDOP:
		r.setMeasure(&f.HDOP, "hdop", text)
	case elPDOP:
		r.setMeasure(&f.PDOP, "pdop", text)
	case elAccuracy:
		r.setMeasure(&f.AccM, "accuracy", text)
	}
}

func (r *fieldReader) setTime(f *Fix, text []byte) {
	if len(text) == 0 {
		return
	}
	t, ok := parseTime(text)
	if !ok {
		r.badField("time", text, "is not a date and time")
		return
	}
	f.T = t
}

// fixKinds are GPX's words for how a fix was got, the commonest first.
var fixKinds = [...]struct {
	word string
	kind FixKind
}{{"3d", Fix3D}, {"2d", Fix2D}, {"dgps", FixDGPS}, {"none", FixNone}, {"pps", FixPPS}}

func (r *fieldReader) setKind(f *Fix, text []byte) {
	for _, k := range fixKinds {
		if bytes.EqualFold(text, []byte(k.word)) {
			f.Kind = k.kind
			return
		}
	}
	if len(text) > 0 {
		r.badField("fix", text, "is none of 2d, 3d, dgps, none, pps")
	}
}

func (r *fieldReader) setSats(f *Fix, text []byte) {
	v := r.number("sat", text)
	if math.IsNaN(v) {
		return
	}
	if v < 0 || v > math.MaxInt16 || v != math.Trunc(v) {
		r.badField("sat", text, "is not a count")
		return
	}
	f.Sats = int16(v)
}

// setMeasure sets one of the fields that cannot be negative: receivers mark an
// unknown accuracy so.
func (r *fieldReader) setMeasure(to *float32, what string, text []byte) {
	v := r.number(what, text)
	if v < 0 {
		r.badField(what, text, "is negative")
		return
	}
	*to = float32(v)
}

// number reads text, or notes that it cannot and returns NaN; NaN without a note
// when there is none.
func (r *fieldReader) number(what string, text []byte) float64 {
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
		r.badField(what, text, "has a decimal comma")
		return v
	}
	r.badField(what, text, "is not a number")
	return math.NaN()
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
