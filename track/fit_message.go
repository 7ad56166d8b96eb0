package track

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"

	"github.com/muktihari/fit/profile/basetype"
	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/profile/untyped/fieldnum"
	"github.com/muktihari/fit/profile/untyped/mesgnum"
	"github.com/muktihari/fit/proto"

	"untrod/grid"
)

// Stored locations are not in the published profile; their number and fields are
// from memory.
const (
	fitLocation         = 29
	fitLocationName     = 0
	fitLocationLat      = 1
	fitLocationLong     = 2
	fitLocationAltitude = 4
	fitLocationDesc     = 6
)

// fitEpoch is 1989-12-31 00:00 UTC, from which FIT counts seconds; counts below
// fitUptime are from the device's start.
const (
	fitEpoch  = 631_065_600
	fitUptime = 1 << 28
)

// fitWanted are the messages whose fields are looked at.
func fitWanted(n typedef.MesgNum) bool {
	switch n {
	case mesgnum.FileId, mesgnum.Sport, mesgnum.Session, mesgnum.Record, mesgnum.Event,
		mesgnum.Course, mesgnum.CoursePoint, fitLocation:
		return true
	}
	return false
}

// define reads a definition message: header, reserved, byte order, global number,
// count of fields, then number, size and type of each.
func (f *fitReader) define(b []byte) {
	d := &f.defs[proto.LocalMesgNum(b[0])]
	*d = fitDefinition{order: binary.LittleEndian, fields: d.fields[:0]}
	if b[2] != proto.LittleEndian {
		d.order = binary.BigEndian
	}
	d.message = typedef.MesgNum(d.order.Uint16(b[3:5]))
	at := 1
	for i := range int(b[5]) {
		field := b[6+3*i:]
		x := fitField{num: field[0], size: int(field[1]), base: basetype.BaseType(field[2]), at: at}
		at += x.size
		switch {
		case !fitWanted(d.message):
		case !x.base.Valid() || x.size < int(x.base.Size()):
			f.note(NoteBadField, fmt.Sprintf("field %d of message kind %d has %d bytes of type %#x", x.num, d.message, x.size, byte(x.base)))
		default:
			d.fields = append(d.fields, x)
		}
	}
}

// message takes what is wanted from a data message.
func (f *fitReader) message(b []byte) {
	m := fitMessage{&f.defs[proto.LocalMesgNum(b[0])], b}
	f.tick(m)
	switch m.def.message {
	case mesgnum.Record:
		f.record(m)
	case mesgnum.Event:
		if what, ok := m.number(fieldnum.EventEvent); ok && typedef.Event(what) == typedef.EventTimer {
			f.endSegment()
		}
	case mesgnum.Session:
		f.session(m)
	case mesgnum.Sport:
		f.rename(m.text(fieldnum.SportName))
	case mesgnum.Course:
		f.rename(m.text(fieldnum.CourseName))
	case mesgnum.FileId:
		f.fileID(m)
	case mesgnum.CoursePoint, fitLocation:
		f.waypoint(m)
	}
}

// tick follows the clock, of which a compressed header gives the last 5 bits.
func (f *fitReader) tick(m fitMessage) {
	if t, ok := m.number(proto.FieldNumTimestamp); ok {
		f.clock = uint32(t)
	}
	if m.compressed() {
		f.clock += (uint32(m.b[0]) - f.clock) & proto.CompressedTimeMask
	}
}

func (f *fitReader) record(m fitMessage) {
	fix := NoFix
	fix.Pos = f.position(m, fieldnum.RecordPositionLat, fieldnum.RecordPositionLong)
	if math.IsNaN(fix.Pos.Lat) && math.IsNaN(fix.Pos.Lon) {
		f.note(NoteNoPosition, "a record without a position")
		return
	}
	if t, ok := m.number(proto.FieldNumTimestamp); ok {
		fix.T = f.instant(t)
	} else if m.compressed() {
		fix.T = f.instant(int64(f.clock))
	}
	fix.EleM = m.altitude(fieldnum.RecordEnhancedAltitude, fieldnum.RecordAltitude)
	if acc, ok := m.number(fieldnum.RecordGpsAccuracy); ok && acc >= 0 {
		fix.AccM = float32(acc)
	}
	f.fixes.add(fix)
}

