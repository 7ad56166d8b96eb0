package grid

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"
	"github.com/peterstace/simplefeatures/geom"
)

// Validate returns nil when p is a valid polygon by the OGC's simple features
// rules: rings simple, holes inside the outer ring and not inside one another,
// rings touching only at points, the inside in one piece. An empty polygon is
// valid. Rings may run either way. O(vertices x log vertices) on ordinary shapes.
func (p Polygon) Validate() error {
	if len(p.Outer) == 0 && len(p.Holes) == 0 {
		return nil
	}
	rings := make([]geom.LineString, 0, 1+len(p.Holes))
	for _, r := range append([]Ring{p.Outer}, p.Holes...) {
		xy := make([]float64, 0, 2*len(r)+2)
		for _, v := range r.closed() {
			xy = append(xy, v.X, v.Y)
		}
		rings = append(rings, geom.NewLineStringXY(xy...))
	}
	return geom.NewPolygon(rings).Validate()
}

// Simplify returns p with fewer vertices, by the method of Visvalingam and
// Whyatt (1993), Line generalisation by repeated elimination of points,
// Cartographic Journal 30:46-51: the vertex whose triangle with its neighbours
// is smallest goes first, as long as triangles are under toleranceM squared. So
// the stairs of cells of side toleranceM or less become straight, and a spike
// toleranceM wide at its foot goes when it is less than two toleranceM long. A
// ring keeps its first vertex and at least four.
//
// Holes smaller than toleranceM squared, or left without area, are dropped. When
// the result is not valid it is tried again with half the tolerance, and after
// three times p itself is returned. A tolerance of 0 or less returns p. Rings keep
// the way they run; p is left alone and may share rings with the result.
func (p Polygon) Simplify(toleranceM float64) Polygon {
	for range 3 {
		if !(toleranceM > 0) {
			break
		}
		if s := p.thinned(toleranceM * toleranceM); s.Validate() == nil {
			return s
		}
		toleranceM /= 2
	}
	return p
}

func (p Polygon) thinned(areaM2 float64) Polygon {
	s := Polygon{Outer: p.Outer.thinned(areaM2)}
	for _, h := range p.Holes {
		if h = h.thinned(areaM2); math.Abs(h.Area()) >= areaM2 {
			s.Holes = append(s.Holes, h)
		}
	}
	return s
}

func (r Ring) thinned(areaM2 float64) Ring {
	const least = 4 // so that a lone cell stays a square
	if len(r) <= least {
		return r
	}
	line := make(orb.Ring, 0, len(r)+1)
	for _, v := range r.closed() {
		line = append(line, orb.Point{v.X, v.Y})
	}
	line = simplify.Visvalingam(areaM2, least+1).Ring(line)
	out := make(Ring, len(line)-1)
	for i := range out {
		out[i] = XY{line[i][0], line[i][1]}
	}
	return out
}

// closed repeats the first vertex at the end.
func (r Ring) closed() []XY { return append(r[:len(r):len(r)], r[:min(1, len(r))]...) }
