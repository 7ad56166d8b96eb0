package web

import (
	"bytes"
	"encoding/json"
	"io"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/plan"
	"untrod/site"
	"untrod/site/book"
)

// wholeSite has one of everything a site can have.
func wholeSite(t *testing.T) *site.Site {
	f, err := grid.NewFrame(openSea)
	require.NoError(t, err)
	at := func(xy ...float64) (out []grid.LonLat) {
		for i := 0; i < len(xy); i += 2 {
			out = append(out, f.ToLonLat(grid.XY{X: xy[i], Y: xy[i+1]}))
		}
		return out
	}
	return &site.Site{
		Name: "Whole",
		Boundary: []site.Area{
			{Name: "main", Outer: at(-31.2345, -30, 30, -30, 30.1, 30, -30, 30), Holes: [][]grid.LonLat{at(-5, -5, -5, 5, 5, 5)}},
			{Outer: at(40, 0, 50, 0, 50, 10)},
		},
		Keepouts: []site.Area{{Name: "pond", Outer: at(10, 10, 20, 10, 20, 20)}},
		Landmarks: []site.Landmark{
			{Name: "well", Kind: "well", Points: at(1, 2)},
			{Name: "post", Mark: true, Points: at(-3, 4)},
			{Name: "bank", Shape: site.LineShape, Points: at(-10, -10, -8, -9, -2, -9)},
			{Name: "wall", Kind: "footing", Shape: site.AreaShape, Points: at(15, -15, 20, -15, 20, -10)},
		},
		Slow:    []site.Slow{{Area: site.Area{Name: "bog", Outer: at(-20, 20, -10, 20, -10, 25)}, Pace: 0.4}},
		LaidOut: []site.LaidOut{{Area: site.Area{Name: "strips", Outer: at(-28, -28, -12, -28, -12, -12)}, SpacingM: 1.2, DirectionDeg: 35.5, Session: "visit 1"}},
	}
}

// openWhole opens a page on a book of wholeSite with a visit, whose log has a waypoint
// that stands for a landmark.
func openWhole(t *testing.T) (o *opened, path string) {
	path = filepath.Join(t.TempDir(), "whole.gpkg")
	newBook(t, path, "whole", wholeSite(t), func(b *book.Book, f grid.Frame) {
		addVisit(t, b, f, 0)
		takeText(t, b, "places.gpx", `<gpx version="1.1" creator="test"><wpt lat="47.30001" lon="-31.20001"><name>boulder</name></wpt></gpx>`)
	})
	o = serve(t, func(c *Config) { c.Book = path })
	o.until("worked out", worked)
	return o, path
}

func takeText(t *testing.T, b *book.Book, name, text string) {
	p, err := book.Prepare(t.Context(), book.File{Name: name, Open: func() (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(text)), nil }})
	require.NoError(t, err)
	_, err = b.Take(t.Context(), p)
	require.NoError(t, err)
}

func siteOf(t *testing.T, path string) *site.Site {
	b, err := book.View(path)
	require.NoError(t, err)
	defer b.Close()
	s, err := b.Site()
	require.NoError(t, err)
	return s
}

func (o *opened) groundDoc() (doc GroundDoc) {
	o.t.Helper()
	o.done(http.MethodGet, "/api/ground", "", &doc)
	return doc
}

func (o *opened) putSite(doc SiteDoc) (int, string) {
	text, err := json.Marshal(doc)
	require.NoError(o.t, err)
	return o.ask(http.MethodPut, "/api/site", string(text))
}

func TestGround(t *testing.T) {
	o, path := openWhole(t)
	doc := o.groundDoc()
	require.Positive(t, doc.Rev)
	require.False(t, doc.OwnOutline)
	require.Equal(t, "Whole", doc.Name)
	require.Len(t, doc.Boundary, 2)
	require.Len(t, doc.Boundary[0].Holes, 1)
	require.Equal(t, "line", doc.Landmarks[2].Shape)
	require.NotEmpty(t, doc.Gaps)
	require.NotEmpty(t, doc.Gaps[0].Outlines)
	// The datum is the boundary's middle: places are right to the millimetre.
	f, err := grid.NewFrame(grid.LonLat{Lon: float64(doc.Datum.Lon), Lat: float64(doc.Datum.Lat)})
	require.NoError(t, err)
	well := f.ToXY(siteOf(t, path).Landmarks[0].Points[0])
	require.InDelta(t, well.X, float64(doc.Landmarks[0].Points[0][0]), 0.0006)
	require.InDelta(t, well.Y, float64(doc.Landmarks[0].Points[0][1]), 0.0006)
	require.InDelta(t, 81.234, float64(doc.Bounds[2]-doc.Bounds[0]), 0.01)
	require.InDelta(t, 60, float64(doc.Bounds[3]-doc.Bounds[1]), 0.01)
}

