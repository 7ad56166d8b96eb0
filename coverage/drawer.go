package coverage

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"

	"golang.org/x/sync/errgroup"

	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// drawnWalk is one session made ready to be drawn.
type drawnWalk struct {
	post   *track.Posterior
	ties   int
	strays bool
	lanes  [][2]grid.XY // of laid-out ground that the log confirms
	laid   *grid.Mask   // that ground; nil without lanes
}

// drawer draws whole sites: every session once, swept together.
type drawer struct {
	walks []drawnWalk
	fence *fence
	brush *grid.Brush
	in    *grid.Mask
	cells float64
	seed  uint64
}

// workings is what one goroutine draws with.
type workings struct {
	mask    *grid.Mask
	aside   *grid.Mask // for a session with laid-out ground
	drawing track.Drawing
	counts  *grid.Tiles[[grid.TileSide * grid.TileSide]uint16]
}

// fenceInset is how far inside the edge the fence stands, in swaths: a searcher
// keeps the swath, not only the feet, on the ground that counts.
const fenceInset = 0.5

// drawCell is the cell of the draws: coarser than the map's, since the draws
// differ by metres.
func drawCell(swathM, cellM float64) float64 {
	return math.Max(cellM, math.Min(0.25, swathM/6))
}

func (r *Result) newDrawer(ctx context.Context, visits []visit) (*drawer, error) {
	set := r.Settings.Position
	err := set.Receiver.TotalM()
	cell := drawCell(r.Settings.SwathM, r.Settings.CellM)
	spec := grid.SpecFor(r.Spec.Bounds().Pad(-r.Spec.CellM/2), cell)
	d := &drawer{
		walks: make([]drawnWalk, len(visits)), seed: set.Seed,
		fence: newFence(r.Local.Boundary, fenceInset*r.Settings.SwathM, 4*err+5),
		brush: grid.NewBrush(cell, r.Settings.SwathM/2),
		in:    searchable(spec, r.Local.Boundary, r.Local.Keepouts),
	}
	d.cells = float64(d.in.Count())
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(runtime.GOMAXPROCS(0))
	marks, tieSet := r.Local.Marks(), track.DefaultTies(err)
	for i, v := range visits {
		g.Go(func() error {
			ties := track.FindTies(v.walk, marks, v.waypoints, tieSet)
			d.walks[i] = drawnWalk{
				post: track.NewPosterior(v.walk, set.Receiver, ties), ties: len(ties),
				strays: d.fence.strays(v.walk, err),
			}
			return ctx.Err()
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	r.layLanes(d, visits, err)
	return d, nil
}

// layLanes takes in the laid-out ground that each session's log confirms, and
// proposes what looks like it.
func (r *Result) layLanes(d *drawer, visits []visit, errM float64) {
	for i, v := range visits {
		w := &d.walks[i]
		for _, l := range r.Local.LaidOut {
			if !l.Of(v.name, v.file) {
				continue
			}
			lanes, share := LaidOut(v.walk, l, errM)
			if l.Session == "" && lanes == nil {
				continue // any session: only those that confirm it are told of
			}
			r.LaidOut = append(r.LaidOut, LaidOutGround{
				Name: l.Name, Session: v.name, Lanes: len(lanes), Share: share, Confirmed: lanes != nil,
			})
			if lanes != nil {
				w.lanes = append(w.lanes, lanes...)
				if w.laid == nil {
					w.laid = grid.NewMask(d.in.Spec())
				}
				w.laid.FillPolygon(l.Polygon)
			}
		}
		if w.lanes == nil {
			for _, b := range track.FindLaneBlocks(v.walk) {
				r.Lanes = append(r.Lanes, LaneProposal{v.name, b, site.Proposal(b, r.Frame, v.name)})
			}
		}
	}
}

func (d *drawer) workings() *workings {
	s := d.in.Spec()
	return &workings{mask: grid.NewMask(s), aside: grid.NewMask(s), counts: grid.NewTiles[[grid.TileSide * grid.TileSide]uint16](s)}
}

// rng gives each session of each draw its own stream.
func (d *drawer) rng(draw, session int) *rand.Rand {
	return rand.New(rand.NewPCG(d.seed, uint64(draw)<<32|uint64(session)))
}

// draw sweeps draw number i and returns the percent swept; the mask is left in w.
func (d *drawer) draw(w *workings, i int, folded bool) float64 {
	w.mask.Clear()
	for k := range d.walks {
		sw, rng := &d.walks[k], d.rng(i, k)
		d.sweep(w, sw, rng, func(line func([]grid.XY)) {
			sw.post.Draw(rng, &w.drawing, func(l []grid.XY) {
				if folded && !sw.strays {
					d.foldLine(l)
				}
				line(l)
			})
		})
	}
	return d.percent(w)
}

// drawAgain sweeps a draw of a draw.
func (d *drawer) drawAgain(w *workings, i int) float64 {
	w.mask.Clear()
	for k := range d.walks {
		sw, rng := &d.walks[k], d.rng(i, k)
		fold := d.fence.back
		if sw.strays {
			fold = func(p grid.XY) grid.XY { return p }
		}
		d.sweep(w, sw, rng, func(line func([]grid.XY)) {
			sw.post.DrawAgain(rng, &w.drawing, fold, func(l []grid.XY) {
				for j, p := range l {
					l[j] = fold(p)
				}
				line(l)
			})
		})
	}
	return d.percent(w)
}

// sweep adds one session's lines to the mask. On laid-out ground the lanes stand
// for the log, each as a walker may have kept to it.
func (d *drawer) sweep(w *workings, sw *drawnWalk, rng *rand.Rand, lines func(func([]grid.XY))) {
	if sw.laid == nil {
		lines(func(l []grid.XY) { w.mask.FillLine(l, d.brush) })
		return
	}
	w.aside.Clear()
	lines(func(l []grid.XY) { w.aside.FillLine(l, d.brush) })
	w.aside.AndNot(sw.laid)
	w.mask.Or(w.aside)
	w.aside.Clear()
	for _, lane := range sw.lanes {
		w.aside.FillLine(Wander(lane, LaneWanderM, rng), d.brush)
	}
	w.aside.And(sw.laid)
	w.mask.Or(w.aside)
}

func (d *drawer) foldLine(line []grid.XY) {
	for i, p := range line {
		line[i] = d.fence.back(p)
	}
}

func (d *drawer) percent(w *workings) float64 {
	w.mask.And(d.in)
	return 100 * float64(w.mask.Count()) / d.cells
}
