package grid

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// contains is the rule of FillPolygon for one point, edge by edge.
func contains(p Polygon, q XY) bool {
	in := false
	for _, r := range append([]Ring{p.Outer}, p.Holes...) {
		for i := range r {
			a, b := r[i], r[(i+1)%len(r)]
			if a.Y > b.Y {
				a, b = b, a
			}
			if a.Y <= q.Y && q.Y < b.Y && a.X+float64((q.Y-a.Y)*(b.X-a.X))/(b.Y-a.Y) <= q.X {
				in = !in
			}
		}
	}
	return in
}

// fillSlowly is the twin of FillPolygon, cell by cell.
func (m *Mask) fillSlowly(p Polygon) {
	for row := range m.spec.Rows {
		for col := range m.spec.Cols {
			if c := (Cell{col, row}); contains(p, m.spec.Centre(c)) {
				m.Set(c)
			}
		}
	}
}

func filled(s Spec, ps ...Polygon) *Mask {
	m := NewMask(s)
	for _, p := range ps {
		m.FillPolygon(p)
	}
	return m
}

func box(x0, y0, x1, y1 float64) Ring { return Ring{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}} }

func TestFillPolygonCountsCells(t *testing.T) {
	s := Spec{XY{0, 0}, 1, 200, 200}
	tests := []struct {
		name string
		p    Polygon
		want int
	}{
		{"empty", Polygon{}, 0},
		{"one vertex", Polygon{Outer: Ring{{3, 3}}}, 0},
		{"two vertices", Polygon{Outer: Ring{{3, 3}, {90, 50}}}, 0},
		{"all in a line", Polygon{Outer: Ring{{3, 3}, {90, 90}, {50, 50}}}, 0},
		{"cells exactly", Polygon{Outer: box(10, 20, 90, 50)}, 80 * 30},
		{"corners on centres, half-open", Polygon{Outer: box(10.5, 20.5, 12.5, 22.5)}, 4},
		{"less than a cell, no centre", Polygon{Outer: box(10.6, 20.6, 11.4, 21.4)}, 0},
		{"hole", Polygon{box(10, 10, 90, 90), []Ring{box(20, 20, 30, 30)}}, 6400 - 100},
		{"clockwise the same", Polygon{box(90, 10, 10, 90), []Ring{box(20, 20, 30, 30)}}, 6400 - 100},
		{"larger than the grid", Polygon{Outer: box(-1e6, -1e6, 1e6, 1e6)}, 200 * 200},
		{"beside the grid", Polygon{Outer: box(-50, -50, -1, 300)}, 0},
		{"half over the edge", Polygon{Outer: box(190, 190, 210, 210)}, 100},
		{"crosses itself evenly", Polygon{Outer: Ring{{0, 0}, {100, 0}, {0, 100}, {100, 100}}}, 5000},
		{"vertices far beyond float range of cells", Polygon{Outer: box(-1e300, 0, 1e300, 2)}, 400},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			require.Equal(t, tt.want, filled(s, tt.p).Count())
		})
	}
}

func TestFillPolygonEqualsSlowTwin(t *testing.T) {
	specs := []Spec{
		{XY{0, 0}, 1, 70, 66},
		{XY{-3.5, 2.25}, 0.25, 65, 80},
		{XY{-12.3, 40.1}, 0.1, 90, 50},
	}
	const seed, rounds = 1, 2000
	rnd := rand.New(rand.NewPCG(seed, 0))
	for i := range rounds {
		s := specs[i%len(specs)]
		p := randomPolygon(rnd, s)
		fast, slow := NewMask(s), NewMask(s)
		fast.FillPolygon(p)
		slow.fillSlowly(p)
		require.True(t, fast.Equal(slow), "round %d: %v", i, p)
	}
}

