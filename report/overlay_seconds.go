package report

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"
	"time"

	"untrod/coverage"
	"untrod/grid"
	"untrod/track"
)

// secondsScale is the seconds a square metre that one step of the samples stands for.
const secondsScale = 0.1

// SecondsTIFF is like GeoTIFF, but writes how long the ground was searched, in tenths of
// a second a square metre, 16 bits, at most 6,553.4 s; 65535 where the ground cannot be
// searched. The scale of 0.1 and the unit stand in GDAL's metadata (tag 42112), so that
// programs built on GDAL show seconds.
func SecondsTIFF(w io.Writer, r *coverage.Result) error {
	return secondsTIFF(w, r, r.Tally)
}

// effort tells the seconds a square metre of cells; *coverage.Tally does.
type effort interface {
	SecondsPerM2(grid.Cell) float64
}

func secondsTIFF(w io.Writer, r *coverage.Result, e effort) error {
	return geoTIFF(w, r, band{"seconds.tif", 2, effortPasses{e}, `<GDALMetadata>
<Item name="DESCRIPTION" sample="0" role="description">seconds of searching a square metre</Item>
<Item name="UNITTYPE" sample="0" role="unittype">s/m2</Item>
<Item name="OFFSET" sample="0" role="offset">0</Item>
<Item name="SCALE" sample="0" role="scale">0.1</Item>
</GDALMetadata>
`})
}

// effortPasses are tenths of seconds a square metre in the place of passes.
type effortPasses struct{ effort }

// RowPasses implements passes.
func (s effortPasses) RowPasses(row, colLo int, dst []uint16) {
	for i := range dst {
		t := math.Round(s.SecondsPerM2(grid.Cell{Col: colLo + i, Row: row}) / secondsScale)
		dst[i] = uint16(min(t, math.MaxUint16))
	}
}

// VisitsCSV writes a row a visit, in order of time, with what WriteJSON tells of it: UTC,
// seconds, metres, square metres; what is not known is empty. Words that a spreadsheet
// would take for a formula get an apostrophe before them.
func VisitsCSV(w io.Writer, r *coverage.Result) error {
	c := csv.NewWriter(w)
	c.Write([]string{"visit", "file", "walker", "start_utc", "end_utc", "fixes", "searching_s", "walking_s", "standing_s", "lost_s",
		"searching_m", "swath_m2", "new_ground_m2", "rewalked_percent", "tie_m", "rough_sd_m", "sha256"})
	for _, s := range r.Sessions {
		d := session(s, r.Certainty != nil)
		row := []string{track.Inert(Printable(d.Name)), track.Inert(Printable(d.File)), track.Inert(Printable(d.Walker)),
			timeCell(d.Start), timeCell(d.End), strconv.Itoa(d.Fixes)}
		for _, n := range []Number{d.SearchingS, d.WalkingS, d.StandingS, d.LostS, d.SearchingM, d.SwathM2, d.NewGroundM2, d.RewalkedPercent, d.TieM, d.RoughSdM} {
			row = append(row, cell(n))
		}
		c.Write(append(row, d.SHA256))
	}
	c.Flush()
	return c.Error()
}

func timeCell(t *time.Time) string {
	if t == nil {
		return ""
	}
	return t.UTC().Format(time.RFC3339)
}
