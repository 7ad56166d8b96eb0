package plan

import (
	"math"

	"untrod/grid"
)

const (
	partS = 15 * 60 // searching at one stop, where lanes are not longer
	nearS = 20      // walking between blocks of one stop
)

// stop is ground that may be searched in one go, whole or not at all.
type stop struct {
	sum
	by        []sum // of each gap of its ground
	of        *ground
	part      string
	forms     []form  // ways to walk its lanes; the first is as they were laid
	inS, outS float64 // way from the start, and to the end; +Inf: there is none
	planned   bool
}

// divide makes the stops of a ground from its lanes, in walking order. What would be
// smaller than the least gap is no stop.
func (d *draft) divide(g *ground) []*stop {
	var parts [][]Block
	var last form
	for _, b := range g.lanes {
		for _, run := range d.runs(b) {
			one := d.walk.form([]Block{run})
			if n := len(parts); n > 0 && last.searchS+one.searchS <= partS && d.closeBy(last.to, one.from) {
				parts[n-1] = append(parts[n-1], run)
				last.searchS, last.to = last.searchS+one.searchS, one.to
				continue
			}
			parts, last = append(parts, []Block{run}), one
		}
	}
	open := g.cells(d.r.Spec)
	for _, blocks := range parts {
		s := &stop{of: g, by: make([]sum, len(g.gaps))}
		d.take(s, open, blocks)
		if s.worth > 0 && s.areaM2 >= d.r.Settings.MinGapM2 {
			s.forms = []form{d.walk.form(blocks)}
			g.stops = append(g.stops, s)
		}
	}
	if len(g.stops) > 1 {
		for i, s := range g.stops {
			s.part = letters(i)
		}
	}
	return g.stops
}

func (d *draft) closeBy(a, b grid.XY) bool {
	w, err := d.walk.between(a, b)
	return err == nil && w.inS <= nearS
}

// letters counts a, b ... z, aa, ab ...
func letters(i int) string {
	if i < 26 {
		return string(rune('a' + i))
	}
	return letters(i/26-1) + string(rune('a'+i%26))
}

// take gives a stop the cells that blocks sweep, and takes them out of open.
func (d *draft) take(s *stop, open *grid.Field, blocks []Block) {
	spec := open.Spec()
	sweptBy(spec, blocks, d.r.Settings.SwathM/2).Cells(func(c grid.Cell) {
		if gap := int(open.At(c)); gap > 0 {
			d.gain.cell(&s.by[gap-1], spec.Centre(c))
			open.Set(c, 0)
		}
	})
	for _, b := range s.by {
		s.add(b)
	}
}

// holds reports whether the stop takes in much of gap i of its ground: half of it, or a
// hundredth of the stop.
func (s *stop) holds(i int) bool {
	return s.by[i].areaM2 > math.Min(s.of.sums[i].areaM2/2, s.areaM2/100)
}

// runs parts a block where there is no way from one lane to the next, and then evenly
// into runs of lanes that take at most partS. A rim lane goes with the nearest lane.
func (d *draft) runs(b Block) []Block {
	var out []Block
	for i := 0; i < len(b.Lanes); {
		end := i + 1
		for end < len(b.Lanes) && d.joined(b.Lanes[end-1], b.Lanes[end]) {
			end++
		}
		out = append(out, d.even(b, b.Lanes[i:end])...)
		i = end
	}
	if len(out) == 0 {
		return []Block{{DirectionDeg: b.DirectionDeg, Rim: b.Rim}}
	}
	for _, l := range b.Rim {
		best, least := 0, math.Inf(1)
		for i, o := range out {
			for _, k := range o.Lanes {
				if m := between(l.part(0.5), closestOn(k.From, k.To, l.part(0.5))); m < least {
					best, least = i, m
				}
			}
		}
		out[best].Rim = append(out[best].Rim, l)
	}
	return out
}

func (d *draft) joined(a, b Lane) bool {
	_, err := d.walk.between(a.To, b.From)
	return err == nil
}

// even cuts lanes into as few runs as take at most partS each, all about as long.
func (d *draft) even(b Block, lanes []Lane) (out []Block) {
	var f form
	middle := make([]float64, len(lanes)) // of the time each lane takes
	for i, l := range lanes {
		before := f.searchS
		d.walk.on(&f, lanes[max(i-1, 0)], l, i == 0)
		middle[i] = (before + f.searchS) / 2
	}
	n := math.Ceil(f.searchS / partS)
	for i, l := range lanes {
		run := func(k int) int { return int(middle[k] / f.searchS * n) }
		if i == 0 || run(i) != run(i-1) {
			out = append(out, Block{DirectionDeg: b.DirectionDeg, SpacingM: b.SpacingM})
		}
		out[len(out)-1].Lanes = append(out[len(out)-1].Lanes, l)
	}
	for i := range out {
		if len(out[i].Lanes) == 1 {
			out[i].SpacingM = 0
		}
	}
	return out
}
