package coverage

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/track"
)

// testWalk is a path of legs of random kinds over points that wander.
func testWalk(rng *rand.Rand, n int, from grid.XY) track.Walk {
	p := track.Path{Timed: true}
	at, h, t := from, rng.Float64()*6, track.Instant(0)
	for range n {
		h += rng.NormFloat64() * 0.6
		step := rng.Float64() * 0.9
		if rng.IntN(50) == 0 {
			step = 9 // longer than one piece
		}
		at = grid.XY{X: at.X + step*math.Cos(h), Y: at.Y + step*math.Sin(h)}
		t += track.Instant(200 + rng.IntN(3000))
		p.Points = append(p.Points, track.Point{XY: at, T: t})
	}
	for i := 0; i < n; {
		j := min(n, i+1+rng.IntN(60))
		kind := []track.Kind{track.Searching, track.Searching, track.Walking, track.Standing, track.Lost}[rng.IntN(5)]
		p.Legs = append(p.Legs, track.Leg{Kind: kind, From: i, To: j})
		i = j
	}
	return track.Walk{Paths: []track.Path{p}}
}

// slowStep is one step of the swath: the cells it covers, the walk's length
// before and after it, its effort.
type slowStep struct {
	cells         *grid.Mask
	before, after int32
	effort        uint32
}

// slowSteps replays the searching legs of a session with plain masks.
func slowSteps(searchable *grid.Mask, w track.Walk, swathM float64) (legs [][]slowStep) {
	spec, brush := searchable.Spec(), grid.NewBrush(searchable.Spec().CellM, swathM/2)
	walked := int32(0)
	add := func(m float64) { walked += int32(math.Round(m * 1000)) }
	for _, p := range w.Paths {
		for _, l := range p.Legs {
			line := p.Line(l)
			if l.Kind != track.Searching {
				if l.Kind != track.Standing {
					add(lineLength(line))
				}
				continue
			}
			var steps []slowStep
			step := func(a, b grid.Sub, metres, seconds float64) {
				var fp grid.Footprint
				brush.Capsule(&fp, a, b)
				m := grid.NewMask(spec)
				m.Paint(&fp)
				m.And(searchable)
				s := slowStep{cells: m, before: walked}
				add(metres)
				if seconds > 0 {
					s.effort = uint32(math.Round(seconds / (float64(fp.Cells()) * spec.CellAreaM2()) / effortUnit))
				}
				s.after = walked
				steps = append(steps, s)
			}
			a := spec.Snap(line[0].XY)
			step(a, a, 0, 0)
			for i := 1; i < len(line); i++ {
				b := spec.Snap(line[i].XY)
				n := float64(grid.CountPieces(a, b))
				d, sec := distance(line[i-1].XY, line[i].XY), line[i].T.Sub(line[i-1].T)
				grid.Pieces(a, b, func(p, q grid.Sub) { step(p, q, d/n, sec/n) })
				a = b
			}
			legs = append(legs, steps)
		}
	}
	return legs
}

// tallyCell is what a Tally knows of one cell.
type tallyCell struct {
	effort                uint32
	passes, first, latest uint16
}

// slowCell applies the rules of Tally to one cell.
func slowCell(sessions [][][]slowStep, c grid.Cell, away int32) tallyCell {
	var k tallyCell
	for i, legs := range sessions {
		here := uint16(i)
		last := int32(math.MinInt32 / 2)
		for _, steps := range legs {
			for _, s := range steps {
				if !s.cells.Has(c) {
					continue
				}
				if s.before-last >= away {
					k.passes++
					k.latest = here
					if k.passes == 1 {
						k.first = here
					}
				}
				last = s.after
				k.effort += s.effort
			}
		}
	}
	return k
}

func TestTallyEqualsCellByCell(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for range 6 {
		spec := grid.SpecFor(grid.Bounds{Min: grid.XY{X: -7, Y: -6}, Max: grid.XY{X: 7, Y: 8}}, 0.2)
		searchable := grid.NewMask(spec)
		searchable.FillCapsule(grid.XY{X: -3, Y: -2}, grid.XY{X: 4, Y: 5}, 5)
		swath := 0.6 + rng.Float64()*2
		tally := NewTally(searchable)
		sw := newSweeper(tally, swath)
		var slow [][][]slowStep
		newCells, passCells := 0, 0
		for range 3 {
			w := testWalk(rng, 150, grid.XY{X: rng.Float64()*4 - 2, Y: rng.Float64() * 4})
			g := sw.Session(w)
			newCells, passCells = newCells+g.newCells, passCells+g.passCells
			slow = append(slow, slowSteps(searchable, w, swath))
		}
		swept, passes := 0, 0
		sweptCells := tally.Swept()
		inRow := make([]uint16, spec.Cols+6)
		for row := range spec.Rows {
			tally.RowPasses(row, -3, inRow)
			require.Equal(t, [6]uint16{}, [6]uint16(append(inRow[:3:3], inRow[spec.Cols+3:]...)), "off the spec")
			for col := range spec.Cols {
				c := grid.Cell{Col: col, Row: row}
				want := slowCell(slow, c, int32(math.Round(2*swath*1000)))
				got := tallyCell{}
				if k, i := tally.at(c); k != nil {
					got = tallyCell{k.effort[i], k.passes[i], k.first[i], k.latest[i]}
				}
				if want != got || inRow[col+3] != want.passes || sweptCells.Has(c) != (want.passes > 0) {
					require.Equal(t, want, got, "cell %v", c)
					require.Equal(t, want.passes, inRow[col+3], "cell %v", c)
					require.Equal(t, want.passes > 0, sweptCells.Has(c), "cell %v", c)
				}
				passes += int(want.passes)
				if want.passes > 0 {
					swept++
				}
			}
		}
		require.Equal(t, swept, newCells, "new ground adds up to the ground swept")
		require.Equal(t, passes, passCells)
		n := 0
		for p, c := range tally.PassCounts() {
			n += p * c
		}
		require.Equal(t, passes, n)
	}
}

