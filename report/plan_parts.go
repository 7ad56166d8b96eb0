package report

import (
	"fmt"
	"math"
	"strconv"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
)

// stopLane is a lane of a stop, numbered in walking order.
type stopLane struct {
	plan.Lane
	number, block int // from 1
	rim           bool
}

func stopLanes(s plan.Stop) (out []stopLane) {
	for b, block := range s.Blocks {
		for _, l := range block.Lanes {
			out = append(out, stopLane{l, len(out) + 1, b + 1, false})
		}
		for _, l := range block.Rim {
			out = append(out, stopLane{l, len(out) + 1, b + 1, true})
		}
	}
	return out
}

func apart(a, b grid.XY) float64 { return math.Hypot(b.X-a.X, b.Y-a.Y) }

func laneM(l plan.Lane) float64 { return apart(l.From, l.To) }

func wayM(way []grid.XY) (m float64) {
	for i := 1; i < len(way); i++ {
		m += apart(way[i-1], way[i])
	}
	return m
}

// bearings are degrees clockwise from true and from magnetic north.
type bearings struct{ trueDeg, magneticDeg float64 }

// compassed adds what a compass shows to a true bearing, which may be NaN.
func compassed(trueDeg float64, m plan.Magnetic) bearings {
	d := math.Mod(trueDeg-m.DeclinationDeg, 360)
	if d < 0 {
		d += 360
	}
	return bearings{trueDeg, d}
}

func bearingOf(r *coverage.Result, p *plan.Plan, from, to grid.XY) bearings {
	return compassed(plan.TrueBearing(r.Frame, from, to), p.Magnetic)
}

// threeDigits is a bearing as it is spoken: 007, 093, 000 for 359.7.
func threeDigits(deg float64) string {
	return fmt.Sprintf("%03d", (int(math.Round(deg))%360+360)%360)
}

// gapsOf names what a stop covers: "gap 7", "gap 7 part b", "gaps 7, 9 and 12".
func gapsOf(s plan.Stop) string {
	if len(s.Gaps) == 1 {
		out := "gap " + strconv.Itoa(s.Gaps[0])
		if s.Part != "" {
			out += " part " + s.Part
		}
		return out
	}
	ids := make([]string, len(s.Gaps))
	for i, g := range s.Gaps {
		ids[i] = strconv.Itoa(g)
	}
	return "gaps " + listed(ids)
}

// planItem is a place, of one point, or a line to walk.
type planItem struct {
	kind       itemKind
	stop       int // its number; 0 for the start, one more than the last for the end
	name, desc string
	xy         []grid.XY
}

type itemKind string

const (
	itemStart  itemKind = "start"
	itemWay    itemKind = "way"   // from the stop before
	itemBegin  itemKind = "begin" // of a stop's first lane
	itemCorner itemKind = "corner"
	itemLanes  itemKind = "lanes" // of a block, to and fro
	itemHome   itemKind = "way home"
	itemEnd    itemKind = "end"
)

// maxNameRunes is what small screens show of a name.
const maxNameRunes = 20

// itemsOf is all there is to carry into the field, in walking order. Names are
// unique, within maxNameRunes, and sort in this order.
func itemsOf(p *plan.Plan, u Units) (out []planItem) {
	n := itemNames{stops: digits(len(p.Stops) + 1)}
	out = append(out, planItem{itemStart, 0, n.of(0, "set out"), "set out here", []grid.XY{p.Settings.Start}})
	for _, s := range p.Stops {
		n.lanes, n.corners = digits(len(stopLanes(s))), digits(4*len(s.Blocks))
		out = append(out, n.stop(s, u)...)
	}
	last := len(p.Stops) + 1
	if len(p.Home) > 1 {
		out = append(out, planItem{itemHome, last, n.of(last, "back"), u.length(wayM(p.Home)), p.Home})
	}
	return append(out, planItem{itemEnd, last, n.of(last, "end"), "the end", []grid.XY{p.Settings.End}})
}

func digits(n int) int { return len(strconv.Itoa(n)) }

// itemNames holds how many digits numbers take, so that names sort.
type itemNames struct{ stops, lanes, corners int }

func (n itemNames) of(stop int, what string) string {
	return fmt.Sprintf("%0*d %s", max(2, n.stops), stop, what)
}

func (n itemNames) stop(s plan.Stop, u Units) (out []planItem) {
	all := stopLanes(s)
	if len(all) == 0 {
		return nil
	}
	if len(s.Approach) > 1 {
		out = append(out, planItem{itemWay, s.Number, n.of(s.Number, "approach"), u.length(s.ApproachM), s.Approach})
	}
	out = append(out, planItem{itemBegin, s.Number, n.begin(s), beginWords(s, u), []grid.XY{all[0].From}})
	corner, at := 0, 0
	var lines []planItem
	for _, b := range s.Blocks {
		block := all[at : at+len(b.Lanes)+len(b.Rim)]
		at += len(block)
		for _, q := range cornersOf(b) {
			if q == all[0].From { // named already
				continue
			}
			corner++
			name := n.of(s.Number, fmt.Sprintf("corner %0*d", n.corners, corner))
			out = append(out, planItem{itemCorner, s.Number, name, gapsOf(s), []grid.XY{q}})
		}
		lines = append(lines, n.block(s, block, u))
	}
	return append(out, lines...)
}

// begin names the start of a stop, after its first gap where there is room.
func (n itemNames) begin(s plan.Stop) string {
	name := n.of(s.Number, "begin")
	if len(s.Gaps) > 0 {
		if long := name + " gap " + strconv.Itoa(s.Gaps[0]) + s.Part; len(long) <= maxNameRunes {
			return long
		}
	}
	return name
}

func beginWords(s plan.Stop, u Units) string {
	return fmt.Sprintf("%s, %s of new ground", gapsOf(s), u.area(s.FreshM2))
}

func (n itemNames) block(s plan.Stop, lanes []stopLane, u Units) planItem {
	first, last := lanes[0].number, lanes[len(lanes)-1].number
	what := fmt.Sprintf("lanes %0*d-%0*d", n.lanes, first, n.lanes, last)
	if first == last {
		what = fmt.Sprintf("lane %0*d", n.lanes, first)
		if n.lanes > 1 || len(stopLanes(s)) > 1 { // to sort among the lanes of other blocks
			what = fmt.Sprintf("lanes %0*d", n.lanes, first)
		}
	}
	var line []grid.XY
	m := 0.0
	for _, l := range lanes {
		line, m = append(line, l.From, l.To), m+laneM(l.Lane)
	}
	return planItem{itemLanes, s.Number, n.of(s.Number, what), gapsOf(s) + ", " + u.length(m) + " of lanes", line}
}

// cornersOf are the ends of the outermost lanes of a block, where flags go; none of
// a single lane.
func cornersOf(b plan.Block) []grid.XY {
	if len(b.Lanes) < 2 {
		return nil
	}
	first, last := b.Lanes[0], b.Lanes[len(b.Lanes)-1]
	return []grid.XY{first.From, first.To, last.From, last.To}
}
