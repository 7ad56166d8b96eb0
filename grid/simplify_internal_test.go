package grid

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestValidate(t *testing.T) {
	square := box(0, 0, 10, 10)
	tests := []struct {
		name string
		p    Polygon
		ok   bool
	}{
		{"empty", Polygon{}, true},
		{"square", Polygon{Outer: square}, true},
		{"hole", Polygon{square, []Ring{box(2, 2, 4, 4)}}, true},
		{"hole touching at a point", Polygon{square, []Ring{{{0, 5}, {3, 3}, {3, 7}}}}, true},
		{"bow-tie", Polygon{Outer: Ring{{0, 0}, {10, 10}, {10, 0}, {0, 10}}}, false},
		{"two vertices", Polygon{Outer: Ring{{0, 0}, {1, 1}}}, false},
		{"no area", Polygon{Outer: Ring{{0, 0}, {1, 1}, {2, 2}}}, false},
		{"hole outside", Polygon{square, []Ring{box(20, 20, 30, 30)}}, false},
		{"hole across the edge", Polygon{square, []Ring{box(5, 5, 30, 8)}}, false},
		{"hole along the edge", Polygon{square, []Ring{box(0, 2, 4, 4)}}, false},
		{"hole in a hole", Polygon{square, []Ring{box(1, 1, 9, 9), box(2, 2, 4, 4)}}, false},
		{"a hole and no outer ring", Polygon{Holes: []Ring{square}}, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			require.Equal(t, tt.ok, tt.p.Validate() == nil)
		})
	}
}

func TestSimplifyByHand(t *testing.T) {
	stairs := Ring{{0, 0}, {10, 0}, {10, 1}, {9, 1}, {9, 2}, {8, 2}, {8, 3}, {0, 3}}
	tests := []struct {
		name  string
		p     Polygon
		tol   float64
		verts int
		holes int
	}{
		{"none", Polygon{}, 1, 0, 0},
		{"zero tolerance", Polygon{Outer: stairs}, 0, 8, 0},
		{"stairs below the tolerance stay", Polygon{Outer: stairs}, 0.5, 8, 0},
		{"stairs of a cell go", Polygon{Outer: stairs}, 1, 4, 0},
		{"never below four", Polygon{Outer: stairs}, 100, 4, 0},
		{"a triangle", Polygon{Outer: Ring{{0, 0}, {1, 0}, {0, 1}}}, 100, 3, 0},
		{"small hole dropped", Polygon{box(0, 0, 50, 50), []Ring{box(5, 5, 6, 6), box(20, 20, 30, 30)}}, 2, 4, 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := tt.p.Simplify(tt.tol)
			require.Len(t, got.Outer, tt.verts, "%v", got.Outer)
			require.Len(t, got.Holes, tt.holes)
		})
	}
}

func TestSimplifyStaysValid(t *testing.T) {
	for _, cells := range []float64{0.75, 1, 1.5, 3} {
		var stats simplifyStats
		masks(t, func(t *testing.T, m *Mask) {
			for _, p := range Outlines(m) {
				before := p.clone()
				s := p.Simplify(cells * m.Spec().CellM)
				require.Equal(t, before, p, "the original is left alone")
				require.NoError(t, s.Validate())
				require.Positive(t, s.Outer.Area())
				stats.add(p, s, cells*m.Spec().CellM)
			}
		})
		t.Logf("tolerance %v cells: %+v", cells, stats)
	}
}

// What simplifying does to outlines like those of gaps: vertices left, change of
// area, and how often the first try was not valid.
func TestSimplifyBlobs(t *testing.T) {
	rnd := rand.New(rand.NewPCG(6, 0))
	s := Spec{CellM: 0.1, Cols: 200, Rows: 200}
	for _, cells := range []float64{1, 2, 4} {
		var stats simplifyStats
		for range 50 {
			for _, p := range Outlines(blobs(rnd, s)) {
				got := p.Simplify(cells * s.CellM)
				require.NoError(t, got.Validate())
				stats.add(p, got, cells*s.CellM)
			}
		}
		t.Logf("tolerance %v cells: %+v", cells, stats)
	}
}

type simplifyStats struct {
	Polygons, Before, After, Retried, Untouched int
	AreaBefore, AreaAfter                       float64
}

func (s *simplifyStats) add(p, q Polygon, tol float64) {
	s.Polygons++
	s.Before += p.vertices()
	s.After += q.vertices()
	s.AreaBefore += p.Area()
	s.AreaAfter += q.Area()
	if p.thinned(tol*tol).Validate() != nil {
		s.Retried++
		if p.vertices() == q.vertices() {
			s.Untouched++
		}
	}
}

func (p Polygon) vertices() int {
	n := len(p.Outer)
	for _, h := range p.Holes {
		n += len(h)
	}
	return n
}

func (p Polygon) clone() Polygon {
	q := Polygon{Outer: append(Ring(nil), p.Outer...)}
	for _, h := range p.Holes {
		q.Holes = append(q.Holes, append(Ring(nil), h...))
	}
	return q
}
