package web

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/site"
)

// plan asks for a plan with these members.
func (o bookPage) plan(members string) (doc NextPlanDoc) {
	o.t.Helper()
	o.done(http.MethodPost, "/api/plan", "{"+seaDatum+", "+members+"}", &doc)
	return doc
}

func TestPlanOnTheMap(t *testing.T) {
	o := served(t, 2)
	o.until("worked out", worked)
	state := o.state()
	stops := 0
	for _, hours := range []float64{0.6, 1.5, 2.5} {
		d := o.plan(fmt.Sprintf(`"hours": %g, "start": [-40, -30], "end": [40, 30]`, hours))
		require.Equal(t, state.Rev, d.Rev)
		require.Equal(t, stageFull, d.Stage)
		require.InDelta(t, 3600*hours, float64(d.Plan.BudgetS), 0.1)
		require.LessOrEqual(t, d.Plan.UsedS, d.Plan.BudgetS)
		require.Greater(t, len(d.Stops), stops, "more time, more stops")
		stops = len(d.Stops)
		joinsUp(t, d, PointDoc{-40, -30}, PointDoc{40, 30})
	}
	near := o.plan(`"hours": 1.5`)
	require.Equal(t, near.Plan.Settings.Start, near.Plan.Settings.End, "back to where it began")
}

// joinsUp holds that what is drawn of a plan is one walk, from start to end.
func joinsUp(t *testing.T, d NextPlanDoc, start, end PointDoc) {
	t.Helper()
	require.Len(t, d.Plan.Stops, len(d.Stops))
	require.Len(t, d.Ways, len(d.Stops)+1)
	near := func(a, b PointDoc) {
		t.Helper()
		require.Less(t, math.Hypot(float64(a[0]-b[0]), float64(a[1]-b[1])), 0.005)
	}
	at, lanes := start, d.Lanes
	for i, s := range d.Stops {
		way := d.Ways[i]
		near(at, way[0])
		near(s.At, way[len(way)-1])
		near(s.At, lanes[0].Line[0])
		n := len(d.Plan.Stops[i].Lanes)
		for k, l := range lanes[:n] {
			require.Equal(t, [2]int{s.N, k + 1}, [2]int{l.Stop, l.N})
		}
		at, lanes = lanes[n-1].Line[1], lanes[n:]
	}
	require.Empty(t, lanes)
	home := d.Ways[len(d.Stops)]
	near(at, home[0])
	near(end, home[len(home)-1])
}

func TestPlanRefused(t *testing.T) {
	o := served(t, 1)
	o.until("worked out", worked)
	for _, c := range []struct{ name, members, says string }{
		{"short", `"hours": 0.01, ` + seaDatum + `, "start": [900, 900]`, "1 min is too short"},
		{"none", `"hours": 0`, "more than 0"},
		{"left out", ``, "more than 0"},
		{"long", `"hours": 24.1`, "at most 24"},
		{"no datum", `"hours": 1, "start": [1, 2]`, "datum"},
		{"half a place", `"hours": 1, ` + seaDatum + `, "end": [1, null]`, "two numbers"},
		{"far", `"hours": 1, ` + seaDatum + `, "start": [90000, 0]`, "within 25 km of the site"},
		{"no finds", `"hours": 1, "by_finds": true`, "no finds with a place"},
	} {
		t.Run(c.name, func(t *testing.T) {
			status, text := o.ask(http.MethodPost, "/api/plan", "{"+c.members+"}")
			require.GreaterOrEqual(t, status, 400, text)
			require.Less(t, status, 500, text)
			require.Contains(t, text, c.says)
			require.NotContains(t, text, "--", "nobody types flags here")
		})
	}
	empty := served(t, 0)
	status, text := empty.ask(http.MethodPost, "/api/plan", `{"hours": 1}`)
	require.Equal(t, http.StatusConflict, status, text)
}

