package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// reachM is how far away a landmark may lie to find a place from it: over 200 m two
// degrees of compass error are 7 m. A choice, no source.
const reachM = 200

// write puts a trip into the plan.
func (d *draft) write(t *trip) {
	p := d.plan
	p.Expected = t.brings
	ranks := d.ranks(t)
	unreached := 0
	for k, i := range t.stops {
		s := d.stopped(t, k)
		d.stops[i].planned = true
		s.Why = d.why(d.stops[i], ranks[k], len(t.stops))
		if s.Reach = d.reachOf(s); len(s.Reach) == 0 {
			unreached++
		}
		p.Stops = append(p.Stops, s)
		p.SearchS, p.WalkS, p.DigS = p.SearchS+s.SearchS, p.WalkS+s.WalkS, p.DigS+s.DigS
		p.LaneM, p.WalkM = p.LaneM+t.forms[k].laneM, p.WalkM+s.ApproachM+t.forms[k].walkM
	}
	if n := len(t.stops); n > 0 {
		home := t.ways[n]
		p.Home, p.WalkS, p.WalkM = home.line, p.WalkS+home.inS, p.WalkM+home.longM
	}
	p.UsedS = t.usedS
	if left := d.set.BudgetS - t.usedS; d.gotAll(t) && left >= 600 {
		d.note(fmt.Sprintf("all ground that can be reached is planned, and %.0f min are left", math.Floor(left/60)))
	}
	switch {
	case len(d.r.Local.Landmarks) == 0:
		d.note("the site has no landmarks to find the lanes from")
	case unreached > 0:
		d.note(fmt.Sprintf("%d of %d stops have no landmark near enough to find their lanes from", unreached, len(t.stops)))
	}
	if n := d.r.Slivers.Count; n > 0 {
		d.note(fmt.Sprintf("%d pieces of unswept ground too small or narrow for a gap are not planned for", n))
	}
}

func (d *draft) stopped(t *trip, k int) Stop {
	s, f, w := d.stops[t.stops[k]], t.forms[k], t.ways[k]
	out := Stop{
		Number: k + 1, Part: s.part, Worth: s.worth, FreshM2: s.freshM2, AreaM2: s.areaM2,
		Blocks: f.blocks, ApproachM: w.longM, Approach: w.line,
		WalkS: w.inS + f.walkS, SearchS: f.searchS, DigS: f.digS,
	}
	for i, g := range s.of.gaps {
		if s.holds(i) {
			out.Gaps = append(out.Gaps, g.ID)
		}
	}
	slices.Sort(out.Gaps)
	return out
}

func (d *draft) reachOf(s Stop) []Bearing {
	near := Bearings(d.r.Frame, d.r.Local.Landmarks, s.Blocks[0].all()[0].From)
	return slices.DeleteFunc(near, func(b Bearing) bool { return b.DistanceM > reachM })
}

// ranks are the places of a trip's stops by worth, from 1.
func (d *draft) ranks(t *trip) []int {
	order, out := make([]int, len(t.stops)), make([]int, len(t.stops))
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(d.stops[t.stops[b]].worth, d.stops[t.stops[a]].worth)
	})
	for i, k := range order {
		out[k] = i + 1
	}
	return out
}

// why tells in plain words what makes the stop worth its place.
func (d *draft) why(s *stop, rank, of int) string {
	parts := []string{fmt.Sprintf("number %d of %d by worth", rank, of)}
	if name, times := d.drawnBy(s); name != "" {
		parts = append(parts, fmt.Sprintf("near %q, worth %.1f times plain ground", name, times))
	}
	fresh := s.freshM2 / s.areaM2 / d.gain.share
	switch {
	case fresh < 0.8:
		parts = append(parts, fmt.Sprintf("in doubt: swept already with a chance of %.0f %%", 100-100*fresh))
	case d.r.Certainty == nil:
		parts = append(parts, "not swept by the log")
	default:
		parts = append(parts, "hardly swept so far")
	}
	return strings.Join(parts, "; ")
}

// drawnBy names the landmark that adds most to a stop's worth and says how many times
// as much as plain ground the stop is worth; no name when all add less than a tenth.
func (d *draft) drawnBy(s *stop) (name string, times float64) {
	times = s.worth / (s.freshM2 * d.gain.found)
	if !(times >= 1.1) {
		return "", times
	}
	most := 0.0
	for i := range d.gain.landmarks {
		l, adds := &d.gain.landmarks[i], 0.0
		for _, b := range s.forms[0].blocks {
			for _, lane := range b.all() {
				for _, at := range []float64{0, 0.25, 0.5, 0.75, 1} {
					adds += l.at(lane.part(at)) * lane.lengthM()
				}
			}
		}
		if adds > most {
			name, most = l.Name, adds
		}
	}
	return name, times
}
