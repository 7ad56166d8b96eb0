package plan_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/plan"
)

func rectangle(w, h, bearingDeg float64) grid.Polygon {
	sin, cos := math.Sincos(bearingDeg * math.Pi / 180)
	at := func(x, y float64) grid.XY { return grid.XY{X: 100 + x*cos + y*sin, Y: 50 + y*cos - x*sin} }
	return grid.Polygon{Outer: grid.Ring{at(0, 0), at(w, 0), at(w, h), at(0, h)}}
}

// TestLanesRectangles: ceil(width / spacing) lanes along the longer side.
func TestLanesRectangles(t *testing.T) {
	for _, c := range []struct {
		name           string
		w, h, bearing  float64
		swath, overlap float64
		lanes          int
	}{
		{"whole number of lanes", 6, 40, 0, 1.5, 0, 4},
		{"turned", 6, 40, 33, 1.5, 0, 4},
		{"a little more", 6.1, 40, 33, 1.5, 0, 5},
		{"the other side is longer", 40, 6, 10, 1.5, 0, 4},
		{"overlap", 6, 40, 33, 1.5, 0.3, 5},
		{"one swath", 1.5, 40, 120, 1.5, 0, 1},
		{"one swath covers it though the spacing does not", 1.4, 40, 120, 1.5, 0.3, 1},
		{"narrower than a swath", 0.4, 8, 77, 1.5, 0, 1},
		{"a spot", 0.4, 0.3, 0, 1.5, 0, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := rectangle(c.w, c.h, c.bearing)
			blocks := plan.Lanes([]grid.Polygon{p}, nil, plan.LaneSettings{SwathM: c.swath, OverlapM: c.overlap})
			require.Len(t, blocks, 1)
			b := blocks[0]
			require.Len(t, b.Lanes, c.lanes)
			want := c.bearing
			if c.w > c.h {
				want += 90
			}
			require.InDelta(t, 0, math.Remainder(b.DirectionDeg-want, 180), 1e-9)
			if c.lanes > 1 {
				require.InDelta(t, math.Min(c.w, c.h)/float64(c.lanes), b.SpacingM, 1e-9)
			} else {
				require.Zero(t, b.SpacingM)
			}
			for _, l := range b.Lanes {
				require.Greater(t, distance(l.From, l.To), 0.1, "a lane has a direction")
				require.LessOrEqual(t, distance(l.From, l.To), math.Max(c.w, c.h)+1e-9)
			}
			share, outside := plan.Covered(blocks, []grid.Polygon{p}, c.swath)
			require.GreaterOrEqual(t, share, 0.999)
			require.InDelta(t, 0, outside, 1e-9)
		})
	}
}

func distance(a, b grid.XY) float64 { return math.Hypot(b.X-a.X, b.Y-a.Y) }

// leastWidth is the least over all sides of the greatest distance of a corner.
func leastWidth(r grid.Ring) float64 {
	least := math.Inf(1)
	for i, a := range r {
		b, far := r[(i+1)%len(r)], 0.0
		for _, q := range r {
			far = math.Max(far, math.Abs((b.X-a.X)*(q.Y-a.Y)-(b.Y-a.Y)*(q.X-a.X))/distance(a, b))
		}
		least = math.Min(least, far)
	}
	return least
}

// TestLanesConvex: turns = lanes - 1 = ceil(width / spacing) - 1, lanes evenly spread
// and walked to and fro, on polygons inscribed in ellipses.
func TestLanesConvex(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	for range 250 {
		n, a, b := 3+rng.IntN(12), 1+40*rng.Float64(), 1+40*rng.Float64()
		angles := make([]float64, n)
		for i := range angles {
			angles[i] = 2 * math.Pi * (float64(i) + 0.9*rng.Float64()) / float64(n)
		}
		var r grid.Ring
		for _, at := range angles {
			r = append(r, grid.XY{X: a*math.Cos(at) + 0.3*b*math.Sin(at), Y: b * math.Sin(at)})
		}
		swath, overlap := 0.5+2*rng.Float64(), 0.2*rng.Float64()
		blocks := plan.Lanes([]grid.Polygon{{Outer: r}}, nil, plan.LaneSettings{SwathM: swath, OverlapM: overlap})
		want, width := 1, leastWidth(r)
		if width > swath {
			want = int(math.Ceil(width / (swath - overlap)))
		}
		require.Len(t, blocks, 1)
		lanes := blocks[0].Lanes
		require.Len(t, lanes, want)
		for i := 1; i < len(lanes); i++ {
			p, q := lanes[i-1], lanes[i]
			dx, dy := (p.To.X-p.From.X)/distance(p.From, p.To), (p.To.Y-p.From.Y)/distance(p.From, p.To)
			require.InDelta(t, -1, (dx*(q.To.X-q.From.X)+dy*(q.To.Y-q.From.Y))/distance(q.From, q.To), 1e-9, "to and fro")
			require.InDelta(t, width/float64(want), math.Abs(dx*(q.From.Y-p.From.Y)-dy*(q.From.X-p.From.X)), 1e-6)
		}
		share, _ := plan.Covered(blocks, []grid.Polygon{{Outer: r}}, swath)
		require.GreaterOrEqual(t, share, 0.98)
	}
}

