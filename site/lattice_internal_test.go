package site

import (
	"fmt"
	"math"
	"math/big"
	"slices"
	"strings"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
)

// drawRing draws a ring of whole numbers up to most, scaled, its neighbours
// all different.
func drawRing(t *rapid.T, least, most int, scale int64) []point {
	n := rapid.IntRange(least, 12).Draw(t, "n")
	c := rapid.Int64Range(0, int64(most))
	var r []point
	for range n {
		p := point{c.Draw(t, "x") * scale, c.Draw(t, "y") * scale}
		if len(r) == 0 || r[len(r)-1] != p {
			r = append(r, p)
		}
	}
	for len(r) > 1 && r[0] == r[len(r)-1] {
		r = r[:len(r)-1]
	}
	return r
}

// slowMeet is the twin of edge.meet: it solves p + s (q-p) = r + t (u-r) in
// fractions of any length.
func slowMeet(e, f edge) (meeting, *big.Rat, *big.Rat) {
	rat := func(a int64) *big.Rat { return new(big.Rat).SetInt64(a) }
	mul := func(a, b *big.Rat) *big.Rat { return new(big.Rat).Mul(a, b) }
	sub := func(a, b *big.Rat) *big.Rat { return new(big.Rat).Sub(a, b) }
	add := func(a, b *big.Rat) *big.Rat { return new(big.Rat).Add(a, b) }
	dx, dy := rat(e.q.x-e.p.x), rat(e.q.y-e.p.y)
	gx, gy := rat(f.q.x-f.p.x), rat(f.q.y-f.p.y)
	wx, wy := rat(f.p.x-e.p.x), rat(f.p.y-e.p.y)
	den := sub(mul(dx, gy), mul(dy, gx))
	in := func(s *big.Rat) bool { return s.Sign() >= 0 && s.Cmp(rat(1)) <= 0 }
	end := func(s *big.Rat) bool { return s.Sign() == 0 || s.Cmp(rat(1)) == 0 }
	if den.Sign() != 0 {
		s := mul(sub(mul(wx, gy), mul(wy, gx)), new(big.Rat).Inv(den))
		u := mul(sub(mul(wx, dy), mul(wy, dx)), new(big.Rat).Inv(den))
		if !in(s) || !in(u) {
			return apart, nil, nil
		}
		x, y := add(rat(e.p.x), mul(s, dx)), add(rat(e.p.y), mul(s, dy))
		if end(s) || end(u) {
			return touch, x, y
		}
		return cross, x, y
	}
	if sub(mul(wx, dy), mul(wy, dx)).Sign() != 0 {
		return apart, nil, nil
	}
	// On one line: the ends of f as shares of e.
	along := func(p point) *big.Rat {
		if dx.Sign() != 0 {
			return mul(rat(p.x-e.p.x), new(big.Rat).Inv(dx))
		}
		return mul(rat(p.y-e.p.y), new(big.Rat).Inv(dy))
	}
	lo, hi := along(f.p), along(f.q)
	if lo.Cmp(hi) > 0 {
		lo, hi = hi, lo
	}
	if lo.Sign() < 0 {
		lo = rat(0)
	}
	if hi.Cmp(rat(1)) > 0 {
		hi = rat(1)
	}
	switch lo.Cmp(hi) {
	case -1:
		return overlap, nil, nil
	case 0:
		return touch, add(rat(e.p.x), mul(lo, dx)), add(rat(e.p.y), mul(lo, dy))
	}
	return apart, nil, nil
}

// TestSweepAgainstBruteForce holds the sweep and the exact test of two edges
// against every pair, solved in fractions.
func TestSweepAgainstBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		scale := rapid.SampledFrom([]int64{1, 977, 50_000_000}).Draw(t, "scale")
		rings := [][]point{drawRing(t, 3, 9, scale), drawRing(t, 3, 9, scale)}
		edges := edgesOf(rings)
		if len(rings[0]) < 2 || len(rings[1]) < 2 {
			t.Skip("no edges")
		}
		key := func(a, b edge) string {
			if a.ring > b.ring || a.ring == b.ring && a.i > b.i {
				a, b = b, a
			}
			return fmt.Sprint(a.ring, a.i, b.ring, b.i)
		}
		want := map[string]meeting{}
		for i, e := range edges {
			for _, f := range edges[:i] {
				how, x, y := slowMeet(e, f)
				if how == apart {
					continue
				}
				want[key(e, f)] = how
				if x == nil {
					continue
				}
				_, at := e.meet(f)
				wx, _ := x.Float64()
				wy, _ := y.Float64()
				require.InDelta(t, wx, at.Lon*perDegree, 1e-6*math.Max(1, wx), "crossing east")
				require.InDelta(t, wy, at.Lat*perDegree, 1e-6*math.Max(1, wy), "crossing north")
			}
		}
		got := map[string]meeting{}
		sweep(edges, func(e, f edge) bool {
			if how, _ := e.meet(f); how != apart {
				require.NotContains(t, got, key(e, f), "a pair twice")
				got[key(e, f)] = how
			}
			return true
		})
		require.Equal(t, want, got)
	})
}

