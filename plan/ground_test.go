package plan_test

import (
	"math"
	"math/rand/v2"

	"untrod/grid"
)

// randomRing is a ring round a centre with its corners at random distances, concave
// more often than not.
func randomRing(rng *rand.Rand, centre grid.XY, least, most float64) grid.Ring {
	n := 5 + rng.IntN(20)
	out := make(grid.Ring, n)
	for i := range out {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.8*rng.Float64()) / float64(n))
		d := least + (most-least)*rng.Float64()
		out[i] = grid.XY{X: centre.X + d*cos, Y: centre.Y + d*sin}
	}
	return out
}

// randomGround is a concave polygon up to 120 m across, with up to four holes that do
// not touch.
func randomGround(rng *rand.Rand) grid.Polygon {
	size := 3 * math.Pow(20, rng.Float64())
	p := grid.Polygon{Outer: randomRing(rng, grid.XY{}, (0.25+0.5*rng.Float64())*size, size)}
	for range rng.IntN(5) {
		c := grid.XY{X: size * (rng.Float64() - 0.5), Y: size * (rng.Float64() - 0.5)}
		with := p
		with.Holes = append(with.Holes[:len(with.Holes):len(with.Holes)], randomRing(rng, c, 0.05*size, 0.15*size))
		if with.Validate() == nil {
			p = with
		}
	}
	return p
}

// walkedField is what winding lanes leave untrodden of a square: ground in which a
// circle of half a swath can roll, over 2 m2, as simplified outlines of cells. That is
// what gaps look like. Keep-outs are no part of it, but for the corners that
// simplifying cuts.
func walkedField(rng *rand.Rand, sideM, cellM, swathM float64, keepouts ...grid.Polygon) []grid.Polygon {
	spec := grid.SpecFor(grid.Bounds{Max: grid.XY{X: sideM - cellM/2, Y: sideM - cellM/2}}, cellM)
	bare := grid.NewMask(spec)
	for r := range spec.Rows {
		bare.SetSpan(r, 0, spec.Cols)
	}
	swept := grid.NewMask(spec)
	brush := grid.NewBrush(cellM, swathM/2)
	for range int(sideM / 2.5) {
		at, h := grid.XY{X: sideM * rng.Float64(), Y: sideM * rng.Float64()}, 2*math.Pi*rng.Float64()
		var line []grid.XY
		for range int(2 * sideM) {
			line = append(line, at)
			h += 0.15 * rng.NormFloat64()
			at = at.Plus(grid.XY{X: 0.5 * math.Cos(h), Y: 0.5 * math.Sin(h)})
		}
		swept.FillLine(line, brush)
	}
	bare.AndNot(swept)
	for _, k := range keepouts {
		shut := grid.NewMask(spec)
		shut.FillPolygon(k)
		bare.AndNot(shut)
	}
	return rolled(bare, swathM)
}

// rolled is the gaps of bare ground.
func rolled(bare *grid.Mask, swathM float64) (out []grid.Polygon) {
	spec, open := bare.Spec(), grid.NewMask(bare.Spec())
	runs := bare.Runs()
	d2 := runs.DistanceSquared()
	brush, disc := grid.NewBrush(spec.CellM, 0.35*swathM), grid.Footprint{}
	wide := func(at int) float64 { return (2*math.Sqrt(float64(d2[at])) - 0.5) * spec.CellM }
	for _, r := range runs.All {
		for c := r.Lo; c < r.Hi; c++ {
			if wide(r.At+c-r.Lo) >= swathM/2 {
				q := spec.Snap(spec.Centre(grid.Cell{Col: c, Row: r.Row}))
				brush.Capsule(&disc, q, q)
				open.Paint(&disc)
			}
		}
	}
	open.And(bare)
	for _, p := range grid.Outlines(open) {
		if p.Area() > 2 {
			out = append(out, p.Simplify(spec.CellM))
		}
	}
	return out
}
