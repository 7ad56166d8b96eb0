package track

import (
	"bytes"
	"fmt"
	"io"
)

// ReadKML reads a KML 2.2 or 2.3 file in one pass; name stands in messages.
// Elements are known by their local names, so tracks may be those of KML 2.3 or of
// the gx extension to 2.2. Polygons, models, overlays and links are passed over: a
// file of these alone is a log without fixes.
//
// Each Placemark with a Track or LineString is a track: each Track or LineString of
// its MultiTrack or MultiGeometry is a segment. Times and positions of a Track are
// paired in order; where their numbers differ, which is a note, and they are listed
// by turns, a position has the time between it and the position before. Arrays
// named accuracy, hdop, pdop or sat give these, if they have a value for
// each position. A LineString has no times. Coordinates may have blanks after their
// commas.
//
// Each Point of a Placemark is a waypoint, with the time of its TimeStamp, or at which its
// TimeSpan begins, and the measures in its ExtendedData. But where no track has
// times, waypoints that are fixes of one recording become a track: ten or more with
// times and with names that differ in digits at most, three in four of them within a
// minute after the one before. A LineString through such points and no others is
// left out with a note of kind [NoteRepeated].
//
// Notes, damage, encodings, errors and cost are those of [ReadGPX]. The coordinates
// of one LineString are one text, which may not be over 16 MB.
func ReadKML(r io.Reader, name string) (*Log, error) {
	k := &kmlReader{mark: Waypoint{Fix: NoFix}}
	if err := k.openXML(r, &Log{Name: name, Format: "KML"}, "kml"); err != nil {
		return nil, err
	}
	if err := k.run(k); err != nil {
		return nil, err
	}
	k.tracksOfPoints()
	return k.log, nil
}

// kmlReader holds what has been read of the file.
type kmlReader struct {
	xmlReader
	lineList          // of the open placemark
	inMark   bool     // a placemark is open
	mark     Waypoint // its name, time and measures
	points   []Fix    // its points, of which only the places count
	point    Fix      // the open point
	placed   bool     // it has coordinates

	data   element   // what the open data field is
	values int       // read of an array of these
	times  []Instant // of the open Track
	// How many times came before its first and its last position.
	first, last int
}

func (k *kmlReader) start() element {
	if len(k.open) == 0 {
		return elRoot
	}
	el := kmlMeaning(k.x.local)
	if !kmlFits(el, k.top(), k.inMark) {
		return elOther
	}
	switch el {
	case elPlacemark:
		k.inMark = true
	case elWaypoint:
		k.point, k.placed = NoFix, false
	case elSegment:
		k.times, k.first, k.last = k.times[:0], 0, 0
	case elData, elArray:
		k.data, k.values = k.named(), 0
	case elValue:
		if k.top() == elExtended {
			k.data = k.named()
		}
	}
	return el
}

// named is the measure that the data field just started is named after.
func (k *kmlReader) named() element {
	for {
		key, value, err := k.x.attribute()
		switch {
		case err != nil:
			k.note(NoteBadField, "unreadable attribute of <"+shown(k.x.name)+">")
			return elOther
		case len(key) == 0:
			return elOther
		case string(key) == "name":
			return measureNamed(value)
		}
	}
}

func (k *kmlReader) end(el element) {
	text := bytes.TrimSpace(k.text)
	switch el {
	case elName, elDesc, elCreator:
		k.setText(el, plain(text))
	case elWhen:
		k.endWhen(text)
	case elCoord:
		k.endCoord(text)
	case elCoordinates:
		k.endCoordinates(text)
	case elValue:
		k.endValue(text)
	case elArray:
		k.endArray()
	case elWaypoint:
		k.endPoint()
	case elLine:
		k.endStretch("line")
	case elSegment:
		k.pair()
		k.endStretch("segment")
	case elPlacemark:
		k.endPlacemark()
	}
}

func (k *kmlReader) setText(el element, text string) {
	switch {
	case el == elCreator:
		k.log.Creator = text
	case k.top() == elMaker && k.log.Creator == "":
		k.log.Creator = text
	case k.top() == elMaker:
	case el == elName:
		k.mark.Name = text
	default:
		k.mark.Desc = text
	}
}

func (k *kmlReader) endValue(text []byte) {
	switch {
	case k.top() != elArray:
		k.set(&k.mark.Fix, k.data, text)
		return
	case k.values < k.fixes.len():
		k.set(k.fixes.at(k.values), k.data, text)
	}
	k.values++
}

// endArray takes back the values of an array if which is whose cannot be told.
func (k *kmlReader) endArray() {
	if k.data == elOther || k.values == k.fixes.len() || k.cut {
		return
	}
	k.note(NoteBadField, fmt.Sprintf("%d values for %d positions", k.values, k.fixes.len()))
	for i := range k.fixes.len() {
		k.fixes.at(i).unset(k.data)
	}
}

func (k *kmlReader) endPoint() {
	if !k.placed {
		k.note(NoteNoPosition, "a point without coordinates")
		return
	}
	k.points = append(k.points, k.point)
}

func (k *kmlReader) endStretch(what string) {
	if !k.endSegment() && !k.cut {
		k.note(NoteEmpty, what+" without points")
	}
}

func (k *kmlReader) endPlacemark() {
	k.inMark = false
	line, any := k.takeLine()
	if any {
		line.Name = k.mark.Name
		k.log.Tracks = append(k.log.Tracks, line)
	}
	for _, p := range k.points {
		w := k.mark
		w.Pos, w.EleM = p.Pos, p.EleM
		k.log.addWaypoint(w)
	}
	k.mark, k.points = Waypoint{Fix: NoFix}, k.points[:0]
}
