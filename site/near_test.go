package site_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// starSite is a site of star-shaped areas with a hole each, around a place.
func starSite(r *rand.Rand, at grid.LonLat, areas int) (*site.Site, grid.Frame) {
	f, err := grid.NewFrame(at)
	if err != nil {
		panic(err)
	}
	var polys []grid.Polygon
	for range areas {
		mid := grid.XY{X: 3000 * (r.Float64() - 0.5), Y: 3000 * (r.Float64() - 0.5)}
		size := 20 + 300*r.Float64()
		var p grid.Polygon
		hole := grid.Ring{}
		for k := range 9 {
			s, c := math.Sincos(2 * math.Pi * float64(k) / 9)
			far := size * (0.5 + r.Float64())
			p.Outer = append(p.Outer, grid.XY{X: mid.X + far*c, Y: mid.Y + far*s})
			hole = append(hole, grid.XY{X: mid.X + 0.3*size*c, Y: mid.Y + 0.3*size*s})
		}
		p.Holes = []grid.Ring{hole}
		polys = append(polys, p)
	}
	return site.FromWalks(polys, f, "stars"), f
}

// apartM is the distance of a position from the site in its frame, by another
// library's polygons.
func apartM(s *site.Site, p grid.LonLat) float64 {
	f, err := s.Frame()
	if err != nil {
		panic(err)
	}
	q := f.ToXY(p)
	point := geom.XY{X: q.X, Y: q.Y}.AsPoint().AsGeometry()
	least := math.Inf(1)
	for _, a := range s.Local(f).Boundary {
		var rings []geom.LineString
		for _, r := range append([]grid.Ring{a.Outer}, a.Holes...) {
			var xy []float64
			for i := range len(r) + 1 {
				xy = append(xy, r[i%len(r)].X, r[i%len(r)].Y)
			}
			rings = append(rings, geom.NewLineString(geom.NewSequence(xy, geom.DimXY)))
		}
		if d, ok := geom.Distance(point, geom.NewPolygon(rings).AsGeometry()); ok {
			least = math.Min(least, d)
		}
	}
	return least
}

var nearPlaces = []grid.LonLat{{Lon: 11, Lat: 47}, {Lon: 179.9999, Lat: -17}, {Lon: -180, Lat: 65}, {Lon: 30, Lat: 88.95}, {Lon: -70, Lat: -88.9}, {}}

// TestNearAgainstDistance: the answer is that of the distance alone, wherever the
// site lies and however far off the position.
func TestNearAgainstDistance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.SampledFrom(nearPlaces).Draw(t, "place")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 4))
		s, f := starSite(r, at, rapid.IntRange(1, 3).Draw(t, "areas"))
		reach := rapid.SampledFrom([]float64{0, 1, 200, 5000}).Draw(t, "reach")
		n, err := s.Near(reach)
		require.NoError(t, err)
		for range 60 {
			away := math.Exp(2 + 10*r.Float64()) // 7 m to 160 km
			turn := 2 * math.Pi * r.Float64()
			p := f.ToLonLat(grid.XY{X: away * math.Cos(turn), Y: away * math.Sin(turn)})
			if r.IntN(4) == 0 {
				p.Lon += 360 * float64(r.IntN(3)-1)
			}
			want := p.Valid() && apartM(s, p) <= reach
			require.Equal(t, want, n.Touches(p), "%v is %g m away", p, apartM(s, p))
		}
	})
}

