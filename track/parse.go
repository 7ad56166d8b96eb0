package track

import "untrod/grid"

// ParseLonLat reads a latitude and a longitude as people write them, in degrees, see
// [ReadCSV]: 47.25, -3,5, N51 30.208, 51°30'12.5"N. It is not ok when either is no
// angle, or when together they are not on the globe.
func ParseLonLat(lat, lon string) (p grid.LonLat, ok bool) {
	p.Lat, ok = parseAngle([]byte(lat), 'N', 'S')
	if ok {
		p.Lon, ok = parseAngle([]byte(lon), 'E', 'W')
	}
	return p, ok && p.Valid()
}