// TestLanesConcave holds what a plan promises on ground of all kinds: at least 98 % of
// it swept, at most 25 % of the lanes off it.
func TestLanesConcave(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var ground []grid.Polygon
	for range 300 {
		ground = append(ground, randomGround(rng))
	}
	ground = append(ground, walkedField(rng, 70, 0.2, 1.5)...)
	require.Greater(t, len(ground), 330)
	var tally laneTally
	for _, g := range ground {
		tally.add(t, g, nil)
	}
	tally.log(t)
	require.LessOrEqual(t, tally.length/tally.area*1.5, 1.15, "lanes lie hardly closer than a swath")
}

// TestLanesKeepouts holds the same beside keep-outs, and that no lane enters one.
func TestLanesKeepouts(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 2))
	var with, without laneTally
	for range 5 {
		var keep []grid.Polygon
		for range 14 {
			c := grid.XY{X: 60 * rng.Float64(), Y: 60 * rng.Float64()}
			keep = append(keep, grid.Polygon{Outer: randomRing(rng, c, 1, 2+6*rng.Float64())})
		}
		for _, g := range walkedField(rng, 60, 0.15, 1.5, keep...) {
			with.add(t, g, keep)
			b := plan.Lanes([]grid.Polygon{g}, keep, plan.LaneSettings{SwathM: 1.5})
			share, _ := plan.Covered(b, []grid.Polygon{g}, 1.5)
			without.cover = append(without.cover, share)
			for _, k := range b {
				require.Empty(t, k.Rim)
			}
		}
	}
	with.log(t)
	t.Logf("without lanes along the rim: %d of %d gaps under 98 %%, the worst %.1f %%",
		len(slices.DeleteFunc(slices.Clone(without.cover), func(v float64) bool { return v >= 0.98 })), len(without.cover), 100*slices.Min(without.cover))
	require.Less(t, slices.Min(without.cover), 0.98, "else the rim is not tested")
	require.Positive(t, with.rim)
}

// laneTally lays lanes over gaps, holds the promises and adds up.
type laneTally struct {
	cover, off         []float64
	lanes, blocks, rim int
	length, area       float64
}

func (s *laneTally) add(t *testing.T, g grid.Polygon, keepouts []grid.Polygon) {
	blocks := plan.Lanes([]grid.Polygon{g}, keepouts, plan.LaneSettings{SwathM: 1.5, AlongRim: true})
	share, outside := plan.Covered(blocks, []grid.Polygon{g}, 1.5)
	require.GreaterOrEqual(t, share, 0.98, "%v", g)
	require.LessOrEqual(t, outside, 0.25, "%v", g)
	s.cover, s.off, s.area = append(s.cover, share), append(s.off, outside), s.area+g.Area()
	for _, b := range blocks {
		s.blocks, s.lanes, s.rim = s.blocks+1, s.lanes+len(b.Lanes), s.rim+len(b.Rim)
		s.length += b.LengthM()
		for _, l := range slices.Concat(b.Lanes, b.Rim) {
			for i := range 31 {
				f := float64(i) / 30
				q := grid.XY{X: l.From.X + f*(l.To.X-l.From.X), Y: l.From.Y + f*(l.To.Y-l.From.Y)}
				for _, k := range keepouts {
					require.False(t, inRing(k.Outer, q), "%v in keep-out %v", q, k)
				}
			}
		}
	}
}

func (s *laneTally) log(t *testing.T) {
	slices.Sort(s.off)
	n := len(s.off)
	t.Logf("%d gaps of %.0f m2 on average: least swept %.2f %%; off the ground median %.1f %%, 90 in 100 under %.1f %%, most %.1f %%; %d lanes in %d blocks, %d along rims; length x swath / area %.3f",
		n, s.area/float64(n), 100*slices.Min(s.cover), 100*s.off[n/2], 100*s.off[n*9/10], 100*s.off[n-1], s.lanes, s.blocks, s.rim, s.length*1.5/s.area)
}

