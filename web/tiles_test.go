package web

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math/rand/v2"
	"net/http"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check/golden"
	"untrod/report"
)

// order are the words of each layer's key from light to dark, and wordsAt the plain twin
// of its painting: what is said of one searchable cell.
var (
	order = map[string][]string{
		"states":  {"in doubt: cannot tell", "surely swept", "untrodden: go here"},
		"passes":  {"never", "once", "twice", "three times", "four or five times", "six times or more"},
		"chance":  {"20 % or less", "20 to 40 %", "40 to 60 %", "60 to 80 %", "80 % or more"},
		"swept-3": {"not swept yet", "swept before", "new on this visit"},
		"perfect": {"not swept: too small to bother", "swept once", "swept twice", "three times or more", "not swept: gap"},
	}
	wordsAt = map[string]func(r *coverage.Result, c grid.Cell) string{
		"states": func(r *coverage.Result, c grid.Cell) string {
			switch v := r.Certainty.ChanceAt(r.Spec.Centre(c)); {
			case v >= 0.8:
				return "surely swept"
			case v > 0.2:
				return "in doubt: cannot tell"
			}
			return "untrodden: go here"
		},
		"passes": func(r *coverage.Result, c grid.Cell) string {
			switch n := r.Tally.Passes(c); {
			case n < 4:
				return order["passes"][n]
			case n < 6:
				return "four or five times"
			}
			return "six times or more"
		},
		"chance": func(r *coverage.Result, c grid.Cell) string {
			v := r.Certainty.ChanceAt(r.Spec.Centre(c))
			for i, top := range []float64{0.2, 0.4, 0.6, 0.8} {
				if v < top || i == 0 && v == top {
					return order["chance"][i]
				}
			}
			return "80 % or more"
		},
		"swept-3": func(r *coverage.Result, c grid.Cell) string {
			first, _, ok := r.Tally.Sessions(c)
			switch {
			case ok && first < 2:
				return "swept before"
			case ok && first == 2:
				return "new on this visit"
			}
			return "not swept yet"
		},
		"perfect": func(r *coverage.Result, c grid.Cell) string {
			switch n := r.Tally.Passes(c); {
			case n > 0:
				return order["perfect"][min(n, 3)]
			case gapOf(r, c) > 0:
				return "not swept: gap"
			}
			return "not swept: too small to bother"
		},
		"seconds": func(r *coverage.Result, c grid.Cell) string {
			return "" // its words depend on the scale: see TestSecondsKey
		},
	}
)

func TestTilesArePixelForPixel(t *testing.T) {
	for name, words := range order {
		now, layer := smallUnsure(), name
		if name == "perfect" {
			now, layer = smallPerfect(), "states"
		}
		for _, z := range []int{4, 7, 9, 10, 11, 13} {
			t.Run(fmt.Sprintf("%s/%d", name, z), func(t *testing.T) {
				l, err := now.layer(layer)
				require.NoError(t, err)
				colours := coloursOf(l)
				rng := rand.New(rand.NewPCG(uint64(z), 1))
				for range 3 {
					at := tileOver(z, grid.XY{X: 80*rng.Float64() - 40, Y: 80*rng.Float64() - 40})
					img := drawn(t, l, at)
					for range 300 {
						px := image.Pt(rng.IntN(tileSide), rng.IntN(tileSide))
						want := color.RGBA{}
						if w := wordsOver(now.result, at.lens(), px, words, wordsAt[name]); w != "" {
							want = colours[w]
						}
						got := pixel(img, px)
						if got == (color.RGBA{0x6E, 0x5A, 0x2B, 255}) {
							got = colours["in doubt: cannot tell"] // a dot on it
						}
						require.Equal(t, want, got, "tile %v, pixel %v", at, px)
					}
				}
			})
		}
	}
}

// wordsOver is what a pixel has to show, by the rule of docs/look.md; "" for nothing.
func wordsOver(r *coverage.Result, v report.Lens, px image.Point, words []string, at func(*coverage.Result, grid.Cell) string) string {
	west, north := v.NorthWest.X+float64(px.X)*v.PixelM, v.NorthWest.Y-float64(px.Y)*v.PixelM
	if v.PixelM < 2*r.Spec.CellM {
		c, _ := r.Spec.CellAt(grid.XY{X: west + v.PixelM/2, Y: north - v.PixelM/2})
		if !r.Searchable.Has(c) {
			return ""
		}
		return at(r, c)
	}
	from, _ := r.Spec.CellAt(grid.XY{X: west, Y: north - v.PixelM})
	n, all, can := map[string]int{}, 0, 0
	for row := from.Row - 1; r.Spec.Centre(grid.Cell{Row: row}).Y < north; row++ {
		for col := from.Col - 1; r.Spec.Centre(grid.Cell{Col: col}).X < west+v.PixelM; col++ {
			c := grid.Cell{Col: col, Row: row}
			if q := r.Spec.Centre(c); q.X < west || q.Y < north-v.PixelM {
				continue
			}
			all++
			if r.Searchable.Has(c) {
				can++
				n[at(r, c)]++
			}
		}
	}
	if 2*can < all {
		return ""
	}
	best := words[0]
	for _, w := range words {
		if n[w] >= n[best] {
			best = w
		}
	}
	return best
}

