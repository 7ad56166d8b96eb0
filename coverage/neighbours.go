package coverage

import (
	"cmp"
	"math"
	"slices"

	"untrod/grid"
	"untrod/track"
)

// Two visits are compared when their times overlap, give or take a time zone of 14
// hours, and their places come this near.
const (
	zonesMS = 14 * 3600 * 1000
	nearM   = 30
)

// neighbours returns the pairs of visits that may be of one walk, in each the one
// that the other can be within first; pairs of better visits before others.
func (c *copies) neighbours() [][2]int {
	boxes := make([]grid.Bounds, len(c.visits))
	for i, v := range c.visits {
		boxes[i] = boxOf(v.walk).Pad(nearM / 2)
	}
	var pairs [][2]int
	for i, a := range c.visits { // in order of time, those without times last
		for j := i + 1; j < len(c.visits); j++ {
			if b := c.visits[j]; a.start.Known() && b.start > a.end+zonesMS {
				j = c.untimed(j) - 1
				continue
			}
			if overlap(boxes[i], boxes[j]) {
				pairs = append(pairs, [2]int{i, j})
			}
		}
	}
	rank := c.rank(pairs)
	for i, p := range pairs {
		if rank[p[0]] > rank[p[1]] {
			pairs[i] = [2]int{p[1], p[0]}
		}
	}
	slices.SortFunc(pairs, func(a, b [2]int) int {
		return cmp.Or(cmp.Compare(rank[a[0]], rank[b[0]]), cmp.Compare(rank[a[1]], rank[b[1]]))
	})
	return pairs
}

// untimed is the first visit without times from i on.
func (c *copies) untimed(i int) int {
	n, _ := slices.BinarySearchFunc(c.visits[i:], false, func(v visit, _ bool) int {
		if v.start.Known() {
			return -1
		}
		return 0
	})
	return i + n
}

// rank orders the visits of pairs by worth: first those with times, then those with
// more fixes at a new place, which trimmed, thinned and rounded copies lack.
func (c *copies) rank(pairs [][2]int) map[int]int {
	var order []int
	for _, p := range pairs {
		for _, i := range p {
			if _, ok := c.quality[i]; !ok {
				c.quality[i] = qualityOf(c.visits[i].walk)
				order = append(order, i)
			}
		}
	}
	slices.SortFunc(order, func(a, b int) int {
		if s, t := c.visits[a].start.Known(), c.visits[b].start.Known(); s != t {
			if s {
				return -1
			}
			return 1
		}
		return cmp.Or(cmp.Compare(c.quality[b].places, c.quality[a].places), c.byQuality(a, b))
	})
	rank := map[int]int{}
	for n, i := range order {
		rank[i] = n
	}
	return rank
}

func boxOf(w track.Walk) grid.Bounds {
	b := grid.EmptyBounds()
	for _, p := range w.Paths {
		for _, q := range p.Points {
			b = b.Add(q.XY)
		}
	}
	return b
}

func overlap(a, b grid.Bounds) bool {
	return a.Min.X <= b.Max.X && b.Min.X <= a.Max.X && a.Min.Y <= b.Max.Y && b.Min.Y <= a.Max.Y
}

// quality is what tells the better of two logs.
type quality struct {
	places     int     // fixes at another place than the one before
	rate       int     // of these by time, in steps of a quarter
	accM, hdop float64 // medians as the log says; infinite where it does not
	loggedS    float64
}

func qualityOf(w track.Walk) quality {
	q := quality{}
	var acc, hdop []float64
	for _, p := range w.Paths {
		for i, f := range p.Points {
			if i == 0 || f.XY != p.Points[i-1].XY {
				q.places++
			}
			acc, hdop = append(acc, float64(f.AccM)), append(hdop, float64(f.HDOP))
		}
		if n := len(p.Points); p.Timed && n > 0 {
			q.loggedS += p.Points[n-1].T.Sub(p.Points[0].T)
		}
	}
	q.accM, q.hdop = medianKnown(acc), medianKnown(hdop)
	q.rate = int(math.Round(math.Log(float64(1+q.places)/math.Max(1, q.loggedS)) / math.Log(1.25)))
	return q
}

func medianKnown(xs []float64) float64 {
	xs = slices.DeleteFunc(xs, math.IsNaN)
	if len(xs) == 0 {
		return math.Inf(1)
	}
	slices.Sort(xs)
	return xs[len(xs)/2]
}

// byQuality puts the better log first: more fixes a minute, more accurate as it says
// itself, longer, more fixes, and then by name.
func (c *copies) byQuality(i, j int) int {
	p, q := c.quality[i], c.quality[j]
	a, b := c.visits[i], c.visits[j]
	return cmp.Or(cmp.Compare(q.rate, p.rate), cmp.Compare(p.accM, q.accM), cmp.Compare(p.hdop, q.hdop),
		cmp.Compare(q.loggedS, p.loggedS), cmp.Compare(b.walk.Fixes, a.walk.Fixes),
		cmp.Compare(a.file, b.file), cmp.Compare(a.number, b.number))
}
