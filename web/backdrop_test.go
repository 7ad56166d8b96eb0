package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"net/http"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/site/book"
)

// backdropDoc asks for the backdrop; nil where there is none.
func (o *opened) backdropDoc() (doc *BackdropDoc) {
	o.t.Helper()
	o.done(http.MethodGet, "/api/backdrop", "", &doc)
	return doc
}

// quarters is a picture of four colours, 400 x 300, one in each quarter.
func quarters(t *testing.T) []byte {
	m := image.NewNRGBA(image.Rect(0, 0, 400, 300))
	for i := range 400 * 300 {
		x, y := i%400, i/400
		m.SetNRGBA(x, y, color.NRGBA{uint8(x / 200 * 200), uint8(y / 150 * 200), 50, 255})
	}
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, m))
	return b.Bytes()
}

// squareFrame is the frame of makeBook's site.
func squareFrame(t *testing.T) grid.Frame {
	f, err := grid.NewFrame(grid.LonLat{Lon: -31.2, Lat: 47.3})
	require.NoError(t, err)
	return f
}

// colourAt is what the backdrop's tile of zoom 10 shows at a place; clear where nothing is.
func (o *opened) colourAt(d *BackdropDoc, q grid.XY) color.NRGBA {
	o.t.Helper()
	const z, pixel = 10, worldPixelM / 1024.
	col, row := (q.X+worldM)/pixel, (worldM-q.Y)/pixel
	status, pic := o.get(fmt.Sprintf("/tiles/%d/backdrop/%d/%d/%d.png", d.Rev, z, int(col)/tileSide, int(row)/tileSide))
	if status == http.StatusNoContent {
		return color.NRGBA{}
	}
	require.Equal(o.t, http.StatusOK, status, pic)
	m, err := png.Decode(strings.NewReader(pic))
	require.NoError(o.t, err)
	require.Equal(o.t, image.Rect(0, 0, tileSide, tileSide), m.Bounds())
	return color.NRGBAModel.Convert(m.At(int(col)%tileSide, int(row)%tileSide)).(color.NRGBA)
}

func TestBackdropOfTies(t *testing.T) {
	o := served(t, 1)
	require.Nil(t, o.backdropDoc())
	status, text := o.upload("/api/backdrop", map[string][]byte{"old map.png": quarters(t)})
	require.Equal(t, http.StatusOK, status, text)
	d := o.backdropDoc()
	require.Equal(t, "old map.png", d.Name)
	require.Equal(t, "picture", d.Kind)
	require.Equal(t, [2]int{400, 300}, [2]int{d.Width, d.Height})
	require.False(t, d.Placed)
	require.Equal(t, "It does not say where it lies: place it by tie points.", d.Says)
	require.Empty(t, d.Corners)
	status, _ = o.get(fmt.Sprintf("/tiles/%d/backdrop/10/0/0.png", d.Rev))
	require.Equal(t, http.StatusNotFound, status)

	// North is to the left: half a metre a pixel, its middle 10 m east of the datum.
	tie := func(col, row, x, y float64) string {
		return fmt.Sprintf(`{"pixel": [%g, %g], "at": [%g, %g]}`, col, row, x, y)
	}
	datum, err := json.Marshal(d.Datum)
	require.NoError(t, err)
	body := fmt.Sprintf(`{"datum": %s, "ties": [%s, %s]}`, datum, tie(200, 150, 10, 0), tie(0, 150, 10, 100))
	var tied BackdropDoc
	o.done(http.MethodPut, "/api/backdrop/ties", body, &tied)
	require.True(t, tied.Placed)
	require.NotEqual(t, d.Rev, tied.Rev)
	require.Empty(t, tied.Says)
	require.Len(t, tied.Ties, 2)
	require.Equal(t, [2]float64{200, 150}, tied.Ties[0].Pixel)
	require.InDelta(t, 100, float64(tied.Ties[1].At[1]), 0.002)
	require.Zero(t, tied.Ties[0].OffM)
	for i, want := range [][2]float64{{85, 100}, {85, -100}, {-65, -100}, {-65, 100}} {
		require.InDelta(t, want[0], float64(tied.Corners[i][0]), 0.01)
		require.InDelta(t, want[1], float64(tied.Corners[i][1]), 0.01)
	}
	for q, want := range map[grid.XY]color.NRGBA{
		{X: 40, Y: 50}: {0, 0, 50, 255}, {X: 40, Y: -50}: {200, 0, 50, 255}, {X: -20, Y: 50}: {0, 200, 50, 255},
		{X: -20, Y: -50}: {200, 200, 50, 255}, {X: 95, Y: 0}: {}, {X: 500, Y: 0}: {},
	} {
		require.Equal(t, want, o.colourAt(&tied, q), "%v", q)
	}

	var free BackdropDoc
	o.done(http.MethodPut, "/api/backdrop/ties", fmt.Sprintf(`{"datum": %s, "ties": []}`, datum), &free)
	require.Equal(t, d.Rev, free.Rev)
	o.done(http.MethodPost, "/api/undo", "", &map[string]string{})
	require.Equal(t, tied.Rev, o.backdropDoc().Rev)
	var none *BackdropDoc
	o.done(http.MethodDelete, "/api/backdrop", "", &none)
	require.Nil(t, none)
	o.done(http.MethodDelete, "/api/backdrop", "", &none)
	require.Nil(t, o.backdropDoc())
	status, _ = o.get(fmt.Sprintf("/tiles/%d/backdrop/10/0/0.png", tied.Rev))
	require.Equal(t, http.StatusNotFound, status)
}

