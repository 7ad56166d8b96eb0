package grid

import (
	"math"
	"math/bits"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// inCapsule is the definition, cell by cell: squared distance from the centre
// to the segment against the squared radius, in exact integers.
func inCapsule(p, a, c Sub, r2 int64) bool {
	px, py := int64(p.X), int64(p.Y)
	d2 := func(q Sub) int64 {
		x, y := px-int64(q.X), py-int64(q.Y)
		return x*x + y*y
	}
	if d2(a) <= r2 || d2(c) <= r2 {
		return true
	}
	dx, dy := int64(c.X-a.X), int64(c.Y-a.Y)
	vx, vy := px-int64(a.X), py-int64(a.Y)
	len2, along := dx*dx+dy*dy, dx*vx+dy*vy
	if len2 == 0 || along < 0 || along > len2 {
		return false
	}
	cross := dx*vy - dy*vx
	if cross < 0 {
		cross = -cross
	}
	h1, l1 := bits.Mul64(uint64(cross), uint64(cross))
	h2, l2 := bits.Mul64(uint64(r2), uint64(len2))
	return h1 < h2 || h1 == h2 && l1 <= l2
}

func slowCapsule(s Spec, a, c Sub, r2 int64) *Mask {
	m := NewMask(s)
	for row := range s.Rows {
		for col := range s.Cols {
			if inCapsule(Sub{int32(col*subCell + 128), int32(row*subCell + 128)}, a, c, r2) {
				m.Set(Cell{col, row})
			}
		}
	}
	return m
}

func TestCapsuleEqualsCellByCell(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	s := Spec{CellM: 0.1, Cols: 90, Rows: 150}
	var fp Footprint
	for range 1500 {
		b := NewBrush(0.1, 0.05+rng.Float64()*rng.Float64()*3)
		a := Sub{int32(rng.IntN(110*subCell) - 10*subCell), int32(rng.IntN(170*subCell) - 10*subCell)}
		c := Sub{a.X + int32(rng.IntN(128*subCell)-64*subCell), a.Y + int32(rng.IntN(128*subCell)-64*subCell)}
		switch rng.IntN(6) {
		case 0: // a short step, as logged each second
			c = Sub{a.X + int32(rng.IntN(1400)-700), a.Y + int32(rng.IntN(1400)-700)}
		case 1:
			c.Y = a.Y
		case 2:
			c.X = a.X
		case 3: // whole cells: ties on centres and rims
			a = Sub{a.X &^ 127, a.Y &^ 127}
			c = Sub{c.X &^ 127, c.Y &^ 127}
		case 4:
			c = Sub{a.X + int32(rng.IntN(3)-1), a.Y + int32(rng.IntN(3)-1)}
		}
		got := NewMask(s)
		b.Capsule(&fp, a, c)
		got.Paint(&fp)
		require.True(t, slowCapsule(s, a, c, b.r2).Equal(got), "a %v c %v r2 %d", a, c, b.r2)
		for i, sp := range fp.Spans {
			if sp.Lo < sp.Hi {
				require.True(t, sp.Lo >= fp.Min && sp.Hi <= fp.Max, "row %d", i)
			}
		}
	}
}

func TestCapsuleAreaClosedForm(t *testing.T) {
	// 2rL + pi r^2; elementary geometry.
	for _, c := range []struct{ cell, r, length, angle, tol float64 }{
		{0.1, 0.75, 40, 0, 2e-3}, {0.1, 0.75, 40, 31, 1e-3}, {0.05, 0.75, 40, 77, 5e-4},
		{0.25, 2, 90, 41, 2e-3}, {0.1, 3, 0, 0, 2e-3}, {0.02, 0.75, 20, 12, 2e-4},
	} {
		s := SpecFor(Bounds{XY{-5, -5}, XY{100, 100}}, c.cell)
		m := NewMask(s)
		rad := c.angle * math.Pi / 180
		m.FillCapsule(XY{3.217, 3.119}, XY{3.217 + c.length*math.Cos(rad), 3.119 + c.length*math.Sin(rad)}, c.r)
		want := 2*c.r*c.length + math.Pi*c.r*c.r
		require.InEpsilon(t, want, m.AreaM2(), c.tol, "%+v area %v", c, m.AreaM2())
	}
}

func TestLineProperties(t *testing.T) {
	s := SpecFor(Bounds{XY{-20, -20}, XY{20, 20}}, 0.1)
	b, wide := NewBrush(0.1, 0.75), NewBrush(0.1, 0.9)
	rng := rand.New(rand.NewPCG(3, 4))
	line := []XY{{0, 0}}
	for range 300 {
		p := line[len(line)-1]
		// Whole sub-cells, so that snapping moves nothing.
		line = append(line, XY{p.X + float64(rng.IntN(2048)-1024)/2560, p.Y + float64(rng.IntN(2048)-1024)/2560})
	}
	fill := func(l []XY, b *Brush) *Mask { m := NewMask(s); m.FillLine(l, b); return m }
	whole := fill(line, b)

	back := make([]XY, len(line))
	for i, p := range line {
		back[len(line)-1-i] = p
	}
	require.True(t, whole.Equal(fill(back, b)), "direction does not matter")

	parts := fill(line[:120], b)
	parts.Or(fill(line[119:], b))
	require.True(t, whole.Equal(parts), "cutting a line changes nothing")

	grown := fill(line, wide)
	grown.Or(whole)
	require.True(t, grown.Equal(fill(line, wide)), "a wider swath holds the narrower")
	require.Zero(t, fill(nil, b).Count())
}

func TestPaintClipsToTheSpec(t *testing.T) {
	whole := SpecFor(Bounds{XY{-30, -30}, XY{30, 30}}, 0.1)
	small := Spec{Origin: whole.Origin, CellM: 0.1, Cols: 333, Rows: 301}
	a, b := NewMask(whole), NewMask(small)
	for _, m := range []*Mask{a, b} {
		m.FillCapsule(XY{-40, -31}, XY{5, 10}, 1.3)
		m.FillCapsule(XY{3, -40}, XY{3, 40}, 0.4)
	}
	for row := range whole.Rows {
		for col := range whole.Cols {
			c := Cell{col, row}
			require.Equal(t, a.Has(c) && small.Holds(c), b.Has(c))
		}
	}
}

func walkLine(n int, step float64) []XY {
	rng := rand.New(rand.NewPCG(7, 7))
	line, h := []XY{{50, 50}}, 0.0
	for len(line) < n {
		p := line[len(line)-1]
		h += rng.NormFloat64() * 0.25
		q := XY{p.X + step*math.Cos(h), p.Y + step*math.Sin(h)}
		if q.X < 2 || q.X > 98 || q.Y < 2 || q.Y > 98 {
			h += math.Pi / 2
			continue
		}
		line = append(line, q)
	}
	return line
}

func BenchmarkFillLine(b *testing.B) {
	for _, c := range []struct {
		name string
		cell float64
	}{{"swath=1.5m/cell=0.10m", 0.1}, {"swath=1.5m/cell=0.25m", 0.25}} {
		b.Run(c.name, func(b *testing.B) {
			line := walkLine(20_001, 0.5)
			br := NewBrush(c.cell, 0.75)
			m := NewMask(SpecFor(Bounds{XY{0, 0}, XY{100, 100}}, c.cell))
			m.FillLine(line, br)
			for b.Loop() {
				m.FillLine(line, br)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/20_000, "ns/segment")
		})
	}
}

// BenchmarkPaint is the bare cost of writing the spans of a step.
func BenchmarkPaint(b *testing.B) {
	m := NewMask(SpecFor(Bounds{XY{0, 0}, XY{100, 100}}, 0.1))
	br := NewBrush(0.1, 0.75)
	fps := make([]Footprint, 1000)
	line := walkLine(len(fps)+1, 0.5)
	for i := range fps {
		br.Capsule(&fps[i], m.spec.Snap(line[i]), m.spec.Snap(line[i+1]))
		m.Paint(&fps[i])
	}
	for b.Loop() {
		for i := range fps {
			m.Paint(&fps[i])
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/1000, "ns/segment")
}
