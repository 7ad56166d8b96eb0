package web

import (
	"math"
	"net/http"
	"time"

	"untrod/coverage"
	"untrod/report"
)

// TimelineDoc is the answer to GET /api/timeline.
type TimelineDoc struct {
	Rev    int           `json:"rev"`
	Visits []TimelineRow `json:"visits"`
}

// TimelineRow is what had been swept after a visit, as logged.
type TimelineRow struct {
	N       int           `json:"n"`
	Name    string        `json:"name"`
	Start   *time.Time    `json:"start"`
	Percent report.Number `json:"percent"`
}

func (s *server) timeline(w http.ResponseWriter, _ *http.Request) error {
	now, err := s.desk.current()
	if err != nil {
		return err
	}
	doc := TimelineDoc{Rev: now.rev, Visits: []TimelineRow{}}
	for i, p := range sweptAfter(now.result) {
		v := now.result.Sessions[i]
		doc.Visits = append(doc.Visits, TimelineRow{i, v.Name, timeOf(v.Start), report.Number(p)})
	}
	return answer(w, doc)
}

// sweptAfter is the share of the searchable ground swept after each visit, as logged, in
// percent: what an assessment of the visits up to it finds.
func sweptAfter(r *coverage.Result) []float64 {
	out := make([]float64, len(r.Sessions))
	cells, all := 0, r.Searchable.Count()
	for i, v := range r.Sessions {
		cells += int(math.Round(v.NewGroundM2 / r.Spec.CellAreaM2()))
		out[i] = 100 * float64(cells) / float64(all)
	}
	return out
}
