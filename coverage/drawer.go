package coverage

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"

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
	laid   []laidArea // laid-out ground that the log confirms
}

// laidArea is laid-out ground and the lanes walked on it.
type laidArea struct {
	ground grid.Polygon
	lanes  [][2]grid.XY
	// shiftM is how far the ground may lie elsewhere: 0 when a site file says
	// where it is, the receiver's own when it was recognised in the log.
	shiftM float64
	// around is the ground and all within reach of the receiver's error: what the
	// log shows there is these lanes, scattered.
	around *grid.Mask
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
	mask *grid.Mask
	// For sessions with laid-out ground: off it, the ground, the lanes.
	aside, ground, lanes *grid.Mask
	drawing              track.Drawing
	counts               *grid.Tiles[[grid.TileSide * grid.TileSide]uint16]
}

// fenceInset is how far inside the edge the fence stands, in swaths: a searcher
// keeps the swath, not only the feet, on the ground that counts. Where the receiver
// is better than that, in its errors: there the log itself tells.
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
		fence: newFence(r.Local.Boundary, fenceInset*math.Min(r.Settings.SwathM, err), 4*err+5),
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
	return d, r.layLanes(d, visits)
}

// layLanes takes in the laid-out ground that each session's log confirms, and
// proposes what looks like it.
func (r *Result) layLanes(d *drawer, visits []visit) error {
	rec := r.Settings.Position.Receiver
	accepted := make([]bool, len(r.Settings.LaidOut))
	for i, v := range visits {
		for _, l := range r.Local.LaidOut {
			if l.Of(v.name, v.file) {
				r.takeLaid(d, i, v, l, 0)
			}
		}
		if r.Sessions[i].PassM2 == 0 {
			continue // nowhere on the site
		}
		for _, b := range track.FindLaneBlocks(v.walk) {
			p := LaneProposal{v.name, b, site.Proposal(b, r.Frame, v.name)}
			meant := false
			for k, s := range r.Settings.LaidOut {
				if (site.LaidOut{Session: s}).Of(v.name, v.file) {
					accepted[k], meant = true, true
				}
			}
			if meant {
				l := site.LocalLaidOut{LaidOut: p.LaidOut, Polygon: grid.Polygon{Outer: b.Corners[:]}}
				r.takeLaid(d, i, v, l, math.Hypot(rec.OffsetM, 0.4*rec.DriftM))
			} else if len(d.walks[i].laid) == 0 {
				r.Lanes = append(r.Lanes, p)
			}
		}
	}
	if k := slices.Index(accepted, false); k >= 0 {
		return &SettingsError{"laid-out", fmt.Sprintf("%q", r.Settings.LaidOut[k]), "a visit in whose log lanes are recognised"}
	}
	return nil
}

// takeLaid takes in laid-out ground for one session, when its log confirms it.
func (r *Result) takeLaid(d *drawer, i int, v visit, l site.LocalLaidOut, shiftM float64) {
	w, spec := &d.walks[i], d.in.Spec()
	lanes, share := LaidOut(v.walk, l, r.Settings.Position.Receiver.TotalM())
	if l.Session == "" && lanes == nil {
		return // meant for any session: only those that confirm it are told of
	}
	r.LaidOut = append(r.LaidOut, LaidOutGround{
		Name: l.Name, Session: v.name, Lanes: len(lanes), Share: share, Confirmed: lanes != nil,
	})
	if lanes != nil {
		w.laid = append(w.laid, laidArea{l.Polygon, lanes, shiftM, grown(spec, l.Polygon, 2.5*r.Settings.Position.Receiver.TotalM())})
	}
}

// grown is the cells of a polygon and those within m metres of it.
func grown(s grid.Spec, p grid.Polygon, m float64) *grid.Mask {
	out := grid.NewMask(s)
	out.FillPolygon(p)
	if len(p.Outer) > 0 {
		out.FillLine(append(slices.Clone(p.Outer), p.Outer[0]), grid.NewBrush(s.CellM, math.Min(m, 200*s.CellM)))
	}
	return out
}

func (d *drawer) workings() *workings {
	s := d.in.Spec()
	return &workings{mask: grid.NewMask(s), aside: grid.NewMask(s), ground: grid.NewMask(s), lanes: grid.NewMask(s), counts: grid.NewTiles[[grid.TileSide * grid.TileSide]uint16](s)}
}

// rng gives each session of each draw its own stream.
func (d *drawer) rng(draw, session int) *rand.Rand {
	return rand.New(rand.NewPCG(d.seed, uint64(draw)<<32|uint64(session)))
}

// draw sweeps draw number i and returns the percent swept; the mask is left in w.
func (d *drawer) draw(w *workings, i int, folded bool) float64 {
	return d.site(w, i, func(sw *drawnWalk, rng *rand.Rand, line func([]grid.XY)) {
		sw.post.Draw(rng, &w.drawing, func(l []grid.XY) {
			if folded {
				d.fold(sw, l)
			}
			line(l)
		})
	})
}

// drawAgain sweeps a draw of a draw.
func (d *drawer) drawAgain(w *workings, i int) float64 {
	return d.site(w, i, func(sw *drawnWalk, rng *rand.Rand, line func([]grid.XY)) {
		sw.post.DrawAgain(rng, &w.drawing, func(l []grid.XY) { d.fold(sw, l) }, func(l []grid.XY) {
			d.fold(sw, l)
			line(l)
		})
	})
}

// site sweeps every session's lines, as one gives them, and returns the percent
// swept.
func (d *drawer) site(w *workings, i int, lines func(*drawnWalk, *rand.Rand, func([]grid.XY))) float64 {
	w.mask.Clear()
	for k := range d.walks {
		sw, rng := &d.walks[k], d.rng(i, k)
		d.sweep(w, sw, rng, func(line func([]grid.XY)) { lines(sw, rng, line) })
	}
	return d.percent(w)
}

// sweep adds one session's lines to the mask. On laid-out ground the lanes stand
// for the log, each as a walker may have kept to it.
func (d *drawer) sweep(w *workings, sw *drawnWalk, rng *rand.Rand, lines func(func([]grid.XY))) {
	if len(sw.laid) == 0 {
		lines(func(l []grid.XY) { w.mask.FillLine(l, d.brush) })
		return
	}
	w.aside.Clear()
	lines(func(l []grid.XY) { w.aside.FillLine(l, d.brush) })
	for _, a := range sw.laid {
		off := grid.XY{X: a.shiftM * rng.NormFloat64(), Y: a.shiftM * rng.NormFloat64()}
		w.ground.Clear()
		w.ground.FillPolygon(a.ground.Moved(off))
		w.aside.AndNot(a.around)
		w.lanes.Clear()
		for _, lane := range a.lanes {
			lane[0], lane[1] = lane[0].Plus(off), lane[1].Plus(off)
			w.lanes.FillLine(Wander(lane, LaneWanderM, rng), d.brush)
		}
		w.lanes.And(w.ground)
		w.mask.Or(w.lanes)
	}
	w.mask.Or(w.aside)
}

// fold mirrors places beyond the edge, of sessions that kept to it.
func (d *drawer) fold(sw *drawnWalk, line []grid.XY) {
	if sw.strays {
		return
	}
	for i, p := range line {
		line[i] = d.fence.back(p)
	}
}

func (d *drawer) percent(w *workings) float64 {
	return 100 * float64(w.mask.CountAnd(d.in)) / d.cells
}
