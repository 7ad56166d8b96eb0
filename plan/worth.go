package plan

import (
	"cmp"
	"math"
	"slices"

	"untrod/coverage"
	"untrod/grid"
)

// gain tells what ground would bring. Not for use by several goroutines at once.
type gain struct {
	r         *coverage.Result
	landmarks []drawn
	notes     []string
	share     float64     // of the ground in the swath of a lane, what the coil passes over
	found     float64     // chance that a pass finds what is there
	left      float64     // see leftM2
	interest  *grid.Field // landmarks and richness, at the middle of squares; 0: not yet asked
	rich      *richness   // nil: finds are not gone by
}

// interestCellM is the side of the squares at whose middle interest is taken.
const interestCellM = 1

func newGain(r *coverage.Result, set Settings) *gain {
	g := &gain{r: r, share: 1, found: 1}
	g.landmarks, g.notes = drawnOf(r.Local.Landmarks, set.Interest)
	if g.rich = newRichness(r, set.Finds); g.rich != nil {
		g.notes = append(g.notes, "ground where finds lie dense for the searching done there counts for more")
	}
	g.interest = grid.NewField(grid.SpecFor(r.Spec.Bounds(), math.Max(interestCellM, r.Spec.CellM)))
	if t := r.Thoroughness; t != nil && t.Counted {
		g.share = t.Coil.MeanShare(set.SearchMS, t.DepthM)
	}
	if r.Detection != nil {
		g.found = r.Detection.PerPass
	}
	return g
}

// fresh is the chance that a lane over the ground at p sweeps what was not swept.
func (g *gain) fresh(p grid.XY) float64 {
	if g.r.Certainty == nil {
		if c, _ := g.r.Spec.CellAt(p); g.r.Swept.Has(c) {
			return 0
		}
		return g.share
	}
	return g.share * (1 - g.r.Certainty.ChanceAt(p))
}

// times is how many times as much as plain ground the ground at p is worth.
func (g *gain) times(p grid.XY) float64 {
	if len(g.landmarks) == 0 && g.rich == nil {
		return 1
	}
	s := g.interest.Spec()
	c, in := s.CellAt(p)
	if v := g.interest.At(c); v != 0 {
		return float64(v)
	}
	v := 1.0
	for i := range g.landmarks {
		v += g.landmarks[i].at(s.Centre(c))
	}
	v *= g.rich.at(s.Centre(c))
	if in {
		g.interest.Set(c, float32(v))
	}
	return v
}

// sum is what cells bring together.
type sum struct{ areaM2, freshM2, worth float64 }

func (s *sum) add(o sum) {
	s.areaM2, s.freshM2, s.worth = s.areaM2+o.areaM2, s.freshM2+o.freshM2, s.worth+o.worth
}

// cell adds what the cell at p brings.
func (g *gain) cell(s *sum, p grid.XY) {
	a := g.r.Spec.CellAreaM2()
	f := a * g.fresh(p)
	s.areaM2 += a
	s.freshM2 += f
	s.worth += f * g.found * g.times(p)
}

// ground is gaps to be searched in one go: one, or one with the slivers beside it.
type ground struct {
	gaps  []*coverage.Gap // most worth first
	sums  []sum           // of each gap
	whole sum
	estS  float64 // rough time it takes to search
	laid  bool    // lanes were laid
	lanes []Block
	stops []*stop
}

// grounds joins gaps and adds up what each brings.
func (g *gain) grounds(set Settings) []*ground {
	shapes := make([][]grid.Polygon, len(g.r.Gaps))
	for i := range g.r.Gaps {
		shapes[i] = g.r.Gaps[i].Outline
	}
	perS := set.m2PerS(g.r.Settings.SwathM)
	var out []*ground
	for _, group := range Join(shapes, 2*g.r.Settings.SwathM) {
		var all []*coverage.Gap
		for _, i := range group {
			all = append(all, &g.r.Gaps[i])
		}
		for len(all) > 0 {
			u := &ground{}
			u.gaps, all = handful(all)
			g.measure(u)
			u.estS = u.whole.areaM2/perS + settleS
			out = append(out, u)
		}
	}
	return out
}

// maxJoined is how many gaps are joined at most: slivers can lie in endless chains.
const maxJoined = 12

// handful takes the first of gaps and those nearest to it and to one another, by their
// middles. O(gaps).
func handful(gaps []*coverage.Gap) (taken, rest []*coverage.Gap) {
	if len(gaps) <= maxJoined {
		return gaps, nil
	}
	apart := make([]float64, len(gaps))
	for i := range gaps {
		apart[i] = math.Inf(1)
	}
	for next := 0; len(taken) < maxJoined; {
		taken = append(taken, gaps[next])
		apart[next] = math.NaN() // less than nothing, so never the least again
		at, least := gaps[next].CentreXY, math.Inf(1)
		for i, o := range gaps {
			apart[i] = math.Min(apart[i], between(at, o.CentreXY))
			if apart[i] < least {
				next, least = i, apart[i]
			}
		}
	}
	for i, o := range gaps {
		if !math.IsNaN(apart[i]) {
			rest = append(rest, o)
		}
	}
	return taken, rest
}

// settleS is a rough allowance for getting to ground and finding its first lane, for
// the choice of grounds that get lanes.
const settleS = 60

func (g *gain) measure(u *ground) {
	of := map[int]sum{}
	for _, gap := range u.gaps {
		var s sum
		for _, r := range gap.Cells {
			for c := r.Lo; c < r.Hi; c++ {
				g.cell(&s, g.r.Spec.Centre(grid.Cell{Col: c, Row: r.Row}))
			}
		}
		of[gap.ID] = s
		u.whole.add(s)
	}
	slices.SortStableFunc(u.gaps, func(a, b *coverage.Gap) int { return cmp.Compare(of[b.ID].worth, of[a.ID].worth) })
	for _, gap := range u.gaps {
		u.sums = append(u.sums, of[gap.ID])
	}
}

func (u *ground) outlines() (out []grid.Polygon) {
	for _, gap := range u.gaps {
		out = append(out, gap.Outline...)
	}
	return out
}

// cells numbers the cells of the ground's gaps, from 1 in their order there, over cells
// of the result just enough for all.
func (u *ground) cells(s grid.Spec) *grid.Field {
	lo, hi := grid.Cell{Col: math.MaxInt, Row: math.MaxInt}, grid.Cell{}
	for _, gap := range u.gaps {
		for _, r := range gap.Cells {
			lo = grid.Cell{Col: min(lo.Col, r.Lo), Row: min(lo.Row, r.Row)}
			hi = grid.Cell{Col: max(hi.Col, r.Hi), Row: max(hi.Row, r.Row+1)}
		}
	}
	f := grid.NewField(grid.Spec{
		Origin: grid.XY{X: s.Origin.X + float64(float64(lo.Col)*s.CellM), Y: s.Origin.Y + float64(float64(lo.Row)*s.CellM)},
		CellM:  s.CellM, Cols: hi.Col - lo.Col, Rows: hi.Row - lo.Row,
	})
	for i, gap := range u.gaps {
		for _, r := range gap.Cells {
			for c := r.Lo; c < r.Hi; c++ {
				f.Set(grid.Cell{Col: c - lo.Col, Row: r.Row - lo.Row}, float32(i+1))
			}
		}
	}
	return f
}
