// Package grid holds the ground a site is worked on: the local metric frame,
// the cells laid over it, and the operations on sets of cells that every
// coverage figure rests on.
//
// Coordinates pass through this chain, and nowhere else:
//
//	LonLat   degrees on WGS 84, longitude in [-180, 180], latitude in [-90, 90]
//	XY       metres east and north of a Frame's datum, within 30 km of it
//	sub-cell whole 1/256 parts of a cell east and north of a Spec's origin
//	Cell     column (east) and row (north) of a Spec; row 0 is the southernmost
//
// Start at [Frame] for positions, [Spec] for cells and [Mask] for sets of cells.
// The package opens no files, reads no clock and prints nothing.
package grid

import (
	"fmt"
	"math"
)

// LonLat is a position on WGS 84 in degrees.
type LonLat struct{ Lon, Lat float64 }

// Valid reports whether p is a position on the globe: both numbers finite,
// longitude in [-180, 180] and latitude in [-90, 90].
func (p LonLat) Valid() bool {
	return p.Lon >= -180 && p.Lon <= 180 && p.Lat >= -90 && p.Lat <= 90
}

func (p LonLat) String() string { return fmt.Sprintf("%.6f,%.6f", p.Lon, p.Lat) }

// XY is a position in metres east (X) and north (Y) of a Frame's datum.
type XY struct{ X, Y float64 }

// Plus is p moved by d.
func (p XY) Plus(d XY) XY { return XY{p.X + d.X, p.Y + d.Y} }

// FromSegment is the distance of p from the segment between a and b, which may be
// one point.
func (p XY) FromSegment(a, b XY) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	along := 0.0
	if square := float64(dx*dx) + float64(dy*dy); square > 0 {
		along = (float64((p.X-a.X)*dx) + float64((p.Y-a.Y)*dy)) / square
		along = math.Min(1, math.Max(0, along))
	}
	return math.Hypot(p.X-a.X-float64(along*dx), p.Y-a.Y-float64(along*dy))
}

// Ring is a closed line in metres. The first vertex is not repeated at the end.
type Ring []XY

// Area returns the signed area in square metres: positive when the ring runs
// counter-clockwise. A ring of fewer than three vertices has area 0.
func (r Ring) Area() float64 {
	if len(r) < 3 {
		return 0
	}
	o, sum := r[0], 0.0 // relative to one vertex, so that far rings keep their digits
	for i := 1; i+1 < len(r); i++ {
		a, b := r[i], r[i+1]
		sum += float64((a.X-o.X)*(b.Y-o.Y)) - float64((b.X-o.X)*(a.Y-o.Y))
	}
	return sum / 2
}

// Polygon is an outer ring less its holes, in metres.
type Polygon struct {
	Outer Ring
	Holes []Ring
}

// Area returns the area in square metres, whatever way the rings run.
func (p Polygon) Area() float64 {
	a := math.Abs(p.Outer.Area())
	for _, h := range p.Holes {
		a -= math.Abs(h.Area())
	}
	return a
}

// Moved is p moved by d; it shares nothing with p.
func (p Polygon) Moved(d XY) Polygon {
	move := func(r Ring) Ring {
		out := make(Ring, len(r))
		for i, q := range r {
			out[i] = q.Plus(d)
		}
		return out
	}
	out := Polygon{Outer: move(p.Outer)}
	for _, h := range p.Holes {
		out.Holes = append(out.Holes, move(h))
	}
	return out
}

// Bounds is an axis-parallel box in metres. The zero value is not empty; start
// from [EmptyBounds].
type Bounds struct{ Min, Max XY }
