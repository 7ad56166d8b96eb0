package track

import (
	"math"
	"slices"

	"untrod/grid"
)

// untimedMS is the pace assumed of a log without times.
const untimedMS = 0.4

// layKnots takes the fixes of a walk together, everyS seconds at a time, leg by
// leg, and fills stretches without fixes.
func layKnots(w Walk, everyS float64) (knots []knot, lines []knotLine) {
	l := layer{everyS: everyS, t0: firstTime(w), usual: usualAccuracy(w)}
	for _, p := range w.Paths {
		l.broken = true
		for _, leg := range p.Legs {
			from := len(l.knots)
			lead := !l.broken
			for i := leg.From; i < leg.To; {
				i = l.gather(p, i, leg.To)
			}
			if leg.Kind == Searching {
				if lead {
					from--
				}
				lines = append(lines, knotLine{from, len(l.knots)})
			}
		}
	}
	return l.knots, lines
}

type layer struct {
	everyS float64
	t0     Instant
	usual  float64
	knots  []knot
	broken bool
}

// gather makes a knot of the fixes from i on, within everyS and before end, and
// returns where the next begins.
func (l *layer) gather(p Path, i, end int) int {
	k := knot{broken: l.broken, poor: 1}
	start, j := p.Points[i].T, i
	for ; j < end && (j == i || p.Timed && p.Points[j].T.Sub(start) < l.everyS-0.01); j++ {
		q := p.Points[j]
		k.obs.X += q.X
		k.obs.Y += q.Y
		if p.Timed {
			k.t += q.T.Sub(l.t0)
		}
	}
	k.n = j - i
	n := float64(k.n)
	k.obs, k.t = grid.XY{X: k.obs.X / n, Y: k.obs.Y / n}, k.t/n
	k.poor = l.poor(p.Points[i])
	last := knot{}
	if len(l.knots) > 0 {
		last = l.knots[len(l.knots)-1]
	}
	if !p.Timed {
		k.t = last.t + math.Max(0.1, math.Hypot(k.obs.X-last.obs.X, k.obs.Y-last.obs.Y)/untimedMS)
		if k.broken {
			k.t = last.t + 600
		}
	}
	if len(l.knots) > 0 && k.t <= last.t {
		k.t = last.t + 0.1
	}
	l.fill(last, k)
	l.knots = append(l.knots, k)
	l.broken = false
	return j
}

// fill adds knots without fixes between two that are far apart in time, so that
// the walk between is drawn as unknown as it is.
func (l *layer) fill(a, b knot) {
	if b.broken {
		return
	}
	n := math.Ceil((b.t - a.t) / fillS)
	for i := 1.0; i < n; i++ {
		l.knots = append(l.knots, knot{t: a.t + (b.t-a.t)*i/n, poor: 1})
	}
}

// poor is how many times its usual accuracy or dilution the log gives a fix, in
// steps of a quarter, from 1 to 3: a receiver that boasts is not believed.
func (l *layer) poor(q Point) float64 {
	v := float64(q.AccM)
	if v != v {
		v = float64(q.HDOP)
	}
	if v != v || l.usual == 0 {
		return 1
	}
	return math.Min(3, math.Max(1, math.Floor(4*v/l.usual)/4))
}

// usualAccuracy is the median of what the log says of its accuracy, 0 when it
// says nothing.
func usualAccuracy(w Walk) float64 {
	var all []float64
	for _, p := range w.Paths {
		for i := 0; i < len(p.Points); i += 7 {
			v := float64(p.Points[i].AccM)
			if v != v {
				v = float64(p.Points[i].HDOP)
			}
			if v == v {
				all = append(all, v)
			}
		}
	}
	if len(all) == 0 {
		return 0
	}
	slices.Sort(all)
	return all[len(all)/2]
}

func firstTime(w Walk) Instant {
	for _, p := range w.Paths {
		if p.Timed && len(p.Points) > 0 {
			return p.Points[0].T
		}
	}
	return NoTime
}
