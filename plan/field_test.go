package plan_test

import (
	"bytes"
	"context"
	"io"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check"
	"untrod/plan"
	"untrod/site"
	"untrod/track"
)

// field is an invented site in mid-ocean with walks over it, in metres of a frame at
// its datum.
type field struct {
	boundary, keepouts []grid.Polygon
	landmarks          []site.LocalLandmark
	slow               []site.LocalSlow
	own                bool // no site is given
	walks              []check.WalkSettings
	lines              [][]grid.XY // walked at a step a second, where not simulated
	untimed            bool
}

var fieldDatum = grid.LonLat{Lon: -31.2, Lat: 47.3}

// assessed is the result of a field's walks with a swath of 1.5 m
// and cells of 0.25 m.
func (f field) assessed(t testing.TB, edit func(*coverage.Settings)) *coverage.Result {
	t.Helper()
	frame, err := grid.NewFrame(fieldDatum)
	require.NoError(t, err)
	in := coverage.Input{}
	for _, w := range f.walks {
		w.Boundary, w.Keepouts = f.boundary, f.keepouts
		in.Logs = append(in.Logs, f.log(t, frame, check.Simulate(w).Log))
	}
	for i, line := range f.lines {
		var ps []track.Point
		for k, q := range line {
			ps = append(ps, track.Point{XY: q, T: 1_750_000_000_000 + track.Instant(86_400_000*i+1000*k), AccM: float32(math.NaN()), HDOP: float32(math.NaN())})
		}
		in.Logs = append(in.Logs, f.log(t, frame, ps))
	}
	if !f.own {
		in.Site = f.site(frame)
	}
	set := coverage.DefaultSettings()
	set.SwathM, set.CellM = 1.5, 0.25
	if edit != nil {
		edit(&set)
	}
	r, err := coverage.Assess(context.Background(), in, set, nil)
	require.NoError(t, err)
	return r
}

func (f field) log(t testing.TB, frame grid.Frame, ps []track.Point) coverage.Source {
	fixes := check.Fixes(frame, ps)
	for i := range fixes {
		if f.untimed {
			fixes[i].T = track.NoTime
		}
	}
	var b bytes.Buffer
	require.NoError(t, check.WriteGPX(&b, "walk", fixes))
	return coverage.Source{Name: "walk.gpx", Open: func() (io.ReadCloser, error) {
		return io.NopCloser(bytes.NewReader(b.Bytes())), nil
	}}
}

func (f field) site(frame grid.Frame) *site.Site {
	all := func(ps []grid.XY) (out []grid.LonLat) {
		for _, p := range ps {
			out = append(out, frame.ToLonLat(p))
		}
		return out
	}
	s := &site.Site{Name: "field"}
	area := func(p grid.Polygon) site.Area {
		a := site.Area{Outer: all(p.Outer)}
		for _, h := range p.Holes {
			a.Holes = append(a.Holes, all(h))
		}
		return a
	}
	for _, p := range f.boundary {
		s.Boundary = append(s.Boundary, area(p))
	}
	for _, p := range f.keepouts {
		s.Keepouts = append(s.Keepouts, area(p))
	}
	for _, l := range f.slow {
		l.Slow.Area = area(l.Polygon)
		s.Slow = append(s.Slow, l.Slow)
	}
	for _, l := range f.landmarks {
		l.Landmark.Points = all(l.XY)
		s.Landmarks = append(s.Landmarks, l.Landmark)
	}
	return s
}

// local puts places of a field in the frame of a result, which has a datum of its own.
func local(t testing.TB, r *coverage.Result, p grid.XY) grid.XY {
	frame, err := grid.NewFrame(fieldDatum)
	require.NoError(t, err)
	return r.Frame.ToXY(frame.ToLonLat(p))
}

func ringOf(xy ...float64) (out grid.Ring) {
	for i := 0; i+1 < len(xy); i += 2 {
		out = append(out, grid.XY{X: xy[i], Y: xy[i+1]})
	}
	return out
}

func boxOf(x0, y0, x1, y1 float64) grid.Polygon {
	return grid.Polygon{Outer: ringOf(x0, y0, x1, y0, x1, y1, x0, y1)}
}

