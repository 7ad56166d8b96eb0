package main

import (
	"fmt"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"untrod/grid"
)

// sheet tells where on the screen a place of the map is, as the map itself tells by
// the place under the pointer.
type sheet struct {
	b              *tab
	left, top      float64 // pixels of the screen at the datum
	perEast, perNo float64 // pixels of a metre
}

// spots are places of the map under nothing else, far apart.
const spots = `(() => {
  const r = document.querySelector(".map").getBoundingClientRect();
  const free = (x, y) => document.elementFromPoint(x, y)?.closest(".map");
  const out = [];
  for (let i = 1; i < 20; i++) {
    const [x, y] = [Math.round(r.x + r.width * i / 20), Math.round(r.y + r.height * i / 20)];
    if (free(x, y)) out.push([x, y]);
  }
  return [out[0], out.at(-1)];
})()`

// onSheet waits until the map stands still, and learns its scale.
func onSheet(b *tab) *sheet {
	b.t.Helper()
	b.untilJS("document.querySelector('.map canvas') !== null && document.querySelector('.map-scale svg') !== null")
	m := &sheet{b: b}
	b.until("a map that stands still", func() bool {
		before := *m
		m.learn()
		return before == *m
	})
	return m
}

func (m *sheet) learn() {
	m.b.t.Helper()
	at := js[[][]float64](m.b, spots)
	require.Len(m.b.t, at, 2)
	e0, n0 := m.placeAt(at[0][0], at[0][1])
	e1, n1 := m.placeAt(at[1][0], at[1][1])
	require.NotEqual(m.b.t, e0, e1)
	m.perEast, m.perNo = (at[1][0]-at[0][0])/(e1-e0), (at[1][1]-at[0][1])/(n1-n0)
	m.left, m.top = at[0][0]-e0*m.perEast, at[0][1]-n0*m.perNo
}

// placeAt reads the place under the pointer, metres east and north.
func (m *sheet) placeAt(x, y float64) (east, north float64) {
	m.b.t.Helper()
	const says = "document.querySelector('.map-place').textContent"
	m.b.do(chromedp.MouseEvent(chromedp.MouseMoved, 1, 1))
	m.b.untilJS(says + " === ''")
	m.b.do(chromedp.MouseEvent(chromedp.MouseMoved, x, y))
	m.b.untilJS(says + " !== ''")
	var we, ns string
	_, err := fmt.Sscanf(js[string](m.b, says), "%f m %s %f m %s", &east, &we, &north, &ns)
	require.NoError(m.b.t, err)
	if we == "west," {
		east = -east
	}
	if ns == "south" {
		north = -north
	}
	return east, north
}

func (m *sheet) at(east, north float64) (x, y float64) {
	return m.left + east*m.perEast, m.top + north*m.perNo
}

// click clicks a place of the map.
func (m *sheet) click(east, north float64) {
	m.b.t.Helper()
	x, y := m.at(east, north)
	require.True(m.b.t, js[bool](m.b, "(x, y) => Boolean(document.elementFromPoint(x, y)?.closest('.map'))", x, y), "something lies over the map at %v, %v", east, north)
	m.b.do(chromedp.MouseEvent(chromedp.MouseMoved, x, y), chromedp.MouseClickXY(x, y))
}

// drag drags what is at a place by so many metres.
func (m *sheet) drag(east, north, byEast, byNorth float64) {
	m.b.t.Helper()
	left := chromedp.ButtonType(input.MouseButtonLeft)
	x0, y0 := m.at(east, north)
	x1, y1 := m.at(east+byEast, north+byNorth)
	m.b.do(chromedp.MouseEvent(chromedp.MouseMoved, x0, y0), chromedp.MouseEvent(chromedp.MousePressed, x0, y0, left, chromedp.ClickCount(1)))
	for i := range 5 {
		f := float64(i+1) / 5
		m.b.do(chromedp.MouseEvent(chromedp.MouseMoved, x0+f*(x1-x0), y0+f*(y1-y0), left))
	}
	m.b.do(chromedp.MouseEvent(chromedp.MouseReleased, x1, y1, left, chromedp.ClickCount(1)))
}

// lonLat is a datum as the page tells it.
type lonLat struct{ Lon, Lat float64 }

// moved are places of one datum as those of another: an outline that is drawn brings a
// datum of its own.
func moved(t *testing.T, places [][]float64, from, to lonLat) (out [][]float64) {
	a, err := grid.NewFrame(grid.LonLat(from))
	require.NoError(t, err)
	b, err := grid.NewFrame(grid.LonLat(to))
	require.NoError(t, err)
	for _, p := range places {
		xy := b.ToXY(a.ToLonLat(grid.XY{X: p[0], Y: p[1]}))
		out = append(out, []float64{xy.X, xy.Y})
	}
	return out
}

// onGround is GET /api/ground.
type onGround struct {
	Datum      lonLat
	OwnOutline bool `json:"own_outline"`
	Name       string
	Boundary   []struct {
		Name  string
		Outer [][]float64
	}
	Keepouts []struct {
		Name  string
		Outer [][]float64
	}
	Landmarks []struct {
		Name, Kind, Shape string
		Points            [][]float64
	}
}

func groundNow(b *tab) onGround {
	b.t.Helper()
	return asks[onGround](b, "GET", "/api/ground", nil)
}

// requireNear wants two rings to be the same places to a quarter of a metre: what a
// pixel of the map is.
func requireNear(t *testing.T, want, got [][]float64) {
	t.Helper()
	require.Len(t, got, len(want))
	for i := range want {
		require.InDeltaSlice(t, want[i], got[i], 0.25, "place %d", i)
	}
}
