package web

import (
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/report"
	"untrod/site"
	"untrod/site/book"
)

// landmarked adds a well to the book of a page that is not yet served.
func landmarked(t *testing.T, path string) {
	b, err := book.Open(path)
	require.NoError(t, err)
	s, err := b.Site()
	require.NoError(t, err)
	f, err := s.Frame()
	require.NoError(t, err)
	s.Landmarks = append(s.Landmarks, site.Landmark{Name: "old well", Kind: "well", Shape: site.PointShape, Points: []grid.LonLat{f.ToLonLat(grid.XY{X: 3, Y: 4})}})
	require.NoError(t, b.SetSite(s))
	require.NoError(t, b.Close())
}

// TestComparison holds that the page's comparison is that of the command, of the usual
// rings.
func TestComparison(t *testing.T) {
	o := served(t, 1, func(c *Config) { landmarked(t, c.Book) })
	state := o.until("worked out", worked)
	var doc report.CompareDoc
	o.done(http.MethodGet, "/api/comparison", "", &doc)
	require.Equal(t, report.CompareSchema, doc.Schema)
	require.Equal(t, []report.Number{5, 10, 20}, doc.Settings.RingsM)
	require.Equal(t, "nearest", doc.Settings.Overlap)
	require.Len(t, doc.Zones, 3)
	require.Equal(t, "old well", doc.Zones[0].Landmark)
	for name, status := range map[string]int{"map": 200, "zones": 200, "effort": 200, "finds": 404, "dates": 404, "other": 404, "MAP": 404} {
		got, text := o.get(fmt.Sprintf("/pictures/%d/%s.png", state.Rev, name))
		require.Equal(t, status, got, name)
		require.Equal(t, status == 200, strings.HasPrefix(text, "\x89PNG"), name)
	}
	for _, path := range []string{"/pictures/0/map.png", "/pictures/x/map.png", fmt.Sprintf("/pictures/%d/map", state.Rev), fmt.Sprintf("/pictures/%d/..%%2fmap.png", state.Rev)} {
		status, _ := o.get(path)
		require.Equal(t, http.StatusNotFound, status, path)
	}
}

// TestComparisonTellsHowFar: without the full result there is none, and it says why.
func TestComparisonTellsHowFar(t *testing.T) {
	s := sitting(t, smallPerfect())
	s.desk.work = work{Running: true}
	w := s.asked(http.MethodGet, "/api/comparison", "")
	require.JSONEq(t, `{"working": true}`, w.Body.String())
	s.desk.work = work{Stopped: true}
	w = s.asked(http.MethodGet, "/api/comparison", "")
	require.Equal(t, http.StatusConflict, w.Code)
	require.Contains(t, w.Body.String(), "let it go on")
}

// TestChartsAreMadeOnce holds that a result's pictures are drawn when first asked for
// and not again.
func TestChartsAreMadeOnce(t *testing.T) {
	times := 0
	charts["counted"] = chart{func(*coverage.Result) bool { return true }, func(w io.Writer, _ *coverage.Result, _ report.Units) error {
		times++
		_, err := io.WriteString(w, "drawn")
		return err
	}}
	defer delete(charts, "counted")
	s := sitting(t, &shown{rev: 1, result: smallPerfect().result})
	for range 2 {
		require.Equal(t, "drawn", s.asked(http.MethodGet, "/pictures/1/counted.png", "").Body.String())
	}
	require.Equal(t, 1, times)
}

// TestChartsOfFinds holds that there are charts of finds where there are finds.
func TestChartsOfFinds(t *testing.T) {
	s := sitting(t, &shown{rev: 1, result: comparedResult(t)})
	w := s.asked(http.MethodGet, "/pictures/1/finds.png", "")
	require.True(t, strings.HasPrefix(w.Body.String(), "\x89PNG"), "%.60q", w.Body)
	require.Equal(t, http.StatusNotFound, s.asked(http.MethodGet, "/pictures/1/dates.png", "").Code, "it has no date")
}

// asked puts a question about finds, plans and comparisons past the door.
func (s *server) asked(method, path, body string) *httptest.ResponseRecorder {
	m := http.NewServeMux()
	s.findRoutes(m)
	w := httptest.NewRecorder()
	m.ServeHTTP(w, httptest.NewRequest(method, path, strings.NewReader(body)))
	return w
}

func comparedResult(t *testing.T) *coverage.Result {
	in, set := campaign{sideM: 60, patchM: 30, visits: 1, walkS: 600}.input(t), coverage.DefaultSettings()
	set.SwathM, set.CellM, set.Zones = 1.5, 0.25, usualZones
	find := site.NoFind
	find.Name, find.Verdict, find.Pos = "coin", site.Keeper, smallGround.frame(t).ToLonLat(grid.XY{X: -10, Y: -10})
	in.Finds = []site.Find{find}
	r, err := coverage.Assess(t.Context(), in, set, nil)
	require.NoError(t, err)
	return r
}
