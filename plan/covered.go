package plan

import (
	"math"

	"untrod/grid"
)

// Covered returns the share of the ground that walking the blocks with a swath
// sweeps, and the share of their lanes' length outside the ground. The first is
// counted in cells of a twentieth of the swath, wider on ground of over a million of
// them but never over a sixth; ground no cell's centre lies in is swept whole. NaN
// for the second without lanes.
func Covered(blocks []Block, ground []grid.Polygon, swathM float64) (share, outsideShare float64) {
	m := groundMask(ground, swathM)
	swept := sweptBy(m.Spec(), blocks, swathM/2)
	share = 1
	if n := m.Count(); n > 0 {
		share = float64(m.CountAnd(swept)) / float64(n)
	}
	return share, offGround(blocks, ground)
}

// offGround is the share of the lanes' length outside the ground.
func offGround(blocks []Block, ground []grid.Polygon) float64 {
	rings := allRings(ground)
	var long, off float64
	for _, b := range blocks {
		for _, l := range b.all() {
			long += l.lengthM()
			for s := l.off(rings); len(s) > 0; s = s[2:] {
				off += (s[1] - s[0]) * l.lengthM()
			}
		}
	}
	return off / long
}

// off returns the stretches of a lane with ground on neither side, as shares of it.
// Outlines of cells often have a side just where a lane runs: that is on the ground.
func (l Lane) off(rings []grid.Ring) []float64 {
	if l.lengthM() == 0 {
		return nil
	}
	out := []float64{0, 1}
	ax := along(l.From, l.To)
	for _, side := range []float64{-hairM, hairM} {
		d := ax.back(grid.XY{X: side})
		out = without(out, held(Lane{l.From.Plus(d), l.To.Plus(d)}, rings))
	}
	return out
}

func allRings(ground []grid.Polygon) (rings []grid.Ring) {
	for _, p := range ground {
		rings = append(append(rings, p.Outer), p.Holes...)
	}
	return rings
}

// groundMask is ground as cells.
func groundMask(ground []grid.Polygon, swathM float64) *grid.Mask {
	b, area := grid.EmptyBounds(), 0.0
	for _, p := range ground {
		area += p.Area()
		for _, q := range p.Outer {
			b = b.Add(q)
		}
	}
	m := grid.NewMask(grid.SpecFor(b, math.Max(swathM/20, math.Min(math.Sqrt(area/1e6), swathM/6))))
	for _, p := range ground {
		m.FillPolygon(p)
	}
	return m
}

// sweptBy is the cells swept by blocks.
func sweptBy(s grid.Spec, blocks []Block, radiusM float64) *grid.Mask {
	m, brush := grid.NewMask(s), grid.NewBrush(s.CellM, radiusM)
	for _, b := range blocks {
		for _, l := range b.all() {
			m.FillLine([]grid.XY{l.From, l.To}, brush)
		}
	}
	return m
}
