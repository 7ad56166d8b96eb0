package report

import (
	"bytes"
	"image"
	"image/png"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
)

// thornsOn is slow ground over the east of a result, some way beyond its boundary.
func thornsOn(r *coverage.Result) []plan.SlowGround {
	b := r.Spec.Bounds()
	at := func(x, y float64) grid.XY { return grid.XY{X: b.Min.X + x*b.Width(), Y: b.Min.Y + y*b.Height()} }
	return []plan.SlowGround{{Name: "thorns", Factor: 2, Polygon: grid.Polygon{
		Outer: grid.Ring{at(0.6, 0.05), at(0.9, 0.05), at(0.98, 0.6), at(0.7, 0.4)}}}}
}

// TestSlowGroundDrawn: slow ground marks the map where it lies and adds a row to the key;
// what lies to the west of it, and the rest of the page, stays as without.
func TestSlowGroundDrawn(t *testing.T) {
	r, ps := field().makeUnsure(t)
	p := visitOf(t, r, cornerOf(r), 7)
	drawn := func() (image.Image, *planSheet) {
		var pic bytes.Buffer
		s := newPlanSheet(r, ps, p, Metric)
		require.NoError(t, planPNG(&pic, s, 72)) // a pixel to the point
		img, err := png.Decode(&pic)
		require.NoError(t, err)
		return img, s
	}
	plain, s := drawn()
	p.Settings.Slow = thornsOn(r)
	slow, _ := drawn()
	require.Equal(t, plain.Bounds(), slow.Bounds())
	changed := func(minX, maxX vg.Length) (n int) {
		for y := range plain.Bounds().Dy() {
			for x := int(minX); x < int(maxX); x++ {
				if plain.At(x, y) != slow.At(x, y) {
					n++
				}
			}
		}
		return n
	}
	m := s.page.mapBox
	require.Zero(t, changed(0, m.Min.X+m.Size().X/2))
	require.Greater(t, changed(m.Min.X+m.Size().X/2, m.Max.X), 500)
	require.Greater(t, changed(s.page.legendBox.Min.X, s.page.width), 100)
}

// TestSlowGroundRoom: a key below the map gets room for its row.
func TestSlowGroundRoom(t *testing.T) {
	r, ps := field().scaled(5, 0.6).make(t)
	p := visitOf(t, r, cornerOf(r), 3)
	before := newPlanSheet(r, ps, p, Metric).page
	require.True(t, before.wide)
	p.Settings.Slow = append(thornsOn(r), thornsOn(r)...)
	require.Equal(t, before.height+rowStep, newPlanSheet(r, ps, p, Metric).page.height)
}
