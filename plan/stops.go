package plan

import (
	"cmp"
	"context"
	"runtime"
	"slices"
	"sync"

	"golang.org/x/sync/errgroup"

	"untrod/coverage"
	"untrod/grid"
)

const (
	timesOver = 4  // grounds get lanes up to so many times the longest budget
	nearBy    = 20 // and so many grounds nearest to the start
)

// shortlist is the grounds that get lanes; see [Make].
func (d *draft) shortlist() []*ground {
	byWorth, byWay := slices.Clone(d.grounds), slices.Clone(d.grounds)
	slices.SortStableFunc(byWorth, func(a, b *ground) int { return cmp.Compare(b.whole.worth/b.estS, a.whole.worth/a.estS) })
	away := func(g *ground) float64 { return between(g.gaps[0].CentreXY, d.set.Start) }
	slices.SortStableFunc(byWay, func(a, b *ground) int { return cmp.Compare(away(a), away(b)) })
	longest := d.set.longestS()
	var out []*ground
	take := func(g *ground) {
		if !g.laid && g.whole.worth > 0 {
			g.laid = true
			out = append(out, g)
		}
	}
	for s, i := 0.0, 0; s < timesOver*longest && i < len(byWorth); i++ {
		s += byWorth[i].estS
		take(byWorth[i])
	}
	for _, g := range byWay[:min(nearBy, len(byWay))] {
		take(g)
	}
	return out
}

// layLanes lays the lanes of grounds, as many at a time as there are cores.
func (d *draft) layLanes(ctx context.Context, grounds []*ground) error {
	r := d.r
	set := LaneSettings{SwathM: r.Settings.SwathM, OverlapM: d.set.OverlapM, AlongRim: true}
	keepouts := append(slices.Clip(r.Local.Keepouts), beyond(r)...)
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	var mu sync.Mutex
	done := int64(0)
	for _, u := range grounds {
		g.Go(func() error {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			shapes := u.outlines()
			u.lanes = Lanes(shapes, nearTo(keepouts, bounds(allRings(shapes)).Pad(2*set.SwathM)), set)
			mu.Lock()
			defer mu.Unlock()
			done++
			d.progress("laying lanes", done, int64(len(grounds)))
			return nil
		})
	}
	return g.Wait()
}

// beyond is what lies outside the boundary and in its holes, as keep-outs for lanes.
// An outline that was only drawn round the walks keeps nobody in.
func beyond(r *coverage.Result) (out []grid.Polygon) {
	if r.OwnOutline {
		return nil
	}
	all := r.Local.Boundary
	if len(all) > 1 { // they may overlap
		union, err := grow(all, 0)
		if err != nil {
			return nil // the boundary was valid when it was read
		}
		all = nil
		for _, ring := range ringsOf(union) {
			if ring.hole {
				out = append(out, grid.Polygon{Outer: ring.pts})
			} else {
				all = append(all, grid.Polygon{Outer: ring.pts})
			}
		}
	}
	const reach = 100 // m, more than a lane overhangs
	box := grid.EmptyBounds()
	var holes []grid.Ring
	for _, p := range all {
		holes = append(holes, p.Outer)
		for _, h := range p.Holes {
			out = append(out, grid.Polygon{Outer: h})
		}
		for _, q := range p.Outer {
			box = box.Add(q)
		}
	}
	box = box.Pad(reach)
	return append(out, grid.Polygon{
		Outer: grid.Ring{box.Min, {X: box.Max.X, Y: box.Min.Y}, box.Max, {X: box.Min.X, Y: box.Max.Y}},
		Holes: holes,
	})
}

// nearTo leaves out the polygons whose outline does not come near a box, unless they
// hold it.
func nearTo(ps []grid.Polygon, box grid.Bounds) (out []grid.Polygon) {
	for _, p := range ps {
		rings := allRings([]grid.Polygon{p})
		if holds(rings, box.Min) || len(edgesIn([]grid.Polygon{p}, box)) > 0 {
			out = append(out, p)
		}
	}
	return out
}
