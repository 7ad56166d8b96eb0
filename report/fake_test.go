package report

import (
	"fmt"
	"image"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// fakePasses counts passes in plain rows, as a stand-in for the engine.
type fakePasses struct {
	cols int
	n    []uint16
}

func (f fakePasses) RowPasses(row, colLo int, dst []uint16) {
	copy(dst, f.n[row*f.cols+colLo:(row+1)*f.cols])
}

// ground says what a made-up result shows.
type ground struct {
	name      string
	datum     grid.LonLat
	boundary  []grid.XY
	keepouts  []grid.Polygon
	names     []string // of the keep-outs
	landmarks []site.LocalLandmark
	cellM     float64
	swathM    float64
	lanes     int     // passes east to west
	missed    float64 // share of lanes left out
	seed      uint64
}

// field is the site that most tests draw: some 40 m by 30 m at 0.1 m cells.
func field() ground {
	return ground{
		name:  "Kettle Bank",
		datum: grid.LonLat{Lon: 12.345678, Lat: 51.234567},
		boundary: []grid.XY{{X: -19, Y: -11}, {X: -8, Y: -14.5}, {X: 9, Y: -13}, {X: 18.5, Y: -6}, {X: 19.5, Y: 7},
			{X: 8, Y: 14}, {X: -6, Y: 12.5}, {X: -17, Y: 9}},
		keepouts: []grid.Polygon{
			{Outer: grid.Ring{{X: 4, Y: 2}, {X: 10, Y: 1}, {X: 11, Y: 6}, {X: 5, Y: 7.5}}},
			{Outer: grid.Ring{{X: -15, Y: -9}, {X: -11, Y: -9}, {X: -12, Y: -5.5}}},
		},
		names: []string{"reed bed", "nest"},
		landmarks: []site.LocalLandmark{
			point("old well", false, -6, 5), point("boulder", false, 13, -3), point("gatepost", true, -16.5, 7.5),
			{Landmark: site.Landmark{Name: "bank", Shape: site.LineShape},
				XY: []grid.XY{{X: -13, Y: -2}, {X: -8, Y: -4}, {X: -3, Y: -4.5}, {X: 2, Y: -8}}},
		},
		cellM: 0.1, swathM: 1.5, lanes: 26, missed: 0.16, seed: 7,
	}
}

func point(name string, mark bool, x, y float64) site.LocalLandmark {
	return site.LocalLandmark{Landmark: site.Landmark{Name: name, Mark: mark}, XY: []grid.XY{{X: x, Y: y}}}
}

// scaled makes everything but cells and swath k times as large.
func (g ground) scaled(kx, ky float64) ground {
	mul := func(q grid.XY) grid.XY { return grid.XY{X: q.X * kx, Y: q.Y * ky} }
	g.boundary = apply(g.boundary, mul)
	g.keepouts = slices.Clone(g.keepouts)
	for i, k := range g.keepouts {
		g.keepouts[i].Outer = apply(k.Outer, mul)
	}
	g.landmarks = slices.Clone(g.landmarks)
	for i, l := range g.landmarks {
		g.landmarks[i].XY = apply(l.XY, mul)
	}
	return g
}

func apply(in []grid.XY, f func(grid.XY) grid.XY) []grid.XY {
	out := make([]grid.XY, len(in))
	for i, q := range in {
		out[i] = f(q)
	}
	return out
}

// made is a result and its passes, shared by all tests that show the same ground.
type made struct {
	r *coverage.Result
	p fakePasses
}

var allMade sync.Map // of func() made, by what is shown and how

// once makes what is shown the first time it is asked for, and a copy each time. Cells,
// passes and outlines are shared by all copies: no test may write into them.
func (g ground) once(how string, build func() (*coverage.Result, fakePasses)) (*coverage.Result, fakePasses) {
	f, _ := allMade.LoadOrStore(how+fmt.Sprintf("%+v", g), sync.OnceValue(func() made {
		r, p := build()
		return made{r, p}
	}))
	m := f.(func() made)()
	return twin(m.r), m.p
}

func twin(r *coverage.Result) *coverage.Result {
	c := *r
	c.Site.Keepouts, c.Local.Landmarks = slices.Clone(r.Site.Keepouts), slices.Clone(r.Local.Landmarks)
	c.Local.Boundary, c.Local.Keepouts = slices.Clone(r.Local.Boundary), slices.Clone(r.Local.Keepouts)
	c.Passes, c.Sessions, c.Gaps = slices.Clone(r.Passes), slices.Clone(r.Sessions), slices.Clone(r.Gaps)
	if r.Certainty != nil {
		k := *r.Certainty
		c.Certainty = &k
	}
	return &c
}

// make walks winding lanes over the ground and takes stock, cell by cell.
func (g ground) make(t testing.TB) (*coverage.Result, fakePasses) {
	return g.once("", func() (*coverage.Result, fakePasses) { return g.build(t) })
}

func (g ground) build(t testing.TB) (*coverage.Result, fakePasses) {
	frame, err := grid.NewFrame(g.datum)
	require.NoError(t, err)
	b := grid.EmptyBounds()
	for _, q := range g.boundary {
		b = b.Add(q)
	}
	r := &coverage.Result{
		Frame:    frame,
		Site:     site.Site{Name: g.name},
		Spec:     grid.SpecFor(b.Pad(2*g.cellM), g.cellM),
		Settings: coverage.Settings{SwathM: g.swathM, CellM: g.cellM, MinGapM: g.swathM, MinGapM2: 2, Track: track.DefaultSettings()},
	}
	r.Local = site.Local{Boundary: []grid.Polygon{{Outer: g.boundary}}, Keepouts: g.keepouts, Landmarks: g.landmarks}
	for _, n := range g.names {
		r.Site.Keepouts = append(r.Site.Keepouts, site.Area{Name: n})
	}
	p := fakePasses{cols: r.Spec.Cols, n: make([]uint16, r.Spec.Cols*r.Spec.Rows)}
	r.Searchable, r.Swept = grid.NewMask(r.Spec), grid.NewMask(r.Spec)
	g.mark(r, p)
	g.takeStock(r, p)
	return r, p
}

func (g ground) mark(r *coverage.Result, p fakePasses) {
	for row := range r.Spec.Rows {
		for col := range r.Spec.Cols {
			c := grid.Cell{Col: col, Row: row}
			q := r.Spec.Centre(c)
			in := within(g.boundary, q)
			for _, k := range g.keepouts {
				in = in && !within(k.Outer, q)
			}
			if in {
				r.Searchable.Set(c)
			}
		}
	}
	b := r.Spec.Bounds()
	rng := rand.New(rand.NewPCG(g.seed, 1))
	for lane := range g.lanes {
		y0 := b.Min.Y + (float64(lane)+0.5)*b.Height()/float64(g.lanes)
		phase, skipFrom, skipTo := rng.Float64()*6, 0.0, 0.0
		if rng.Float64() < g.missed*2 {
			skipFrom = b.Min.X + rng.Float64()*b.Width()*0.8
			skipTo = skipFrom + b.Width()*(0.1+0.4*rng.Float64())
		}
		for col := range r.Spec.Cols {
			x := r.Spec.Centre(grid.Cell{Col: col}).X
			if x > skipFrom && x < skipTo {
				continue
			}
			y := y0 + 0.5*g.swathM*math.Sin(x/(3*g.swathM)+phase) + 0.25*g.swathM*math.Sin(x/g.swathM+2*phase)
			lo, hi := (y-g.swathM/2-b.Min.Y)/g.cellM, (y+g.swathM/2-b.Min.Y)/g.cellM
			for row := max(int(lo), 0); row < min(int(hi), r.Spec.Rows); row++ {
				if c := (grid.Cell{Col: col, Row: row}); r.Searchable.Has(c) {
					p.n[row*p.cols+col]++
					r.Swept.Set(c)
				}
			}
		}
	}
}

func within(ring []grid.XY, q grid.XY) bool {
	in := false
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		if (a.Y <= q.Y) != (b.Y <= q.Y) && q.X < a.X+(q.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
			in = !in
		}
	}
	return in
}

