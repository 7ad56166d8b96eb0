package report

import (
	"fmt"
	"math"
	"math/bits"
	"slices"

	"untrod/coverage"
	"untrod/grid"
)

// statesLayer shows what the map shows: the three states or, with positions taken as
// perfect, the passes, the gaps and what is too small to bother with.
func statesLayer(r *coverage.Result) *Layer {
	title := "Where to go"
	if r.Certainty == nil {
		return passStatesLayer(r, title)
	}
	l := newLayer(r, "states", title, byChance(r, func(v float64) uint8 {
		switch stateOf(v) {
		case doubt:
			return 1
		case surely:
			return 2
		}
		return 3
	}))
	l.dotted = 1
	l.class(classColour[doubt], stateWords[doubt]).Dots = hexOf(dotInk)
	l.class(classColour[surely], stateWords[surely])
	l.class(classColour[untrodden], stateWords[untrodden])
	slices.Reverse(l.Key) // what calls for a walk comes first
	if len(r.Untrodden()) > 0 {
		l.Key = append(l.Key, KeyRow{Colour: hexOf(gapEdge), Words: "gap: worth a walk", Outline: true})
	}
	return l
}

func passStatesLayer(r *coverage.Result, title string) *Layer {
	gaps := gapMask(r)
	l := newLayer(r, "states", title, func(tc, row int, can uint64, out *[grid.TileSide]uint8) {
		tr, i := row/grid.TileSide, row%grid.TileSide
		swept, gapBits := word(r.Swept.Tile(tc, tr), i), word(gaps.Tile(tc, tr), i)
		for w := can &^ swept; w != 0; w &= w - 1 {
			col := bits.TrailingZeros64(w)
			out[col] = uint8(sliver)
			if gapBits>>col&1 != 0 {
				out[col] = uint8(gap)
			}
		}
		eachPasses(r, tc, row, can&swept, func(col, n int) { out[col] = uint8(once) + uint8(min(max(n, 1), 3)-1) })
	})
	for cl := sliver; cl < classes; cl++ {
		l.class(classColour[cl], classWords[cl])
	}
	slices.Reverse(l.Key)
	return l
}

// eachPasses calls f with the passes over the cells of w.
func eachPasses(r *coverage.Result, tc, row int, w uint64, f func(col, n int)) {
	if w == 0 {
		return
	}
	var n [grid.TileSide]uint16
	r.Tally.RowPasses(row, tc*grid.TileSide, n[:min(grid.TileSide, r.Spec.Cols-tc*grid.TileSide)])
	for ; w != 0; w &= w - 1 {
		col := bits.TrailingZeros64(w)
		f(col, int(n[col]))
	}
}

// byChance sorts cells by the chance that they were swept; 0 or 1 with positions taken
// as perfect. The chance has wider cells, of which neighbours mostly share one.
func byChance(r *coverage.Result, sort func(float64) uint8) rowClasses {
	c := r.Certainty
	if c == nil {
		none, all := sort(0), sort(1)
		return func(tc, row int, can uint64, out *[grid.TileSide]uint8) {
			swept := word(r.Swept.Tile(tc, row/grid.TileSide), row%grid.TileSide)
			for w := can; w != 0; w &= w - 1 {
				col := bits.TrailingZeros64(w)
				if out[col] = none; swept>>col&1 != 0 {
					out[col] = all
				}
			}
		}
	}
	wide := c.Chance.Spec()
	cols := make([]int32, r.Spec.Cols) // of the chance, by column
	for i := range cols {
		k, _ := wide.CellAt(r.Spec.Centre(grid.Cell{Col: i}))
		cols[i] = int32(k.Col)
	}
	return func(tc, row int, can uint64, out *[grid.TileSide]uint8) {
		k, _ := wide.CellAt(r.Spec.Centre(grid.Cell{Row: row}))
		last, is := int32(math.MinInt32), uint8(0)
		for w := can; w != 0; w &= w - 1 {
			col := bits.TrailingZeros64(w)
			if at := cols[tc*grid.TileSide+col]; at != last {
				last, k.Col = at, int(at)
				is = sort(float64(c.Chance.At(k)))
			}
			out[col] = is
		}
	}
}