// Just within and just beyond the reach, all round the site: the box turns
// nothing away that is near.
func TestNearAtItsReach(t *testing.T) {
	for _, at := range nearPlaces {
		for _, reach := range []float64{1, 200, 50_000} {
			r := rand.New(rand.NewPCG(7, uint64(reach)))
			s, _ := starSite(r, at, 2)
			n, err := s.Near(reach)
			require.NoError(t, err)
			f, err := s.Frame()
			require.NoError(t, err)
			for k := range 90 {
				sin, cos := math.Sincos(2 * math.Pi * float64(k) / 90)
				at := func(d float64) grid.LonLat { return f.ToLonLat(grid.XY{X: d * cos, Y: d * sin}) }
				in, out := 0.0, reach+5000
				for out-in > 1e-4 { // the last place on this ray that is near
					if mid := (in + out) / 2; apartM(s, at(mid)) <= reach {
						in = mid
					} else {
						out = mid
					}
				}
				if in > 0 && at(in).Valid() && at(out).Valid() {
					require.True(t, n.Touches(at(in)), "%v %g", at(in), reach)
					require.False(t, n.Touches(at(out)), "%v %g", at(out), reach)
				}
			}
		}
	}
}

func TestNear(t *testing.T) {
	ring := []grid.LonLat{{Lon: 11, Lat: 47}, {Lon: 11.001, Lat: 47}, {Lon: 11.001, Lat: 47.001}, {Lon: 11, Lat: 47.001}}
	s := &site.Site{Boundary: []site.Area{{Outer: ring}}}
	n, err := s.Near(200)
	require.NoError(t, err)
	logAt := func(ps ...grid.LonLat) *track.Log {
		var fixes []track.Fix
		for _, p := range ps {
			x := track.NoFix
			x.Pos = p
			fixes = append(fixes, x)
		}
		return &track.Log{Tracks: []track.Track{{Segments: [][]track.Fix{fixes}}}}
	}
	far, inside := grid.LonLat{Lon: 12, Lat: 47}, grid.LonLat{Lon: 11.0005, Lat: 47.0005}
	require.True(t, n.AnyOf([]*track.Log{logAt(far), logAt(far, track.NoFix.Pos, inside)}))
	require.False(t, n.AnyOf([]*track.Log{logAt(far, track.NoFix.Pos, grid.LonLat{}), {}}))
	require.False(t, n.AnyOf([]*track.Log{{Routes: logAt(inside).Tracks}}))
	mark := []track.Waypoint{{Fix: track.Fix{Pos: inside}}}
	require.True(t, n.AnyOf([]*track.Log{{Waypoints: mark}}))
	require.False(t, n.AnyOf([]*track.Log{{Waypoints: mark, Tracks: logAt(far).Tracks}}), "where there are fixes, they tell")

	// A degree of latitude at 47 N: a(1-e^2)/(1-e^2 sin^2 47)^1.5 * pi/180 = 111,171 m on WGS 84.
	require.True(t, n.Touches(grid.LonLat{Lon: 11.0005, Lat: 47.001 + 199/111_171.0}))
	require.False(t, n.Touches(grid.LonLat{Lon: 11.0005, Lat: 47.001 + 201/111_171.0}))

	for _, reach := range []float64{-1, math.NaN(), math.Inf(1), 100_001} {
		_, err := s.Near(reach)
		require.ErrorContains(t, err, "outside [0, 100000]", reach)
	}
	_, err = (&site.Site{}).Near(200)
	require.EqualError(t, err, "no vertices")
}

// BenchmarkNear goes through a thousand logs of a thousand fixes, of which none is
// near: those of the next valley, and those of the other end of the world.
func BenchmarkNear(b *testing.B) {
	s, f := starSite(rand.New(rand.NewPCG(1, 2)), grid.LonLat{Lon: 11, Lat: 47}, 3)
	n, err := s.Near(200)
	require.NoError(b, err)
	for name, away := range map[string]float64{"5 km": 5000, "50 km": 50_000, "1000 km": 1_000_000} {
		var logs []*track.Log
		for k := range 1000 {
			seg := make([]track.Fix, 1000)
			for i := range seg {
				seg[i].Pos = f.ToLonLat(grid.XY{X: away + float64(i), Y: away + float64(k)})
			}
			logs = append(logs, &track.Log{Tracks: []track.Track{{Name: fmt.Sprint(k), Segments: [][]track.Fix{seg}}}})
		}
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if n.AnyOf(logs) {
					b.Fatal("near")
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/1e6, "ns/fix")
		})
	}
}
