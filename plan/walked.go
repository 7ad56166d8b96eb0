package plan

import (
	"math"
	"slices"

	"untrod/grid"
	"untrod/track"
)

// LaneWalked is how a lane of a plan was walked, as the walk was logged: receiver error
// moves walks, and so lets lanes seem missed that were walked.
type LaneWalked struct {
	Stop, Lane int     // places in the lanes given, from 0
	Share      float64 // of its length swept: searched within half a swath
	// OffM is the median distance to the searching over those places of the lane that have
	// any within 2 swaths; NaN when none has. Where the lane beside it was walked and it
	// was not, that is their spacing.
	OffM float64
}

// Walked compares the lanes of a plan, given for each stop, with the searching legs of
// the session that followed, in the same frame's metres. Lanes are looked at every
// quarter of a swath; swathM is above 0. O(lane metres + points walked) where the walk
// does not keep to one spot.
func Walked(lanes [][]Lane, walk track.Walk, swathM float64) (out []LaneWalked) {
	near := newNear(walk, 2*swathM)
	for i, stop := range lanes {
		for k, l := range stop {
			w := LaneWalked{Stop: i, Lane: k, OffM: math.NaN()}
			n := max(1, int(math.Ceil(l.lengthM()/(swathM/4))))
			var off []float64
			swept := 0
			for j := range n {
				m := near.distance(l.part((float64(j) + 0.5) / float64(n)))
				if m <= swathM/2 {
					swept++
				}
				if m <= near.reachM {
					off = append(off, m)
				}
			}
			w.Share = float64(swept) / float64(n)
			if slices.Sort(off); len(off) > 0 {
				w.OffM = (off[(len(off)-1)/2] + off[len(off)/2]) / 2
			}
			out = append(out, w)
		}
	}
	return out
}

// nearWalk finds the searching near a place, by squares of its reach.
type nearWalk struct {
	reachM  float64
	squares map[grid.Cell][]edge
}

func newNear(walk track.Walk, reachM float64) *nearWalk {
	n := &nearWalk{reachM, map[grid.Cell][]edge{}}
	for _, p := range walk.Paths {
		for _, l := range p.Legs {
			line := p.Line(l)
			for i := 1; i < len(line) && l.Kind == track.Searching; i++ {
				n.put(edge{line[i-1].XY, line[i].XY})
			}
		}
	}
	return n
}

func (n *nearWalk) square(p grid.XY) grid.Cell {
	return grid.Cell{Col: int(math.Floor(p.X / n.reachM)), Row: int(math.Floor(p.Y / n.reachM))}
}

func (n *nearWalk) put(e edge) {
	b := grid.EmptyBounds().Add(e.a).Add(e.b)
	lo, hi := n.square(b.Min), n.square(b.Max)
	for c := lo.Col; c <= hi.Col; c++ {
		for r := lo.Row; r <= hi.Row; r++ {
			at := grid.Cell{Col: c, Row: r}
			n.squares[at] = append(n.squares[at], e)
		}
	}
}

// distance is exact up to the reach, beyond it at least as far.
func (n *nearWalk) distance(p grid.XY) float64 {
	least, at := math.Inf(1), n.square(p)
	for c := at.Col - 1; c <= at.Col+1; c++ {
		for r := at.Row - 1; r <= at.Row+1; r++ {
			for _, e := range n.squares[grid.Cell{Col: c, Row: r}] {
				least = math.Min(least, between(p, closestOn(e.a, e.b, p)))
			}
		}
	}
	return least
}
