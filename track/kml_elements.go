package track

import "bytes"

// kmlMeaning returns what an element of KML 2.2 or 2.3 of this local name is, in
// its proper place.
func kmlMeaning(local []byte) element {
	switch string(local) {
	case "coord":
		return elCoord
	case "when", "begin":
		return elWhen
	case "value", "SimpleData":
		return elValue
	case "Placemark":
		return elPlacemark
	case "name":
		return elName
	case "description":
		return elDesc
	case "TimeStamp", "TimeSpan":
		return elMoment
	case "Point":
		return elWaypoint
	case "LineString":
		return elLine
	case "Track":
		return elSegment
	case "MultiGeometry", "MultiTrack":
		return elMulti
	case "coordinates":
		return elCoordinates
	case "ExtendedData", "SchemaData":
		return elExtended
	case "Data":
		return elData
	case "SimpleArrayData":
		return elArray
	case "author":
		return elMaker
	case "generator":
		return elCreator
	}
	return elOther
}

// kmlFits reports whether el has its meaning under parent.
func kmlFits(el, parent element, inPlacemark bool) bool {
	switch el {
	case elPlacemark, elMaker, elCreator:
		return !inPlacemark
	case elWaypoint, elLine, elSegment, elMulti:
		return parent == elPlacemark || parent == elMulti
	case elName:
		return parent == elPlacemark || parent == elMaker
	case elDesc, elMoment:
		return parent == elPlacemark
	case elWhen:
		return parent == elMoment || parent == elSegment
	case elCoord:
		return parent == elSegment
	case elCoordinates:
		return parent == elWaypoint || parent == elLine
	case elExtended:
		return parent == elPlacemark || parent == elSegment || parent == elExtended
	case elData, elArray:
		return parent == elExtended
	case elValue:
		return parent == elData || parent == elArray || parent == elExtended
	}
	return false
}

// measureNamed returns which measure of a fix a data field of this name holds, in
// any case; elOther for none.
func measureNamed(name []byte) element {
	switch el := meaning(bytes.ToLower(name)); el {
	case elSat, elHDOP, elPDOP, elAccuracy:
		return el
	}
	switch string(bytes.ToLower(name)) {
	case "sats", "satellites", "numsat":
		return elSat
	}
	return elOther
}
