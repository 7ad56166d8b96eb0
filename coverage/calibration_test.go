package coverage_test

import (
	"fmt"
	"image/color"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"

	"untrod/coverage"
	"untrod/grid"
)

// reliability counts, for each tenth of the chance, the cells that were given it
// and those of them truly swept.
type reliability struct {
	cells, swept [10]float64
	chance       [10]float64 // summed
}

func (r *reliability) add(o outcome) {
	o.result.Searchable.Cells(func(c grid.Cell) {
		v := o.c.ChanceAt(o.result.Spec.Centre(c))
		i := min(int(10*v), 9)
		r.cells[i]++
		r.chance[i] += v
		if o.swept.Has(c) {
			r.swept[i]++
		}
	})
}

// worst is the largest distance between a tenth's mean chance and its share
// truly swept, tenths of under a hundredth of the ground left out.
func (r *reliability) worst() float64 {
	all, w := 0.0, 0.0
	for _, n := range r.cells {
		all += n
	}
	for i, n := range r.cells {
		if n > all/100 {
			w = math.Max(w, math.Abs(r.swept[i]/n-r.chance[i]/n))
		}
	}
	return w
}

func (r *reliability) String() string {
	s := ""
	for i, n := range r.cells {
		if n > 0 {
			s += fmt.Sprintf(" %.2f:%.2f", r.chance[i]/n, r.swept[i]/n)
		}
	}
	return s
}

// TestChanceIsCalibrated: of cells given a chance of 0.3, about 30 % were truly
// swept. Few campaigns and draws here, so the bound is wide. The full study
// (UNTROD_STUDY) takes many campaigns of winding walks and as many draws as are the
// default, draws docs/reliability.png and holds 0.1.
func TestChanceIsCalibrated(t *testing.T) {
	var n int
	if _, err := fmt.Sscan(os.Getenv("UNTROD_STUDY"), &n); err == nil {
		studyCalibration(t, n)
		return
	}
	bounds := map[string]float64{"open": 0.15, "light": 0.15, "dense": 0.17}
	for _, k := range smallKinds[:3] {
		_, rel := k.studied(t)
		t.Logf("%s: worst tenth off by %.3f;%s", k.canopy, rel.worst(), &rel)
		require.Less(t, rel.worst(), bounds[k.canopy], k.canopy)
	}
}

func studyCalibration(t *testing.T, n int) {
	nDraws := coverage.DefaultSettings().Position.Draws // fewer scatter the chances, and so flatten the curve
	rels := map[string]*reliability{}
	for _, canopy := range []string{"open", "light", "dense"} {
		rel := &reliability{}
		study(t, n, "winding", canopy, "", nDraws, rel.add)
		t.Logf("%s: worst tenth off by %.3f;%s", canopy, rel.worst(), rel)
		require.Less(t, rel.worst(), 0.1, canopy)
		rels[canopy] = rel
	}
	require.NoError(t, drawReliability(rels, "../docs/reliability.png"))
}

func drawReliability(rels map[string]*reliability, path string) error {
	p := plot.New()
	p.Title.Text = "How often ground was truly swept, by the chance given to it"
	p.X.Label.Text, p.Y.Label.Text = "chance swept", "share truly swept"
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = 0, 1, 0, 1
	diagonal, err := plotter.NewLine(plotter.XYs{{X: 0, Y: 0}, {X: 1, Y: 1}})
	if err != nil {
		return err
	}
	diagonal.Color = color.Gray{Y: 160}
	p.Add(diagonal, plotter.NewGrid())
	inks := map[string]color.RGBA{"open": {R: 0x1f, G: 0x4e, B: 0x5f, A: 255}, "light": {R: 0xb0, G: 0x6a, B: 0x10, A: 255}, "dense": {R: 0x9b, G: 0x1c, B: 0x12, A: 255}}
	for _, canopy := range []string{"open", "light", "dense"} {
		var pts plotter.XYs
		r := rels[canopy]
		for i, n := range r.cells {
			if n > 0 {
				pts = append(pts, plotter.XY{X: r.chance[i] / n, Y: r.swept[i] / n})
			}
		}
		line, dots, err := plotter.NewLinePoints(pts)
		if err != nil {
			return err
		}
		line.Color, dots.Color = inks[canopy], inks[canopy]
		p.Add(line, dots)
		p.Legend.Add(canopy+" sky", line, dots)
	}
	p.Legend.Left, p.Legend.Top = true, true
	return p.Save(14*vg.Centimeter, 12*vg.Centimeter, path)
}
