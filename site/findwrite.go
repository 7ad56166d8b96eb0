package site

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"

	"untrod/track"
)

// WriteFinds writes finds as a table that [ReadFinds] reads back: times in UTC,
// degrees and metres with all their digits, an empty cell for what is not known.
// Texts that a spreadsheet would take for a formula are written with an apostrophe
// before them. visit names a session, photo the file of a photo, and may be nil.
func WriteFinds(w io.Writer, finds []Find, visit func(int64) string, photos func(Find) string) error {
	c := csv.NewWriter(w)
	c.Write([]string{"number", "name", "time", "lat", "lon", "sd_m", "reading", "detector", "depth_m",
		"verdict", "material", "from", "to", "note", "visit", "photos"})
	for _, f := range finds {
		at, of, with := "", "", ""
		if f.T.Known() {
			at = f.T.Time().Format("2006-01-02T15:04:05.999Z07:00")
		}
		if visit != nil && f.Session != 0 {
			of = visit(f.Session)
		}
		if photos != nil {
			with = photos(f)
		}
		c.Write([]string{strconv.FormatInt(f.ID, 10), track.Inert(f.Name), at, digits(f.Pos.Lat), digits(f.Pos.Lon), digits(f.SdM),
			track.Inert(f.Reading), track.Inert(f.Detector), digits(f.DepthM), string(f.Verdict), track.Inert(f.Material),
			year(f.From), year(f.To), track.Inert(f.Note), track.Inert(of), track.Inert(with)})
	}
	c.Flush()
	return c.Error()
}

// digits is v with the fewest digits that read back the same; empty for NaN.
func digits(v float64) string {
	if math.IsNaN(v) {
		return ""
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

func year(y int) string {
	if y == NoYear {
		return ""
	}
	return strconv.Itoa(y)
}
