package report

import (
	"fmt"
	"image/color"
	"math/bits"

	"untrod/coverage"
	"untrod/grid"
)

// latestLayer shows when ground was last visited: each visit by itself or, where there
// are more than washes, in as many even groups.
func latestLayer(r *coverage.Result) *Layer {
	n := len(r.Sessions)
	groups := min(n, len(depths))
	group := make([]uint8, n)
	var words []string
	for g := range groups {
		from, to := g*n/groups, (g+1)*n/groups
		for i := from; i < to; i++ {
			group[i] = uint8(2 + g)
		}
		words = append(words, visitWords(r.Sessions, from, to))
	}
	l := newLayer(r, "latest", "Last visited", func(tc, row int, can uint64, out *[grid.TileSide]uint8) {
		for w := can; w != 0; w &= w - 1 {
			col := bits.TrailingZeros64(w)
			out[col] = 1
			if _, latest, ok := r.Tally.Sessions(grid.Cell{Col: tc*grid.TileSide + col, Row: row}); ok {
				out[col] = group[latest]
			}
		}
	})
	l.ramp("not yet", words)
	return l
}

// visitWords name the visits [from, to), counted from 1, and when they were.
func visitWords(all []coverage.Session, from, to int) string {
	out := fmt.Sprintf("visit %d", from+1)
	if to > from+1 {
		out = fmt.Sprintf("visits %d to %d", from+1, to)
	}
	if when := season(all[from:to]); when != "" {
		return out + ", " + when
	}
	return out + ", no date"
}

// Swept shows the ground visit by visit. Safe for concurrent use.
type Swept struct {
	r     *coverage.Result
	first *tileStore[firstVisits]
}

// firstVisits are, for each cell of a patch, one more than the number of the first visit
// that passed over it, 0 where none did.
type firstVisits [grid.TileSide][grid.TileSide]uint16

// NewSwept keeps two bytes for each cell that was ever painted, whatever the visits.
func NewSwept(r *coverage.Result) *Swept {
	return &Swept{r, newTileStore(r.Spec, func(tc, tr int, into *firstVisits) {
		rows := r.Swept.Tile(tc, tr)
		if rows == nil {
			return
		}
		rows.Cells(tc, tr, func(c grid.Cell) {
			if first, _, ok := r.Tally.Sessions(c); ok {
				into[c.Row%grid.TileSide][c.Col%grid.TileSide] = uint16(first + 1)
			}
		})
	})}
}

// Layer shows the ground swept by the first n visits, as logged, and apart from it what
// the last of them added.
func (s *Swept) Layer(n int) *Layer {
	l := &Layer{Name: "swept", Title: "Swept, visit by visit", colours: []color.RGBA{{}}, ground: s.r.Searchable}
	l.fill = func(tc, row int, can uint64, out *[grid.TileSide]uint8) {
		first := &s.first.at(tc, row/grid.TileSide)[row%grid.TileSide]
		for w := can; w != 0; w &= w - 1 {
			col := bits.TrailingZeros64(w)
			switch f := int(first[col]); {
			case f == 0 || f > n:
				out[col] = 1
			case f < n:
				out[col] = 2
			default:
				out[col] = 3
			}
		}
	}
	l.class(classColour[sliver], "not swept yet")
	l.class(classColour[once], "swept before")
	l.class(classColour[more], "new on this visit")
	return l
}
