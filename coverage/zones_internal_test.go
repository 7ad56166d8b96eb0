package coverage

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
	"untrod/site"
)

// randomMarks are points, lines and areas on and around 30 m by 30 m.
func randomMarks(t *rapid.T) (out []site.LocalLandmark) {
	at := func() grid.XY {
		return grid.XY{X: rapid.Float64Range(-15, 45).Draw(t, "x"), Y: rapid.Float64Range(-15, 45).Draw(t, "y")}
	}
	for range rapid.IntRange(0, 5).Draw(t, "landmarks") {
		m := site.LocalLandmark{XY: []grid.XY{at()}}
		switch m.Shape = site.Shape(rapid.IntRange(0, 2).Draw(t, "shape")); m.Shape {
		case site.LineShape:
			for range rapid.IntRange(1, 4).Draw(t, "vertices") {
				m.XY = append(m.XY, at())
			}
		case site.AreaShape: // a triangle
			m.XY = append(m.XY, at(), at())
		}
		if len(out) > 0 && rapid.IntRange(0, 4).Draw(t, "same") == 0 {
			m.XY, m.Shape = out[0].XY, out[0].Shape // wholly over another
		}
		out = append(out, m)
	}
	return out
}

// offTwin is how far p is from a landmark, by the triangle's sides and cosines.
func offTwin(p grid.XY, m site.LocalLandmark) float64 {
	edges := [][2]grid.XY{}
	for i := 1; i < len(m.XY); i++ {
		edges = append(edges, [2]grid.XY{m.XY[i-1], m.XY[i]})
	}
	if m.Shape != site.LineShape {
		edges = append(edges, [2]grid.XY{m.XY[len(m.XY)-1], m.XY[0]})
	}
	best, turns := math.Inf(1), 0.0
	for _, e := range edges {
		a, b, c := distance(p, e[0]), distance(p, e[1]), distance(e[0], e[1])
		d := math.Min(a, b)
		if c > 1e-6 && a*a <= b*b+c*c && b*b <= a*a+c*c { // foot of the height between the ends
			d = math.Abs((e[1].X-e[0].X)*(p.Y-e[0].Y)-(e[1].Y-e[0].Y)*(p.X-e[0].X)) / c
		}
		best = math.Min(best, d)
		turn := math.Atan2(e[1].Y-p.Y, e[1].X-p.X) - math.Atan2(e[0].Y-p.Y, e[0].X-p.X)
		turns += math.Remainder(turn, 2*math.Pi)
	}
	if m.Shape == site.AreaShape && math.Abs(turns) > 1 { // wound round
		return 0
	}
	return best
}

// Every cell is in the zone its distance says, and the zones and the rest are the
// site; with the overlaps given to each, every landmark has what it has alone.
func TestZonesTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spec := grid.SpecFor(grid.Bounds{Max: grid.XY{X: 30, Y: 30}}, 0.7)
		in := grid.NewMask(spec)
		in.FillPolygon(grid.Polygon{Outer: grid.Ring{{X: 1, Y: 0}, {X: 29, Y: 3}, {X: 25, Y: 28}, {X: 0, Y: 20}}})
		marks := randomMarks(t)
		set := ZoneSettings{RingsM: []float64{3, 7.5, 12}, Nearest: rapid.Bool().Draw(t, "nearest")}
		z := newZones(in, marks, set)
		require.Len(t, z.of, len(marks))
		sum := 0
		for _, f := range z.flat() {
			require.Equal(t, f.cells, f.mask.Count())
			require.Equal(t, f.cells, f.mask.CountAnd(in))
			sum += f.cells
		}
		if set.Nearest {
			require.Equal(t, in.Count(), sum)
		}
		in.Cells(func(c grid.Cell) { checkCell(t, z, marks, set, c, spec.Centre(c)) })
	})
}

