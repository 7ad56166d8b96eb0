package web

import (
	"math"
	"net/http"
	"slices"
	"time"

	"untrod/coverage"
	"untrod/grid"
	"untrod/report"
)

// SpotDoc is the answer to GET /api/spot.
type SpotDoc struct {
	Rev          int              `json:"rev"`
	On           string           `json:"on"`    // site, keepout or outside
	State        string           `json:"state"` // "" off the site, and with positions taken as perfect
	Chance       *report.Number   `json:"chance"`
	Passes       int              `json:"passes"`
	SecondsPerM2 report.Number    `json:"seconds_per_m2"`
	Visits       []SpotVisitDoc   `json:"visits"`
	Gap          int              `json:"gap"`
	Position     report.LonLatDoc `json:"position"`
}

// SpotVisitDoc is a visit whose swath went over the spot, as logged: when it was nearest,
// null where its log has no times, and how near it came.
type SpotVisitDoc struct {
	N         int           `json:"n"`
	Name      string        `json:"name"`
	Start     *time.Time    `json:"start"`
	At        *time.Time    `json:"at"`
	DistanceM report.Number `json:"distance_m"`
}

func (s *server) spot(w http.ResponseWriter, r *http.Request) error {
	now, err := s.desk.current()
	if err != nil {
		return err
	}
	var q grid.XY
	if q.X, err = number(r, "x"); err != nil {
		return err
	}
	if q.Y, err = number(r, "y"); err != nil {
		return err
	}
	if math.Hypot(q.X, q.Y) > maxReachM {
		return refuse(http.StatusBadRequest, "that is too far away")
	}
	doc, err := now.spot(q)
	if err != nil {
		return err
	}
	return answer(w, doc)
}

// spot is what is known of the cell that holds q.
func (n *shown) spot(q grid.XY) (SpotDoc, error) {
	r, pos := n.result, n.result.Frame.ToLonLat(q)
	doc := SpotDoc{Rev: n.rev, On: standing(r, q), Visits: []SpotVisitDoc{},
		Position: report.LonLatDoc{Lon: report.Number(pos.Lon), Lat: report.Number(pos.Lat)}}
	k, _ := r.Spec.CellAt(q)
	centre := r.Spec.Centre(k) // by which the sweep counts
	if doc.On == "site" {
		doc.Passes, doc.SecondsPerM2 = r.Tally.Passes(k), report.Number(r.Tally.SecondsPerM2(k))
		doc.Gap = gapOf(r, k)
		if c := r.Certainty; c != nil {
			v := report.Number(c.ChanceAt(centre))
			doc.Chance, doc.State = &v, stateWord(float64(v))
		}
	}
	pieces, err := n.pieces()
	if err != nil {
		return doc, err
	}
	for _, h := range hits(pieces, centre, r.Settings.SwathM/2) {
		v := r.Sessions[h.visit]
		doc.Visits = append(doc.Visits, SpotVisitDoc{h.visit, v.Name, timeOf(v.Start), timeOf(h.at()), millimetres(h.distanceM)})
	}
	return doc, nil
}

func stateWord(chance float64) string {
	switch {
	case chance >= coverage.SurelyChance:
		return "surely swept"
	case chance > coverage.UntroddenChance:
		return "in doubt"
	}
	return "untrodden"
}

// standing is what kind of ground the cell of q is.
func standing(r *coverage.Result, q grid.XY) string {
	k, _ := r.Spec.CellAt(q)
	if r.Searchable.Has(k) {
		return "site"
	}
	at := r.Spec.Centre(k)
	one := grid.Spec{Origin: grid.XY{X: at.X - r.Spec.CellM/2, Y: at.Y - r.Spec.CellM/2}, CellM: r.Spec.CellM, Cols: 1, Rows: 1}
	holds := func(all []grid.Polygon) bool {
		return slices.ContainsFunc(all, func(p grid.Polygon) bool {
			m := grid.NewMask(one)
			m.FillPolygon(p)
			return m.Has(grid.Cell{})
		})
	}
	if holds(r.Local.Boundary) && holds(r.Local.Keepouts) {
		return "keepout"
	}
	return "outside"
}

// gapOf is the gap that holds a cell, 0 for none.
func gapOf(r *coverage.Result, k grid.Cell) int {
	for _, g := range r.Gaps {
		for _, run := range g.Cells {
			if run.Row == k.Row && k.Col >= run.Lo && k.Col < run.Hi {
				return g.ID
			}
		}
	}
	return 0
}
