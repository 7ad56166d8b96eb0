package plan

import (
	"math"
	"slices"

	"untrod/coverage"
	"untrod/grid"
)

// clearanceM is how far lanes end from a keep-out.
const clearanceM = 0.001

// clear takes out of lanes what lies in keep-outs, and blocks left without lanes;
// lost reports whether it took anything. Of a lane cut in two both parts stay, in
// its direction, but for crumbs under a quarter swath long.
func (p *planner) clear(blocks []Block, keepouts []grid.Polygon) (out []Block, lost bool) {
	if len(keepouts) == 0 {
		return blocks, false
	}
	for _, b := range blocks {
		var lanes []Lane
		for _, l := range b.Lanes {
			parts := outside(l, keepouts)
			if len(parts) != 1 || parts[0] != l {
				lost = true
				parts = slices.DeleteFunc(parts, func(l Lane) bool { return l.lengthM() < p.radiusM/2 })
			}
			lanes = append(lanes, parts...)
		}
		if b.Lanes = lanes; len(lanes) > 0 {
			out = append(out, b)
		}
	}
	return out, lost
}

// outside returns the parts of a lane that no keep-out holds, in order; parts no
// longer than twice the clearance are left out. O(vertices).
func outside(l Lane, keepouts []grid.Polygon) []Lane {
	long := l.lengthM()
	box := grid.EmptyBounds().Add(l.From).Add(l.To)
	free := []float64{0, 1} // begin and end of parts, as shares of the lane
	for _, k := range keepouts {
		rings := append([]grid.Ring{k.Outer}, k.Holes...)
		if near(box, bounds(rings[:1])) {
			free = without(free, held(l, rings))
		}
	}
	if long == 0 || len(free) == 2 && free[0] == 0 && free[1] == 1 {
		if len(free) == 0 {
			return nil
		}
		return []Lane{l}
	}
	var out []Lane
	for i := 0; i < len(free); i += 2 {
		from, to := free[i], free[i+1]
		if from > 0 {
			from += clearanceM / long
		}
		if to < 1 {
			to -= clearanceM / long
		}
		if to > from {
			out = append(out, Lane{l.part(from), l.part(to)})
		}
	}
	return out
}

func (l Lane) part(f float64) grid.XY {
	switch f {
	case 0:
		return l.From
	case 1:
		return l.To
	}
	return grid.XY{X: l.From.X + f*(l.To.X-l.From.X), Y: l.From.Y + f*(l.To.Y-l.From.Y)}
}

// held returns the stretches of a lane inside rings, odd-even, as shares of it.
func held(l Lane, rings []grid.Ring) (out []float64) {
	at := []float64{0, 1}
	for _, r := range rings {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			sa, sb := turning(l.From, l.To, a), turning(l.From, l.To, b)
			if (sa > 0) == (sb > 0) {
				continue
			}
			ta, tb := turning(a, b, l.From), turning(a, b, l.To)
			if f := ta / (ta - tb); f > 0 && f < 1 {
				at = append(at, f)
			}
		}
	}
	slices.Sort(at)
	for i := 0; i+1 < len(at); i++ {
		if holds(rings, l.part((at[i]+at[i+1])/2)) {
			out = append(out, at[i], at[i+1])
		}
	}
	return out
}

// without takes stretches out of others, both in order.
func without(free, held []float64) []float64 {
	for i := 0; i < len(held); i += 2 {
		var out []float64
		for k := 0; k < len(free); k += 2 {
			for _, s := range [2][2]float64{{free[k], math.Min(free[k+1], held[i])}, {math.Max(free[k], held[i+1]), free[k+1]}} {
				if s[1] > s[0] {
					out = append(out, s[0], s[1])
				}
			}
		}
		free = out
	}
	return free
}

const (
	rimShare = 0.985 // of the ground, at which no more lanes are added
	maxRim   = 60    // lanes added
)

