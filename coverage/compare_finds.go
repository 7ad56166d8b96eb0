package coverage

import (
	"cmp"
	"math/rand/v2"
	"slices"

	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// zoneIndex finds the zones that hold a cell.
type zoneIndex struct {
	spec  grid.Spec
	zones []zoneCells
	near  *grid.Tiles[[]int] // zones with cells in a tile
}

func newZoneIndex(s grid.Spec, zones []zoneCells) *zoneIndex {
	x := &zoneIndex{s, zones, grid.NewTiles[[]int](s)}
	for i, z := range zones {
		z.mask.Tiles(func(tc, tr int, _ *grid.Rows) {
			t := x.near.Touch(tc, tr)
			*t = append(*t, i)
		})
	}
	return x
}

// at calls f for each zone that holds p.
func (x *zoneIndex) at(p grid.XY, f func(zone int)) {
	c, ok := x.spec.CellAt(p)
	if !ok {
		return
	}
	t := x.near.At(c.Col/grid.TileSide, c.Row/grid.TileSide)
	if t == nil {
		return
	}
	for _, i := range *t {
		if x.zones[i].mask.Has(c) {
			f(i)
		}
	}
}

// pieceM is the longest piece of a track that is counted whole.
const pieceM = 0.5

// pieces cuts the searching legs of a visit and calls f with the middle of each piece,
// its metres and its seconds, 0 without times.
func (v *visit) pieces(f func(mid grid.XY, metres, seconds float64)) {
	v.searching(func(line []track.Point) {
		for i := 1; i < len(line); i++ {
			cut(line[i-1], line[i], f)
		}
	})
}

// searching calls f with the line of each searching leg.
func (v *visit) searching(f func(line []track.Point)) {
	for _, p := range v.walk.Paths {
		for _, l := range p.Legs {
			if l.Kind == track.Searching {
				f(p.Line(l))
			}
		}
	}
}

func cut(a, b track.Point, f func(mid grid.XY, metres, seconds float64)) {
	d, seconds := distance(a.XY, b.XY), 0.0
	if a.T.Known() && b.T.Known() {
		seconds = b.T.Sub(a.T)
	}
	n := int(d/pieceM) + 1
	for i := range n {
		at := (float64(i) + 0.5) / float64(n)
		f(grid.XY{X: a.X + float64(at*(b.X-a.X)), Y: a.Y + float64(at*(b.Y-a.Y))}, d/float64(n), seconds/float64(n))
	}
}

func (r *Result) trackIn(zs []Zone, visits []visit, index *zoneIndex) {
	for i := range visits {
		visits[i].pieces(func(mid grid.XY, metres, _ float64) {
			index.at(mid, func(z int) { zs[z].TrackM += metres })
		})
	}
}

// placeFinds sorts out the finds that lie on the site, in an order that does not
// hang on that of the input.
func (r *Result) placeFinds(c *Comparison, finds []site.Find) {
	for _, f := range finds {
		if !f.Placed() {
			c.Placeless++
			continue
		}
		p := PlacedFind{Find: f, XY: r.Frame.ToXY(f.Pos), Visit: r.visitAt(f.T)}
		if _, ok := r.scatter(p, nil, 1); !ok {
			c.Outside++
			continue
		}
		c.Placed = append(c.Placed, p)
	}
	slices.SortStableFunc(c.Placed, func(a, b PlacedFind) int {
		return cmp.Or(cmp.Compare(a.T, b.T), cmp.Compare(a.XY.X, b.XY.X), cmp.Compare(a.XY.Y, b.XY.Y),
			cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID))
	})
}

// visitSlackMS is how long before the first fix or after the last a find still
// belongs to a visit.
const visitSlackMS = 15 * 60 * 1000

// visitAt is the session at a time, that which began last where several ran; -1 when
// none did.
func (r *Result) visitAt(t track.Instant) int {
	best := -1
	if !t.Known() {
		return best
	}
	for i, s := range r.Sessions {
		if !s.Start.Known() || t < s.Start-visitSlackMS || t > s.End+visitSlackMS {
			continue
		}
		if best < 0 || t >= s.Start && t <= s.End {
			best = i
		}
	}
	return best
}

// triesPerDraw is how many places are tried for each that is wanted on the searchable
// ground. A find of which so few may lie there is off the site.
const triesPerDraw = 20

