package grid

import "math"

// EmptyBounds returns a box that holds nothing and grows with Add.
func EmptyBounds() Bounds {
	inf := math.Inf(1)
	return Bounds{Min: XY{inf, inf}, Max: XY{-inf, -inf}}
}

// Empty reports whether b holds no point.
func (b Bounds) Empty() bool { return b.Min.X > b.Max.X || b.Min.Y > b.Max.Y }

// Add returns b grown to hold p. A point with a NaN leaves b as it is.
func (b Bounds) Add(p XY) Bounds {
	if p.X != p.X || p.Y != p.Y {
		return b
	}
	return Bounds{
		Min: XY{math.Min(b.Min.X, p.X), math.Min(b.Min.Y, p.Y)},
		Max: XY{math.Max(b.Max.X, p.X), math.Max(b.Max.Y, p.Y)},
	}
}

// Pad returns b grown by m metres on every side. An empty box stays empty.
func (b Bounds) Pad(m float64) Bounds {
	if b.Empty() {
		return b
	}
	return Bounds{Min: XY{b.Min.X - m, b.Min.Y - m}, Max: XY{b.Max.X + m, b.Max.Y + m}}
}

// Width and Height are the box's sides in metres, 0 when it is empty.
func (b Bounds) Width() float64  { return math.Max(0, b.Max.X-b.Min.X) }
func (b Bounds) Height() float64 { return math.Max(0, b.Max.Y-b.Min.Y) }
