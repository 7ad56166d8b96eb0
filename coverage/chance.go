package coverage

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"golang.org/x/sync/errgroup"

	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// PositionSettings say how wrong the receiver is taken to be.
type PositionSettings struct {
	Canopy   string         // its name, for the report: none, open, light, dense, or empty when given as an accuracy
	Receiver track.Receiver // the zero value is perfect: nothing is drawn
	Draws    int            // 20 to 2,000; default 200
	Seed     uint64         // one seed gives one answer, whatever the number of cores
}

// Certainty is how surely ground was swept once receiver error is allowed for.
type Certainty struct {
	AtLeastPercent  float64    // 95 times in 100 at least this much was truly swept
	ExpectedPercent float64    // the best single figure
	Interval90      [2]float64 // in which the truth lies 9 times in 10
	// Shares of the searchable ground by chance swept: at or above 0.8, between,
	// at or below 0.2.
	SurelyPercent, DoubtPercent, UntroddenPercent float64

	Chance *grid.Field // share of the draws that swept each cell, over cells of its own
	Draws  int
	Strays []string // sessions that searched beyond the edge on purpose

	raw draws // what the figures were judged from
}

// draws are the percentages swept by each draw: the walk mirrored at the edge,
// the first of them unmirrored, and draws of draws.
type draws struct{ folded, plain, again []float64 }

// Chances from which ground is surely swept, and up to which untrodden.
const (
	SurelyChance    = 0.8
	UntroddenChance = 0.2
)

// ChanceAt is the chance that the ground at p was swept.
func (c *Certainty) ChanceAt(p grid.XY) float64 {
	k, _ := c.Chance.Spec().CellAt(p)
	return float64(c.Chance.At(k))
}

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