// inRing reports whether q is inside by the angle the ring turns round it.
func inRing(r grid.Ring, q grid.XY) bool {
	sum := 0.0
	for i, a := range r {
		b := r[(i+1)%len(r)]
		sum += math.Remainder(math.Atan2(b.Y-q.Y, b.X-q.X)-math.Atan2(a.Y-q.Y, a.X-q.X), 2*math.Pi)
	}
	return math.Abs(sum) > math.Pi
}

// TestLanesPieces: an L takes the lanes of its arms, each along itself, and the same
// holds for a U.
func TestLanesPieces(t *testing.T) {
	for _, c := range []struct {
		name   string
		p      grid.Polygon
		blocks int
		lanes  int
	}{
		{"L", grid.Polygon{Outer: grid.Ring{{}, {X: 40}, {X: 40, Y: 5}, {X: 5, Y: 5}, {X: 5, Y: 40}, {Y: 40}}}, 2, 8},
		{"U", grid.Polygon{Outer: grid.Ring{{}, {X: 40}, {X: 40, Y: 40}, {X: 35, Y: 40}, {X: 35, Y: 5}, {X: 5, Y: 5}, {X: 5, Y: 40}, {Y: 40}}}, 3, 12},
		{"hole", grid.Polygon{Outer: grid.Ring{{}, {X: 40}, {X: 40, Y: 21}, {Y: 21}}, Holes: []grid.Ring{{{X: 10, Y: 7.5}, {X: 10, Y: 13.5}, {X: 20, Y: 13.5}, {X: 20, Y: 7.5}}}}, 4, 18},
	} {
		t.Run(c.name, func(t *testing.T) {
			blocks := plan.Lanes([]grid.Polygon{c.p}, nil, plan.LaneSettings{SwathM: 1.5})
			n := 0
			for _, b := range blocks {
				n += len(b.Lanes)
			}
			require.Len(t, blocks, c.blocks)
			require.Equal(t, c.lanes, n)
		})
	}
}

// TestLanesJoined: slivers a step apart take the lanes of one.
func TestLanesJoined(t *testing.T) {
	a, b := rectangle(1.4, 20, 0), rectangle(1.4, 15, 0).Moved(grid.XY{Y: 21})
	set := plan.LaneSettings{SwathM: 1.5}
	blocks := plan.Lanes([]grid.Polygon{a, b}, nil, set)
	require.Len(t, blocks, 1)
	require.Len(t, blocks[0].Lanes, 1)
	require.InDelta(t, 36, blocks[0].LengthM(), 1.5)
	far := plan.Lanes([]grid.Polygon{a, b.Moved(grid.XY{Y: 30})}, nil, set)
	require.Len(t, far, 2)
}