// TestExactAtTheLimits holds turnOf where products are largest: 30 km around a
// datum at latitude 89.
func TestExactAtTheLimits(t *testing.T) {
	const w, h = 25 * perDegree, perDegree * 27 / 100 // half-widths: 30 km is 21 by 0.27 degrees
	rapid.Check(t, func(t *rapid.T) {
		var p [3]point
		for i := range p {
			p[i] = point{rapid.Int64Range(-w, w).Draw(t, "x"), rapid.Int64Range(-h, h).Draw(t, "y")}
		}
		a, b, c := p[0], p[1], p[2]
		l := new(big.Int).Mul(big.NewInt(b.x-a.x), big.NewInt(c.y-a.y))
		r := new(big.Int).Mul(big.NewInt(b.y-a.y), big.NewInt(c.x-a.x))
		require.Equal(t, l.Sub(l, r).String(), fmt.Sprint(turnOf(a, b, c)))
	})
}

func polygonOf(rings [][]point) geom.Polygon {
	var lines []geom.LineString
	for _, r := range rings {
		var xy []float64
		for i := range len(r) + 1 {
			p := r[i%len(r)]
			xy = append(xy, float64(p.x), float64(p.y))
		}
		lines = append(lines, geom.NewLineString(geom.NewSequence(xy, geom.DimXY)))
	}
	return geom.NewPolygon(lines)
}

// oracle is the OGC verdict of simplefeatures. Whether one hole lies in another
// it asks of their first vertices only, which may be common to both, so each
// vertex of a hole gets to be the first.
func oracle(rings [][]point) error {
	for i := range 3 {
		for j := range 3 {
			turned := [][]point{rings[0]}
			for k, by := range []int{i, j}[:len(rings)-1] {
				h := rings[k+1]
				turned = append(turned, append(slices.Clone(h[by:]), h[:by]...))
			}
			if err := polygonOf(turned).Validate(); err != nil {
				return err
			}
		}
	}
	return nil
}

// TestCheckRingsAgainstSimplefeatures holds the verdict on random polygons
// against the OGC validity of simplefeatures. One rule is laxer here: holes that
// touch in a circle and part the ground in two are no fault.
func TestCheckRingsAgainstSimplefeatures(t *testing.T) {
	valid, invalid := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		rings := [][]point{drawRing(t, 3, 8, 1)}
		if rapid.Bool().Draw(t, "box") {
			rings[0] = []point{{0, 0}, {8, 0}, {8, 8}, {0, 8}}
		}
		for range rapid.IntRange(0, 2).Draw(t, "holes") {
			c := rapid.Int64Range(0, 8)
			var hole []point
			for range 3 {
				hole = append(hole, point{c.Draw(t, "x"), c.Draw(t, "y")})
			}
			rings = append(rings, hole)
		}
		for _, r := range rings {
			if len(r) < 3 || flat(r) {
				t.Skip("no area: told apart before")
			}
		}
		err := oracle(rings)
		if err != nil && strings.Contains(err.Error(), "disconnected interior") {
			t.Skip("allowed here")
		}
		if err == nil {
			valid++
		} else {
			invalid++
		}
		require.Equal(t, err == nil, checkRings(rings) == nil, "simplefeatures: %v, here: %v", err, checkRings(rings))
	})
	t.Log("valid", valid, "invalid", invalid)
}

func TestLatticeRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mid := rapid.Float64Range(-180, 180).Draw(t, "mid")
		p := grid.LonLat{
			Lon: math.Remainder(mid+rapid.Float64Range(-20, 20).Draw(t, "east"), 360),
			Lat: rapid.Float64Range(-90, 90).Draw(t, "lat"),
		}
		l := lattice{int64(math.Round(mid * perDegree))}
		q := l.at(p)
		require.LessOrEqual(t, math.Abs(float64(q.x-l.mid)), 20.1*perDegree)
		back := lonLat(float64(q.x), float64(q.y))
		require.InDelta(t, 0, math.Remainder(back.Lon-p.Lon, 360), 0.51/perDegree)
		require.InDelta(t, p.Lat, back.Lat, 0.51/perDegree)
	})
}

func TestInRing(t *testing.T) {
	ring := []point{{0, 0}, {10, 0}, {10, 10}, {5, 5}, {0, 10}}
	for _, c := range []struct {
		p    point
		want int
	}{
		{point{5, 2}, 1}, {point{1, 5}, 1}, {point{5, 8}, -1}, {point{-1, 0}, -1}, {point{11, 10}, -1},
		{point{5, 5}, 0}, {point{0, 0}, 0}, {point{10, 4}, 0}, {point{7, 7}, 0}, {point{2, 5}, 1}, {point{5, 10}, -1},
	} {
		require.Equal(t, c.want, inRing(ring, c.p), "%v", c.p)
	}
	require.Equal(t, -1, inArea([][]point{ring, {{4, 1}, {6, 1}, {5, 3}}}, point{5, 2}))
	require.Equal(t, 0, inArea([][]point{ring, {{4, 1}, {6, 1}, {5, 3}}}, point{5, 1}))
}