// randomPolygon has vertices anywhere, on centres, on cell corners and beyond
// the grid, crosses itself freely and may have a hole.
func randomPolygon(rnd *rand.Rand, s Spec) Polygon {
	kind := rnd.IntN(4)
	ring := func() Ring {
		r := make(Ring, 3+rnd.IntN(10))
		for i := range r {
			at := s.Centre(Cell{rnd.IntN(s.Cols+20) - 10, rnd.IntN(s.Rows+20) - 10})
			switch kind {
			case 0: // on centres
			case 1: // on corners
				at = XY{at.X - s.CellM/2, at.Y - s.CellM/2}
			case 2: // on centres here and there
				if rnd.IntN(2) == 0 {
					at.X += rnd.Float64() * s.CellM
				}
			default:
				at = XY{at.X + rnd.Float64()*s.CellM, at.Y + rnd.Float64()*s.CellM}
			}
			r[i] = at
		}
		return r
	}
	p := Polygon{Outer: ring()}
	if rnd.IntN(2) == 0 {
		p.Holes = []Ring{ring()}
	}
	return p
}

// A fan of triangles about one vertex covers every cell of the box once, also
// where shared sides run through centres.
func TestFillPolygonSharedSides(t *testing.T) {
	s := Spec{XY{0, 0}, 0.5, 120, 120}
	rnd := rand.New(rand.NewPCG(2, 0))
	for range 40 {
		mid := s.Centre(Cell{20 + rnd.IntN(80), 20 + rnd.IntN(80)})
		rim := Ring{}
		for i := range 120 { // south, east, north, west sides in steps of random length
			if i%(1+rnd.IntN(20)) == 0 {
				rim = append(rim, XY{float64(i) / 2, 0})
			}
		}
		rim = append(rim, XY{60, 0}, XY{60, 33.25}, XY{60, 60}, XY{20.25, 60}, XY{0, 60}, XY{0, mid.Y})
		times, all := map[Cell]int{}, NewMask(s)
		for i := range rim {
			a, b := rim[i], rim[(i+1)%len(rim)]
			tri := Polygon{Outer: Ring{mid, a, b}}
			if i%2 == 0 {
				tri = Polygon{Outer: Ring{b, a, mid}}
			}
			m := filled(s, tri)
			m.Cells(func(c Cell) { times[c]++ })
			all.Or(m)
		}
		require.Equal(t, 120*120, all.Count())
		for c, n := range times {
			if n != 1 {
				require.Equal(t, 1, n, "%v", c)
			}
		}
	}
}

func TestFillPolygonArea(t *testing.T) {
	// A regular 1000-gon of radius r: area n/2 r^2 sin(2 pi/n). The cells along its
	// edge fall in or out like coin tosses: about sqrt(3000) of 785,000 cells.
	const n, r = 1000, 50.0
	s := Spec{XY{-60, -60}, 0.1, 1200, 1200}
	var ring Ring
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		ring = append(ring, XY{0.031 + r*cos, 0.017 + r*sin})
	}
	got, want := filled(s, Polygon{Outer: ring}).AreaM2(), n/2*r*r*math.Sin(2*math.Pi/n)
	t.Logf("%.3f m2 of %.3f m2, off by %.2g of it", got, want, got/want-1)
	require.InDelta(t, want, got, want*1e-4)
}

// 10,000 vertices over 20,000 rows: rows times all edges would be 200 million
// crossings; the table makes it rows times the few that cross.
func TestFillPolygonLargeOutline(t *testing.T) {
	s := Spec{XY{-10000, -10000}, 1, 20000, 20000}
	var ring Ring
	for i := range 10000 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 10000)
		r := 9000 + 900*math.Sin(float64(i)/3)
		ring = append(ring, XY{r * cos, r * sin})
	}
	start := time.Now()
	got := filled(s, Polygon{Outer: ring}).AreaM2()
	t.Logf("%v for %d vertices and %d rows", time.Since(start), len(ring), s.Rows)
	require.InDelta(t, ring.Area(), got, ring.Area()*1e-5)
}

func ExampleMask_FillPolygon() {
	m := NewMask(Spec{CellM: 0.1, Cols: 100, Rows: 100})
	m.FillPolygon(Polygon{
		Outer: Ring{{1, 1}, {9, 1}, {9, 6}, {1, 6}},
		Holes: []Ring{{{2, 2}, {2, 3}, {4, 3}, {4, 2}}},
	})
	fmt.Printf("%.2f m2\n", m.AreaM2())
	// Output: 38.00 m2
}
