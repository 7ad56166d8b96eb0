package coverage

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"

	"golang.org/x/sync/errgroup"

	"untrod/grid"
	"untrod/track"
)

// drawnWalk is one session made ready to be drawn.
type drawnWalk struct {
	post   *track.Posterior
	ties   int
	strays bool
	laid   []laidArea // laid-out ground that the log confirms
	paceMS float64    // median of searching
}

// drawer draws whole sites: every session once, swept together.
type drawer struct {
	walks []drawnWalk
	fence *fence
	brush *grid.Brush
	coil  *swinger // nil: all of the swath counts
	in    *grid.Mask
	cells float64
	zones []zoneCells // of the draws' own cells; the rest last
	seed  uint64
}

// workings is what one goroutine draws with.
type workings struct {
	mask *grid.Mask
	// For sessions with laid-out ground: off it, the ground, the lanes.
	aside, ground, lanes *grid.Mask
	drawing              track.Drawing
	zigzag               []grid.XY
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
	if z := r.Settings.Zones; len(z.RingsM) > 0 {
		d.zones = newZones(d.in, r.Local.Landmarks, z).flat()
	}
	if r.Settings.swings() {
		d.coil = newSwinger(r.Settings, cell, pacesOf(visits).median())
	}
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(runtime.GOMAXPROCS(0))
	marks, tieSet := r.Local.Marks(), track.DefaultTies(err)
	for i, v := range visits {
		g.Go(func() error {
			ties := track.FindTies(v.walk, marks, v.waypoints, tieSet)
			d.walks[i] = drawnWalk{
				post: track.NewPosterior(v.walk, set.Receiver, ties), ties: len(ties),
				strays: d.fence.strays(v.walk, err), paceMS: pacesOf(visits[i : i+1]).median(),
			}
			return ctx.Err()
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	return d, r.layLanes(d, visits)
}

func (d *drawer) workings() *workings {
	s := d.in.Spec()
	return &workings{mask: grid.NewMask(s), aside: grid.NewMask(s), ground: grid.NewMask(s), lanes: grid.NewMask(s), counts: grid.NewTiles[[grid.TileSide * grid.TileSide]uint16](s)}
}

// rng gives each session of each draw its own stream.
func (d *drawer) rng(draw, session int) *rand.Rand {
	return rand.New(rand.NewPCG(d.seed, uint64(draw)<<32|uint64(session)))
}

// lineOf takes one line of a walk and when its points were passed.
type lineOf func(line []grid.XY, times []float64)

// draw sweeps draw number i and returns the percent swept; the mask is left in w.
func (d *drawer) draw(w *workings, i int, folded bool) float64 {
	return d.site(w, i, func(sw *drawnWalk, rng *rand.Rand, line lineOf) {
		sw.post.Draw(rng, &w.drawing, func(l []grid.XY) {
			if folded {
				d.fold(sw, l)
			}
			line(l, w.drawing.Times())
		})
	})
}

// drawAgain sweeps a draw of a draw.
func (d *drawer) drawAgain(w *workings, i int) float64 {
	return d.site(w, i, func(sw *drawnWalk, rng *rand.Rand, line lineOf) {
		sw.post.DrawAgain(rng, &w.drawing, func(l []grid.XY) { d.fold(sw, l) }, func(l []grid.XY) {
			d.fold(sw, l)
			line(l, w.drawing.Times())
		})
	})
}

// site sweeps every session's lines, as one gives them, and returns the percent
// swept.
func (d *drawer) site(w *workings, i int, lines func(*drawnWalk, *rand.Rand, lineOf)) float64 {
	w.mask.Clear()
	for k := range d.walks {
		sw, rng := &d.walks[k], d.rng(i, k)
		d.sweep(w, sw, rng, func(line lineOf) { lines(sw, rng, line) })
	}
	return d.percent(w)
}

// sweep adds one session's lines to the mask. On laid-out ground the lanes stand
// for the log, each as a walker may have kept to it.
func (d *drawer) sweep(w *workings, sw *drawnWalk, rng *rand.Rand, lines func(lineOf)) {
	if len(sw.laid) == 0 {
		lines(func(l []grid.XY, t []float64) { d.fill(w, w.mask, rng, l, t) })
		return
	}
	w.aside.Clear()
	lines(func(l []grid.XY, t []float64) { d.fill(w, w.aside, rng, l, t) })
	for _, a := range sw.laid {
		off := grid.XY{X: a.shiftM * rng.NormFloat64(), Y: a.shiftM * rng.NormFloat64()}
		w.ground.Clear()
		w.ground.FillPolygon(a.ground.Moved(off))
		w.aside.AndNot(a.around)
		w.lanes.Clear()
		for _, lane := range a.lanes {
			lane[0], lane[1] = lane[0].Plus(off), lane[1].Plus(off)
			l := Wander(lane, LaneWanderM, rng)
			d.fill(w, w.lanes, rng, l, evenly(len(l), distance(lane[0], lane[1]), sw.paceMS))
		}
		w.lanes.And(w.ground)
		w.mask.Or(w.lanes)
	}
	w.mask.Or(w.aside)
}

// fill adds what was swept along a line: the swath or, where it counts, what the
// coil passed over, swung from a phase of its own.
func (d *drawer) fill(w *workings, m *grid.Mask, rng *rand.Rand, line []grid.XY, times []float64) {
	if d.coil == nil {
		m.FillLine(line, d.brush)
		return
	}
	w.zigzag = d.coil.zigzag(w.zigzag[:0], line, times, 2*rng.Float64())
	d.coil.fill(m, w.zigzag)
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
