package site

import (
	"math"
	"slices"

	"untrod/grid"
	"untrod/track"
)

// How a camera's clock is set by where its photos were taken: common practice, no
// source.
const (
	ClockReachS = 15 * 3600 // any two zones and some more
	clockStepS  = 10
	clockFitM   = 25  // a clock that leaves photos further than this off on average is not believed
	clockApartM = 4   // nor one that another fits as well as to this
	clockSameS  = 120 // unless it is nearly the same
	clockCapM   = 200 // no photo counts for more
	clockPhotos = 30  // that are looked at
	staleFixS   = 120 // a phone's clock is not doubted for less
)

// ClockOf estimates how far a camera's clock is ahead of UTC, in seconds, by those
// of its photos that know more than the clock showed. ok is false when they do not
// tell, and why then says why.
//
// Photos with the time of their position, as receivers give it, tell at once: the
// median of the differences counts. For a camera that knows its zone, less than 2
// minutes are taken for a position that was old. Else two photos or more with a position
// are held against the logs: the offset within 15 hours counts that brings them on
// average nearest to where the walker then was, to a second; it is refused when that
// is over 25 m, or when another offset, over 2 minutes from it, fits as well to 4 m.
// Up to 30 photos are used. O(offsets x photos x visits x log fixes), tenths of a
// second.
func (w *Whereabouts) ClockOf(photos []*Photo) (aheadS float64, why string, ok bool) {
	var ahead []float64
	var placed []*Photo
	for _, p := range photos {
		if !p.Shown.Known() {
			continue
		}
		if p.Fix.Known() {
			ahead = append(ahead, p.Shown.Sub(p.Fix))
		}
		if p.Pos.Valid() {
			placed = append(placed, p)
		}
	}
	if len(ahead) > 0 {
		slices.Sort(ahead)
		s := ahead[len(ahead)/2]
		if photos[0].Zoned && math.Abs(s) < staleFixS {
			s = 0
		}
		return s, "", true
	}
	switch {
	case len(placed) == 0:
		return 0, "none has a place and a time of its own", false
	case photos[0].Zoned:
		return 0, "", true
	case len(placed) < 2:
		return 0, "only one has a place and a time of its own", false
	}
	return w.fitClock(evenly(placed, clockPhotos))
}

// evenly takes n of ps, spread over all.
func evenly(ps []*Photo, n int) []*Photo {
	if len(ps) <= n {
		return ps
	}
	out := make([]*Photo, n)
	for i := range out {
		out[i] = ps[i*len(ps)/n]
	}
	return out
}

// fitClock tries every offset.
func (w *Whereabouts) fitClock(photos []*Photo) (aheadS float64, why string, ok bool) {
	at := make([][]grid.XY, len(w.visits))
	for i, v := range w.visits {
		for _, p := range photos {
			at[i] = append(at[i], v.frame.ToXY(p.Pos))
		}
	}
	miss := func(s int) float64 { return w.miss(photos, at, s) }
	costs := map[int]float64{}
	best := -ClockReachS
	for s := -ClockReachS; s <= ClockReachS; s += clockStepS {
		costs[s] = miss(s)
		if costs[s] < costs[best] || costs[s] == costs[best] && max(s, -s) < max(best, -best) {
			best = s
		}
	}
	if costs[best] > clockFitM {
		return 0, "their places fit no visit of the book", false
	}
	for s, c := range costs {
		if max(s-best, best-s) > clockSameS && c < costs[best]+clockApartM {
			return 0, "their places fit several times", false
		}
	}
	fine := best
	for s := best - clockStepS; s <= best+clockStepS; s++ {
		if miss(s) < miss(fine) {
			fine = s
		}
	}
	return float64(fine), "", true
}

// miss is how far the photos lie on average from where the walker was, if the
// camera's clock is s seconds ahead.
func (w *Whereabouts) miss(photos []*Photo, at [][]grid.XY, s int) float64 {
	sum := 0.0
	for k, p := range photos {
		least := float64(clockCapM)
		for i := range w.visits {
			if q, ok := w.visits[i].onLine(p.Shown - track.Instant(s)*1000); ok {
				least = math.Min(least, math.Hypot(q.X-at[i][k].X, q.Y-at[i][k].Y))
			}
		}
		sum += least
	}
	return sum / float64(len(photos))
}