func coloursOf(l *report.Layer) map[string]color.RGBA {
	out := map[string]color.RGBA{}
	for _, k := range l.Key {
		rgb, _ := strconv.ParseUint(strings.TrimPrefix(k.Colour, "#"), 16, 32)
		out[k.Words] = color.RGBA{uint8(rgb >> 16), uint8(rgb >> 8), uint8(rgb), 255}
	}
	return out
}

// tileOver is the tile of a zoom that holds q.
func tileOver(z int, q grid.XY) tileAt {
	side := tileSide * worldPixelM / float64(int(1)<<z)
	return tileAt{z, int((q.X + worldM) / side), int((worldM - q.Y) / side)}
}

// drawn is a tile as a browser sees it; nil when there is nothing on it.
func drawn(t *testing.T, l *report.Layer, at tileAt) image.Image {
	pic, err := drawTile(l, at)
	require.NoError(t, err)
	if pic == nil {
		return nil
	}
	img, err := png.Decode(bytes.NewReader(pic))
	require.NoError(t, err)
	require.Equal(t, image.Rect(0, 0, tileSide, tileSide), img.Bounds())
	return img
}

func pixel(img image.Image, px image.Point) color.RGBA {
	if img == nil {
		return color.RGBA{}
	}
	return color.RGBAModel.Convert(img.At(px.X, px.Y)).(color.RGBA)
}

// Neighbouring tiles fit together, dots and all: a picture astride their edge shows the
// same.
func TestTilesHaveNoSeams(t *testing.T) {
	now := smallUnsure()
	for _, z := range []int{6, 9, 11} {
		l, err := now.layer("states")
		require.NoError(t, err)
		at := tileOver(z, grid.XY{X: -3, Y: 3})
		v := at.lens()
		v.NorthWest.X += 100 * v.PixelM
		v.NorthWest.Y -= 77 * v.PixelM
		astride := l.Paint(v)
		require.NotNil(t, astride)
		for y := range tileSide {
			for x := range tileSide {
				gx, gy := x+100, y+77
				tile := drawnOnce(t, l, tileAt{z, at.x + gx/tileSide, at.y + gy/tileSide})
				require.Equal(t, pixel(tile, image.Pt(gx%tileSide, gy%tileSide)), pixel(astride, image.Pt(x, y)), "zoom %d, %d %d", z, gx, gy)
			}
		}
	}
}

var drawnTiles = map[tileAt]image.Image{}

func drawnOnce(t *testing.T, l *report.Layer, at tileAt) image.Image {
	if _, is := drawnTiles[at]; !is {
		drawnTiles[at] = drawn(t, l, at)
	}
	return drawnTiles[at]
}

func TestTilesPicture(t *testing.T) {
	const z = 9
	sheet := image.NewRGBA(image.Rect(0, 0, 3*tileSide, 2*tileSide))
	for i, layer := range []string{"states", "chance", "passes", "seconds", "latest", "swept-4"} {
		l, err := smallUnsure().layer(layer)
		require.NoError(t, err)
		cell := image.Rect(0, 0, tileSide, tileSide).Add(image.Pt(i%3*tileSide, i/3*tileSide))
		draw.Draw(sheet, cell, image.NewUniform(color.RGBA{0xFC, 0xFA, 0xF3, 255}), image.Point{}, draw.Src)
		mid := tileOver(z, grid.XY{X: 0.01, Y: -0.01})
		for dx := -1; dx <= 0; dx++ { // the four about the datum, their inner quarters
			for dy := -1; dy <= 0; dy++ {
				if img := drawn(t, l, tileAt{z, mid.x + dx, mid.y + dy}); img != nil {
					to := cell.Min.Add(image.Pt(tileSide/2+dx*tileSide, tileSide/2+dy*tileSide))
					draw.Draw(sheet, image.Rectangle{Min: to, Max: to.Add(img.Bounds().Size())}.Intersect(cell), img,
						image.Pt(max(0, cell.Min.X-to.X), max(0, cell.Min.Y-to.Y)), draw.Over)
				}
			}
		}
	}
	var out bytes.Buffer
	require.NoError(t, png.Encode(&out, sheet))
	golden.PNG(t, filepath.Join("testdata", "tiles.png"), out.Bytes(), golden.Tolerance{Channel: 2, Pixels: 50})
}

