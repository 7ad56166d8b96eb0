package track

import (
	"bytes"
	"io"
)

// ReadTCX reads a training centre database file, version 1 or 2, in one pass; name
// stands in messages. Elements are known by their local names.
//
// Each Activity is a track named by its Id, each Track of its laps a segment: a lap ends
// a segment, but laps that follow one another are one path in [NewWalk]. A Course
// is planned, so it is a route, and its CoursePoints are waypoints. Of a Trackpoint it
// takes Time, Position and AltitudeMeters. Trackpoints without a Position, as of
// exercise indoors, are left out, with a note of kind [NoteNoPosition].
//
// Notes, damage, encodings, errors and cost are those of [ReadGPX].
func ReadTCX(r io.Reader, name string) (*Log, error) {
	c := &tcxReader{}
	if err := c.openXML(r, &Log{Name: name, Format: "TCX"}, "TrainingCenterDatabase"); err != nil {
		return nil, err
	}
	if err := c.run(c); err != nil {
		return nil, err
	}
	return c.log, nil
}

// tcxReader holds what has been read of the file.
type tcxReader struct {
	xmlReader
	lineList          // of the open activity or course
	inLine   bool     // one is open
	point    Waypoint // the open point
	placed   bool     // it has a position
}

func (c *tcxReader) start() element {
	if len(c.open) == 0 {
		return elRoot
	}
	el := tcxMeaning(c.x.local)
	if !tcxFits(el, c.top(), c.inLine) {
		return elOther
	}
	switch {
	case el == elTrack, el == elRoute:
		c.inLine = true
	case el.isPoint():
		c.point, c.placed = Waypoint{Fix: NoFix}, false
	}
	return el
}

func (c *tcxReader) end(el element) {
	switch {
	case el.isField():
		c.setField(el, bytes.TrimSpace(c.text))
	case el.isPoint() && !c.placed:
		c.note(NoteNoPosition, "a point without a position")
	case el == elTrackPoint:
		c.fixes.add(c.point.Fix)
	case el == elWaypoint:
		c.log.addWaypoint(c.point)
	case el == elSegment:
		if !c.endSegment() {
			c.note(NoteEmpty, "segment without points")
		}
	case el == elTrack:
		c.inLine = false
		c.log.Tracks = c.endLine(&c.lineList, c.log.Tracks, "activity")
	case el == elRoute:
		c.inLine = false
		c.log.Routes = c.endLine(&c.lineList, c.log.Routes, "course")
	}
}

func (c *tcxReader) setField(el element, text []byte) {
	switch el {
	case elLat:
		c.point.Pos.Lat, c.placed = c.number("latitude", text), true
	case elLon:
		c.point.Pos.Lon, c.placed = c.number("longitude", text), true
	case elName:
		c.setName(plain(text))
	case elDesc:
		c.point.Desc = plain(text)
	case elType:
		c.point.Type = plain(text)
	default:
		c.set(&c.point.Fix, el, text)
	}
}

func (c *tcxReader) setName(name string) {
	switch parent := c.top(); {
	case parent == elWaypoint:
		c.point.Name = name
	case parent != elMaker:
		c.line.Name = name
	case c.log.Creator == "": // the device's, or else the program's
		c.log.Creator = name
	}
}

// tcxMeaning returns what an element of this local name is, in its proper place.
func tcxMeaning(local []byte) element {
	switch string(local) {
	case "Trackpoint":
		return elTrackPoint
	case "Time":
		return elTime
	case "Position":
		return elPosition
	case "LatitudeDegrees":
		return elLat
	case "LongitudeDegrees":
		return elLon
	case "AltitudeMeters":
		return elEle
	case "Track":
		return elSegment
	case "Lap":
		return elLap
	case "Activity", "Transition":
		return elTrack
	case "Course":
		return elRoute
	case "CoursePoint":
		return elWaypoint
	case "Creator", "Author":
		return elMaker
	case "Name", "Id":
		return elName
	case "Notes":
		return elDesc
	case "PointType":
		return elType
	}
	return elOther
}

// tcxFits reports whether el has its meaning under parent.
func tcxFits(el, parent element, inLine bool) bool {
	switch el {
	case elTrack, elRoute:
		return !inLine
	case elLap:
		return parent == elTrack || parent == elRoute
	case elSegment:
		return parent == elLap || parent == elTrack || parent == elRoute
	case elTrackPoint:
		return parent == elSegment
	case elWaypoint:
		return parent == elRoute
	case elPosition, elEle, elTime:
		return parent.isPoint()
	case elLat, elLon:
		return parent == elPosition
	case elName:
		return parent == elTrack || parent == elRoute || parent == elWaypoint || parent == elMaker
	case elMaker:
		return parent == elTrack || parent == elRoute || parent == elRoot
	case elDesc, elType:
		return parent == elWaypoint
	}
	return false
}