// TestLanesOddGround: shapes that outlines of cells and bad drawings have. Nothing to
// hold but that they give finite lanes and are swept.
func TestLanesOddGround(t *testing.T) {
	noisy := grid.Ring{}
	rng := rand.New(rand.NewPCG(5, 5))
	for i := range 2000 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 2000)
		d := 30 + 0.3*rng.Float64() + 8*math.Sin(5*2*math.Pi*float64(i)/2000)
		noisy = append(noisy, grid.XY{X: d * cos, Y: d * sin})
	}
	for _, c := range []struct {
		name   string
		ground []grid.Polygon
		lanes  bool
	}{
		{"nothing", nil, false},
		{"no vertices", []grid.Polygon{{}}, false},
		{"a line", []grid.Polygon{{Outer: grid.Ring{{}, {X: 5}, {X: 9}}}}, false},
		{"a point", []grid.Polygon{{Outer: grid.Ring{{X: 1}}}}, false},
		{"repeated vertices", []grid.Polygon{{Outer: grid.Ring{{}, {}, {X: 9}, {X: 9}, {X: 9, Y: 9}, {Y: 9}, {}}}}, true},
		{"a spike of no width", []grid.Polygon{{Outer: grid.Ring{{}, {X: 9}, {X: 9, Y: 4}, {X: 30, Y: 4}, {X: 9, Y: 4}, {X: 9, Y: 9}, {Y: 9}}}}, true},
		{"a spike 1 mm wide", []grid.Polygon{{Outer: grid.Ring{{}, {X: 9}, {X: 9, Y: 4}, {X: 30, Y: 4.0005}, {X: 9, Y: 4.001}, {X: 9, Y: 9}, {Y: 9}}}}, true},
		{"a hole that touches the rim", []grid.Polygon{{Outer: grid.Ring{{}, {X: 9}, {X: 9, Y: 9}, {Y: 9}}, Holes: []grid.Ring{{{X: 4}, {X: 2, Y: 4}, {X: 6, Y: 4}}}}}, true},
		{"holes a hair apart", []grid.Polygon{{Outer: grid.Ring{{}, {X: 19}, {X: 19, Y: 19}, {Y: 19}}, Holes: []grid.Ring{
			{{X: 4, Y: 4}, {X: 4, Y: 12}, {X: 9, Y: 12}, {X: 9, Y: 4}}, {{X: 9 + 1e-9, Y: 4}, {X: 9 + 1e-9, Y: 12}, {X: 14, Y: 12}, {X: 14, Y: 4}}}}}, true},
		{"a hole without area", []grid.Polygon{{Outer: grid.Ring{{}, {X: 9}, {X: 9, Y: 9}, {Y: 9}}, Holes: []grid.Ring{{{X: 4, Y: 4}, {X: 5, Y: 5}}}}}, true},
		{"a bow tie", []grid.Polygon{{Outer: grid.Ring{{}, {X: 9, Y: 9}, {X: 9}, {Y: 7}}}}, true},
		{"twice the same", []grid.Polygon{rectangle(5, 9, 3), rectangle(5, 9, 3).Moved(grid.XY{X: 50})}, true},
		{"2000 vertices", []grid.Polygon{{Outer: noisy}}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			blocks := plan.Lanes(c.ground, nil, plan.LaneSettings{SwathM: 1.5})
			require.Equal(t, c.lanes, len(blocks) > 0)
			for _, b := range blocks {
				require.NotEmpty(t, b.Lanes)
				for _, l := range b.Lanes {
					require.False(t, math.IsNaN(l.From.X+l.From.Y+l.To.X+l.To.Y))
				}
			}
			if c.lanes {
				share, outside := plan.Covered(blocks, c.ground, 1.5)
				require.GreaterOrEqual(t, share, 0.98)
				t.Logf("%d blocks, swept %.4f, off %.3f", len(blocks), share, outside)
			}
		})
	}
}

// TestLanesShutOff: a keep-out over the whole gap leaves no lane, one round it all of
// them.
func TestLanesShutOff(t *testing.T) {
	g := []grid.Polygon{rectangle(5, 9, 20)}
	set := plan.LaneSettings{SwathM: 1.5, AlongRim: true}
	shut := grid.Polygon{Outer: grid.Ring{{}, {X: 200}, {X: 200, Y: 200}, {Y: 200}}}
	require.Empty(t, plan.Lanes(g, []grid.Polygon{shut}, set))
	shut.Holes = []grid.Ring{{{X: 90, Y: 40}, {X: 120, Y: 40}, {X: 120, Y: 70}, {X: 90, Y: 70}}}
	require.Equal(t, plan.Lanes(g, nil, set), plan.Lanes(g, []grid.Polygon{shut}, set))
}

func TestLanesSettings(t *testing.T) {
	g := []grid.Polygon{rectangle(5, 9, 20)}
	for _, set := range []plan.LaneSettings{{}, {SwathM: 1, OverlapM: 1}, {SwathM: 1, OverlapM: -0.1}, {SwathM: math.NaN()}} {
		require.Panics(t, func() { plan.Lanes(g, nil, set) }, "%v", set)
	}
}

// TestCovered: one lane 10 m long in the middle of 10 x 3 m, its swath half as wide,
// then the same lane with as much again outside.
func TestCovered(t *testing.T) {
	ground := []grid.Polygon{{Outer: grid.Ring{{}, {X: 10}, {X: 10, Y: 3}, {Y: 3}}}}
	lane := plan.Lane{From: grid.XY{Y: 1.5}, To: grid.XY{X: 10, Y: 1.5}}
	share, outside := plan.Covered([]plan.Block{{Lanes: []plan.Lane{lane}}}, ground, 1.5)
	require.InDelta(t, 0.5, share, 0.02)
	require.InDelta(t, 0, outside, 1e-12)
	lane.To.X = 20
	share, outside = plan.Covered([]plan.Block{{Rim: []plan.Lane{lane}}}, ground, 1.5)
	require.InDelta(t, 0.5, share, 0.02)
	require.InDelta(t, 0.5, outside, 1e-12)
	share, outside = plan.Covered(nil, ground, 1.5)
	require.Zero(t, share)
	require.True(t, math.IsNaN(outside))
}