// What comes back as it went out changes nothing, to the last digit; what else was not
// moved stays when one point is.
func TestSiteThereAndBack(t *testing.T) {
	o, path := openWhole(t)
	before, changes := siteOf(t, path), o.state().Changes
	doc := o.groundDoc()
	status, text := o.putSite(doc.SiteDoc)
	require.Equal(t, http.StatusOK, status, text)
	require.Equal(t, before, siteOf(t, path))
	require.Equal(t, changes, o.state().Changes)

	doc.Keepouts[0].Outer[1][0] += 1
	status, text = o.putSite(doc.SiteDoc)
	require.Equal(t, http.StatusOK, status, text)
	after := siteOf(t, path)
	f, err := before.Frame()
	require.NoError(t, err)
	was, is := f.ToXY(before.Keepouts[0].Outer[1]), f.ToXY(after.Keepouts[0].Outer[1])
	require.InDelta(t, 1, math.Hypot(is.X-was.X, is.Y-was.Y), 0.001)
	after.Keepouts[0].Outer[1] = before.Keepouts[0].Outer[1]
	require.Equal(t, before, after)
	require.Equal(t, "changed the keep-outs", o.state().Book.Undo)
	o.until("worked out", worked)
	require.Equal(t, doc.Keepouts, o.groundDoc().Keepouts)
}

// A landmark that a waypoint of a log stands for can be taken out too, and undo brings
// it back.
func TestSiteWithoutAPlace(t *testing.T) {
	o, path := openWhole(t)
	before := siteOf(t, path)
	doc := o.groundDoc()
	i := slices.IndexFunc(doc.Landmarks, func(l LandmarkDoc) bool { return l.Name == "boulder" })
	require.GreaterOrEqual(t, i, 0)
	doc.Landmarks = slices.Delete(doc.Landmarks, i, i+1)
	status, text := o.putSite(doc.SiteDoc)
	require.Equal(t, http.StatusOK, status, text)
	require.False(t, slices.ContainsFunc(siteOf(t, path).Landmarks, func(l site.Landmark) bool { return l.Name == "boulder" }))
	var undone struct{ Undone string }
	o.done(http.MethodPost, "/api/undo", "{}", &undone)
	require.Equal(t, "changed the landmarks", undone.Undone)
	require.Equal(t, before, siteOf(t, path))
}

func TestSiteRefused(t *testing.T) {
	o, path := openWhole(t)
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	_, sent := o.get("/api/ground")
	for name, c := range map[string]struct {
		change func(*SiteDoc)
		says   string
	}{
		"no outline":          {func(d *SiteDoc) { d.Boundary = nil }, "has no outline"},
		"two corners":         {func(d *SiteDoc) { d.Boundary[1].Outer = d.Boundary[1].Outer[:2] }, "three corners"},
		"one spot, clicked":   {func(d *SiteDoc) { d.Boundary[1].Outer[1] = d.Boundary[1].Outer[0] }, "three corners"},
		"crosses itself":      {func(d *SiteDoc) { r := d.Boundary[0].Outer; r[0], r[1] = r[1], r[0] }, "crosses"},
		"far":                 {func(d *SiteDoc) { d.Keepouts[0].Outer[0][0] = 1e300 }, `pond`},
		"pace":                {func(d *SiteDoc) { d.Slow[0].Pace = 2 }, "pace"},
		"spacing":             {func(d *SiteDoc) { d.LaidOut[0].SpacingM = 0 }, "lanes 0.1 to 20 m apart"},
		"direction":           {func(d *SiteDoc) { d.LaidOut[0].DirectionDeg = -1 }, "direction"},
		"shape":               {func(d *SiteDoc) { d.Landmarks[0].Shape = "blob" }, "well"},
		"point of two places": {func(d *SiteDoc) { d.Landmarks[0].Points = d.Landmarks[2].Points }, "one place"},
		"line of one place":   {func(d *SiteDoc) { d.Landmarks[2].Points = d.Landmarks[0].Points }, "two places"},
		"datum":               {func(d *SiteDoc) { d.Datum.Lat = 120 }, "datum"},
	} {
		t.Run(name, func(t *testing.T) {
			var doc GroundDoc
			require.NoError(t, json.Unmarshal([]byte(sent), &doc))
			c.change(&doc.SiteDoc)
			status, text := o.putSite(doc.SiteDoc)
			require.GreaterOrEqual(t, status, 400)
			require.Less(t, status, 500)
			require.Contains(t, text, c.says)
			after, err := os.ReadFile(path)
			require.NoError(t, err)
			require.True(t, bytes.Equal(before, after), "the book is as it was")
		})
	}
}