func (g ground) takeStock(r *coverage.Result, p fakePasses) {
	for _, q := range r.Local.Boundary {
		r.BoundaryM2 += q.Area()
	}
	r.SearchableM2, r.SweptM2 = r.Searchable.AreaM2(), r.Swept.AreaM2()
	r.KeepoutM2 = r.BoundaryM2 - r.SearchableM2
	r.AsLoggedPercent = 100 * r.SweptM2 / r.SearchableM2
	var by [65536]int
	sum := 0
	r.Searchable.Cells(func(c grid.Cell) {
		n := p.n[c.Row*p.cols+c.Col]
		by[n]++
		sum += int(n)
	})
	for n, k := range by[:12] {
		if k > 0 {
			r.Passes = append(r.Passes, coverage.PassShare{Passes: n, Percent: 100 * float64(k) / float64(r.Searchable.Count())})
		}
	}
	r.EffortM2 = 1.04 * float64(sum) * r.Spec.CellAreaM2()
	r.CoverageFactor = r.EffortM2 / r.SearchableM2
	r.RandomSearchPercent = 100 * (1 - math.Exp(-r.CoverageFactor))
	r.RewalkedPercent = 100 * (1 - r.SweptM2/(float64(sum)*r.Spec.CellAreaM2()))
	g.findGaps(r, func(c grid.Cell) bool { return r.Searchable.Has(c) && !r.Swept.Has(c) })
	start := time.Date(2031, 4, 2, 9, 5, 0, 0, time.UTC)
	for i, f := range []string{"walk1.gpx", "walk2.gpx", "walk3.gpx"} {
		at := start.AddDate(0, 0, 9*i)
		s := coverage.Session{Name: f[:5], File: f, SHA256: "00ff", Fixes: 4000 + i, Start: track.At(at), End: track.At(at.Add(95 * time.Minute)),
			NewGroundM2: r.SweptM2 / float64(2+i*3), RewalkedPercent: 12.3456 * float64(i+1), SwathM2: r.EffortM2 / 3, PassM2: 3}
		s.Seconds = [4]float64{12, 620, 300, 4200}
		s.Metres = [4]float64{0, 20, 250, 1234.5678}
		r.Sessions = append(r.Sessions, s)
	}
}