// chanceLayer has the bounds of the states among its own.
func chanceLayer(r *coverage.Result) *Layer {
	l := newLayer(r, "chance", "Chance swept", byChance(r, chanceBand))
	for i, words := range []string{"20 % or less", "20 to 40 %", "40 to 60 %", "60 to 80 %", "80 % or more"} {
		l.class(washes[i], words)
	}
	return l
}

func chanceBand(v float64) uint8 {
	switch stateOf(v) {
	case untrodden:
		return 1
	case surely:
		return uint8(len(washes))
	}
	return uint8(min(max(1+int(v*float64(len(washes))), 2), len(washes)-1))
}

func passesLayer(r *coverage.Result) *Layer {
	l := newLayer(r, "passes", "How often it was passed over", func(tc, row int, can uint64, out *[grid.TileSide]uint8) {
		eachPasses(r, tc, row, can, func(col, n int) { out[col] = passBands[min(n, len(passBands)-1)] })
	})
	l.ramp("never", []string{"once", "twice", "three times", "four or five times", "six times or more"})
	return l
}

// passBands are classes by number of passes, the last of so many or more.
var passBands = [...]uint8{1, 2, 3, 4, 5, 5, 6}

// secondsLayer has steps so wide that the longest searched twentieth of the swept ground
// is about the last.
func secondsLayer(r *coverage.Result, u Units) *Layer {
	unitM2, unit := 1.0, "m²"
	if u == Imperial {
		unitM2, unit = footM2, "sq ft"
	}
	step := secondsStep(r, unitM2)
	l := newLayer(r, "seconds", "Time searched, seconds a "+unit, func(tc, row int, can uint64, out *[grid.TileSide]uint8) {
		swept := word(r.Swept.Tile(tc, row/grid.TileSide), row%grid.TileSide)
		for w := can; w != 0; w &= w - 1 {
			col := bits.TrailingZeros64(w)
			if out[col] = 1; swept>>col&1 != 0 {
				v := r.Tally.SecondsPerM2(grid.Cell{Col: tc*grid.TileSide + col, Row: row}) * unitM2
				out[col] = 2 + uint8(min(v/step, float64(len(depths)-1)))
			}
		}
	})
	words := make([]string, len(depths))
	for i := range words {
		lo, hi := stepWords(float64(i)*step), stepWords(float64(i+1)*step)
		switch i {
		case 0:
			words[i] = "under " + hi
		case len(words) - 1:
			words[i] = lo + " or more"
		default:
			words[i] = lo + " to " + hi
		}
	}
	l.ramp("not searched", words)
	return l
}

// stepWords writes a multiple of a step without the last digits of binary fractions.
func stepWords(x float64) string { return fmt.Sprintf("%.6g", x) }

// secondsSamples is about how many cells the scale of times is judged from; more on
// large ground, a row in 64.
const secondsSamples = 100_000

func secondsStep(r *coverage.Result, unitM2 float64) float64 {
	var all []float64
	every := min(1+r.Swept.Count()/secondsSamples, grid.TileSide)
	r.Swept.Tiles(func(tc, tr int, t *grid.Rows) {
		for i := (tc + tr) % every; i < grid.TileSide; i += every {
			for w := t[i]; w != 0; w &= w - 1 {
				c := grid.Cell{Col: tc*grid.TileSide + bits.TrailingZeros64(w), Row: tr*grid.TileSide + i}
				all = append(all, r.Tally.SecondsPerM2(c)*unitM2)
			}
		}
	})
	if len(all) == 0 {
		return 1
	}
	slices.Sort(all)
	top := all[len(all)*19/20]
	if top <= 0 { // no times in the logs
		return 1
	}
	return stepAbove(top / float64(len(depths)))
}
