package track

import (
	"bytes"
	"math"

	"untrod/grid"
)

// rmc reads $--RMC,hhmmss.ss,A,llll.ll,a,yyyyy.yy,a,x.x,x.x,ddmmyy,x.x,a,m
func (n *nmeaReader) rmc() {
	n.join(1)
	n.position(3)
	n.status(n.f[2])
	n.modes(n.f[12])
	if day, ok := n.shortDate(n.f[9]); ok {
		n.setDay(day)
	}
}

// gga reads $--GGA,hhmmss.ss,llll.ll,a,yyyyy.yy,a,x,xx,x.x,x.x,M,x.x,M,x.x,xxxx
func (n *nmeaReader) gga() {
	n.join(1)
	n.position(2)
	n.quality(n.f[6])
	n.sats(n.f[7])
	n.measure(&n.epoch.fix.HDOP, "hdop", n.f[8])
	if unit := n.f[10]; len(unit) > 0 && unit[0] != 'M' {
		n.badField("elevation unit", unit, "is not M")
		return
	}
	n.elevation(n.f[9])
}

// gns reads $--GNS,hhmmss.ss,llll.ll,a,yyyyy.yy,a,c--c,xx,x.x,x.x,x.x,x.x,x.x
func (n *nmeaReader) gns() {
	n.join(1)
	if n.position(2) {
		n.modes(n.f[6])
	}
	n.sats(n.f[7])
	n.measure(&n.epoch.fix.HDOP, "hdop", n.f[8])
	n.elevation(n.f[9])
}

// gll reads $--GLL,llll.ll,a,yyyyy.yy,a,hhmmss.ss,a,m
func (n *nmeaReader) gll() {
	n.join(5)
	n.position(1)
	n.status(n.f[6])
	n.modes(n.f[7])
}

// gst reads $--GST,hhmmss.ss,x,x,x,x,x,x,x
func (n *nmeaReader) gst() {
	tod, ok := n.timeOfDay(n.f[1])
	if !ok {
		return
	}
	var s [2]float32
	for i := range s {
		s[i] = nan32
		text, what := n.f[6+i], "standard deviation"
		if len(n.f[6]) == 0 || len(n.f[7]) == 0 {
			text, what = n.f[3+i], "half axis"
		}
		n.measure(&s[i], what, text)
	}
	n.err = epochError{tod: tod, accM: float32(math.Hypot(float64(s[0]), float64(s[1])))}
}

// gsa reads $--GSA,a,x,12 satellites,PDOP,HDOP,VDOP
func (n *nmeaReader) gsa() {
	if !n.epoch.open {
		return
	}
	switch string(n.f[2]) {
	case "2":
		n.kind(Fix2D)
	case "3":
		n.kind(Fix3D)
	}
	n.measure(&n.epoch.fix.PDOP, "pdop", n.f[15])
	n.measure(&n.epoch.fix.HDOP, "hdop", n.f[16])
}

// wpl reads $--WPL,llll.ll,a,yyyyy.yy,a,c--c
func (n *nmeaReader) wpl() {
	pos, _, ok := n.place(1)
	if !ok {
		n.note(NoteNoPosition, "WPL without a position")
		return
	}
	w := Waypoint{Fix: NoFix, Name: plain(bytes.TrimSpace(n.f[5]))}
	w.Pos = pos
	if n.places == nil {
		n.places = map[placed]bool{}
	}
	if key := (placed{w.Name, w.Pos}); !n.places[key] {
		n.places[key] = true
		n.log.addWaypoint(w)
	}
}

// placed is what tells waypoints apart.
type placed struct {
	name string
	pos  grid.LonLat
}

// position reads the four fields from i on as the place of the open fix, and reports
// whether there is one.
func (n *nmeaReader) position(i int) bool {
	pos, decimals, ok := n.place(i)
	if !ok {
		n.note(NoteNoPosition, string(n.f[0])+" without a position")
		return false
	}
	if e := &n.epoch; decimals > e.decimals {
		e.fix.Pos, e.decimals = pos, decimals
	}
	return true
}

