package web

import (
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"strconv"
	"strings"

	"untrod/coverage"
	"untrod/report"
)

// usualZones are the rings that compare has when none are asked for.
var usualZones = coverage.ZoneSettings{RingsM: []float64{5, 10, 20}, Nearest: true}

// workingDoc is the answer as long as there is no comparison.
type workingDoc struct {
	Working bool `json:"working"`
}

// comparison answers GET /api/comparison. Only the full result has one.
func (s *server) comparison(w http.ResponseWriter, _ *http.Request) error {
	now, err := s.desk.current()
	if err != nil {
		return err
	}
	if now.result.Comparison == nil {
		if !s.desk.working() {
			return refuse(http.StatusConflict, "landmarks are compared when all is worked out, and that was stopped", "let it go on")
		}
		return answer(w, workingDoc{true})
	}
	doc, err := make1(&now.once, "comparison", func() (json.RawMessage, error) {
		var b bytes.Buffer
		err := report.CompareJSON(&b, now.result)
		return b.Bytes(), err
	})
	if err != nil {
		return err
	}
	return answer(w, doc)
}

// working reports whether an assessment is under way.
func (d *desk) working() bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.work.Running
}

// chart is a picture made of a result, and whether a result has it.
type chart struct {
	of   func(*coverage.Result) bool
	draw func(io.Writer, *coverage.Result, report.Units) error
}

var charts = map[string]chart{
	"map":    {func(*coverage.Result) bool { return true }, report.MapPNG},
	"zones":  {compared, report.ZonesPNG},
	"effort": {compared, report.EffortPNG},
	"finds":  {func(r *coverage.Result) bool { return compared(r) && len(r.Comparison.Placed) > 0 }, report.FindsPNG},
	"dates": {func(r *coverage.Result) bool { return compared(r) && r.Comparison.Dates.Dated > 0 },
		func(w io.Writer, r *coverage.Result, _ report.Units) error { return report.DatesPNG(w, r) }},
}

func compared(r *coverage.Result) bool { return r.Comparison != nil }

// picture answers GET /pictures/{rev}/{name}.png. Each is made once.
func (s *server) picture(w http.ResponseWriter, r *http.Request) error {
	now, err := s.desk.current()
	if err != nil {
		return err
	}
	name, png := strings.CutSuffix(r.PathValue("name"), ".png")
	c, known := charts[name]
	switch {
	case !known || !png:
		return refuse(http.StatusNotFound, "there is no such picture")
	case r.PathValue("rev") != strconv.Itoa(now.rev):
		return refuse(http.StatusNotFound, "this picture is of another result", "load the page anew")
	case !c.of(now.result):
		return refuse(http.StatusNotFound, "there is no such picture of this result")
	case keeps(w, r):
		return nil
	}
	pic, err := make1(&now.once, "picture "+name, func() ([]byte, error) {
		var b bytes.Buffer
		err := c.draw(&b, now.result, now.units)
		return b.Bytes(), err
	})
	if err != nil {
		return err
	}
	return answerPicture(w, pic)
}