// A world file in UTM puts the picture on the site, and what was guessed is said.
func TestBackdropOfWorldFile(t *testing.T) {
	o := served(t, 0)
	// 47.3 north 31.2 west in UTM zone 25: echo -31.2 47.3 | gdaltransform -s_srs EPSG:4326 -t_srs EPSG:32625
	const east, north = 636076.406, 5240074.016
	world := fmt.Sprintf("0.5\n0\n0\n-0.5\n%.3f\n%.3f\n", east-100+0.25, north+75-0.25)
	status, text := o.upload("/api/backdrop", map[string][]byte{"sheet.png": quarters(t), "sheet.PGW": []byte(world), "sheet.png.aux.xml": []byte("<x/>")})
	require.Equal(t, http.StatusOK, status, text)
	d := o.backdropDoc()
	require.True(t, d.Placed)
	require.Contains(t, d.Says, "UTM zone 25 north")
	require.Equal(t, color.NRGBA{0, 0, 50, 255}, o.colourAt(d, grid.XY{X: -30, Y: 20}))
	require.Equal(t, color.NRGBA{200, 200, 50, 255}, o.colourAt(d, grid.XY{X: 30, Y: -20}))
	middle := grid.XY{X: float64(d.Corners[0][0]+d.Corners[2][0]) / 2, Y: float64(d.Corners[0][1]+d.Corners[2][1]) / 2}
	f := squareFrame(t)
	frame, err := grid.NewFrame(grid.LonLat{Lon: float64(d.Datum.Lon), Lat: float64(d.Datum.Lat)})
	require.NoError(t, err)
	require.InDelta(t, 0, math.Hypot(f.ToXY(frame.ToLonLat(middle)).X, f.ToXY(frame.ToLonLat(middle)).Y), 0.01)
}

// A grid of heights comes out shaded, without a result and even without a site.
func TestBackdropOfHeights(t *testing.T) {
	path := filepath.Join(t.TempDir(), "empty.gpkg")
	b, err := book.Create(path, nil)
	require.NoError(t, err)
	require.NoError(t, b.Close())
	o := serve(t, func(c *Config) { c.Book = path })
	heights := "ncols 50\nnrows 50\nxllcorner -31.2\nyllcorner 47.3\ncellsize 0.00001\n" + strings.Repeat("5 ", 2500)
	status, text := bookPage{opened: o}.upload("/api/backdrop", map[string][]byte{"hill.asc": []byte(heights)})
	require.Equal(t, http.StatusOK, status, text)
	d := o.backdropDoc()
	require.Equal(t, "terrain", d.Kind)
	require.False(t, d.Placed)
	require.Contains(t, d.Says, "draw the site's outline or add logs")
	status, text = o.get("/api/backdrop/picture.png")
	require.Equal(t, http.StatusOK, status)
	m, err := png.Decode(strings.NewReader(text))
	require.NoError(t, err)
	require.Equal(t, color.NRGBA{181, 181, 181, 255}, color.NRGBAModel.Convert(m.At(9, 9)), "flat")
}

