package backdrop

import (
	"errors"
	"fmt"
	"math"

	"untrod/grid"
)

// Affine takes pixels to a plane: columns and rows from the upper left corner of the
// upper left pixel.
type Affine struct {
	X0, XCol, XRow float64
	Y0, YCol, YRow float64
}

// At is where a pixel lies.
func (a Affine) At(col, row float64) grid.XY {
	return grid.XY{X: a.X0 + a.XCol*col + a.XRow*row, Y: a.Y0 + a.YCol*col + a.YRow*row}
}

// from is a with its origin moved to a pixel: At(0, 0) of it is At(col, row) of a.
func (a Affine) from(col, row float64) Affine {
	o := a.At(col, row)
	a.X0, a.Y0 = o.X, o.Y
	return a
}

func (a Affine) det() float64 { return a.XCol*a.YRow - a.XRow*a.YCol }

// back undoes a, which must have a det.
func (a Affine) back() Affine {
	d := a.det()
	b := Affine{XCol: a.YRow / d, XRow: -a.XRow / d, YCol: -a.YCol / d, YRow: a.XCol / d}
	o := b.At(a.X0, a.Y0)
	b.X0, b.Y0 = -o.X, -o.Y
	return b
}

type kind int

const (
	unknown kind = iota
	degrees
	transverse
	webMercator
)

// System is a plane that positions on WGS 84 are written in. The zero value is not known.
// Systems on ETRS89 and NAD 83 are taken as WGS 84, from which they differ by up to 2 m.
type System struct {
	Name string // in plain words
	kind kind
	// Of a transverse Mercator plane: frame has its meridian and origin.
	frame         grid.Frame
	scale         float64
	eastM, northM float64
	aboutLon      float64 // of degrees and Web Mercator: longitudes are within half a turn of it
}

// Known reports whether s is a system at all.
func (s System) Known() bool { return s.kind != unknown }

var (
	wgs84Degrees = System{Name: "degrees on WGS 84", kind: degrees}
	web          = System{Name: "Web Mercator", kind: webMercator}
)

// webRadiusM is that of the sphere of Web Mercator, EPSG method 1024.
const webRadiusM = 6378137

// transverseMercator is about an origin; it is an error when that is none.
func transverseMercator(name string, origin grid.LonLat, scale float64, shift grid.XY) (System, error) {
	f, err := grid.NewFrame(origin)
	if err == nil && !(scale > 0.5 && scale < 2) {
		err = fmt.Errorf("scale %v", scale)
	}
	return System{Name: name, kind: transverse, frame: f, scale: scale, eastM: shift.X, northM: shift.Y}, err
}

// utm is a zone of the Universal Transverse Mercator grid, 1 to 60.
func utm(zone int, south bool) System {
	half, northM := "north", 0.0
	if south {
		half, northM = "south", 10_000_000
	}
	s, err := transverseMercator(fmt.Sprintf("UTM zone %d %s", zone, half), grid.LonLat{Lon: float64(6*zone - 183)}, 0.9996, grid.XY{X: 500_000, Y: northM})
	if err != nil {
		panic(err) // a zone that is none
	}
	return s
}

// ToLonLat is the position of a point of the plane.
func (s System) ToLonLat(q grid.XY) grid.LonLat {
	p := grid.LonLat{Lon: q.X, Lat: q.Y}
	switch s.kind {
	case transverse:
		return s.frame.ToLonLat(grid.XY{X: (q.X - s.eastM) / s.scale, Y: (q.Y - s.northM) / s.scale})
	case webMercator:
		p.Lon = q.X / webRadiusM * (180 / math.Pi)
		p.Lat = math.Atan(math.Sinh(q.Y/webRadiusM)) * (180 / math.Pi)
	}
	if math.Abs(p.Lon) > 180 {
		p.Lon = math.Remainder(p.Lon, 360)
	}
	return p
}