// pieceOf takes the open ground connected with a cell out of what is left, four
// neighbours to a cell. What is left is told row by row.
func pieceOf(s grid.Spec, left []bool, c grid.Cell) *grid.Mask {
	at := func(c grid.Cell) int { return c.Row*s.Cols + c.Col }
	piece, todo := grid.NewMask(s), []grid.Cell{c}
	left[at(c)] = false
	for len(todo) > 0 {
		c := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		piece.Set(c)
		for _, n := range [4]grid.Cell{{Col: c.Col + 1, Row: c.Row}, {Col: c.Col - 1, Row: c.Row}, {Col: c.Col, Row: c.Row + 1}, {Col: c.Col, Row: c.Row - 1}} {
			if s.Holds(n) && left[at(n)] {
				left[at(n)] = false
				todo = append(todo, n)
			}
		}
	}
	return piece
}

// findGaps takes the connected pieces of open ground.
func (g ground) findGaps(r *coverage.Result, open func(grid.Cell) bool) {
	left := make([]bool, r.Spec.Cols*r.Spec.Rows)
	r.Searchable.Cells(func(c grid.Cell) { left[c.Row*r.Spec.Cols+c.Col] = open(c) })
	r.Searchable.Cells(func(c grid.Cell) {
		if !left[c.Row*r.Spec.Cols+c.Col] {
			return
		}
		piece := pieceOf(r.Spec, left, c)
		gp := coverage.Gap{AreaM2: piece.AreaM2(), UntroddenM2: piece.AreaM2(), Cells: piece.Runs().All}
		gp.WidestM, gp.CentreXY = widest(piece)
		if gp.AreaM2 < r.Settings.MinGapM2 || gp.WidestM < r.Settings.MinGapM {
			r.Slivers.Count++
			r.Slivers.AreaM2 += gp.AreaM2
			return
		}
		gp.Centre = r.Frame.ToLonLat(gp.CentreXY)
		gp.Outline = outlinesOf(piece)
		r.Gaps = append(r.Gaps, gp)
	})
	slices.SortStableFunc(r.Gaps, func(a, b coverage.Gap) int { return int(math.Copysign(1, b.AreaM2-a.AreaM2)) })
	for i := range r.Gaps {
		r.Gaps[i].ID = i + 1
	}
}

