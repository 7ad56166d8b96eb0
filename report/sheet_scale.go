package report

import (
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
)

const mm = vg.Millimeter

// sheetScales are the scales of maps, 1 to so many. Those under fullScale are for
// ground that would be a spot on the page.
var sheetScales = []int{20, 25, 50, 100, 200, 250, 300, 400, 500, 600, 750, 1000, 1250, 1500, 2000}

const (
	fullScale = 200
	lastScale = 2000
	// mm between lanes of one swath, so that they can be told apart with their numbers,
	// and at least, where one page then shows it all. A choice, no source.
	wellApart, justApart = 2.5, 1.8
	fewMaps              = 12 // a smaller scale is taken before ground is cut into more
	mostMaps             = 24 // drawn
	overlapMM            = 12.0
)

// cutting is how ground is cut into maps: one window each, row by row from the
// north-west, that overlap.
type cutting struct {
	scale   int
	wide    bool // pages lie on their long side
	windows []grid.Bounds
	columns int
}

// cutUp takes the largest scale at which one page shows the ground, if lanes can be
// told apart at it. Larger ground has the smallest scale at which they can be told well
// apart, or a smaller one if that saves it from being cut into more than fewMaps. A
// scale that was given is kept.
func cutUp(b grid.Bounds, p Paper, swathM float64, given int) cutting {
	if given > 0 {
		return better(b, p, given)
	}
	apart := func(scale int) float64 { return swathM * 1000 / float64(scale) }
	for _, scale := range sheetScales {
		if scale < fullScale && !isSpot(b, p) || scale > fullScale && apart(scale) < justApart {
			continue
		}
		if c := better(b, p, scale); len(c.windows) == 1 {
			return c
		}
	}
	var c cutting
	for i, scale := range sheetScales {
		next := sheetScales[min(i+1, len(sheetScales)-1)]
		if scale < fullScale || next != scale && apart(next) >= wellApart {
			continue
		}
		if c = better(b, p, scale); len(c.windows) <= fewMaps {
			break
		}
	}
	return c
}

// isSpot reports whether ground takes less than a quarter of the page's width and
// height at fullScale.
func isSpot(b grid.Bounds, p Paper) bool {
	size := mapSize(p, false)
	return 4*b.Width() < windowM(size.X, fullScale) && 4*b.Height() < windowM(size.Y, fullScale)
}

// better cuts for upright or lying pages, whichever takes fewer; upright of equals.
func better(b grid.Bounds, p Paper, scale int) cutting {
	up, wide := cut(b, p, scale, false), cut(b, p, scale, true)
	if len(wide.windows) < len(up.windows) {
		return wide
	}
	return up
}

func cut(b grid.Bounds, p Paper, scale int, wide bool) cutting {
	size := mapSize(p, wide)
	w, h := windowM(size.X, scale), windowM(size.Y, scale)
	over := overlapMM * float64(scale) / 1000
	c := cutting{scale: scale, wide: wide}
	xs, ys := spread(b.Min.X, b.Max.X, w, over), spread(b.Min.Y, b.Max.Y, h, over)
	c.columns = len(xs)
	slices.Reverse(ys)
	for _, y := range ys {
		for _, x := range xs {
			c.windows = append(c.windows, grid.Bounds{Min: grid.XY{X: x, Y: y}, Max: grid.XY{X: x + w, Y: y + h}})
		}
	}
	return c
}

// bounds is all that the windows show.
func (c cutting) bounds() grid.Bounds {
	b := grid.EmptyBounds()
	for _, w := range c.windows {
		b = b.Add(w.Min).Add(w.Max)
	}
	return b
}

// windowM is how many metres a length on the page shows.
func windowM(on vg.Length, scale int) float64 { return float64(on/mm) * float64(scale) / 1000 }

// spread returns where windows of a size begin that show lo to hi between them, each
// with over or more of the one before, evenly.
func spread(lo, hi, size, over float64) []float64 {
	long := hi - lo
	if long <= size {
		return []float64{(lo + hi - size) / 2}
	}
	n := int(math.Ceil((long - over) / (size - over)))
	out := make([]float64, n)
	for i := range out {
		out[i] = lo + float64(i)*(long-size)/float64(n-1)
	}
	return out
}

// sheetGround is what maps have to show between them.
func sheetGround(r *coverage.Result, p *plan.Plan) grid.Bounds {
	if p == nil {
		return groundShown(r)
	}
	return planGround(r, p)
}

// weights say how much there is to go to on each window: metres of lanes where there
// is a plan, else square metres of gaps, a gap shared out by its outline.
func (c cutting) weights(r *coverage.Result, p *plan.Plan) []float64 {
	out := make([]float64, len(c.windows))
	add := func(at grid.XY, w float64) {
		for i, b := range c.windows {
			if inside(b, at) {
				out[i] += w
				return
			}
		}
	}
	if p != nil {
		for _, s := range p.Stops {
			for _, l := range stopLanes(s) {
				add(grid.XY{X: (l.From.X + l.To.X) / 2, Y: (l.From.Y + l.To.Y) / 2}, laneM(l.Lane))
			}
		}
		return out
	}
	for _, g := range r.Untrodden() {
		pts := []grid.XY{g.CentreXY}
		for _, o := range g.Outline {
			pts = append(pts, o.Outer...)
		}
		for _, q := range pts {
			add(q, g.AreaM2/float64(len(pts)))
		}
	}
	return out
}

// drawn are the windows to draw, in order: those with something to go to, at most
// mostMaps, those with most of it. A lone window is drawn whatever it shows.
func (c cutting) drawn(r *coverage.Result, p *plan.Plan) (out []int, useful int) {
	if len(c.windows) == 1 {
		return []int{0}, 1
	}
	w := c.weights(r, p)
	for i := range w {
		if w[i] > 0 {
			out = append(out, i)
		}
	}
	useful = len(out)
	slices.SortStableFunc(out, func(a, b int) int {
		switch {
		case w[a] > w[b]:
			return -1
		case w[a] < w[b]:
			return 1
		}
		return a - b
	})
	out = out[:min(useful, mostMaps)]
	slices.Sort(out)
	return out, useful
}