// FromLonLat is the inverse of ToLonLat.
func (s System) FromLonLat(p grid.LonLat) grid.XY {
	if s.kind == transverse {
		q := s.frame.ToXY(p)
		return grid.XY{X: s.scale*q.X + s.eastM, Y: s.scale*q.Y + s.northM}
	}
	q := grid.XY{X: p.Lon, Y: p.Lat}
	if d := p.Lon - s.aboutLon; math.Abs(d) > 180 {
		q.X = s.aboutLon + math.Remainder(d, 360)
	}
	if s.kind == webMercator {
		q.X *= webRadiusM * (math.Pi / 180)
		q.Y = webRadiusM * math.Asinh(math.Tan(p.Lat*(math.Pi/180)))
	}
	return q
}

// Place says where pixels lie on the globe.
type Place struct {
	System        System
	width, height float64
	to, back      Affine
}

// errElsewhere is the error of numbers that are no place on the globe.
var errElsewhere = errors.New("its numbers are not a place on the ground: place it by tie points")

// newPlace is an error when a picture of that size would not lie on the globe, whole.
func newPlace(width, height int, a Affine, s System) (Place, error) {
	p := Place{System: s, width: float64(width), height: float64(height), to: a}
	if d := a.det(); d == 0 || d-d != 0 {
		return p, errElsewhere
	}
	p.back = a.back()
	middle := a.At(p.width/2, p.height/2)
	switch s.kind {
	case degrees:
		p.System.aboutLon = middle.X
	case webMercator:
		p.System.aboutLon = middle.X / webRadiusM * (180 / math.Pi)
	}
	if !(math.Abs(p.System.aboutLon) <= 360) {
		return p, errElsewhere
	}
	for _, c := range p.corners() {
		ll := p.LonLat(c[0], c[1])
		back := p.Pixel(ll)
		if !ll.Valid() || !(math.Hypot(back.X-c[0], back.Y-c[1]) <= 0.05) { // pixels
			return p, errElsewhere
		}
	}
	return p, nil
}

// corners are the pixels of the corners, clockwise from the upper left.
func (p Place) corners() [4][2]float64 {
	return [4][2]float64{{0, 0}, {p.width, 0}, {p.width, p.height}, {0, p.height}}
}

// Corners are the positions of the picture's corners, clockwise from the upper left.
func (p Place) Corners() (out [4]grid.LonLat) {
	for i, c := range p.corners() {
		out[i] = p.LonLat(c[0], c[1])
	}
	return out
}

// LonLat is the position of a pixel.
func (p Place) LonLat(col, row float64) grid.LonLat { return p.System.ToLonLat(p.to.At(col, row)) }

// Pixel is the pixel, column and row as X and Y, of a position. It may lie outside the
// picture.
func (p Place) Pixel(ll grid.LonLat) grid.XY {
	q := p.System.FromLonLat(ll)
	return p.back.At(q.X, q.Y)
}

// FromM is how far, in metres, a position is from the picture; 0 on it. Far away it
// only says so.
func (p Place) FromM(ll grid.LonLat) float64 {
	f, err := grid.NewFrame(ll)
	if err != nil {
		return math.Inf(1)
	}
	at := p.Pixel(ll)
	col, row := math.Max(0, math.Min(p.width, at.X)), math.Max(0, math.Min(p.height, at.Y))
	q := f.ToXY(p.LonLat(col, row))
	if math.IsNaN(q.X + q.Y) {
		return math.Inf(1)
	}
	return math.Hypot(q.X, q.Y)
}

// steps are metres east and north of a step of one column and of one row at the middle.
func (p Place) steps() (col, row grid.XY, err error) {
	c, r := p.width/2, p.height/2
	f, err := grid.NewFrame(p.LonLat(c, r))
	if err != nil {
		return col, row, err
	}
	return f.ToXY(p.LonLat(c+1, r)), f.ToXY(p.LonLat(c, r+1)), nil
}