// position is NaN in what is missing.
func (f *fitReader) position(m fitMessage, lat, long byte) grid.LonLat {
	return grid.LonLat{Lon: f.degrees(m, long), Lat: f.degrees(m, lat)}
}

func (f *fitReader) degrees(m fitMessage, num byte) float64 {
	x := m.field(num)
	if x == nil {
		return math.NaN()
	}
	if x.base != basetype.Sint32 {
		f.note(NoteBadField, fmt.Sprintf("a position of type %#x", byte(x.base)))
		return math.NaN()
	}
	if n, ok := m.number(num); ok {
		return float64(n) * 180 / (1 << 31)
	}
	return math.NaN()
}

func (f *fitReader) instant(t int64) Instant {
	if t < fitUptime || t > math.MaxUint32 {
		f.note(NoteOddDate, "a time counted from the device's start")
		return NoTime
	}
	return Instant((t + fitEpoch) * 1000)
}

func (f *fitReader) session(m fitMessage) {
	f.rename(m.text(fieldnum.SessionSportProfileName))
	if t, ok := m.number(fieldnum.SessionStartTime); ok && t >= fitUptime {
		f.starts = append(f.starts, f.instant(t))
	}
}

func (f *fitReader) rename(name string) {
	if name != "" && f.line.Name == "" {
		f.line.Name = name
	}
}

// fileID takes what kind of file it is and what wrote it.
func (f *fitReader) fileID(m fitMessage) {
	if kind, ok := m.number(fieldnum.FileIdType); ok {
		f.course = typedef.File(kind) == typedef.FileCourse
	}
	if f.log.Creator != "" {
		return
	}
	if f.log.Creator = m.text(fieldnum.FileIdProductName); f.log.Creator != "" {
		return
	}
	if maker, ok := m.number(fieldnum.FileIdManufacturer); ok {
		f.log.Creator = typedef.Manufacturer(maker).String()
		if product, ok := m.number(fieldnum.FileIdProduct); ok {
			f.log.Creator += fmt.Sprintf(" product %d", product)
		}
	}
}

func (f *fitReader) waypoint(m fitMessage) {
	w := Waypoint{Fix: NoFix}
	if m.def.message == fitLocation {
		w.Pos = f.position(m, fitLocationLat, fitLocationLong)
		w.Name, w.Desc = m.text(fitLocationName), m.text(fitLocationDesc)
		w.EleM = m.altitude(fitLocationAltitude, fitLocationAltitude)
		if t, ok := m.number(proto.FieldNumTimestamp); ok {
			w.T = f.instant(t)
		}
	} else {
		w.Pos = f.position(m, fieldnum.CoursePointPositionLat, fieldnum.CoursePointPositionLong)
		w.Name = m.text(fieldnum.CoursePointName)
		if t, ok := m.number(fieldnum.CoursePointTimestamp); ok {
			w.T = f.instant(t)
		}
		if kind, ok := m.number(fieldnum.CoursePointType); ok {
			w.Type = typedef.CoursePoint(kind).String()
		}
	}
	if math.IsNaN(w.Pos.Lat) || math.IsNaN(w.Pos.Lon) {
		f.note(NoteNoPosition, fmt.Sprintf("waypoint %s without a position", quoted(w.Name)))
		return
	}
	f.log.addWaypoint(w)
}

// cutAt cuts segments where one of the moments falls between two fixes.
func cutAt(segments [][]Fix, moments []Instant) [][]Fix {
	slices.Sort(moments)
	var out [][]Fix
	for _, s := range segments {
		from := 0
		for i := 1; i < len(s); i++ {
			if begins(moments, s[i-1].T, s[i].T) {
				out = append(out, s[from:i:i])
				from = i
			}
		}
		out = append(out, s[from:])
	}
	return out
}

// begins reports whether one of the sorted moments is after one time and not
// after the other. Both must be known.
func begins(moments []Instant, after, upTo Instant) bool {
	if len(moments) == 0 || !after.Known() || !upTo.Known() {
		return false
	}
	i, _ := slices.BinarySearch(moments, after+1)
	return i < len(moments) && moments[i] <= upTo
}
