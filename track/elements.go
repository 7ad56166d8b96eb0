package track

// element is what an XML element means where it stands.
type element uint8

const (
	elOther element = iota // means nothing here
	elRoot
	elTrack
	elSegment
	elRoute
	elLap       // TCX, from here
	elPosition  //
	elMaker     // of the file: its name counts
	elPlacemark // KML, from here
	elMoment
	elLine
	elMulti
	elExtended
	elData
	elArray
	elTrackPoint
	elRoutePoint
	elWaypoint
	elName // the first of the elements whose text counts
	elCreator
	elDesc
	elSym
	elType
	elLat
	elLon
	elCoordinates
	elCoord
	elWhen
	elValue
	elEle
	elTime
	elFix // from here on also inside extensions
	elSat
	elHDOP
	elPDOP
	elAccuracy
)

func (e element) isPoint() bool { return e >= elTrackPoint && e <= elWaypoint }
func (e element) isField() bool { return e >= elName }

// fits reports whether el has its meaning under parent.
func fits(el, parent element, inPoint bool) bool {
	switch el {
	case elTrack, elRoute, elWaypoint:
		return parent == elRoot
	case elSegment:
		return parent == elTrack
	case elTrackPoint:
		return parent == elSegment || parent == elTrack
	case elRoutePoint:
		return parent == elRoute
	case elName:
		return parent == elTrack || parent == elRoute || parent == elWaypoint
	case elDesc, elSym, elType:
		return parent == elWaypoint
	case elEle, elTime:
		return parent.isPoint()
	case elFix, elSat, elHDOP, elPDOP, elAccuracy:
		return inPoint
	}
	return false
}

// meaning returns what an element of this local name is, in its proper place.
func meaning(local []byte) element {
	switch string(local) {
	case "trkpt":
		return elTrackPoint
	case "ele":
		return elEle
	case "time":
		return elTime
	case "fix":
		return elFix
	case "sat":
		return elSat
	case "hdop":
		return elHDOP
	case "pdop":
		return elPDOP
	case "trk":
		return elTrack
	case "trkseg":
		return elSegment
	case "rte":
		return elRoute
	case "rtept":
		return elRoutePoint
	case "wpt":
		return elWaypoint
	case "name":
		return elName
	case "desc":
		return elDesc
	case "sym":
		return elSym
	case "type":
		return elType
	}
	if isAccuracy(local) {
		return elAccuracy
	}
	return elOther
}

// isAccuracy knows the names under which programs log the horizontal accuracy,
// in any case and with or without underscores and hyphens.
func isAccuracy(local []byte) bool {
	switch { // saves the work below for nearly every name
	case len(local) < 3:
		return false
	case local[0]|0x20 != 'a' && local[0]|0x20 != 'e' && local[0]|0x20 != 'h':
		return false
	}
	var key [20]byte
	n := 0
	for _, c := range local {
		if c == '_' || c == '-' {
			continue
		}
		if n == len(key) {
			return false
		}
		if 'A' <= c && c <= 'Z' {
			c += 'a' - 'A'
		}
		key[n] = c
		n++
	}
	switch string(key[:n]) {
	case "accuracy", "hacc", "haccuracy", "horizontalaccuracy", "accuracyhorizontal",
		"epe", "eph", "ehpe":
		return true
	}
	return false
}
