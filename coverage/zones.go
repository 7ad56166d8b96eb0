package coverage

import (
	"fmt"

	"untrod/grid"
	"untrod/site"
)

// ZoneSettings say which ground round landmarks is looked at apart from the rest.
type ZoneSettings struct {
	// RingsM are the outer radii of the rings round every landmark, ascending,
	// metres; none: no zones.
	RingsM []float64
	// Nearest gives ground in the rings of several landmarks to the nearest alone, the
	// first of the site file where two are as near; otherwise each has it.
	Nearest bool
}

// What rings can be.
const (
	maxRings = 8
	maxRingM = 200
)

func (z ZoneSettings) validate() error {
	bad := func(v, allowed string) error { return &SettingsError{"rings", v, allowed} }
	if len(z.RingsM) > maxRings {
		return bad(fmt.Sprint(len(z.RingsM)), fmt.Sprintf("at most %d rings", maxRings))
	}
	before := 0.0
	for _, r := range z.RingsM {
		switch {
		case !(r > 0 && r <= maxRingM):
			return bad(fmt.Sprintf("%g m", r), fmt.Sprintf("above 0 m and at most %d m", maxRingM))
		case r <= before:
			return bad(fmt.Sprintf("%g m after %g m", r, before), "radii that grow, such as 5m,10m,20m")
		}
		before = r
	}
	return nil
}

// zoneCells is a set of cells and how many it has.
type zoneCells struct {
	mask  *grid.Mask
	cells int
}

// percent is how much of the zone swept holds; 0 for a zone without cells.
func (z zoneCells) percent(swept *grid.Mask) float64 {
	return percent(z.mask.CountAnd(swept), z.cells)
}

// zoneMasks are the cells round each landmark, ring by ring, and the rest.
// Rings are half-open: ground 5 m off is in the ring from 5 m.
type zoneMasks struct {
	of   [][]*grid.Mask // by landmark, by ring
	rest *grid.Mask
}

// newZones lays the zones over the searchable cells in. A cell is as far off as its
// centre; ground inside a landmark that is an area is 0 m off it. O(cells within the
// widest ring x edges nearby); memory 40 kB for every 64 x 64 cells there.
func newZones(in *grid.Mask, marks []site.LocalLandmark, set ZoneSettings) zoneMasks {
	z := zoneMasks{rest: in.Clone()}
	near := newNearness(in)
	for i, m := range marks {
		if !set.Nearest {
			near = newNearness(in)
		}
		near.add(i, m, set.RingsM[len(set.RingsM)-1])
		if !set.Nearest {
			z.of = append(z.of, near.rings(1, set.RingsM, func(int) int { return 0 })...)
		}
	}
	if set.Nearest {
		z.of = near.rings(len(marks), set.RingsM, func(owner int) int { return owner })
	}
	for _, rings := range z.of {
		for _, m := range rings {
			z.rest.AndNot(m)
		}
	}
	return z
}

// flat is every ring of every landmark, one after another, and the rest last.
func (z zoneMasks) flat() []zoneCells {
	var out []zoneCells
	add := func(m *grid.Mask) { out = append(out, zoneCells{m, m.Count()}) }
	for _, rings := range z.of {
		for _, m := range rings {
			add(m)
		}
	}
	add(z.rest)
	return out
}

// nearness is how far the cells of a set are from the nearest landmark, and which.
type nearness struct {
	in    *grid.Mask
	spec  grid.Spec
	tiles *grid.Tiles[nearTile]
}

type nearTile struct {
	off   [tileCells]float64 // metres; 0 where owner is 0
	owner [tileCells]int32   // landmark, counted from 1; 0: none within reach
}

func newNearness(in *grid.Mask) *nearness {
	return &nearness{in, in.Spec(), grid.NewTiles[nearTile](in.Spec())}
}

// add puts in a landmark out to less than reachM.
func (n *nearness) add(i int, l site.LocalLandmark, reachM float64) {
	if len(l.XY) == 0 {
		return
	}
	edge := func(a, b grid.XY) {
		box := grid.EmptyBounds().Add(a).Add(b).Pad(reachM)
		n.cells(box, func(tile *nearTile, at int, p grid.XY) {
			if d := p.FromSegment(a, b); d < reachM {
				tile.take(at, i, d)
			}
		})
	}
	for k := 1; k < len(l.XY); k++ {
		edge(l.XY[k-1], l.XY[k])
	}
	if len(l.XY) == 1 || l.Shape == site.AreaShape {
		edge(l.XY[len(l.XY)-1], l.XY[0])
	}
	if l.Shape == site.AreaShape {
		n.inside(i, l.XY)
	}
}

func (n *nearness) inside(i int, ring []grid.XY) {
	m := grid.NewMask(n.spec)
	m.FillPolygon(grid.Polygon{Outer: ring})
	m.And(n.in)
	m.Tiles(func(tc, tr int, rows *grid.Rows) {
		tile := n.tiles.Touch(tc, tr)
		rows.Cells(0, 0, func(c grid.Cell) { tile.take(c.Row*grid.TileSide+c.Col, i, 0) })
	})
}

// cells calls f for each cell of the set whose centre may lie in box.
func (n *nearness) cells(box grid.Bounds, f func(tile *nearTile, at int, p grid.XY)) {
	lo, _ := n.spec.CellAt(box.Min)
	hi, _ := n.spec.CellAt(box.Max)
	for tr := max(lo.Row, 0) / grid.TileSide; tr*grid.TileSide <= min(hi.Row, n.spec.Rows-1); tr++ {
		for tc := max(lo.Col, 0) / grid.TileSide; tc*grid.TileSide <= min(hi.Col, n.spec.Cols-1); tc++ {
			rows := n.in.Tile(tc, tr)
			if rows == nil {
				continue
			}
			tile := n.tiles.Touch(tc, tr)
			rows.Cells(tc, tr, func(c grid.Cell) {
				if c.Col >= lo.Col && c.Col <= hi.Col && c.Row >= lo.Row && c.Row <= hi.Row {
					f(tile, c.Row%grid.TileSide*grid.TileSide+c.Col%grid.TileSide, n.spec.Centre(c))
				}
			})
		}
	}
}

// take gives a cell to landmark i where that is nearer than any before.
func (t *nearTile) take(at, i int, d float64) {
	if t.owner[at] == 0 || d < t.off[at] {
		t.owner[at], t.off[at] = int32(i)+1, d
	}
}

// rings are the cells of each of n owners by ring, a cell's as place says.
func (n *nearness) rings(owners int, rings []float64, place func(owner int) int) [][]*grid.Mask {
	out := make([][]*grid.Mask, owners)
	for i := range out {
		for range rings {
			out[i] = append(out[i], grid.NewMask(n.spec))
		}
	}
	n.tiles.All(func(tc, tr int, t *nearTile) {
		for at, o := range t.owner {
			if o == 0 {
				continue
			}
			k := 0
			for t.off[at] >= rings[k] {
				k++
			}
			out[place(int(o)-1)][k].Set(grid.Cell{Col: tc*grid.TileSide + at%grid.TileSide, Row: tr*grid.TileSide + at/grid.TileSide})
		}
	})
	return out
}
