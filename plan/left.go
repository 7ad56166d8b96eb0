package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// leaveOut lists the gaps that are not in the plan, or not all of them.
func (d *draft) leaveOut() {
	var closed []int
	for _, g := range d.grounds {
		for i, gap := range g.gaps {
			out := LeftOut{gap.ID, g.sums[i].areaM2, g.sums[i].worth, ""}
			of, in := 0, 0
			for _, s := range g.stops {
				if !s.holds(i) {
					continue
				}
				if of++; s.planned {
					in++
					out.AreaM2, out.Worth = out.AreaM2-s.by[i].areaM2, out.Worth-s.by[i].worth
				}
			}
			if in > 0 && in == of {
				continue
			}
			if out.Why = d.whyNot(g, in, of); out.Why == closedOff {
				closed = append(closed, gap.ID)
			}
			d.plan.Left = append(d.plan.Left, out)
		}
	}
	slices.SortStableFunc(d.plan.Left, func(a, b LeftOut) int {
		return cmp.Or(cmp.Compare(b.Worth, a.Worth), cmp.Compare(a.Gap, b.Gap))
	})
	d.noteClosed(closed)
}

const closedOff = "closed off by keep-outs"

func (d *draft) noteClosed(gaps []int) {
	slices.Sort(gaps)
	if len(gaps) > 1 && len(d.plan.Stops) == 0 {
		d.note("keep-outs close the start or the end off from every gap")
		return
	}
	for _, id := range gaps {
		d.note(fmt.Sprintf("gap %d is closed off by keep-outs", id))
	}
}

// whyNot tells why only in of the stops that hold a gap are in the plan.
func (d *draft) whyNot(g *ground, in, of int) string {
	if !g.laid {
		return "too little for the time it takes: other ground brings more"
	}
	if of == 0 {
		return "no room for a lane between keep-outs and boundary"
	}
	least, wayS := math.Inf(1), math.Inf(1)
	for _, s := range g.stops {
		least, wayS = math.Min(least, s.leastS()), math.Min(wayS, s.inS+s.outS)
	}
	switch {
	case in > 0:
		return fmt.Sprintf("in part: %d of its %d stops are planned, other ground brings more than the rest", in, of)
	case math.IsInf(wayS, 1):
		return closedOff
	case wayS > d.set.BudgetS:
		return fmt.Sprintf("too far for the time: %s of walking there and to the end", minutes(wayS))
	case least > d.set.BudgetS:
		return fmt.Sprintf("too long for the time: %s with the way there and to the end", minutes(least))
	}
	return "too little for the time and way it takes: other ground brings more"
}