// straight is a searching leg along the given points, one second a point.
func straight(pts ...grid.XY) track.Walk {
	p := track.Path{Timed: true, Legs: []track.Leg{{Kind: track.Searching, To: len(pts)}}}
	for i, q := range pts {
		p.Points = append(p.Points, track.Point{XY: q, T: track.Instant(1000 * i)})
	}
	return track.Walk{Paths: []track.Path{p}}
}

// steps cuts the line through pts into steps of half a metre.
func steps(pts ...grid.XY) []grid.XY {
	out := []grid.XY{pts[0]}
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		n := math.Ceil(distance(a, b) / 0.5)
		for k := 1.0; k <= n; k++ {
			out = append(out, grid.XY{X: a.X + (b.X-a.X)*k/n, Y: a.Y + (b.Y-a.Y)*k/n})
		}
	}
	return out
}

func square(side float64) *grid.Mask {
	m := grid.NewMask(grid.SpecFor(grid.Bounds{Max: grid.XY{X: side - 0.01, Y: side - 0.01}}, 0.1))
	for row := range m.Spec().Rows {
		m.SetSpan(row, 0, m.Spec().Cols)
	}
	return m
}

func TestPassRule(t *testing.T) {
	xy := func(x, y float64) grid.XY { return grid.XY{X: x, Y: y} }
	for _, c := range []struct {
		name   string
		walks  []track.Walk
		at     grid.XY
		passes int
	}{
		{"one lane", []track.Walk{straight(steps(xy(2, 10), xy(18, 10))...)}, xy(10, 10), 1},
		{"out and back", []track.Walk{straight(steps(xy(2, 10), xy(18, 10), xy(2, 10))...)}, xy(10, 10), 2},
		{"at the turn: never left", []track.Walk{straight(steps(xy(2, 10), xy(18, 10), xy(2, 10))...)}, xy(17.8, 10), 1},
		{"a wobble in and out", []track.Walk{straight(steps(xy(10, 10), xy(10, 11), xy(10, 10), xy(10, 11), xy(10, 10))...)}, xy(10, 9.5), 1},
		{"another session", []track.Walk{straight(steps(xy(2, 10), xy(18, 10))...), straight(steps(xy(2, 10), xy(18, 10))...)}, xy(10, 10), 2},
		{"beside the lane", []track.Walk{straight(steps(xy(2, 10), xy(18, 10))...)}, xy(10, 10.9), 0},
		{"a single fix", []track.Walk{straight(xy(10, 10))}, xy(10.4, 10.4), 1},
	} {
		m := square(20)
		tally := NewTally(m)
		sw := newSweeper(tally, 1.5)
		for _, w := range c.walks {
			sw.Session(w)
		}
		k, _ := m.Spec().CellAt(c.at)
		require.Equal(t, c.passes, tally.Passes(k), c.name)
	}
}

func TestSecondsAddUp(t *testing.T) {
	m := square(60)
	tally := NewTally(m)
	line := steps(grid.XY{X: 5, Y: 5}, grid.XY{X: 50, Y: 20}, grid.XY{X: 8, Y: 50}, grid.XY{X: 8, Y: 6})
	newSweeper(tally, 1.5).Session(straight(line...))
	sum := 0.0
	m.Cells(func(c grid.Cell) { sum += tally.SecondsPerM2(c) * m.Spec().CellAreaM2() })
	require.InEpsilon(t, float64(len(line)-1), sum, 2e-4)
}

func BenchmarkTally(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	pts, h := []grid.XY{{X: 50, Y: 50}}, 0.0
	for len(pts) < 20_001 {
		h += rng.NormFloat64() * 0.25
		p := pts[len(pts)-1]
		q := grid.XY{X: p.X + 0.5*math.Cos(h), Y: p.Y + 0.5*math.Sin(h)}
		if q.X < 2 || q.X > 98 || q.Y < 2 || q.Y > 98 {
			h += math.Pi / 2
			continue
		}
		pts = append(pts, q)
	}
	w := straight(pts...)
	sw := newSweeper(NewTally(square(100)), 1.5)
	for b.Loop() {
		sw.Session(w)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/20_000, "ns/segment")
}