// Times are in five even steps; the key of a book in feet counts square feet.
func TestSecondsKey(t *testing.T) {
	for units, title := range map[report.Units]string{report.Metric: "Time searched, seconds a m²", report.Imperial: "Time searched, seconds a sq ft"} {
		l := report.NewLayer(smallPerfect().result, units, "seconds")
		require.Equal(t, title, l.Title)
		require.Len(t, l.Key, 6)
		require.Equal(t, "not searched", l.Key[0].Words)
		var step, lo, hi float64
		_, err := fmt.Sscanf(l.Key[1].Words, "under %g", &step)
		require.NoError(t, err)
		for i := 2; i < 5; i++ {
			_, err := fmt.Sscanf(l.Key[i].Words, "%g to %g", &lo, &hi)
			require.NoError(t, err)
			require.InDelta(t, float64(i-1)*step, lo, 1e-9)
			require.InDelta(t, float64(i)*step, hi, 1e-9)
		}
		_, err = fmt.Sscanf(l.Key[5].Words, "%g or more", &lo)
		require.NoError(t, err)
		require.InDelta(t, 4*step, lo, 1e-9)
		longest := 0.0
		smallPerfect().result.Swept.Cells(func(c grid.Cell) { longest = max(longest, smallPerfect().result.Tally.SecondsPerM2(c)) })
		require.Less(t, step, longest, "the ground does not all fall into the first step")
	}
}

func TestSweptBy(t *testing.T) {
	for name, want := range map[string]int{"swept": 7, "swept-0": 0, "swept-7": 7, "swept-8": -1, "swept--1": -1, "swept-x": -1, "swept-": -1, "states": -1} {
		n, ok := sweptBy(name, 7)
		require.Equal(t, want >= 0, ok, name)
		if ok {
			require.Equal(t, want, n, name)
		}
	}
}

func TestTileQuestions(t *testing.T) {
	path := filepath.Join(t.TempDir(), "square.gpkg")
	makeBook(t, path, 2)
	o := serve(t, func(c *Config) { c.Book = path })
	rev := o.until("worked out", worked).Rev
	tile := func(layer, rest string) string { return fmt.Sprintf("/tiles/%d/%s/%s.png", rev, layer, rest) }
	for question, want := range map[string]int{
		tile("states", "9/511/511"):                          http.StatusOK,
		tile("swept-1", "9/511/511"):                         http.StatusOK,
		tile("swept", "9/511/511"):                           http.StatusOK,
		tile("latest", "0/0/0"):                              http.StatusNoContent, // 60 m are under half of any pixel
		tile("states", "9/0/0"):                              http.StatusNoContent,
		tile("states", "14/32767/32"):                        http.StatusNoContent,
		tile("states", "14/32768/32"):                        http.StatusNotFound,
		tile("states", "15/0/0"):                             http.StatusNotFound,
		tile("states", "-1/0/0"):                             http.StatusNotFound,
		tile("states", "9/-1/0"):                             http.StatusNotFound,
		tile("states", "9/a/0"):                              http.StatusNotFound,
		tile("swept-3", "9/511/511"):                         http.StatusNotFound,
		tile("nonsense", "9/511/511"):                        http.StatusNotFound,
		fmt.Sprintf("/tiles/%d/states/9/511/511", rev):       http.StatusNotFound,
		fmt.Sprintf("/tiles/%d/states/9/511/511.png", rev-1): http.StatusNoContent, // a newer result has come
		fmt.Sprintf("/tiles/%d/states/9/511/511.png", rev+1): http.StatusNotFound,
		"/tiles/0/states/9/511/511.png":                      http.StatusNotFound,
	} {
		status, text := o.get(question)
		require.Equal(t, want, status, question)
		if want == http.StatusNotFound {
			require.Contains(t, text, `"error":`)
		}
	}
	var layers []LayerDoc
	o.done(http.MethodGet, "/api/layers", "", &layers)
	require.Len(t, layers, 6)
	for _, l := range layers {
		require.NotEmpty(t, l.Title)
		require.NotEmpty(t, l.Legend)
		status, _ := o.get(tile(l.Name, "10/1023/1023"))
		require.Equal(t, http.StatusOK, status, l.Name)
	}
}

// A browser that has a picture is told so; another run of the program has other pictures.
func TestTilesAreKept(t *testing.T) {
	path := filepath.Join(t.TempDir(), "square.gpkg")
	makeBook(t, path, 1)
	o := serve(t, func(c *Config) { c.Book = path })
	question := fmt.Sprintf("/tiles/%d/states/9/511/511.png", o.until("worked out", worked).Rev)
	res, err := o.client.Get(o.base + question)
	require.NoError(t, err)
	res.Body.Close()
	tag := res.Header.Get("ETag")
	require.Contains(t, tag, thisRun)
	require.Equal(t, "image/png", res.Header.Get("Content-Type"))
	status, body := o.ask(http.MethodGet, question, "", func(r *http.Request) { r.Header.Set("If-None-Match", tag) })
	require.Equal(t, http.StatusNotModified, status)
	require.Empty(t, body)
	status, _ = o.ask(http.MethodGet, question, "", func(r *http.Request) { r.Header.Set("If-None-Match", `"another"`) })
	require.Equal(t, http.StatusOK, status)
}
