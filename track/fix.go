// Package track holds what a receiver logged and what is made of it: fixes,
// the readers for each file format, the cleaning that takes out what cannot
// be true, and the legs (searching, walking, standing, lost) that a walk is
// cut into. Only searching legs sweep ground.
//
// Start at [Read] for a file and [NewWalk] for what follows. Positions are
// WGS 84 degrees in a Log and metres in a grid.Frame from there on. The package
// opens no files, reads no clock and prints nothing.
package track

import (
	"fmt"
	"math"
	"time"

	"untrod/grid"
)

// Instant is a moment in milliseconds since 1970-01-01 UTC.
type Instant int64

// NoTime is the Instant of a fix whose log gives none.
const NoTime Instant = math.MinInt64

// At returns the Instant of t, its fraction below a millisecond cut off.
func At(t time.Time) Instant { return Instant(t.UnixMilli()) }

// Known reports whether the log gave a time.
func (i Instant) Known() bool { return i != NoTime }

// Time returns i as a time in UTC; the zero time when i is NoTime.
func (i Instant) Time() time.Time {
	if !i.Known() {
		return time.Time{}
	}
	return time.UnixMilli(int64(i)).UTC()
}

// Sub returns the seconds from earlier to i. Both must be known.
func (i Instant) Sub(earlier Instant) float64 { return float64(i-earlier) / 1000 }

// FixKind is what the receiver said of how it got a fix.
type FixKind uint8

const (
	FixUnknown FixKind = iota // the log does not say
	FixNone
	Fix2D
	Fix3D
	FixDGPS
	FixPPS
)

// Fix is one logged position. A field the log does not give is NaN, NoTime,
// FixUnknown or, for Sats, -1: never 0.
type Fix struct {
	Pos  grid.LonLat // degrees; out of range or NaN as logged, until Clean
	T    Instant
	EleM float32 // metres above sea level, as logged
	HDOP float32
	PDOP float32
	AccM float32 // horizontal accuracy in metres, in the measure the logger used
	Sats int16   // satellites used
	Kind FixKind
}

// NoFix is a Fix with every field missing; readers start from it.
var NoFix = Fix{
	Pos: grid.LonLat{Lon: math.NaN(), Lat: math.NaN()}, T: NoTime,
	EleM: nan32, HDOP: nan32, PDOP: nan32, AccM: nan32, Sats: -1,
}

var nan32 = float32(math.NaN())

// Track is one named recording: a list of segments, each an unbroken stretch
// as the logger saw it.
type Track struct {
	Name     string
	Segments [][]Fix
}

// Waypoint is a named point of a log.
type Waypoint struct {
	Fix
	Name, Desc, Sym, Type string
}

// Log is the content of one file.
type Log struct {
	Name      string // the file's name, for messages
	Format    string // what it was read as, such as "GPX"
	Creator   string // the program or device that wrote it, as it says itself
	Tracks    []Track
	Routes    []Track // planned lines: never swept, but a closed one can be a site's outline
	Waypoints []Waypoint
	Notes     Notes
}

// maxWaypoints is far more than anybody marks; a file of nothing else would take
// some 20 times its size in memory.
const maxWaypoints = 500_000

// addWaypoint adds w; what is over maxWaypoints is left out with a note.
func (l *Log) addWaypoint(w Waypoint) {
	if len(l.Waypoints) == maxWaypoints {
		l.Notes.Add(NoteTruncated, func() string {
			return fmt.Sprintf("%s: more than %d waypoints, the rest left out", l.Name, maxWaypoints)
		})
		return
	}
	l.Waypoints = append(l.Waypoints, w)
}

// Fixes is the number of track fixes, routes and waypoints not counted.
func (l *Log) Fixes() int {
	n := 0
	for _, t := range l.Tracks {
		for _, s := range t.Segments {
			n += len(s)
		}
	}
	return n
}
