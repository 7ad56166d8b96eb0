package coverage

import "math"

// CoilShape is how the windings of a search coil lie.
type CoilShape uint8

const (
	Concentric CoilShape = iota // one round winding inside another
	DoubleD                     // two D-shaped windings, back to back
)

func (s CoilShape) String() string {
	if s == DoubleD {
		return "double-d"
	}
	return "concentric"
}

// Coil is a search coil and how it is swung: straight from side to side across
// the line of march at an even speed, turning at once, while the walker goes
// forward at an even pace. On the ground its centre draws a zigzag. The size is
// more than 0; the swing is 0 for a coil held still, or a millimetre or more.
type Coil struct {
	SizeM  float64 // diameter
	SwingM float64 // how far the centre moves from side to side
	SweepS float64 // time of one sweep from side to side; 0: the swing at SwingSpeedMS
	Shape  CoilShape
}

// SwingSpeedMS is the usual speed of a swung coil, in metres a second. Common
// practice, from memory; no published measurement was found.
const SwingSpeedMS = 1.0

// sweepS is the time of one sweep from side to side.
func (c Coil) sweepS() float64 {
	if c.SweepS == 0 {
		return c.SwingM / SwingSpeedMS
	}
	return c.SweepS
}

// FootprintM is the length, along the line of march, of the ground the coil
// senses at a depth of 0 or more. At the surface either shape senses a disc of
// its own size. With depth the disc of a concentric coil narrows as a cone, to
// nothing at a depth of one size; that of a double-D narrows across the line of
// march only, and stays a blade as long as the coil. Common practice, no source:
// depth in real soil depends on the target and the ground far more than on this.
func (c Coil) FootprintM(depthM float64) float64 {
	if c.Shape == DoubleD {
		return c.SizeM
	}
	return c.acrossM(depthM)
}

// acrossM is the width of the footprint across the line of march.
func (c Coil) acrossM(depthM float64) float64 { return max(0, c.SizeM-depthM) }

// SweptShare is the share of a line along the march, offsetM to the side of the
// walker's path (either side), that the footprint at depthM passes over at the
// given pace of 0 or more. It is 0 at offsets over SwingM/2 plus half the
// footprint's width, and otherwise NaN for a pace of NaN. Exact for the zigzag,
// the turns included; no allocation.
//
// Derivation. One sweep goes from (-S/2, 0) to (S/2, a) in (across, along), where
// a is the advance in one sweep; the next is its mirror image in the line
// along = a, the one before that in along = 0. So the strip from 0 to a is swept
// as every other. The ellipse of half axes p across and q along, moved over
// one sweep, cuts the line at offset u in an interval lo..hi: the two lines
// k(u + S/2) -+ h with k = a/S and h = sqrt(q^2 + k^2 p^2), which touch the
// ellipses at the two ends p^2 k/h to the side of their centres; beyond those
// points the edge is that of the ellipse at the turn. A mirror image adds nothing
// within the strip: what the sweep covers on the far side of a mirror it covers
// on the near side too, every point of the sweep being nearer that.
func (c Coil) SweptShare(offsetM, paceMS, depthM float64) float64 {
	s, p, q := c.SwingM/2, c.acrossM(depthM)/2, c.FootprintM(depthM)/2
	u, a := math.Abs(offsetM), paceMS*c.sweepS()
	switch {
	case u > s+p || q == 0:
		return 0
	case a == 0 || s == 0:
		return 1
	}
	k := a / c.SwingM
	h := math.Sqrt(float64(q*q) + float64(k*p*k*p))
	touch := p * (k * p / h)
	turn := func(centre float64) float64 { // half the chord of the ellipse there
		return float64(q * math.Sqrt(max(0, 1-(u-centre)*(u-centre)/(p*p))))
	}
	mid := float64(k * (u + s))
	hi, lo := mid+h, mid-h
	if u > s-touch {
		hi = a + turn(s)
	}
	if u > s+touch {
		lo = a - turn(s)
	} else if u < touch-s {
		lo = -turn(-s)
	}
	return (min(hi, a) - max(lo, 0)) / a
}

// meanSteps is how finely MeanShare divides half the ground in reach.
const meanSteps = 256

// MeanShare is the mean of SweptShare over the whole swath, swing + coil wide at
// any depth: the share of the swath's ground the footprint really passed over.
// By the midpoint rule, good to 0.001; about 256 times the cost of SweptShare.
func (c Coil) MeanShare(paceMS, depthM float64) float64 {
	reach, sum := c.SwingM+c.acrossM(depthM), 0.0
	for i := range meanSteps {
		sum += c.SweptShare(reach/2*(float64(i)+0.5)/meanSteps, paceMS, depthM)
	}
	return sum / meanSteps * reach / (c.SwingM + c.SizeM)
}

// FastestPace is the fastest pace, in metres a second, at which the footprint at
// depthM misses nothing within the swing, that is at offsets up to SwingM/2;
// beyond, to the rim of the swath, some is missed at any pace but a standstill.
// It is +Inf when half the footprint reaches across the whole swing, and 0 when
// nothing is sensed at that depth.
//
// The hardest place is where the coil turns, which it meets once in two sweeps:
// there the advance in one sweep may be up to h (see SweptShare), which gives
// q / sqrt(1 - p^2/S^2) in the time of a sweep. The usual rule, pace =
// (1 - overlap) x size / sweep time, agrees when sweeps overlap by half; the
// square root allows for the slant of the sweeps, under 1 % for usual swings.
// With an overlap of a quarter the middle is swept whole and wedges at the turns
// are missed.
func (c Coil) FastestPace(depthM float64) float64 {
	p, q := c.acrossM(depthM)/2, c.FootprintM(depthM)/2
	switch {
	case q == 0:
		return 0
	case p >= c.SwingM:
		return math.Inf(1)
	}
	slant := p / c.SwingM
	return q / math.Sqrt((1-slant)*(1+slant)) / c.sweepS()
}
