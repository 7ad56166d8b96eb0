package report

import (
	"fmt"
	"io"
	"math"
	"strconv"

	"untrod/grid"
	"untrod/plan"
)

// WalkedSchema names the form of a WalkedDoc.
const WalkedSchema = "untrod-walked-1"

// A lane counts as walked when at least this share of it was swept, and as left when at
// most that: between, in part. A choice, no source.
const (
	walkedShare = 0.8
	leftShare   = 0.2
)

// WalkedDoc tells how the lanes of a plan were walked on a visit.
type WalkedDoc struct {
	Schema  string          `json:"schema"`
	Visit   string          `json:"visit"`
	WalkedM Number          `json:"walked_m"` // of lanes, by the share of each that was swept
	LaneM   Number          `json:"lane_m"`   // in all
	Lanes   []WalkedLaneDoc `json:"lanes"`
}

// WalkedLaneDoc is a plan.LaneWalked; stop and lane as numbered in the plan. What is
// walked, in part or left.
type WalkedLaneDoc struct {
	Stop    int    `json:"stop"`
	Gap     int    `json:"gap"`
	Lane    int    `json:"lane"`
	What    string `json:"what"`
	Share   Number `json:"share"`
	OffM    Number `json:"off_m"` // null when nobody came near
	LengthM Number `json:"length_m"`
}

// Lanes are the lanes of each stop in a frame's metres, as plan.Walked takes them.
func (d *PlanDoc) Lanes(f grid.Frame) [][]plan.Lane {
	out := make([][]plan.Lane, len(d.Stops))
	for i, s := range d.Stops {
		for _, l := range s.Lanes {
			out[i] = append(out[i], plan.Lane{From: f.ToXY(l.From.place()), To: f.ToXY(l.To.place())})
		}
	}
	return out
}

// Frame is a frame around all lanes of the plan, with the errors of grid.FrameAround.
func (d *PlanDoc) Frame() (grid.Frame, error) {
	var all []grid.LonLat
	for _, s := range d.Stops {
		for _, l := range s.Lanes {
			all = append(all, l.From.place(), l.To.place())
		}
	}
	return grid.FrameAround(all)
}

func (d LonLatDoc) place() grid.LonLat { return grid.LonLat{Lon: float64(d.Lon), Lat: float64(d.Lat)} }

// Walked puts a comparison of plan d with a visit in the form that WalkedJSON writes.
func Walked(d *PlanDoc, visit string, lanes []plan.LaneWalked) WalkedDoc {
	out := WalkedDoc{Schema: WalkedSchema, Visit: visit, Lanes: []WalkedLaneDoc{}}
	for _, l := range lanes {
		if l.Stop >= len(d.Stops) || l.Lane >= len(d.Stops[l.Stop].Lanes) {
			continue
		}
		s := d.Stops[l.Stop]
		m := s.Lanes[l.Lane].LengthM
		out.Lanes = append(out.Lanes, WalkedLaneDoc{s.Stop, s.Gap, l.Lane + 1, whatOf(l.Share), to(l.Share, 4), round2(l.OffM), m})
		out.LaneM, out.WalkedM = out.LaneM+m, out.WalkedM+m*Number(l.Share)
	}
	out.LaneM, out.WalkedM = round2(float64(out.LaneM)), round2(float64(out.WalkedM))
	return out
}

func whatOf(share float64) string {
	switch {
	case share >= walkedShare:
		return "walked"
	case share > leftShare:
		return "in part"
	}
	return "left"
}

// WalkedJSON writes a comparison, indented by one space.
func WalkedJSON(w io.Writer, d WalkedDoc) error { return writeIndented(w, d) }

// WalkedText writes a comparison at most 80 columns wide: a line a stop, and the lanes
// that were left.
func WalkedText(w io.Writer, d WalkedDoc, u Units) error {
	t := &walkedTexter{texter{u: u}}
	t.para("", "The plan beside the visit that followed: %s", Printable(d.Visit))
	t.line("")
	t.para("", "%s of the %s of lanes were walked, as logged.", u.length(float64(d.WalkedM)), u.length(float64(d.LaneM)))
	t.line("")
	row := func(stop, gap, walked, part, left, off string) {
		t.line("%4s %6s %9s %9s %9s %14s", stop, gap, walked, part, left, off)
	}
	row("Stop", "gap", "walked", "in part", "left", "off the lane")
	for lanes := d.Lanes; len(lanes) > 0; {
		n := 1
		for n < len(lanes) && lanes[n].Stop == lanes[0].Stop {
			n++
		}
		walked, part, left, off := sumUp(lanes[:n])
		row(strconv.Itoa(lanes[0].Stop), strconv.Itoa(lanes[0].Gap), strconv.Itoa(walked), strconv.Itoa(part), strconv.Itoa(len(left)), t.off(off))
		lanes = lanes[n:]
	}
	t.line("")
	t.leftLanes(d.Lanes)
	t.para("", "Lanes count as walked when at least %.0f %% of them was swept, and as left when at most %.0f %% was. The receiver's error is in all of it.", 100*walkedShare, 100*leftShare)
	_, err := io.WriteString(w, t.out.String())
	return err
}

type walkedTexter struct{ texter }

// sumUp counts the lanes of a stop; off is the mean distance from those walked at all,
// by length, NaN without any.
func sumUp(lanes []WalkedLaneDoc) (walked, part int, left []int, off float64) {
	sum, long := 0.0, 0.0
	for _, l := range lanes {
		switch l.What {
		case "walked":
			walked++
		case "in part":
			part++
		default:
			left = append(left, l.Lane)
		}
		if m := float64(l.LengthM); l.What != "left" && !math.IsNaN(float64(l.OffM)) {
			sum, long = sum+m*float64(l.OffM), long+m
		}
	}
	return walked, part, left, sum / long
}

func (t *walkedTexter) off(m float64) string {
	if math.IsNaN(m) {
		return "-"
	}
	return t.u.fine(m)
}

// leftLanes names the lanes that were left, stop by stop.
func (t *walkedTexter) leftLanes(lanes []WalkedLaneDoc) {
	some := false
	for len(lanes) > 0 {
		n := 1
		for n < len(lanes) && lanes[n].Stop == lanes[0].Stop {
			n++
		}
		if _, _, left, _ := sumUp(lanes[:n]); len(left) > 0 {
			what := "lanes " + listed(ranges(left))
			switch len(left) {
			case n:
				what = "all of it"
			case 1:
				what = "lane " + strconv.Itoa(left[0])
			}
			t.para("", "%s", fmt.Sprintf("Left at stop %d, gap %d: %s.", lanes[0].Stop, lanes[0].Gap, what))
			some = true
		}
		lanes = lanes[n:]
	}
	if some {
		t.line("")
	}
}

// ranges writes ascending numbers as 1-4, 7, 9-10.
func ranges(ns []int) (out []string) {
	for len(ns) > 0 {
		n := 1
		for n < len(ns) && ns[n] == ns[0]+n {
			n++
		}
		text := strconv.Itoa(ns[0])
		if n > 1 {
			text += "-" + strconv.Itoa(ns[n-1])
		}
		out, ns = append(out, text), ns[n:]
	}
	return out
}