func TestBackdropRefused(t *testing.T) {
	o := served(t, 0)
	for want, files := range map[string]map[string][]byte{
		"neither a picture nor a grid of heights": {"notes.doc": []byte("hello")},
		"one backdrop":                 {"a.png": quarters(t), "b.png": quarters(t)},
		"together with its world file": {"a.pgw": []byte("1 0 0 -1 0 0")},
		"world file of 2 numbers":      {"a.png": quarters(t), "a.wld": []byte("1 2")},
		"damaged":                      {"a.png": quarters(t)[:200]},
	} {
		status, text := o.upload("/api/backdrop", files)
		require.Equal(t, http.StatusUnprocessableEntity, status)
		require.Contains(t, text, want)
	}
	require.Nil(t, o.backdropDoc())
	for body, want := range map[string]string{
		`{"datum": {"lon": 0, "lat": 0}, "ties": [{"pixel": [0, 0], "at": [1, 1]}]}`:   "no backdrop",
		`{"datum": {"lon": 0, "lat": 99}, "ties": []}`:                                 "the datum",
		`{"datum": {"lon": 0, "lat": 0}, "ties": [{"pixel": [0, 0], "at": [1, 1e9]}]}`: "tied point 1 reaches over 30 km away",
	} {
		status, text := o.ask(http.MethodPut, "/api/backdrop/ties", body)
		require.GreaterOrEqual(t, status, 400)
		require.Contains(t, text, want)
	}
	status, text := o.upload("/api/backdrop", map[string][]byte{"a.png": quarters(t)})
	require.Equal(t, http.StatusOK, status, text)
	status, text = o.ask(http.MethodPut, "/api/backdrop/ties", `{"datum": {"lon": 0, "lat": 0}, "ties": [{"pixel": [0, 0], "at": [1, 1]}]}`)
	require.Equal(t, http.StatusUnprocessableEntity, status)
	require.Contains(t, text, "two tied points are needed")
}

// What a picture says of itself beside its pixels does not leave with the picture to tie.
func TestBackdropPictureIsPixelsAlone(t *testing.T) {
	o := served(t, 0)
	pic := placedJPEG(t, 2500, 300)
	status, text := o.upload("/api/backdrop", map[string][]byte{"a.jpg": pic})
	require.Equal(t, http.StatusOK, status, text)
	require.Contains(t, string(pic), "Exif")
	status, got := o.get("/api/backdrop/picture.png")
	require.Equal(t, http.StatusOK, status)
	require.NotContains(t, got, "Exif")
	m, err := png.Decode(strings.NewReader(got))
	require.NoError(t, err)
	require.Equal(t, image.Rect(0, 0, 1250, 150), m.Bounds())
}

// It comes with the book: another page finds it, and tiles of the book before do not stay.
func TestBackdropGoesWithTheBook(t *testing.T) {
	o := served(t, 0)
	status, text := o.upload("/api/backdrop", map[string][]byte{"a.png": quarters(t)})
	require.Equal(t, http.StatusOK, status, text)
	path := o.path
	o.done(http.MethodPost, "/api/books/close", "", &StateDoc{})
	status, _ = o.get("/api/backdrop")
	require.Equal(t, http.StatusConflict, status)
	b, err := book.View(path)
	require.NoError(t, err)
	d, err := b.Backdrop()
	require.NoError(t, err)
	require.Equal(t, "a.png", d.Name)
	require.NoError(t, b.Close())
}

// The site's middle moves with its outline: the backdrop stays where it is on the ground,
// and has a new number.
func TestBackdropFollowsTheFrame(t *testing.T) {
	o := served(t, 0)
	status, text := o.upload("/api/backdrop", map[string][]byte{"a.png": quarters(t)})
	require.Equal(t, http.StatusOK, status, text)
	var before BackdropDoc
	o.done(http.MethodPut, "/api/backdrop/ties", `{`+seaDatum+`, "ties": [{"pixel": [0, 0], "at": [-100, 75]}, {"pixel": [400, 300], "at": [100, -75]}]}`, &before)
	site := o.groundDoc().SiteDoc
	for i := range site.Boundary[0].Outer {
		site.Boundary[0].Outer[i][0] += 300
	}
	status, text = o.putSite(site)
	require.Equal(t, http.StatusOK, status, text)
	after := o.backdropDoc()
	require.NotEqual(t, before.Rev, after.Rev)
	require.InDelta(t, -300, float64(after.Corners[0][0]-before.Corners[0][0]), 0.1)
	require.Equal(t, color.NRGBA{0, 0, 50, 255}, o.colourAt(after, grid.XY{X: -330, Y: 20}))
	status, _ = o.get(fmt.Sprintf("/tiles/%d/backdrop/10/0/0.png", before.Rev))
	require.Equal(t, http.StatusNotFound, status)
}
