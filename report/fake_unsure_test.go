package report

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// makeUnsure is make with receiver error allowed for, and all else that a
// result may tell.
func (g ground) makeUnsure(t testing.TB) (*coverage.Result, fakePasses) {
	r, p := g.once("unsure ", func() (*coverage.Result, fakePasses) { return g.buildUnsure(t) })
	addTrust(t, r)
	return r, p
}

func (g ground) buildUnsure(t testing.TB) (*coverage.Result, fakePasses) {
	r, p := g.make(t)
	r.Certainty = unsure(r)
	r.Gaps, r.Slivers = nil, coverage.Slivers{}
	g.findGaps(r, func(c grid.Cell) bool {
		return r.Searchable.Has(c) && r.Certainty.ChanceAt(r.Spec.Centre(c)) < coverage.SurelyChance
	})
	for i := range r.Gaps {
		weigh(r, &r.Gaps[i])
	}
	slices.SortStableFunc(r.Gaps, func(a, b coverage.Gap) int { return cmp.Compare(b.UntroddenM2, a.UntroddenM2) })
	for i := range r.Gaps {
		r.Gaps[i].ID = i + 1
	}
	return r, p
}

// unsure takes the share of ground swept about a place as the chance that the
// place was.
func unsure(r *coverage.Result) *coverage.Certainty {
	f := grid.NewField(grid.SpecFor(r.Spec.Bounds(), max(0.25, r.Spec.CellM)))
	c := &coverage.Certainty{Chance: f, Draws: 200}
	reach := max(1, int(0.45*r.Settings.SwathM/r.Spec.CellM))
	n, sum := 0, 0.0
	for row := range f.Spec().Rows {
		for col := range f.Spec().Cols {
			k := grid.Cell{Col: col, Row: row}
			at, _ := r.Spec.CellAt(f.Spec().Centre(k))
			v := sweptAbout(r, at, reach)
			f.Set(k, float32(v))
			if !r.Searchable.Has(at) {
				continue
			}
			n++
			sum += v
			switch stateOf(c.ChanceAt(f.Spec().Centre(k))) {
			case surely:
				c.SurelyPercent++
			case doubt:
				c.DoubtPercent++
			default:
				c.UntroddenPercent++
			}
		}
	}
	for _, p := range []*float64{&c.SurelyPercent, &c.DoubtPercent, &c.UntroddenPercent} {
		*p *= 100 / float64(n)
	}
	c.ExpectedPercent = 100 * sum / float64(n)
	c.AtLeastPercent = c.ExpectedPercent - 6.3
	c.Interval90 = [2]float64{c.AtLeastPercent, c.ExpectedPercent + 5.2}
	return c
}

func sweptAbout(r *coverage.Result, at grid.Cell, reach int) float64 {
	n, swept, step := 0, 0, max(1, reach/4)
	for row := at.Row - reach; row <= at.Row+reach; row += step {
		for col := at.Col - reach; col <= at.Col+reach; col += step {
			k := grid.Cell{Col: col, Row: row}
			if r.Searchable.Has(k) {
				n++
				if r.Swept.Has(k) {
					swept++
				}
			}
		}
	}
	return float64(swept) / max(float64(n), 1)
}

func weigh(r *coverage.Result, g *coverage.Gap) {
	n, bare, sum := 0, 0, 0.0
	for _, run := range g.Cells {
		for col := run.Lo; col < run.Hi; col++ {
			v := r.Certainty.ChanceAt(r.Spec.Centre(grid.Cell{Col: col, Row: run.Row}))
			n++
			sum += v
			if v <= coverage.UntroddenChance {
				bare++
			}
		}
	}
	g.ChanceSwept = math.Min(1, sum/float64(n))
	g.UntroddenM2 = float64(bare) * r.Spec.CellAreaM2()
}

// addTrust fills in what is told only when asked for.
func addTrust(t testing.TB, r *coverage.Result) {
	r.Settings.Position = coverage.PositionSettings{Canopy: "open", Receiver: track.ReceiverOf(1.6), Draws: 200, Seed: 7}
	r.Settings.SwathM, r.Settings.CoilM, r.Settings.SwingM = 0, 0.28, 1.2
	r.Certainty.Strays = []string{"walk3"}
	r.Sessions[0].Ties, r.Sessions[0].TieM, r.Sessions[0].RoughM = 3, 1.404, 0.4
	r.Sessions[2].Ties, r.Sessions[2].TieM = 1, 2.98
	r.Thoroughness = &coverage.Thoroughness{
		FastestMS: 0.1175, MedianMS: 0.42, HurriedPercent: 97.1, MeanPercent: 56.8,
		Coil: coverage.Coil{SizeM: 0.28, SwingM: 1.2},
	}
	d, err := coverage.Detect(r.Passes, r.CoverageFactor, r.Certainty, coverage.DetectSettings{Trial: coverage.Trial{Seeded: 20, Found: 15}})
	require.NoError(t, err)
	r.Detection = &d
	r.LaidOut = []coverage.LaidOutGround{
		{Name: "north strip", Session: "walk1", Lanes: 12, Share: 0.93, Confirmed: true},
		{Session: "walk2", Share: 0.31},
	}
	corners := []grid.LonLat{{Lon: 12.3456, Lat: 51.2345}, {Lon: 12.3457, Lat: 51.2345}, {Lon: 12.3457, Lat: 51.2346}}
	r.Lanes = []coverage.LaneProposal{{
		Session: "walk3", Block: track.LaneBlock{Lanes: 20, SpacingM: 1.3812, SpacingSdM: 0.021},
		LaidOut: site.LaidOut{Area: site.Area{Name: "20 lanes", Outer: corners}, SpacingM: 1.38, DirectionDeg: 91.5, Session: "walk3"},
	}}
}
