package report

import (
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// pathCatcher keeps the paths that are stroked.
type pathCatcher struct {
	vg.Canvas
	all vg.Path
}

func (c *pathCatcher) SetLineWidth(vg.Length)             {}
func (c *pathCatcher) SetLineDash([]vg.Length, vg.Length) {}
func (c *pathCatcher) SetColor(color.Color)               {}
func (c *pathCatcher) Stroke(p vg.Path)                   { c.all = append(c.all, p...) }

// Patterns stay on their ground and cover it evenly: on a disc, the length of strokes
// times their distance, and the number of dots times the area of each, are its area.
func TestPatternsCoverTheirGround(t *testing.T) {
	const radius = 150
	mid := vg.Point{X: 270, Y: 350}
	in := func(p vg.Point) bool { return length(p, mid) < radius }
	area := math.Pi * radius * radius
	page := vg.Rectangle{Min: vg.Point{X: 40, Y: 60}, Max: vg.Point{X: 560, Y: 700}}

	c := &pathCatcher{}
	hatch(draw.Canvas{Canvas: c, Rectangle: page}, hatchStep, line(1, black), in)
	sum := vg.Length(0)
	for i := 0; i+1 < len(c.all); i += 2 {
		a, b := c.all[i].Pos, c.all[i+1].Pos
		require.True(t, length(a, mid) < radius+2*mm && length(b, mid) < radius+2*mm)
		sum += length(a, b)
	}
	require.InEpsilon(t, area, float64(sum*hatchStep), 0.02)

	c = &pathCatcher{}
	dots(draw.Canvas{Canvas: c, Rectangle: page}, in)
	for _, p := range c.all {
		require.Less(t, float64(length(p.Pos, mid)), float64(radius+dotSize))
	}
	require.InEpsilon(t, area, float64(len(c.all)/2)*float64(2*dotStep*dotStep), 0.02)
}
