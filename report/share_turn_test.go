package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
)

// The parts of a turned result lie where turning puts them: distances and areas keep,
// nothing is mirrored, and the disc about a place holds what it held.
func TestShareTurns(t *testing.T) {
	for _, deg := range []float64{0, 17.3, 90, 181, 305.5} {
		r, p := field().makeUnsure(t)
		s, err := shareOf(r, p, ShareSettings{TurnDeg: deg})
		require.NoError(t, err)
		a, b := r.Local.Boundary[0].Outer, s.r.Local.Boundary[0].Outer
		require.InDelta(t, a.Area(), b.Area(), 1e-6, "also not mirrored: the sign keeps")
		for i := range a {
			j := (i + 1) % len(a)
			require.InDelta(t, math.Hypot(a[j].X-a[i].X, a[j].Y-a[i].Y), math.Hypot(b[j].X-b[i].X, b[j].Y-b[i].Y), 1e-9)
			turned := math.Atan2(b[j].Y-b[i].Y, b[j].X-b[i].X) - math.Atan2(a[j].Y-a[i].Y, a[j].X-a[i].X)
			require.InDelta(t, 0, math.Remainder(turned-deg*math.Pi/180, 2*math.Pi), 1e-9)
		}
		require.InEpsilon(t, r.SearchableM2, s.r.Searchable.AreaM2(), 0.01)
		tr := newTurner(r, deg)
		same, n := 0, 0
		s.r.Searchable.Cells(func(c grid.Cell) {
			q := s.r.Spec.Centre(c)
			n++
			if stateOf(s.r.Certainty.ChanceAt(q)) == stateOf(r.Certainty.ChanceAt(tr.back(q))) {
				same++
			}
		})
		require.Greater(t, float64(same)/float64(n), 0.95)
		for i, g := range r.Untrodden() {
			require.InEpsilon(t, g.AreaM2, outlineArea(s.r.Gaps[i].Outline), 0.12, "gap %d", g.ID)
		}
	}
}

func outlineArea(ps []grid.Polygon) (m2 float64) {
	for _, p := range ps {
		m2 += p.Area()
	}
	return m2
}

// Round ground, whose cells are stairs that lie north, comes out rounder than cell by
// cell: the stairs would tell the angle.
func TestShareHidesTheCells(t *testing.T) {
	g := field()
	g.keepouts, g.landmarks = nil, nil
	r, _ := g.makeUnsure(t)
	f := grid.NewField(grid.SpecFor(r.Spec.Bounds(), 0.25))
	r.Searchable.Cells(func(c grid.Cell) {
		k, _ := f.Spec().CellAt(r.Spec.Centre(c))
		if q := f.Spec().Centre(k); math.Hypot(q.X, q.Y) < 8 {
			f.Set(k, 1)
		}
	})
	r.Certainty.Chance = f
	smooth := newTurner(r, 30)
	plain := *smooth
	plain.disc = plain.disc[:1]
	all := grid.NewMask(smooth.spec)
	for row := range smooth.spec.Rows {
		all.SetSpan(row, 0, smooth.spec.Cols)
	}
	stairs := ragged(plain.chance(all), plain.to(grid.XY{}), 8)
	rounder := ragged(smooth.chance(all), smooth.to(grid.XY{}), 8)
	round := grid.NewField(smooth.spec)
	all.Cells(func(c grid.Cell) {
		if q := smooth.back(smooth.spec.Centre(c)); math.Hypot(q.X, q.Y) < 8 {
			round.Set(c, 1)
		}
	})
	best := ragged(round, smooth.to(grid.XY{}), 8)
	t.Logf("edges lie off by %.3f m, cell by cell %.3f m, at best %.3f m", rounder, stairs, best)
	require.Less(t, rounder, 0.7*stairs)
}

// ragged is how far, in the mean over the edge, the field's 0.5 contour lies off a circle.
func ragged(f *grid.Field, middle grid.XY, radius float64) float64 {
	sum := 0.0
	const n = 720
	for i := range n {
		sin, cos := math.Sincos(float64(i) * 2 * math.Pi / n)
		at := radius - 1
		for ; at < radius+1; at += 0.005 {
			k, _ := f.Spec().CellAt(grid.XY{X: middle.X + at*cos, Y: middle.Y + at*sin})
			if f.At(k) < 0.5 {
				break
			}
		}
		sum += math.Abs(at-radius) / n
	}
	return sum
}
