package coverage

import (
	"context"
	"math/bits"
	"runtime"
	"sync"
	"sync/atomic"

	"golang.org/x/sync/errgroup"

	"untrod/grid"
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
// the first of them unmirrored, and draws of draws. Where the coil is swung, also what
// the swath of the first of either swept, else nil. Zones, if any, have the same of
// their own.
type draws struct {
	folded, plain, again, swath, swathAgain []float64
	zones                                   []draws
}

func newDraws(n int, swung bool, zones int) draws {
	few := n / 8
	d := draws{folded: make([]float64, n), plain: make([]float64, few), again: make([]float64, few)}
	if swung {
		half := (few + 1) / 2
		d.swath, d.swathAgain = make([]float64, half), make([]float64, half)
	}
	for range zones {
		d.zones = append(d.zones, newDraws(n, swung, 0))
	}
	return d
}

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

// allow works out how surely the ground was swept: it draws the true walks of
// all sessions many times and sweeps each draw.
func (r *Result) allow(ctx context.Context, visits []visit, progress Progress) error {
	d, err := r.newDrawer(ctx, visits)
	if err != nil {
		return err
	}
	n := r.Settings.Position.Draws
	raw, workers, err := d.drawAll(ctx, n, progress)
	if err != nil {
		return err
	}
	c := judge(raw, r.mostIn(r.AsLoggedPercent))
	c.Draws, c.Chance = n, chanceField(workers, n)
	c.states(r.Searchable)
	for i, w := range d.walks {
		s := &r.Sessions[i]
		s.Ties, s.TieM, s.RoughM = w.ties, w.post.TieM(), w.post.Receiver.RoughM
		if w.strays {
			c.Strays = append(c.Strays, s.Name)
		}
	}
	r.Certainty = c
	return nil
}

// mostIn is the most that can be said to be swept at least of ground with so much as
// logged.
func (r *Result) mostIn(loggedPercent float64) float64 {
	for _, l := range r.LaidOut {
		if l.Confirmed {
			return 100 // a declaration may well claim more than the log shows
		}
	}
	return loggedPercent
}

// drawAll makes every draw, as many at a time as there are cores, and returns
// the percentages and the workings that hold the counts.
func (d *drawer) drawAll(ctx context.Context, n int, progress Progress) (draws, []*workings, error) {
	raw := newDraws(n, d.coil != nil, len(d.zones))
	few := len(raw.again)
	var workers []*workings
	var next, done atomic.Int64
	var mu sync.Mutex
	g, ctx := errgroup.WithContext(ctx)
	for range runtime.GOMAXPROCS(0) {
		w := d.workings()
		workers = append(workers, w)
		g.Go(func() error {
			for {
				i := int(next.Add(1)) - 1
				if i >= n+few || ctx.Err() != nil {
					return ctx.Err()
				}
				d.drawOne(w, i, raw)
				mu.Lock()
				progress("allowing for receiver error", done.Add(1), int64(n+few))
				mu.Unlock()
			}
		})
	}
	return raw, workers, g.Wait()
}

// drawOne makes draw i: the first len(folded) fill the chance, the rest are
// draws of draws.
func (d *drawer) drawOne(w *workings, i int, raw draws) {
	n, held := len(raw.folded), *d
	held.coil = nil
	put := func(percent float64, at func(draws) *float64) {
		*at(raw) = percent
		for k, z := range d.zones {
			*at(raw.zones[k]) = z.percent(w.mask)
		}
	}
	if i >= n {
		put(d.drawAgain(w, i), func(r draws) *float64 { return &r.again[i-n] })
		if i-n < len(raw.swathAgain) {
			put(held.drawAgain(w, i), func(r draws) *float64 { return &r.swathAgain[i-n] })
		}
		return
	}
	put(d.draw(w, i, true), func(r draws) *float64 { return &r.folded[i] })
	w.count()
	if i < len(raw.plain) {
		put(d.draw(w, i, false), func(r draws) *float64 { return &r.plain[i] })
	}
	if i < len(raw.swath) {
		put(held.draw(w, i, true), func(r draws) *float64 { return &r.swath[i] })
	}
}

// count adds the mask's cells to the counts of its worker.
func (w *workings) count() {
	w.mask.Tiles(func(tc, tr int, t *grid.Rows) {
		if *t == (grid.Rows{}) {
			return
		}
		counts := w.counts.Touch(tc, tr)
		for r, word := range t {
			row := counts[r*grid.TileSide:][:grid.TileSide]
			for ; word != 0; word &= word - 1 {
				row[bits.TrailingZeros64(word)]++
			}
		}
	})
}

// chanceField is the share of the draws that swept each cell. Cells astride the
// edge have theirs too, whatever side their centre is on.
func chanceField(workers []*workings, draws int) *grid.Field {
	f := grid.NewField(workers[0].mask.Spec())
	for _, w := range workers {
		w.counts.All(func(tc, tr int, t *[grid.TileSide * grid.TileSide]uint16) {
			for i, n := range t {
				if n > 0 {
					c := grid.Cell{Col: tc*grid.TileSide + i%grid.TileSide, Row: tr*grid.TileSide + i/grid.TileSide}
					f.Set(c, f.At(c)+float32(n))
				}
			}
		})
	}
	f.Scale(1 / float32(draws))
	return f
}

// each calls f with the chance of every searchable cell, and bare with the cells
// of each tile that no draw came near: on a large site nearly all.
func (c *Certainty) each(searchable *grid.Mask, f func(grid.Cell, float64), bare func(tc, tr int, t *grid.Rows)) {
	s := searchable.Spec()
	searchable.Tiles(func(tc, tr int, t *grid.Rows) {
		if c.Chance.Untouched(s.TileBounds(tc, tr)) {
			bare(tc, tr, t)
			return
		}
		var at [grid.TileSide]grid.Cell // the chance's cells, by column and by row alike
		for i := range at {
			at[i], _ = c.Chance.Spec().CellAt(s.Centre(grid.Cell{Col: tc*grid.TileSide + i, Row: tr*grid.TileSide + i}))
		}
		t.Cells(tc, tr, func(k grid.Cell) {
			f(k, float64(c.Chance.At(grid.Cell{Col: at[k.Col%grid.TileSide].Col, Row: at[k.Row%grid.TileSide].Row})))
		})
	})
}

// states sorts the searchable ground by its chance, by the cells of the map.
func (c *Certainty) states(searchable *grid.Mask) {
	var sure, doubt int
	c.each(searchable, func(_ grid.Cell, v float64) {
		switch {
		case v >= SurelyChance:
			sure++
		case v > UntroddenChance:
			doubt++
		}
	}, func(int, int, *grid.Rows) {})
	n := searchable.Count()
	c.SurelyPercent, c.DoubtPercent, c.UntroddenPercent = percent(sure, n), percent(doubt, n), percent(n-sure-doubt, n)
}
