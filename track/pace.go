package track

import "math"

// headway is what one step contributes to the sums over a window: its time in
// seconds and the metres made good, measured over short and over long chords.
type headway struct{ mid, s, short, long float64 }

// pace sets the kind of each step of ps: kinds[i] is that of the step from
// ps[i] to ps[i+1].
func pace(kinds []Kind, ps []Point, set LegSettings) {
	hs := chords(ps)
	near, wide := window{hs: hs, half: set.WindowS / 2}, window{hs: hs, half: set.HeadwayS / 2}
	for i := range kinds {
		n, w := near.around(i), wide.around(i)
		switch v := n.short / n.s; {
		case !(v >= set.StandMS):
			kinds[i] = Standing
		case w.long < set.MinHeadway*w.short:
			kinds[i] = Lost
		case v < set.SearchMaxMS:
			kinds[i] = Searching
		default:
			kinds[i] = Walking
		}
	}
}

const chordS = 5 // s, over which displacement is measured

// chords measures, for each step, the displacement over chordS around it, and
// over twice that and at least one fix more at each end, both scaled to the
// step's own duration.
func chords(ps []Point) []headway {
	hs := make([]headway, len(ps)-1)
	var short, long chord
	for i := range hs {
		mid := (ps[i].T + ps[i+1].T) / 2
		short.widen(ps, mid, chordS*500, i, i+1)
		long.widen(ps, mid, chordS*1000, max(short.from-1, 0), min(short.to+1, len(ps)-1))
		s := ps[i+1].T.Sub(ps[i].T)
		hs[i] = headway{float64(mid-ps[0].T) / 1000, s, s * short.speed(ps), s * long.speed(ps)}
	}
	return hs
}

// chord joins two points of a path.
type chord struct{ from, to int }

// widen moves c forward to the points within half of mid; from is at most a
// and to at least b.
func (c *chord) widen(ps []Point, mid, half Instant, a, b int) {
	for c.from < a && ps[c.from].T < mid-half {
		c.from++
	}
	for c.to = max(c.to, b); c.to+1 < len(ps) && ps[c.to+1].T <= mid+half; {
		c.to++
	}
}

// speed is the displacement over the chord by its time; 0 where that is none.
func (c chord) speed(ps []Point) float64 {
	a, b := ps[c.from], ps[c.to]
	s := b.T.Sub(a.T)
	if s == 0 {
		return 0
	}
	return math.Sqrt(squared(a, b)) / s
}

// squared is the squared distance from a to b, the same on every machine.
func squared(a, b Point) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	return float64(dx*dx) + float64(dy*dy)
}

// window sums the steps whose middle lies within half seconds of that of a step
// that moves forward.
type window struct {
	hs       []headway
	half     float64
	from, to int // steps summed
	sum      headway
}

func (w *window) around(i int) headway {
	for ; w.to < len(w.hs) && w.hs[w.to].mid <= w.hs[i].mid+w.half; w.to++ {
		w.add(w.hs[w.to], 1)
	}
	for ; w.hs[w.from].mid < w.hs[i].mid-w.half; w.from++ {
		w.add(w.hs[w.from], -1)
	}
	return w.sum
}

func (w *window) add(h headway, sign float64) {
	w.sum.s += sign * h.s
	w.sum.short += sign * h.short
	w.sum.long += sign * h.long
}