func checkCell(t *rapid.T, z zoneMasks, marks []site.LocalLandmark, set ZoneSettings, c grid.Cell, p grid.XY) {
	off := make([]float64, len(marks))
	near := math.Inf(1)
	for i, m := range marks {
		off[i] = offTwin(p, m)
		near = math.Min(near, off[i])
	}
	rest, close := true, false
	for i := range marks {
		from := 0.0
		for k, to := range set.RingsM {
			has := z.of[i][k].Has(c)
			close = close || math.Abs(off[i]-to) < 1e-6
			want := off[i] >= from && off[i] < to
			if set.Nearest && want && off[i] > near+1e-6 {
				want = false
			}
			tie := set.Nearest && off[i] <= near+1e-6 // the first of equals, so this may go without
			if !close && (has != want) && !(tie && want) {
				t.Fatalf("cell %v, landmark %d, ring %g to %g: in %v, %.9f m off, nearest %.9f", c, i, from, to, has, off[i], near)
			}
			rest = rest && !has
			from = to
		}
	}
	require.Equal(t, rest, z.rest.Has(c))
	if reach := set.RingsM[len(set.RingsM)-1]; near < reach-1e-6 && rest {
		t.Fatalf("cell %v is %.9f m off, but in no ring", c, near)
	}
}

// Of two landmarks at one place the first of the site has all of the ground.
func TestZonesOfTheSamePlace(t *testing.T) {
	in := grid.NewMask(grid.SpecFor(grid.Bounds{Max: grid.XY{X: 10, Y: 10}}, 0.5))
	in.FillPolygon(grid.Polygon{Outer: grid.Ring{{}, {X: 10}, {X: 10, Y: 10}, {Y: 10}}})
	m := site.LocalLandmark{XY: []grid.XY{{X: 5, Y: 5}}}
	z := newZones(in, []site.LocalLandmark{m, m}, ZoneSettings{RingsM: []float64{2}, Nearest: true})
	require.Positive(t, z.of[0][0].Count())
	require.Zero(t, z.of[1][0].Count())
	z = newZones(in, []site.LocalLandmark{m, m}, ZoneSettings{RingsM: []float64{2}})
	require.True(t, z.of[0][0].Equal(z.of[1][0]))
}

func TestRingSettings(t *testing.T) {
	for _, c := range []struct {
		name  string
		rings []float64
		want  string
	}{
		{"none", nil, ""},
		{"usual", []float64{5, 10, 20}, ""},
		{"shrinking", []float64{5, 3}, "--rings 3 m after 5 m: must be radii that grow, such as 5m,10m,20m"},
		{"nothing", []float64{0}, "--rings 0 m: must be above 0 m and at most 200 m"},
		{"no number", []float64{math.NaN()}, "--rings NaN m: must be above 0 m and at most 200 m"},
		{"too wide", []float64{201}, "--rings 201 m: must be above 0 m and at most 200 m"},
		{"too many", []float64{1, 2, 3, 4, 5, 6, 7, 8, 9}, "--rings 9: must be at most 8 rings"},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := ZoneSettings{RingsM: c.rings}.validate()
			if c.want == "" {
				require.NoError(t, err)
				return
			}
			require.EqualError(t, err, c.want)
		})
	}
}

// Fifty landmarks on 4 ha at 10 cm.
func BenchmarkZones(b *testing.B) {
	in := grid.NewMask(grid.SpecFor(grid.Bounds{Max: grid.XY{X: 200, Y: 200}}, 0.1))
	in.FillPolygon(grid.Polygon{Outer: grid.Ring{{}, {X: 200}, {X: 200, Y: 200}, {Y: 200}}})
	var marks []site.LocalLandmark
	for i := range 50 {
		marks = append(marks, site.LocalLandmark{XY: []grid.XY{{X: float64(i*37%200) + 0.3, Y: float64(i*91%200) + 0.7}}})
	}
	for _, nearest := range []bool{true, false} {
		b.Run(map[bool]string{true: "nearest", false: "each"}[nearest], func(b *testing.B) {
			for b.Loop() {
				newZones(in, marks, ZoneSettings{RingsM: []float64{5, 10, 20}, Nearest: nearest})
			}
		})
	}
}