func ovalOf(x, y, a, b float64) (out grid.Ring) {
	for i := range 16 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 16)
		out = append(out, grid.XY{X: x + a*cos, Y: y + b*sin})
	}
	return out
}

func landmark(name, kind string, shape site.Shape, xy ...float64) site.LocalLandmark {
	return site.LocalLandmark{Landmark: site.Landmark{Name: name, Kind: kind, Shape: shape}, XY: ringOf(xy...)}
}

// meadow is an old fairground meadow of 0.7 ha, searched on four days in three styles.
func meadow() field {
	f := field{
		boundary: []grid.Polygon{{Outer: ringOf(
			-54, -30, -38, -39, -8, -41, 22, -37, 49, -40, 56, -14, 51, 8,
			55, 27, 38, 39, 9, 36, -14, 41, -41, 34, -56, 14, -50, -8)}},
		keepouts: []grid.Polygon{{Outer: ovalOf(26, -13, 10, 6.5)}, {Outer: ringOf(-41, 11, -22, 15, -25, 29, -44, 25)}},
		landmarks: []site.LocalLandmark{
			{Landmark: site.Landmark{Name: "stage footing", Kind: "foundation", Shape: site.AreaShape}, XY: ovalOf(2, 7, 3.5, 3.5)},
			landmark("old row", "trees", site.LineShape, 28, 31, 35, 27, 42, 21, 47, 14),
			landmark("gate", "gate", site.PointShape, -46, -34.5),
		},
	}
	trough := landmark("water trough", "trough", site.PointShape, -30, -20)
	trough.Mark = true
	f.landmarks = append(f.landmarks, trough)
	for i, p := range []struct {
		style check.Style
		patch grid.Bounds
	}{
		{check.Winding, grid.Bounds{Min: grid.XY{X: -54, Y: -38}, Max: grid.XY{X: -12, Y: 8}}},
		{check.Lanes, grid.Bounds{Min: grid.XY{X: -9, Y: -38}, Max: grid.XY{X: 50, Y: -14}}},
		{check.Spiral, grid.Bounds{Min: grid.XY{X: -17, Y: -11}, Max: grid.XY{X: 21, Y: 27}}},
		{check.Winding, grid.Bounds{Min: grid.XY{X: 16, Y: -6}, Max: grid.XY{X: 54, Y: 36}}},
	} {
		w := check.DefaultWalk()
		w.Seed, w.Style, w.Patch = uint64(i+1), p.style, p.patch
		w.Gate, w.Seconds, w.LaneM = grid.XY{X: -52, Y: -44}, 7200, 1.2
		w.Start += track.Instant(i) * 7 * 86_400_000
		f.walks = append(f.walks, w)
	}
	return f
}

// lattice is a square walked in n lines either way, so far apart: every 4 m leaves gaps
// of 6 m2, which are joined.
func lattice(n int, apartM float64) field {
	side := apartM * float64(n+1)
	f := field{boundary: []grid.Polygon{boxOf(0, 0, side, side)}}
	for k := 1; k <= n; k++ {
		var east, north []grid.XY
		for m := 0.0; m <= side; m += 0.8 {
			east = append(east, grid.XY{X: m, Y: apartM * float64(k)})
			north = append(north, grid.XY{X: apartM * float64(k), Y: m})
		}
		f.lines = append(f.lines, east, north)
	}
	return f
}

// threeHours are settings for a visit from and to one place.
func threeHours(at grid.XY) plan.Settings {
	set := plan.DefaultSettings()
	set.BudgetS, set.Start, set.End, set.Year = 3*3600, at, at, 2026.4
	return set
}

func made(t testing.TB, r *coverage.Result, set plan.Settings) *plan.Plan {
	t.Helper()
	p, err := plan.Make(context.Background(), r, set, nil)
	require.NoError(t, err)
	return p
}

func canopy(name string) func(*coverage.Settings) {
	return func(s *coverage.Settings) {
		s.Position.Canopy, s.Position.Draws = name, 20
		s.Position.Receiver, _ = track.Canopy(name)
	}
}
