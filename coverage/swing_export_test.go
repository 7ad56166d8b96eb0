package coverage

import "untrod/grid"

// Swing gives the study what a coil really passed over along a line of one point a
// second.
func Swing(m *grid.Mask, set Settings, line []grid.XY, phase float64) {
	times := make([]float64, len(line))
	for i := range times {
		times[i] = float64(i)
	}
	s := newSwinger(set, m.Spec().CellM, 0.4)
	s.fill(m, s.zigzag(nil, line, times, phase))
}
