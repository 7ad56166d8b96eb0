package web

import (
	"context"
	"fmt"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check"
	"untrod/report"
	"untrod/site"
	"untrod/track"
)

// campaign is a made-up site, square, with visits to patches all over it.
type campaign struct {
	sideM, patchM float64
	visits, walkS int
	cellM         float64
	draws         int // 0: positions taken as perfect
	keepouts      []grid.Polygon
}

var openSea = grid.LonLat{Lon: -31.2, Lat: 47.3}

func (c campaign) frame(t testing.TB) grid.Frame {
	f, err := grid.NewFrame(openSea)
	require.NoError(t, err)
	return f
}

// input are the site and its logs.
func (c campaign) input(t testing.TB) coverage.Input {
	f, h := c.frame(t), c.sideM/2
	s := site.FromWalks([]grid.Polygon{square(grid.XY{}, h)}, f, "Campaign")
	s.Keepouts = site.FromWalks(c.keepouts, f, "").Boundary
	in := coverage.Input{Site: s}
	across := max(1, int((c.sideM-c.patchM)/(c.patchM*0.7))+1)
	for i := range c.visits {
		w := check.DefaultWalk()
		w.Seed, w.Seconds, w.Style = uint64(i+1), c.walkS, check.Style(i%3)
		w.Start += track.Instant(i) * 3 * 86_400_000
		x, y := -h+float64(i*7%across)*c.patchM*0.7, -h+float64(i/across%across)*c.patchM*0.7
		w.Patch = grid.Bounds{Min: grid.XY{X: x, Y: y}, Max: grid.XY{X: x + c.patchM, Y: y + c.patchM}}
		w.Gate = grid.XY{X: x, Y: y}
		name := fmt.Sprintf("visit %d", i+1)
		fixes := check.Fixes(f, check.Simulate(w).Log)
		in.Logs = append(in.Logs, coverage.Source{Name: fmt.Sprintf("walk%03d.gpx", i+1), Visits: func() ([]coverage.Visit, error) {
			return []coverage.Visit{{Name: name, Segments: [][]track.Fix{fixes}}}, nil
		}})
	}
	return in
}

func square(at grid.XY, half float64) grid.Polygon {
	return grid.Polygon{Outer: grid.Ring{{X: at.X - half, Y: at.Y - half}, {X: at.X + half, Y: at.Y - half},
		{X: at.X + half, Y: at.Y + half}, {X: at.X - half, Y: at.Y + half}}}
}

// shown is what a page shows of it.
func (c campaign) shown(t testing.TB) *shown {
	in, set := c.input(t), coverage.DefaultSettings()
	set.SwathM, set.CellM = 1.5, c.cellM
	set.Position.Receiver, set.Position.Canopy = track.Receiver{}, "none"
	if c.draws > 0 {
		set.Position = coverage.PositionSettings{Canopy: "light", Receiver: track.ReceiverOf(4), Draws: c.draws, Seed: 1}
	}
	r, err := coverage.Assess(context.Background(), in, set, nil)
	require.NoError(t, err)
	out := &shown{rev: 7, stage: stageFull, result: r, units: report.Metric}
	for _, src := range in.Logs {
		visits, err := src.Visits()
		require.NoError(t, err)
		out.walks = append(out.walks, track.NewWalk(r.Frame, visits[0].Segments, set.Track))
	}
	return out
}

var (
	// small is made once for all tests: with receiver error allowed for, and without.
	smallUnsure  = sync.OnceValue(func() *shown { return smallGround.with(20).shown(panicking{}) })
	smallPerfect = sync.OnceValue(func() *shown { return smallGround.shown(panicking{}) })
	// season is a hectare-rich site after a hundred visits, for benchmarks.
	season = sync.OnceValue(func() *shown {
		return campaign{sideM: 316, patchM: 45, visits: 100, walkS: 3 * 3600, cellM: 0.1, draws: 20}.shown(panicking{})
	})
)

var smallGround = campaign{
	sideM: 60, patchM: 30, visits: 7, walkS: 2400, cellM: 0.1,
	keepouts: []grid.Polygon{square(grid.XY{X: 8.03, Y: -5.4}, 6)},
}

func (c campaign) with(draws int) campaign { c.draws = draws; return c }

// panicking fails loudly where there is no one test to fail.
type panicking struct{ testing.TB }

func (panicking) Helper()                      {}
func (panicking) FailNow()                     { panic("making the campaign failed") }
func (panicking) Errorf(f string, args ...any) { panic(fmt.Sprintf(f, args...)) }