// scatter puts a find n times where it may truly have been, on the searchable ground.
// It is false when the find is off the site: with perfect positions because it lies
// there as logged, else because fewer than one place in triesPerDraw is on the site.
func (r *Result) scatter(p PlacedFind, rng *rand.Rand, n int) ([]grid.XY, bool) {
	on := func(q grid.XY) bool { k, ok := r.Spec.CellAt(q); return ok && r.Searchable.Has(k) }
	sd := r.findSdM(p.Find)
	if sd == 0 {
		return slices.Repeat([]grid.XY{p.XY}, n), on(p.XY)
	}
	if rng == nil { // only asked whether
		rng, n = rand.New(rand.NewPCG(r.Settings.Position.Seed, 1)), 50
	}
	out := make([]grid.XY, 0, n)
	for tries := 0; len(out) < n; tries++ {
		if tries == n*triesPerDraw {
			return nil, false
		}
		if q := p.XY.Plus(grid.XY{X: sd * rng.NormFloat64(), Y: sd * rng.NormFloat64()}); on(q) {
			out = append(out, q)
		}
	}
	return out, true
}

// findSdM is the uncertainty of a find's place per axis, 0 when positions are taken
// as perfect.
func (r *Result) findSdM(f site.Find) float64 {
	rec := r.Settings.Position.Receiver
	switch {
	case rec.Perfect():
		return 0
	case f.SdM > 0:
		return f.SdM
	}
	return rec.TotalM()
}

// findsIn puts the finds into the zones, draw by draw, and compares.
func (r *Result) findsIn(c *Comparison, index *zoneIndex) {
	draws := 1
	if r.Certainty != nil {
		draws = r.Certainty.Draws
	}
	all, keepers := newTallies(len(c.Zones), draws), newTallies(len(c.Zones), draws)
	logged := make([]int, len(c.Zones))
	for i, f := range c.Placed {
		index.at(f.XY, func(z int) { logged[z]++ })
		rng := rand.New(rand.NewPCG(r.Settings.Position.Seed, 1<<63|uint64(i)))
		places, ok := r.scatter(f, rng, draws)
		if !ok { // hardly ever: on the edge of what counts as on the site
			places = []grid.XY{f.XY}
		}
		for d, p := range places {
			index.at(p, func(z int) {
				all[z][d]++
				if f.Verdict == site.Keeper {
					keepers[z][d]++
				}
			})
		}
	}
	for z := range c.Zones {
		c.Zones[z].Finds, c.Zones[z].Keepers = mean(all[z]), mean(keepers[z])
	}
	r.rates(c.Zones, all, logged)
}

func newTallies(zones, draws int) [][]int {
	out := make([][]int, zones)
	for i := range out {
		out[i] = make([]int, draws)
	}
	return out
}

func mean(counts []int) float64 {
	sum := 0
	for _, n := range counts {
		sum += n
	}
	return float64(sum) / float64(len(counts))
}

// rates fills in what was found for the effort; the last zone is the rest.
func (r *Result) rates(zs []Zone, finds [][]int, logged []int) {
	ground := make([][]Haul, len(zs))
	for z := range zs {
		hours := make([]Haul, len(finds[z]))
		ground[z] = make([]Haul, len(finds[z]))
		for d, n := range finds[z] {
			hours[d] = Haul{n, zs[z].hours()}
			ground[z][d] = Haul{n, r.sweptM2(zs, z, d) / 100}
		}
		zs[z].FindsPer100M2 = RateOf(ground[z], CompareLevel)
		zs[z].FindsPerHour = RateOf(hours, CompareLevel)
	}
	rest := len(zs) - 1
	var ps []float64
	for z := range zs[:rest] {
		zs[z].RatioToRest = RatioOf(ground[z], ground[rest], CompareLevel)
		zs[z].RatioAsLogged = RatioOf([]Haul{{logged[z], zs[z].SweptM2}}, []Haul{{logged[rest], zs[rest].SweptM2}}, CompareLevel)
		ps = append(ps, zs[z].RatioAsLogged.P)
	}
	for z, p := range Holm(ps) {
		zs[z].PHolm = p
	}
}

// sweptM2 is the ground of a zone swept in one draw, or as logged.
func (r *Result) sweptM2(zs []Zone, zone, draw int) float64 {
	if r.Certainty == nil {
		return zs[zone].SweptM2
	}
	return r.Certainty.raw.zones[zone].folded[draw] / 100 * zs[zone].SearchableM2
}