// place reads latitude, N or S, longitude, E or W. decimals are those of the
// coarser.
func (n *nmeaReader) place(i int) (pos grid.LonLat, decimals int, ok bool) {
	lat, k, latOK := n.angle("latitude", i, "NS")
	lon, l, lonOK := n.angle("longitude", i+2, "EW")
	return grid.LonLat{Lon: lon, Lat: lat}, min(k, l), latOK && lonOK
}

// angle reads an angle and its hemisphere; neither is no fault.
func (n *nmeaReader) angle(what string, i int, letters string) (v float64, decimals int, ok bool) {
	text, side := n.f[i], n.f[i+1]
	if len(text) == 0 {
		return 0, 0, false
	}
	if v, decimals, ok = parseDegreesMinutes(text); !ok {
		n.badField(what, text, "is not degrees and minutes")
		return 0, 0, false
	}
	switch {
	case len(side) == 1 && side[0] == letters[0]:
		return v, decimals, true
	case len(side) == 1 && side[0] == letters[1]:
		return -v, decimals, true
	}
	n.badField(what, side, "is neither "+letters[:1]+" nor "+letters[1:])
	return 0, 0, false
}

// status reads the letter A, valid, or V, a warning.
func (n *nmeaReader) status(text []byte) {
	switch {
	case string(text) == "V":
		n.kind(FixNone)
	case len(text) > 0 && string(text) != "A":
		n.badField("status", text, "is neither A nor V")
	}
}

// qualities are the kinds of fix for GGA's digit. 6, 7 and 8, dead reckoned, typed in
// and simulated, come from no receiver; status V goes with them in RMC.
var qualities = [...]FixKind{FixNone, FixUnknown, FixDGPS, FixPPS, FixDGPS, FixDGPS, FixNone, FixNone, FixNone, FixDGPS}

func (n *nmeaReader) quality(text []byte) {
	switch {
	case len(text) == 1 && text[0]-'0' <= 9:
		n.kind(qualities[text[0]-'0'])
	case len(text) > 0:
		n.badField("quality", text, "is not a digit")
	}
}

// modes reads the letters that say how each satellite system was used: the best
// counts, and a fix with none is none.
func (n *nmeaReader) modes(text []byte) {
	best := FixNone
	for _, c := range text {
		switch c {
		case 'A':
			if best == FixNone {
				best = FixUnknown
			}
		case 'D', 'F', 'R':
			best = FixDGPS
		case 'P':
			n.kind(FixPPS)
			return
		}
	}
	if len(text) > 0 {
		n.kind(best)
	}
}

// kind adds what a sentence says of how the fix was got: none outweighs all, and
// otherwise the more telling counts.
func (n *nmeaReader) kind(k FixKind) {
	if k == FixNone || n.epoch.fix.Kind != FixNone && k > n.epoch.fix.Kind {
		n.epoch.fix.Kind = k
	}
}

func (n *nmeaReader) sats(text []byte) {
	v := n.number("satellites", text)
	switch {
	case math.IsNaN(v) || n.epoch.fix.Sats >= 0:
	case v < 0 || v > math.MaxInt16 || v != math.Trunc(v):
		n.badField("satellites", text, "is not a count")
	default:
		n.epoch.fix.Sats = int16(v)
	}
}

func (n *nmeaReader) elevation(text []byte) {
	if v := n.number("elevation", text); n.epoch.fix.EleM != n.epoch.fix.EleM {
		n.epoch.fix.EleM = float32(v)
	}
}

// measure sets, where it is missing, one of the values that cannot be negative.
func (n *nmeaReader) measure(to *float32, what string, text []byte) {
	switch v := n.number(what, text); {
	case v < 0:
		n.badField(what, text, "is negative")
	case *to != *to:
		*to = float32(v)
	}
}

// number is NaN without a note where there is no text.
func (n *nmeaReader) number(what string, text []byte) float64 {
	if len(text) == 0 {
		return math.NaN()
	}
	v, ok := parseNumber(text)
	if !ok {
		n.badField(what, text, "is not a number")
		return math.NaN()
	}
	return v
}