// A book whose keep-outs cover everything can be put right: its shapes are still shown.
func TestGroundWithoutResult(t *testing.T) {
	path := filepath.Join(t.TempDir(), "covered.gpkg")
	s := wholeSite(t)
	s.Keepouts = []site.Area{{Name: "all", Outer: s.Boundary[0].Outer}, {Outer: s.Boundary[1].Outer}}
	newBook(t, path, "covered", s, func(b *book.Book, f grid.Frame) { addVisit(t, b, f, 0) })
	o := serve(t, func(c *Config) { c.Book = path })
	require.NotNil(t, o.until("worked out", worked).Work.Problem)
	doc := o.groundDoc()
	require.Zero(t, doc.Rev)
	require.Len(t, doc.Keepouts, 2)
	doc.Keepouts = nil
	status, text := o.putSite(doc.SiteDoc)
	require.Equal(t, http.StatusOK, status, text)
	require.Nil(t, o.until("worked out", worked).Work.Problem)
	require.Positive(t, o.groundDoc().Rev)
}

// Without an outline the ground's own is shown, and can be made the site's.
func TestGroundOwnOutline(t *testing.T) {
	path := filepath.Join(t.TempDir(), "none.gpkg")
	newBook(t, path, "no site", nil, func(b *book.Book, f grid.Frame) { addVisit(t, b, f, 0) })
	o := serve(t, func(c *Config) { c.Book = path })
	o.until("worked out", worked)
	doc := o.groundDoc()
	require.True(t, doc.OwnOutline)
	require.NotEmpty(t, doc.Boundary)
	var proposed OutlineDoc
	o.done(http.MethodGet, "/api/outline?corners=8", "", &proposed)
	require.Equal(t, doc.Datum, proposed.Datum)
	require.LessOrEqual(t, len(proposed.Outer), 8)
	doc.Boundary = []AreaDoc{{Name: "field", PolygonDoc: PolygonDoc{Outer: proposed.Outer}}}
	status, text := o.putSite(doc.SiteDoc)
	require.Equal(t, http.StatusOK, status, text)
	require.Equal(t, "drew the outline", o.state().Book.Undo)
	o.until("worked out", worked)
	doc = o.groundDoc()
	require.False(t, doc.OwnOutline)
	require.Equal(t, "field", doc.Boundary[0].Name)
	for _, wrong := range []string{"2", "201", "x"} {
		status, _ := o.get("/api/outline?corners=" + wrong)
		require.Equal(t, http.StatusBadRequest, status, wrong)
	}
}

func TestGroundWithoutBook(t *testing.T) {
	o := serve(t, nil)
	for _, question := range []string{"/api/ground", "/api/outline", "/api/spot?x=1&y=2", "/api/timeline", "/api/tracks", "/api/layers", "/tiles/1/states/9/511/511.png"} {
		status, text := o.get(question)
		require.Equal(t, http.StatusConflict, status, question)
		require.Contains(t, text, "no book is open")
	}
}

// A new book has no ground yet.
func TestGroundOfANewBook(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new.gpkg")
	b, err := book.Create(path, nil)
	require.NoError(t, err)
	require.NoError(t, b.Close())
	o := serve(t, func(c *Config) { c.Book = path })
	status, text := o.get("/api/ground")
	require.Equal(t, http.StatusOK, status)
	require.Equal(t, "null", text)
}

func TestDeclination(t *testing.T) {
	deg, warning := declination(grid.LonLat{Lon: -31.2, Lat: 47.3}, time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC))
	want, err := plan.Declination(grid.LonLat{Lon: -31.2, Lat: 47.3}, 0, 2026.4)
	require.NoError(t, err)
	require.InDelta(t, want.DeclinationDeg, float64(deg), 0.02)
	require.Negative(t, float64(deg), "west of true north")
	require.Empty(t, warning)
	_, warning = declination(grid.LonLat{Lon: -31.2, Lat: 47.3}, time.Date(2031, 6, 1, 0, 0, 0, 0, time.UTC))
	require.Contains(t, warning, "2030")
	_, warning = declination(grid.LonLat{Lon: 139, Lat: 85.8}, time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC))
	require.Contains(t, warning, "of no use")
}