func TestPlanFiles(t *testing.T) {
	o := served(t, 2)
	o.until("worked out", worked)
	d := o.plan(`"hours": 1`)
	require.Empty(t, d.Plan.Budgets, "the slider does not wait for them")
	begins := map[string]string{
		"next.txt": "", "next.png": "\x89PNG", "next.gpx": "<?xml", "next.kml": "<?xml", "next.geojson": "{",
		"next.csv": "stop,", "next.json": "{", "hours.png": "\x89PNG", "sheet.pdf": "%PDF-", "sheet.pdf?paper=letter": "%PDF-",
	}
	for name, head := range begins {
		status, text := o.get(fmt.Sprintf("/plan/%d/%s", d.ID, name))
		require.Equal(t, http.StatusOK, status, text)
		require.True(t, strings.HasPrefix(text, head), "%s: %.40q", name, text)
	}
	_, text := o.get(fmt.Sprintf("/plan/%d/next.json", d.ID))
	var file struct{ Stops, Budgets json.RawMessage }
	require.NoError(t, json.Unmarshal([]byte(text), &file))
	shown, err := json.Marshal(d.Plan.Stops)
	require.NoError(t, err)
	require.JSONEq(t, string(shown), string(file.Stops), "the plan that is seen")
	require.Contains(t, string(file.Budgets), `"hours": 5`)

	for _, path := range []string{"next.exe", "..%2fnext.gpx", "sheet.pdf?paper=a0"} {
		status, text := o.get(fmt.Sprintf("/plan/%d/%s", d.ID, path))
		require.GreaterOrEqual(t, status, 400, text)
	}
	for range plansKept {
		o.plan(`"hours": 0.3`)
	}
	status, text := o.get(fmt.Sprintf("/plan/%d/next.gpx", d.ID))
	require.Equal(t, http.StatusNotFound, status)
	require.Contains(t, text, "no longer kept")
}

// TestNewerPlanEndsOlder holds that who slides on gets the last plan at once.
func TestNewerPlanEndsOlder(t *testing.T) {
	p := &planning{s: sitting(t, smallUnsure())}
	ask := func() *httptest.ResponseRecorder {
		w := httptest.NewRecorder()
		asking(p.make).ServeHTTP(w, httptest.NewRequest(http.MethodPost, "/api/plan", strings.NewReader(`{"hours": 1}`)))
		return w
	}
	p.making.Lock() // as if a plan were being made
	older := make(chan *httptest.ResponseRecorder)
	go func() { older <- ask() }()
	waiting := func() bool {
		p.mu.Lock()
		defer p.mu.Unlock()
		return p.cancel != nil
	}
	require.Eventually(t, waiting, 5*time.Second, time.Millisecond)
	_, done := context.WithCancel(context.Background())
	p.mu.Lock()
	p.cancel() // as a newer question does first
	p.mu.Unlock()
	done()
	p.making.Unlock()
	w := <-older
	require.Equal(t, http.StatusConflict, w.Code)
	require.Contains(t, w.Body.String(), "another plan was asked for")
	require.Equal(t, http.StatusOK, ask().Code)
	require.Len(t, p.kept, 1)
}

// sitting is a server that shows a result.
func sitting(t testing.TB, now *shown) *server {
	ctx, end := context.WithCancel(context.Background())
	t.Cleanup(end)
	s, err := newServer(ctx, Config{Folder: t.TempDir(), Now: time.Now}, "127.0.0.1:1")
	require.NoError(t, err)
	s.desk.path, s.desk.shown = filepath.Join(t.TempDir(), "square.gpkg"), now
	return s
}

// TestUsualStart: a gate before all, else where the last visit came in.
func TestUsualStart(t *testing.T) {
	now := *smallUnsure()
	last := now.walks[len(now.walks)-1].Paths[0].Points[0].XY
	at := usualStart(&now)
	for _, q := range now.result.Local.Boundary[0].Outer {
		require.LessOrEqual(t, math.Hypot(at.X-last.X, at.Y-last.Y), math.Hypot(q.X-last.X, q.Y-last.Y))
	}
	require.Contains(t, now.result.Local.Boundary[0].Outer, at)
	r := *now.result
	r.Local.Landmarks = []site.LocalLandmark{
		{Landmark: site.Landmark{Name: "old well"}, XY: []grid.XY{{X: 1, Y: 1}}},
		{Landmark: site.Landmark{Name: " Car park "}, XY: []grid.XY{{X: 2, Y: 2}}},
		{Landmark: site.Landmark{Name: "north", Kind: "Gate"}, XY: []grid.XY{{X: 3, Y: 3}}},
	}
	now.result = &r
	require.Equal(t, grid.XY{X: 3, Y: 3}, usualStart(&now))
	now.walks, r.Local.Landmarks = nil, nil
	require.NotPanics(t, func() { usualStart(&now) })
}

// BenchmarkSlider is one redraw while the hours are slid, and the first before it.
func BenchmarkSlider(b *testing.B) {
	for name, now := range map[string]func() *shown{"small": smallUnsure, "season": season} {
		b.Run(name, func(b *testing.B) {
			p := &planning{s: sitting(b, now())}
			ask := func(hours float64) {
				set, err := NextDoc{Hours: hours}.settings(now(), time.Now())
				require.NoError(b, err)
				_, done := p.turn(context.Background())
				_, err = p.plan(context.Background(), now(), set)
				done()
				require.NoError(b, err)
			}
			start := time.Now()
			ask(3)
			first := time.Since(start)
			for i := 0; b.Loop(); i++ {
				ask(1 + float64(i%12)/2)
			}
			b.ReportMetric(first.Seconds(), "s/first")
		})
	}
}
