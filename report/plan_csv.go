package report

import (
	"encoding/csv"
	"io"
	"strconv"

	"untrod/coverage"
	"untrod/plan"
	"untrod/track"
)

// PlanCSV writes a row a lane, in walking order, in metres, degrees and WGS 84. The
// landmarks to reach a stop from stand with its first lane. Words that a spreadsheet
// would take for a formula get an apostrophe before them.
func PlanCSV(w io.Writer, r *coverage.Result, p *plan.Plan) error {
	c := csv.NewWriter(w)
	c.Write([]string{"stop", "gaps", "lane", "block", "rim", "from_lat", "from_lon", "to_lat", "to_lon",
		"bearing_true_deg", "bearing_magnetic_deg", "length_m",
		"landmark_1", "landmark_1_m", "landmark_1_true_deg", "landmark_1_magnetic_deg",
		"landmark_2", "landmark_2_m", "landmark_2_true_deg", "landmark_2_magnetic_deg"})
	for _, s := range p.Stops {
		for _, l := range stopLanes(s) {
			row := append([]string{strconv.Itoa(s.Number), track.Inert(gapsOf(s))}, laneCells(laneDoc(r, p, l))...)
			if l.number == 1 {
				row = append(row, reachCells(s.Reach, p.Magnetic)...)
			}
			for len(row) < 20 {
				row = append(row, "")
			}
			c.Write(row)
		}
	}
	c.Flush()
	return c.Error()
}

func laneCells(d PlanLaneDoc) []string {
	return []string{strconv.Itoa(d.Lane), strconv.Itoa(d.Block), strconv.FormatBool(d.Rim),
		cell(d.From.Lat), cell(d.From.Lon), cell(d.To.Lat), cell(d.To.Lon),
		cell(d.BearingTrueDeg), cell(d.BearingMagneticDeg), cell(d.LengthM)}
}

func reachCells(reach []plan.Bearing, m plan.Magnetic) (out []string) {
	for _, b := range reach[:min(len(reach), 2)] {
		d := reachDoc(b, m)
		out = append(out, track.Inert(Printable(d.Landmark)), cell(d.DistanceM), cell(d.BearingTrueDeg), cell(d.BearingMagneticDeg))
	}
	return out
}

// cell is a number as a cell, empty when not known.
func cell(n Number) string {
	b, _ := n.MarshalJSON() // never fails
	if string(b) == "null" {
		return ""
	}
	return string(b)
}