// widest finds the cell deepest in the piece, in steps of a cell (eight
// neighbours), and twice its depth.
func widest(m *grid.Mask) (widthM float64, at grid.XY) {
	var left, next []grid.Cell
	m.Cells(func(c grid.Cell) { left = append(left, c) })
	depth, last := 0, grid.Cell{}
	in := m.Clone()
	for len(left) > 0 {
		last = left[len(left)-1]
		next = next[:0]
		for _, c := range left {
			if surrounded(in, c) {
				next = append(next, c)
			}
		}
		in.Clear()
		for _, c := range next {
			in.Set(c)
		}
		left, next = next, left
		depth++
	}
	return float64(2*depth-1) * m.Spec().CellM, m.Spec().Centre(last)
}

func surrounded(m *grid.Mask, c grid.Cell) bool {
	for dr := -1; dr <= 1; dr++ {
		for dc := -1; dc <= 1; dc++ {
			if !m.Has(grid.Cell{Col: c.Col + dc, Row: c.Row + dr}) {
				return false
			}
		}
	}
	return true
}

// outlinesOf follows the cells' edges, ground to the left.
func outlinesOf(m *grid.Mask) []grid.Polygon {
	next := map[image.Point][]image.Point{}
	add := func(x0, y0, x1, y1 int) {
		next[image.Pt(x0, y0)] = append(next[image.Pt(x0, y0)], image.Pt(x1, y1))
	}
	m.Cells(func(c grid.Cell) {
		x, y := c.Col, c.Row
		if !m.Has(grid.Cell{Col: x, Row: y - 1}) {
			add(x, y, x+1, y)
		}
		if !m.Has(grid.Cell{Col: x + 1, Row: y}) {
			add(x+1, y, x+1, y+1)
		}
		if !m.Has(grid.Cell{Col: x, Row: y + 1}) {
			add(x+1, y+1, x, y+1)
		}
		if !m.Has(grid.Cell{Col: x - 1, Row: y}) {
			add(x, y+1, x, y)
		}
	})
	var starts []image.Point
	for p := range next {
		starts = append(starts, p)
	}
	slices.SortFunc(starts, func(a, b image.Point) int { return (a.Y-b.Y)*1_000_000 + a.X - b.X })
	var rings []grid.Ring
	for _, from := range starts {
		for len(next[from]) > 0 {
			rings = append(rings, follow(m.Spec(), next, from))
		}
	}
	var outer, holes []grid.Ring
	for _, r := range rings {
		if r.Area() > 0 {
			outer = append(outer, r)
		} else {
			holes = append(holes, r)
		}
	}
	slices.SortStableFunc(outer, func(a, b grid.Ring) int { return int(b.Area() - a.Area()) })
	out := make([]grid.Polygon, len(outer))
	for i, r := range outer {
		out[i].Outer = r
	}
	out[0].Holes = holes
	return out
}

func follow(s grid.Spec, next map[image.Point][]image.Point, at image.Point) grid.Ring {
	var pts []image.Point
	for {
		to := next[at]
		if len(to) == 0 {
			break
		}
		next[at] = to[1:]
		pts = append(pts, at)
		at = to[0]
		if at == pts[0] {
			break
		}
	}
	var ring grid.Ring
	for i, p := range pts {
		a, b := pts[(i+len(pts)-1)%len(pts)], pts[(i+1)%len(pts)]
		if p.Sub(a) != b.Sub(p) {
			ring = append(ring, grid.XY{X: s.Origin.X + float64(p.X)*s.CellM, Y: s.Origin.Y + float64(p.Y)*s.CellM})
		}
	}
	return ring
}