// rim adds lanes for ground that keep-outs have cut off, each beside the largest
// piece left: of 24 directions and a few offsets the lane that sweeps most of it for
// its length and a turn.
func (p *planner) rim(ground, keepouts []grid.Polygon, blocks []Block) []Block {
	left := groundMask(ground, 2*p.radiusM)
	whole := float64(left.Count())
	swept := sweptBy(left.Spec(), blocks, p.radiusM)
	left.AndNot(swept)
	for range maxRim {
		if float64(left.Count()) <= (1-rimShare)*whole {
			break
		}
		lane, ok := p.rimLane(largest(left), keepouts)
		if !ok {
			break
		}
		done := grid.NewMask(left.Spec())
		coverage.Sweep(done, []grid.XY{lane.From, lane.To}, p.radiusM)
		left.AndNot(done)
		blocks = withRim(blocks, lane)
	}
	return blocks
}

// largest returns the centres of the cells of the largest connected piece.
func largest(m *grid.Mask) []grid.XY {
	runs := m.Runs()
	piece, n := runs.Components(true)
	count := make([]int, n)
	for i, r := range runs.All {
		count[piece[i]] += r.Hi - r.Lo
	}
	best := slices.Index(count, slices.Max(count))
	var out []grid.XY
	for i, r := range runs.All {
		for c := r.Lo; c < r.Hi && int(piece[i]) == best; c++ {
			out = append(out, runs.Spec.Centre(grid.Cell{Col: c, Row: r.Row}))
		}
	}
	return out
}

// rimLane is the lane that sweeps most cells for what it costs.
func (p *planner) rimLane(cells []grid.XY, keepouts []grid.Polygon) (best Lane, ok bool) {
	most := 0.0
	for i := range 24 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 24)
		ax := axis{sin, cos}
		b := grid.EmptyBounds()
		turned := make([]grid.XY, len(cells))
		for k, q := range cells {
			turned[k] = ax.into(q)
			b = b.Add(turned[k])
		}
		for _, x := range []float64{(b.Min.X + b.Max.X) / 2, b.Min.X, b.Max.X, b.Min.X + 0.6*p.radiusM, b.Max.X - 0.6*p.radiusM} {
			l := Lane{ax.back(grid.XY{X: x, Y: b.Min.Y}), ax.back(grid.XY{X: x, Y: b.Max.Y})}
			for _, part := range outside(l, keepouts) {
				from, to, n := p.needed(turned, x, ax.into(part.From).Y, ax.into(part.To).Y)
				if v := float64(n) / (to - from + p.turnM); n > 0 && v > most {
					most, ok = v, true
					best = Lane{ax.back(grid.XY{X: x, Y: from}), ax.back(grid.XY{X: x, Y: to})}
				}
			}
		}
	}
	return best, ok
}

// needed returns how many cells a lane at x sweeps between lo and hi, and the
// shortest stretch of it that sweeps as many.
func (p *planner) needed(cells []grid.XY, x, lo, hi float64) (from, to float64, n int) {
	s := span{lo: lo, hi: hi, first: hi, last: lo}
	for _, q := range cells {
		reach := p.radiusM*p.radiusM - (q.X-x)*(q.X-x)
		if reach < 0 {
			continue
		}
		if reach = math.Sqrt(reach); q.Y+reach >= lo && q.Y-reach <= hi {
			n++
			s.first, s.last = math.Min(s.first, q.Y+reach), math.Max(s.last, q.Y-reach)
		}
	}
	from, to = s.ends(p.radiusM)
	return math.Max(lo, math.Min(from, hi)), math.Min(hi, math.Max(to, lo)), n
}

// withRim adds a lane to the block whose lanes come nearest to it.
func withRim(blocks []Block, l Lane) []Block {
	best, nearest := -1, math.Inf(1)
	for i, b := range blocks {
		for _, o := range b.Lanes {
			if d := between(closestOn(o.From, o.To, l.From), l.From); d < nearest {
				best, nearest = i, d
			}
		}
	}
	if best < 0 {
		return append(blocks, Block{DirectionDeg: along(l.From, l.To).deg(), Rim: []Lane{l}})
	}
	blocks[best].Rim = append(blocks[best].Rim, l)
	return blocks
}
