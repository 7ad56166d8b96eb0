package report

import (
	"fmt"
	"math"
	"slices"

	"untrod/grid"
	"untrod/plan"
	"untrod/site"
)

// stop tells of one stop: why, how to get there, what to walk.
func (t *planTexter) stop(i int) {
	s := t.p.Stops[i]
	t.line("")
	t.para("", "%d. %s: %s of new ground, %s", s.Number, capital(gapsOf(s)), t.u.area(s.FreshM2), duration(s.SearchS+s.DigS))
	if why := Printable(s.Why); why != "" {
		t.hang("why", "%s", why)
	}
	from := "the start"
	if i > 0 {
		from = fmt.Sprintf("stop %d", t.p.Stops[i-1].Number)
	}
	t.hang("way", "%s from %s", t.u.length(s.ApproachM), from)
	label := "begin"
	for _, b := range s.Reach {
		t.hang(label, "%s", t.reach(b))
		label = ""
	}
	if all := stopLanes(s); len(s.Reach) == 0 && len(all) > 0 {
		t.hang(label, "at %s; no landmark is near enough to find it from", t.spot(all[0].From))
	}
	label = "walk"
	var end *grid.XY
	number := 1 // of the block's first lane
	for k := range s.Blocks {
		t.block(label, &s.Blocks[k], number, end)
		number += len(s.Blocks[k].Lanes) + len(s.Blocks[k].Rim)
		if at, ok := endOf(s.Blocks[k]); ok {
			end, label = &at, "then"
		}
	}
}

// reach says how to get to a place from a landmark.
func (t *planTexter) reach(b plan.Bearing) string {
	name := Printable(b.Landmark)
	if name == "" {
		name = "the unnamed landmark"
	}
	switch {
	case b.Mark:
		name += " (mark)"
	case t.extended(b):
		name = "the nearest point of " + name
	}
	if b.DistanceM < 1 || math.IsNaN(b.TrueDeg) {
		return "at " + name
	}
	return fmt.Sprintf("%s (%s) from %s on %s", t.u.length(b.DistanceM), t.paced(b.DistanceM), name,
		t.bearing(compassed(b.TrueDeg, t.p.Magnetic)))
}

// extended reports whether a landmark is a line or an area, of which the nearest
// point is meant.
func (t *planTexter) extended(b plan.Bearing) bool {
	return slices.ContainsFunc(t.r.Local.Landmarks, func(l site.LocalLandmark) bool {
		return l.Name == b.Landmark && l.Shape != site.PointShape
	})
}

func (t *planTexter) paced(m float64) string { return count(plan.Paces(m, t.p.Settings.PaceM), "pace") }

// bearing is 085 true, 081 by compass.
func (t *planTexter) bearing(b bearings) string {
	out := threeDigits(b.trueDeg) + " true"
	if m := t.p.Magnetic; m.HorizontalNT > 0 && !m.Blackout() {
		out += ", " + threeDigits(b.magneticDeg) + " by compass"
	}
	return out
}

// block tells of a block of lanes, and how it is reached from where the one before
// it ended.
func (t *planTexter) block(label string, b *plan.Block, number int, end *grid.XY) {
	all := append(append([]plan.Lane{}, b.Lanes...), b.Rim...)
	if len(all) == 0 {
		return
	}
	lead := ""
	if end != nil && apart(*end, all[0].From) >= 0.5 {
		m := apart(*end, all[0].From)
		lead = fmt.Sprintf("%s (%s) on %s to ", t.u.length(m), t.paced(m), t.bearing(bearingOf(t.r, t.p, *end, all[0].From)))
	}
	if len(b.Lanes) > 0 {
		t.hang(label, "%s%s, %s", lead, numbered(number, len(b.Lanes)), t.lanes(b))
		label, lead = "then", ""
	}
	if len(b.Rim) > 0 {
		m := 0.0
		for _, l := range b.Rim {
			m += laneM(l)
		}
		t.hang(label, "%s%s beside what cannot be searched, %s in all; the first on %s", lead,
			numbered(number+len(b.Lanes), len(b.Rim)), t.u.length(m), t.bearing(bearingOf(t.r, t.p, b.Rim[0].From, b.Rim[0].To)))
	}
}

// numbered is lane 5, or lanes 5-9.
func numbered(from, n int) string {
	if n == 1 {
		return fmt.Sprintf("lane %d", from)
	}
	return fmt.Sprintf("lanes %d-%d", from, from+n-1)
}

func (t *planTexter) lanes(b *plan.Block) string {
	lo, hi := math.Inf(1), 0.0
	for _, l := range b.Lanes {
		lo, hi = math.Min(lo, laneM(l)), math.Max(hi, laneM(l))
	}
	first := b.Lanes[0]
	on := t.bearing(bearingOf(t.r, t.p, first.From, first.To))
	if len(b.Lanes) == 1 {
		return fmt.Sprintf("%s on %s", t.u.length(hi), on)
	}
	long := t.u.length(hi)
	if lo < 0.95*hi {
		long = t.u.length(lo) + " to " + long
	}
	return fmt.Sprintf("%s long, %s apart, to and fro; the first on %s, the next to its %s",
		long, t.u.fine(b.SpacingM), on, sideOf(first, b.Lanes[1]))
}

// sideOf is the side of a walker on a lane to which another lies.
func sideOf(l, other plan.Lane) string {
	mid := grid.XY{X: (other.From.X + other.To.X) / 2, Y: (other.From.Y + other.To.Y) / 2}
	if (l.To.X-l.From.X)*(mid.Y-l.From.Y)-(l.To.Y-l.From.Y)*(mid.X-l.From.X) > 0 {
		return "left"
	}
	return "right"
}

func endOf(b plan.Block) (grid.XY, bool) {
	if n := len(b.Rim); n > 0 {
		return b.Rim[n-1].To, true
	}
	if n := len(b.Lanes); n > 0 {
		return b.Lanes[n-1].To, true
	}
	return grid.XY{}, false
}