// allow works out how surely the ground was swept: it draws the true walks of
// all sessions many times and sweeps each draw.
func (r *Result) allow(ctx context.Context, visits []visit, progress Progress) error {
	set := r.Settings.Position
	d, err := r.newDrawer(ctx, visits)
	if err != nil {
		return err
	}
	few := set.Draws / 8
	raw := draws{make([]float64, set.Draws), make([]float64, few), make([]float64, few)}
	spare := sync.Pool{New: func() any { return d.workings() }}
	var all []*workings
	var mu sync.Mutex
	var done atomic.Int64
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i := range set.Draws + few {
		g.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			w := spare.Get().(*workings)
			if w.counts == nil {
				w.counts = grid.NewTiles[[grid.TileSide * grid.TileSide]uint16](d.in.Spec())
				mu.Lock()
				all = append(all, w)
				mu.Unlock()
			}
			if i < set.Draws {
				raw.folded[i] = d.draw(w, i, true)
				w.count()
				if i < few {
					raw.plain[i] = d.draw(w, i, false)
				}
			} else {
				raw.again[i-set.Draws] = d.drawAgain(w, i)
			}
			spare.Put(w)
			n := done.Add(1)
			mu.Lock()
			progress("allowing for receiver error", n, int64(set.Draws+few))
			mu.Unlock()
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return err
	}
	c := judge(raw, r.AsLoggedPercent)
	c.Draws, c.Chance = set.Draws, chanceField(all, d.in, set.Draws)
	for i, w := range d.walks {
		r.Sessions[i].TieM = w.post.TieM()
		r.Sessions[i].Ties = w.ties
		if w.strays {
			c.Strays = append(c.Strays, r.Sessions[i].Name)
		}
	}
	c.states(d.in)
	r.Certainty = c
	return nil
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
	return &workings{mask: grid.NewMask(d.in.Spec()), aside: grid.NewMask(d.in.Spec())}
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

// count adds the mask's cells to the counts of its worker.
func (w *workings) count() {
	w.mask.Cells(func(c grid.Cell) {
		w.counts.Touch(c.Col/grid.TileSide, c.Row/grid.TileSide)[c.Row%grid.TileSide*grid.TileSide+c.Col%grid.TileSide]++
	})
}

func chanceField(all []*workings, in *grid.Mask, draws int) *grid.Field {
	f := grid.NewField(in.Spec())
	for _, w := range all {
		w.counts.All(func(tc, tr int, t *[grid.TileSide * grid.TileSide]uint16) {
			for i, n := range t {
				if n > 0 {
					c := grid.Cell{Col: tc*grid.TileSide + i%grid.TileSide, Row: tr*grid.TileSide + i/grid.TileSide}
					f.Set(c, f.At(c)+float32(n))
				}
			}
		})
	}
	in.Cells(func(c grid.Cell) { f.Set(c, f.At(c)/float32(draws)) })
	return f
}

// states sorts the searchable ground by its chance.
func (c *Certainty) states(in *grid.Mask) {
	var sure, doubt, bare int
	in.Cells(func(k grid.Cell) {
		switch v := c.Chance.At(k); {
		case v >= SurelyChance:
			sure++
		case v > UntroddenChance:
			doubt++
		default:
			bare++
		}
	})
	n := sure + doubt + bare
	c.SurelyPercent, c.DoubtPercent, c.UntroddenPercent = percent(sure, n), percent(doubt, n), percent(bare, n)
}

// z95 is the 95th percentile of the standard normal distribution.
const z95 = 1.6448536269514722

// judge turns the percentages of the draws into the figures given to people. The
// draws alone are too sure of themselves in two ways, which are measured on the
// draws themselves and allowed for.
//
// Error scatters walks that truly lay close together, so a log may seem to
// cover more than the walk did. How much error scatters is seen when it is put on
// once more: again are draws of draws. Where they cover more than the draws, the
// lower limits are lowered in that proportion, and widened by half of it.
//
// At the edge, draws mirrored back lie over each other, where a walker would have
// sought fresh ground; how much this matters is seen from how much mirroring
// changed: plain are the first draws without it. The best figure and the upper
// limit take a quarter of it.
//
// Found by simulation, see docs/accuracy.md; on proportions of swept and unswept
// ground, so that no figure leaves 0 to 100.
func judge(d draws, asLogged float64) *Certainty {
	mean, sd := meanSD(d.folded)
	if mean == 0 || mean == 100 {
		return &Certainty{AtLeastPercent: mean, ExpectedPercent: mean, Interval90: [2]float64{mean, mean}, raw: d}
	}
	scatter := math.Min(1, ratio(mean, average(d.again)))
	edge := math.Pow(math.Min(1, ratio(100-average(d.folded[:len(d.plain)]), 100-average(d.plain))), 0.25)
	wide := math.Hypot(sd/mean, math.Log(scatter)/2)
	sorted := slices.Clone(d.folded)
	slices.Sort(sorted)
	low := mean * scatter * math.Exp(-z95*wide)
	low = math.Min(math.Min(low, quantile(sorted, 0.05)), asLogged)
	high := 100 - (100-mean)*edge*math.Exp(-z95*sd/(100-mean))
	high = math.Max(high, quantile(sorted, 0.95))
	return &Certainty{
		AtLeastPercent:  low,
		ExpectedPercent: 100 - (100-mean)*edge,
		Interval90:      [2]float64{low, high},
		raw:             d,
	}
}

func ratio(a, b float64) float64 {
	if b == 0 {
		return 1
	}
	return a / b
}

func average(s []float64) float64 {
	sum := 0.0
	for _, v := range s {
		sum += v
	}
	return sum / float64(len(s))
}

func meanSD(s []float64) (mean, sd float64) {
	mean = average(s)
	for _, v := range s {
		sd += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(sd / float64(len(s)-1))
}

// quantile of a sorted sample, between neighbours.
func quantile(sorted []float64, p float64) float64 {
	x := p * float64(len(sorted)-1)
	i := int(x)
	if i+1 == len(sorted) {
		return sorted[i]
	}
	return sorted[i] + (x-float64(i))*(sorted[i+1]-sorted[i])
}
