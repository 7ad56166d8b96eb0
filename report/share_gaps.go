package report

import (
	"slices"

	"untrod/coverage"
	"untrod/grid"
)

// gapTile says which gap each cell belongs to, counted from 1.
type gapTile [grid.TileSide * grid.TileSide]int32

func (t *turner) gapTiles() *grid.Tiles[gapTile] {
	tiles := grid.NewTiles[gapTile](t.r.Spec)
	for i, g := range t.r.Untrodden() {
		for _, run := range g.Cells {
			for col := run.Lo; col < run.Hi; col++ {
				tiles.Touch(col/grid.TileSide, run.Row/grid.TileSide)[run.Row%grid.TileSide*grid.TileSide+col%grid.TileSide] = int32(i + 1)
			}
		}
	}
	return tiles
}

// gaps gives each gap to go to its turned cells: those whose disc is at least half in
// it. A gap too small for that keeps its number and figures.
func (t *turner) gaps(out *coverage.Result) {
	tiles := t.gapTiles()
	masks := make([]*grid.Mask, len(t.r.Untrodden()))
	var votes []int32
	out.Searchable.Cells(func(c grid.Cell) {
		q := t.back(t.spec.Centre(c))
		votes = votes[:0]
		for _, d := range t.disc {
			k, in := t.r.Spec.CellAt(q.Plus(d))
			if !in {
				continue
			}
			if tile := tiles.At(k.Col/grid.TileSide, k.Row/grid.TileSide); tile != nil {
				if id := tile[k.Row%grid.TileSide*grid.TileSide+k.Col%grid.TileSide]; id > 0 {
					votes = append(votes, id)
				}
			}
		}
		if id := most(votes, len(t.disc)/2+1); id > 0 {
			if masks[id-1] == nil {
				masks[id-1] = grid.NewMask(t.spec)
			}
			masks[id-1].Set(c)
		}
	})
	for i, m := range masks {
		g := &out.Gaps[i]
		g.CentreXY = t.to(t.r.Gaps[i].CentreXY)
		if m == nil {
			continue
		}
		g.Cells = m.Runs().All
		for _, p := range grid.Outlines(m) {
			g.Outline = append(g.Outline, p.Simplify(t.spec.CellM))
		}
	}
}

// most is the vote that stands at least so many times, else 0.
func most(votes []int32, least int) int32 {
	if len(votes) < least {
		return 0
	}
	slices.Sort(votes)
	v := votes[len(votes)/2]
	n := 0
	for _, o := range votes {
		if o == v {
			n++
		}
	}
	if n < least {
		return 0
	}
	return v
}
