package backdrop

import (
	"fmt"
	"math"

	"untrod/grid"
)

// Keys of GeoTIFF 1.1, section 7 and annex B.
const (
	keyModel, keyRaster                = 1024, 1025
	keyGeodetic, keyAngleUnit          = 2048, 2054
	keyProjected, keyMethod, keyLength = 3072, 3075, 3076
	keyLon, keyLat                     = 3080, 3081
	keyEast, keyNorth, keyScale        = 3082, 3083, 3092
	userDefined                        = 32767
)

// geo reads where the picture lies into p.
func (d *directory) geo(p *Picture) error {
	keys := d.geoKeys()
	a, ok := d.numbers()
	if !ok {
		return nil
	}
	if keys[keyRaster] == 2 { // a pixel is a point: numbers are those of its middle
		a = a.from(-0.5, -0.5)
	}
	if det := a.det(); det == 0 || det-det != 0 || math.IsNaN(a.X0-a.X0+a.Y0-a.Y0) {
		return nil
	}
	p.Numbers = &a
	if len(keys) == 0 {
		return nil
	}
	var err error
	if p.System, err = systemOf(keys); err != nil {
		p.Unplaced = err.Error()
	}
	return nil
}

// numbers take pixels to the plane, by a matrix or by a scale and one tied point.
func (d *directory) numbers() (Affine, bool) {
	if m := d.reals(tagMatrix, 16); len(m) == 16 {
		return Affine{XCol: m[0], XRow: m[1], X0: m[3], YCol: m[4], YRow: m[5], Y0: m[7]}, true
	}
	s, t := d.reals(tagScale, 3), d.reals(tagTies, 6)
	if len(s) < 2 || len(t) < 6 {
		return Affine{}, false
	}
	return Affine{XCol: s[0], YRow: -s[1], X0: t[3], Y0: t[4]}.from(-t[0], -t[1]), true
}

// geoKeys are the keys by number, those of real numbers too.
func (d *directory) geoKeys() map[int]float64 {
	list := d.ints(tagGeoKeys, 4*1000)
	if len(list) < 4 {
		return nil
	}
	reals := d.reals(tagGeoReals, 1000)
	out := map[int]float64{}
	for list = list[4:]; len(list) >= 4; list = list[4:] {
		key, where, value := list[0], list[1], list[3]
		switch {
		case where == 0:
			out[key] = float64(value)
		case where == tagGeoReals && value < len(reals):
			out[key] = reals[value]
		}
	}
	return out
}

// systemOf is the system that keys name. It is an error when it is none of those known.
func systemOf(keys map[int]float64) (System, error) {
	if v, ok := keys[keyAngleUnit]; ok && v != 9102 || !metres(keys) {
		return System{}, errOther("in units other than degrees and metres")
	}
	projected, geodetic := int(keys[keyProjected]), int(keys[keyGeodetic])
	switch {
	case keys[keyModel] == 2 && nearWGS84(geodetic):
		return wgs84Degrees, nil
	case keys[keyModel] != 1:
		return System{}, errOther("neither a map projection nor degrees on WGS 84")
	case projected == userDefined:
		return userTransverse(keys, geodetic)
	}
	return systemOfCode(projected)
}

func errOther(what string) error {
	return fmt.Errorf("it lies in a system that is not known here (%s): place it by tie points", what)
}

func metres(keys map[int]float64) bool {
	v, ok := keys[keyLength]
	return !ok || v == 9001
}

// nearWGS84 takes WGS 84, ETRS89 and NAD 83, and what names none.
func nearWGS84(geodetic int) bool {
	switch geodetic {
	case 0, 4326, 4258, 4269:
		return true
	}
	return false
}

// systemOfCode knows the EPSG codes of UTM and Web Mercator.
func systemOfCode(code int) (System, error) {
	for _, r := range []struct {
		from, to, zone int
		south          bool
	}{
		{32601, 32660, 1, false}, {32701, 32760, 1, true}, // WGS 84
		{25828, 25838, 28, false}, // ETRS89
		{26901, 26923, 1, false},  // NAD 83
	} {
		if code >= r.from && code <= r.to {
			return utm(r.zone+code-r.from, r.south), nil
		}
	}
	if code == 3857 || code == 900913 {
		return web, nil
	}
	return System{}, errOther(fmt.Sprintf("EPSG %d", code))
}

// userTransverse is a transverse Mercator projection that the file describes.
func userTransverse(keys map[int]float64, geodetic int) (System, error) {
	if keys[keyMethod] != 1 || !nearWGS84(geodetic) {
		return System{}, errOther("a projection of its own")
	}
	scale, ok := keys[keyScale]
	if !ok {
		scale = 1
	}
	s, err := transverseMercator("its own transverse Mercator", grid.LonLat{Lon: keys[keyLon], Lat: keys[keyLat]},
		scale, grid.XY{X: keys[keyEast], Y: keys[keyNorth]})
	if err != nil {
		return System{}, errOther("a projection of its own")
	}
	return s, nil
}
