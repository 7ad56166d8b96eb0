package web

import (
	"fmt"
	"math"
	"net/http"
	"time"

	"untrod/grid"
	"untrod/report"
	"untrod/site"
	"untrod/track"
)

// FindDoc is a find. What is not known is null, and may be left out.
type FindDoc struct {
	ID       int64          `json:"id,omitempty"`
	Name     string         `json:"name"`
	At       *PointDoc      `json:"at"`
	SdM      *report.Number `json:"sd_m"` // per axis; null for that of the receiver
	Time     *time.Time     `json:"time"`
	Reading  string         `json:"reading"`
	Detector string         `json:"detector"`
	DepthM   *report.Number `json:"depth_m"`
	Verdict  string         `json:"verdict"`
	Material string         `json:"material"`
	Years    *[2]*int       `json:"years"` // from and to, either may be null
	Note     string         `json:"note"`
	Visit    *int64         `json:"visit"`  // its id
	Photos   []string       `json:"photos"` // SHA-256; null where sent: as they are
}

// FindsDoc is all finds, by id. The datum is null when there is nothing to measure
// from, and then no find has a place.
type FindsDoc struct {
	Datum *report.LonLatDoc `json:"datum"`
	Finds []FindDoc         `json:"finds"`
}

// SentFindDoc is a find from the page.
type SentFindDoc struct {
	Datum *report.LonLatDoc `json:"datum"`
	FindDoc
}

// KeptFindDoc is the answer to a find that was kept.
type KeptFindDoc struct {
	ID   int64  `json:"id"`
	Said string `json:"said"` // how it came by its place, where it was not given one
}

func findDoc(f site.Find, frame grid.Frame) FindDoc {
	d := FindDoc{
		ID: f.ID, Name: f.Name, Time: timeOf(f.T), SdM: orNull(f.SdM), Reading: f.Reading, Detector: f.Detector, DepthM: orNull(f.DepthM),
		Verdict: string(f.Verdict), Material: f.Material, Note: f.Note, Photos: append([]string{}, f.Photos...),
	}
	if f.Placed() {
		at := pointDoc(frame.ToXY(f.Pos))
		d.At = &at
	}
	if f.From != site.NoYear || f.To != site.NoYear {
		d.Years = &[2]*int{yearOrNull(f.From), yearOrNull(f.To)}
	}
	if f.Session != 0 {
		d.Visit = &f.Session
	}
	return d
}

func orNull(v float64) *report.Number {
	if math.IsNaN(v) {
		return nil
	}
	n := report.Number(v)
	return &n
}

func yearOrNull(y int) *int {
	if y == site.NoYear {
		return nil
	}
	return &y
}

// find is the find that a document tells of; of its photos only those it names.
func (d SentFindDoc) find() (f site.Find, err error) {
	f = site.NoFind
	f.ID, f.Name, f.Reading, f.Detector, f.Material, f.Note, f.Photos = d.ID, d.Name, d.Reading, d.Detector, d.Material, d.Note, d.Photos
	if d.At != nil {
		if f.Pos, err = placeAt(*d.At, d.Datum); err != nil {
			return f, err
		}
	}
	if d.Time != nil {
		f.T = track.At(*d.Time)
	}
	if d.SdM != nil {
		f.SdM = float64(*d.SdM)
	}
	if d.DepthM != nil {
		f.DepthM = float64(*d.DepthM)
	}
	if d.Visit != nil {
		f.Session = *d.Visit
	}
	if y := d.Years; y != nil {
		f.From, f.To = yearOf(y[0]), yearOf(y[1])
	}
	v, known := site.ParseVerdict(d.Verdict)
	if f.Verdict = v; !known {
		return f, refuse(http.StatusBadRequest, fmt.Sprintf("verdict %q: not keeper, scrap or unknown", d.Verdict))
	}
	if err := f.Validate(); err != nil {
		return f, refuse(http.StatusBadRequest, err.Error())
	}
	return f, nil
}

// keep leaves as it was what the document does not change: its places are told to
// 1 mm only, and photos may be left out.
func (d SentFindDoc) keep(f *site.Find, before site.Find) {
	if d.Photos == nil {
		f.Photos = before.Photos
	}
	if frame, err := frameAt(d.Datum); err == nil && d.At != nil && before.Placed() && *d.At == pointDoc(frame.ToXY(before.Pos)) {
		f.Pos = before.Pos
	}
}

func yearOf(y *int) int {
	if y == nil {
		return site.NoYear
	}
	return *y
}
