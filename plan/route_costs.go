package plan

import (
	"cmp"
	"math"
	"slices"
)

// costs remembers what Tour.Go answered. Each pair has one slot; pairs that share
// a slot push each other out, which happens only above about 1,400 stops.
type costs struct {
	ask   func(i, j int) float64
	width uint64
	mask  uint64
	slots []cost
}

type cost struct {
	pair    uint64 // i*width + j + 1; 0 is empty
	seconds float64
}

// maxCosts bounds the memory to 32 MB.
const maxCosts = 1 << 21

func newCosts(places int, ask func(i, j int) float64) *costs {
	size := 1
	for size < min(places*places, maxCosts) {
		size *= 2
	}
	return &costs{ask: ask, width: uint64(places), mask: uint64(size - 1), slots: make([]cost, size)}
}

// get returns the seconds from i to j, +Inf when there is no way.
func (c *costs) get(i, j int) float64 {
	pair := uint64(i)*c.width + uint64(j)
	slot := &c.slots[pair&c.mask]
	if slot.pair != pair+1 {
		v := c.ask(i, j)
		if v != v {
			v = math.Inf(1)
		}
		*slot = cost{pair + 1, v}
	}
	return slot.seconds
}

// mostNear is how many near stops each stop knows of.
const mostNear = 24

// nearStops lists for each useful stop the useful ones nearest to it, nearest first.
func nearStops(t *Tour, c *costs, useful []int) [][]int {
	apart := func(i, j int) float64 { return min(c.get(i, j), c.get(j, i)) }
	if t.At != nil {
		apart = func(i, j int) float64 {
			dx, dy := t.At[i].X-t.At[j].X, t.At[i].Y-t.At[j].Y
			return float64(dx*dx) + float64(dy*dy)
		}
	}
	out := make([][]int, len(t.Worth))
	for _, i := range useful {
		out[i] = nearest(i, useful, apart)
	}
	return out
}

// nearest picks the stops nearest to i, ties by number.
func nearest(i int, among []int, apart func(i, j int) float64) []int {
	type near struct {
		stop int
		d    float64
	}
	kept := make([]near, 0, mostNear+1)
	for _, j := range among {
		if j == i {
			continue
		}
		d := apart(i, j)
		if len(kept) == mostNear && !(d < kept[mostNear-1].d) {
			continue
		}
		at, _ := slices.BinarySearchFunc(kept, d, func(n near, d float64) int {
			if n.d <= d {
				return -1
			}
			return cmp.Compare(n.d, d)
		})
		kept = slices.Insert(kept, at, near{j, d})
		kept = kept[:min(mostNear, len(kept))]
	}
	out := make([]int, len(kept))
	for k, n := range kept {
		out[k] = n.stop
	}
	return out
}
