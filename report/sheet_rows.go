package report

import (
	"fmt"
	"math"
	"strconv"

	"untrod/grid"
	"untrod/plan"
)

const (
	mostLegs   = 4 // of a way that are told one by one; a longer one is walked as drawn
	mostBlocks = 6 // of a stop likewise
)

func (l *listing) stops() {
	s := l.s
	if len(s.p.Stops) == 0 {
		if s.p.NoGaps {
			l.para("No gaps are left to walk.")
		} else {
			l.para("Nothing can be planned for " + duration(s.p.Settings.BudgetS) + ".")
		}
		return
	}
	l.heads()
	from := "from the start"
	for _, stop := range s.p.Stops {
		all := stopLanes(stop)
		if len(all) == 0 {
			continue
		}
		rows := s.wayRows(from, stop.Approach)
		rows = append(rows, s.reachRows(stop.Reach, "its first lane")...)
		rows = append(rows, s.blockRows(stop.Blocks)...)
		l.entry(gapsOf(stop), s.place(all[0].From), squared(s.u.area(stop.FreshM2))+" new, "+duration(stop.SearchS+stop.DigS), stop.Number, rows)
		from = fmt.Sprintf("from stop %d", stop.Number)
	}
	l.entry("end", "at "+s.spot(s.p.Settings.End), "", 0, s.wayRows(from, s.p.Home))
}

// wayRows tells the legs of a way.
func (s *fieldSheet) wayRows(from string, way []grid.XY) (out []listRow) {
	legs := legsOf(way)
	if len(legs) > mostLegs {
		return []listRow{{from + ", as drawn", wayM(way), math.NaN()}}
	}
	for i, leg := range legs {
		text := from
		if i > 0 {
			text = "then"
		}
		out = append(out, listRow{text, apart(leg[0], leg[1]), plan.TrueBearing(s.r.Frame, leg[0], leg[1])})
	}
	return out
}

// legsOf are the straight pieces of a way; one under a metre is left out.
func legsOf(way []grid.XY) (out [][2]grid.XY) {
	for i := 1; i < len(way); i++ {
		if apart(way[i-1], way[i]) >= 1 {
			out = append(out, [2]grid.XY{way[i-1], way[i]})
		}
	}
	return out
}

// reachRows tells how to get to a place from landmarks.
func (s *fieldSheet) reachRows(reach []plan.Bearing, what string) (out []listRow) {
	t := &planTexter{texter{r: s.r, u: s.u}, s.p}
	for _, b := range reach {
		name := Printable(b.Landmark)
		switch {
		case name == "":
			name = "the unnamed landmark"
		case b.Mark:
			name += " (mark)"
		case t.extended(b):
			name = "the nearest point of " + name
		}
		if b.DistanceM < 1 || math.IsNaN(b.TrueDeg) {
			out = append(out, wordsRow(what+" is at "+name))
			continue
		}
		out = append(out, listRow{"to " + what + " from " + name, b.DistanceM, b.TrueDeg})
	}
	return out
}

// blockRows tells the lanes of a stop, and how one gets from block to block.
func (s *fieldSheet) blockRows(blocks []plan.Block) (out []listRow) {
	number := 1
	var end *grid.XY
	for i := range blocks {
		b := &blocks[i]
		first, ok := firstLane(b)
		if !ok {
			continue
		}
		if i == mostBlocks {
			return append(out, wordsRow("then the other "+count(len(blocks)-i, "block")+" of lanes, as drawn"))
		}
		if end != nil && apart(*end, first.From) >= 1 {
			out = append(out, listRow{fmt.Sprintf("across to lane %d", number), apart(*end, first.From), plan.TrueBearing(s.r.Frame, *end, first.From)})
		}
		if len(b.Lanes) > 0 {
			out = append(out, s.laneRow(numbered(number, len(b.Lanes))+s.laneWords(b), b.Lanes[0]))
			number += len(b.Lanes)
		}
		if len(b.Rim) > 0 {
			out = append(out, s.laneRow(numbered(number, len(b.Rim))+", beside what cannot be searched", b.Rim[0]))
			number += len(b.Rim)
		}
		if at, ok := endOf(*b); ok {
			end = &at
		}
	}
	return out
}

func firstLane(b *plan.Block) (plan.Lane, bool) {
	for _, l := range append(append([]plan.Lane{}, b.Lanes...), b.Rim...) {
		return l, true
	}
	return plan.Lane{}, false
}

func (s *fieldSheet) laneRow(text string, first plan.Lane) listRow {
	return listRow{text, laneM(first), plan.TrueBearing(s.r.Frame, first.From, first.To)}
}

// laneWords tells of lanes after the first, whose length and bearing stand in columns.
func (s *fieldSheet) laneWords(b *plan.Block) string {
	if len(b.Lanes) < 2 {
		return ""
	}
	return fmt.Sprintf(", %s apart, to and fro, the next to the %s of the first", s.u.fine(b.SpacingM), sideOf(b.Lanes[0], b.Lanes[1]))
}

// gaps lists those that have their number on the map.
func (l *listing) gaps() {
	s := l.s
	all := s.r.Untrodden()
	if len(all) == 0 {
		l.para("No gaps are left to walk.")
		return
	}
	shown := s.numbered()
	if n := len(all) - len(shown); n > 0 {
		l.para(fmt.Sprintf("Listed and numbered are the %d largest gaps; %s more are on the maps by their patterns alone.", len(shown), grouped(float64(n), 0)))
	}
	l.heads()
	for _, g := range shown {
		reach := plan.Bearings(s.r.Frame, s.r.Local.Landmarks, g.CentreXY)
		figures := squared(s.u.area(g.AreaM2)) + ", " + s.u.length(g.WidestM) + " wide"
		l.entry("gap "+strconv.Itoa(g.ID), s.place(g.CentreXY), figures, 0, s.reachRows(reach, "its middle"))
	}
}
