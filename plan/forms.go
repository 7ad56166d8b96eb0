package plan

import (
	"math"
	"slices"

	"untrod/grid"
)

// turnS is the time to turn at the end of a lane and find the next. Common sense, no
// source.
const turnS = 4

// form is one way to walk the lanes of a stop.
type form struct {
	blocks               []Block
	from, to             grid.XY
	laneM, walkM         float64
	searchS, walkS, digS float64 // walkS is +Inf when there is no way from lane to lane
}

func (f *form) stayS() float64 { return f.searchS + f.walkS + f.digS }

// form walks blocks as they stand.
func (w *walker) form(blocks []Block) form {
	f := form{blocks: blocks}
	first := true
	for _, b := range blocks {
		for _, l := range b.all() {
			if first {
				f.from = l.From
			}
			w.on(&f, Lane{To: f.to}, l, first)
			f.to, first = l.To, false
		}
	}
	f.digS = w.set.DigShare * f.searchS
	return f
}

// on adds a lane, and the way to it from the one before: as far as linkM the coil stays
// in use, further is walked.
func (w *walker) on(f *form, before, l Lane, first bool) {
	m := l.lengthM()
	f.laneM += m
	f.searchS += (m+w.delayM([]grid.XY{l.From, l.To}))/w.set.SearchMS + turnS
	if first {
		return
	}
	link, err := w.between(before.To, l.From)
	switch {
	case err != nil: // a rim lane beyond a passage too narrow for a way
		f.walkS = math.Inf(1)
	case link.longM <= w.linkM:
		f.searchS += link.inS * w.set.WalkMS / w.set.SearchMS
	default:
		f.walkM, f.walkS = f.walkM+link.longM, f.walkS+link.inS
	}
}

// turnings returns other ways to walk the lanes of a form: a lone block from either
// side and either end, several only backwards.
func (w *walker) turnings(f form) []form {
	var out []form
	if len(f.blocks) == 1 {
		ways := f.blocks[0].ways()
		for _, b := range ways[1:] {
			out = append(out, w.form([]Block{b}))
		}
		return out
	}
	var back []Block
	for _, b := range slices.Backward(f.blocks) {
		back = append(back, b.ways()[3])
	}
	return []form{w.form(back)}
}
