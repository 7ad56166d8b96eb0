package coverage

import (
	"math"

	"untrod/grid"
)

// coil is the coil and how it is swung.
func (s Settings) coil() Coil {
	return Coil{SizeM: s.CoilM, SwingM: s.SwingM, SweepS: s.SweepS, Shape: s.CoilShape}
}

// swings reports whether the draws swing the coil: only when the time of a sweep
// was measured. The usual one has no source, and would halve most figures.
func (s Settings) swings() bool { return s.CoilM > 0 && s.SwingM > 0 && s.SweepS > 0 }

// swinger swings a coil along lines of march.
type swinger struct {
	brush  *grid.Brush // of the footprint; nil when nothing is sensed at that depth
	halfM  float64     // half of what its centre moves from side to side
	sweepS float64     // time of one sweep
	parts  float64     // of a sweep, each drawn as straight
}

// straightS is the longest time over which a swung coil is drawn as straight: that
// between the points of a draw.
const straightS = 2

// newSwinger makes the brush for cells of cellM; paceMS is the median pace.
func newSwinger(set Settings, cellM, paceMS float64) *swinger {
	radius, swing := set.coil().disc(set.DepthM, paceMS)
	s := &swinger{halfM: swing / 2, sweepS: set.SweepS, parts: math.Ceil(set.SweepS / straightS)}
	if radius > 0 {
		s.brush = grid.NewBrush(cellM, radius)
	}
	return s
}

// disc returns the round footprint, and the swing of its centre, that stand for the
// coil at depthM. Those of a concentric coil are its own. A double-D at depth
// leaves an ellipse, which turns with the march; for it stands a disc that reaches
// as far to the side, and at paceMS passes over as much ground.
func (c Coil) disc(depthM, paceMS float64) (radiusM, swingM float64) {
	p, q := c.acrossM(depthM)/2, c.FootprintM(depthM)/2
	if p == q {
		return q, c.SwingM
	}
	reach := c.SwingM + 2*p
	want := c.MeanShare(paceMS, depthM) * (c.SwingM + c.SizeM)
	lo, hi := 0.0, reach/2
	for range 40 {
		r := (lo + hi) / 2
		d := Coil{SizeM: 2 * r, SwingM: reach - 2*r, SweepS: c.sweepS()}
		if d.MeanShare(paceMS, 0)*reach < want {
			lo = r
		} else {
			hi = r
		}
	}
	return hi, reach - 2*hi
}

// zigzag appends to dst the way of the coil's centre along a line whose points
// were passed at times, in seconds. At the first it is phase sweeps on from the
// left end of the swing. Across is at right angles to the march, whose direction
// at a point is that from the point before to the one after.
func (s *swinger) zigzag(dst, line []grid.XY, times []float64, phase float64) []grid.XY {
	begin, end := times[0], times[len(times)-1]
	w := marcher{line: line, times: times}
	put := func(t float64) {
		turn := phase + (t-begin)/s.sweepS
		turn -= float64(2 * int64(turn/2)) // cut, many times faster than math.Mod
		off := s.halfM * (1 - float64(2*math.Abs(1-turn)))
		p, side := w.at(t)
		dst = append(dst, grid.XY{X: p.X + float64(off*side.X), Y: p.Y + float64(off*side.Y)})
	}
	put(begin)
	step := s.sweepS / s.parts
	first := (math.Floor(phase*s.parts) + 1 - phase*s.parts) * step // to the next turn, or part of a sweep
	for i := 0.0; begin+first+i*step < end; i++ {
		put(begin + first + i*step)
	}
	if end > begin {
		put(end)
	}
	return dst
}

// fill adds what the coil passes over.
func (s *swinger) fill(m *grid.Mask, zigzag []grid.XY) {
	if s.brush != nil {
		m.FillLine(zigzag, s.brush)
	}
}

// marcher goes along a line as time goes on.
type marcher struct {
	line  []grid.XY
	times []float64
	i     int // the point passed last
}

// at is where the line is at t, and the direction to its right: a unit vector, or
// zero where it does not move. Times asked for must not go back.
func (w *marcher) at(t float64) (p, right grid.XY) {
	n := len(w.line)
	for w.i+2 < n && w.times[w.i+1] <= t {
		w.i++
	}
	i, j := w.i, min(w.i+1, n-1)
	f := 0.0
	if j > i {
		f = (t - w.times[i]) / (w.times[j] - w.times[i])
	}
	a, b := w.line[i], w.line[j]
	before, after := w.line[max(i-1, 0)], w.line[min(j+1, n-1)]
	dx := float64((1-f)*(b.X-before.X)) + float64(f*(after.X-a.X))
	dy := float64((1-f)*(b.Y-before.Y)) + float64(f*(after.Y-a.Y))
	p = grid.XY{X: a.X + float64(f*(b.X-a.X)), Y: a.Y + float64(f*(b.Y-a.Y))}
	if l := math.Sqrt(float64(dx*dx) + float64(dy*dy)); l > 0 {
		right = grid.XY{X: dy / l, Y: -dx / l}
	}
	return p, right
}

// evenly is when so many points, evenly spaced over metres, are passed at paceMS.
func evenly(points int, metres, paceMS float64) []float64 {
	times := make([]float64, points)
	for i := 1; i < points; i++ {
		times[i] = metres / paceMS * float64(i) / float64(points-1)
	}
	return times
}
