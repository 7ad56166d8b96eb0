package report

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check/golden"
	"untrod/plan"
)

// TestPlanGallery writes plans on many kinds of ground to the folder named by
// UNTROD_GALLERY, to be looked at.
func TestPlanGallery(t *testing.T) {
	dir := os.Getenv("UNTROD_GALLERY")
	if dir == "" {
		t.Skip("UNTROD_GALLERY is not set")
	}
	for name, g := range gallery() {
		t.Run(name, func(t *testing.T) {
			r, ps := g.makeUnsure(t)
			p := visitOf(t, r, cornerOf(r), 14)
			writePlan(t, filepath.Join(dir, "plan-"+name), r, ps, p)
			r, ps = g.make(t)
			p = visitOf(t, r, cornerOf(r), 40)
			p.Settings.Slow = thornsOn(r)
			p.Settings.End = grid.XY{X: 1.2 * r.Spec.Bounds().Max.X, Y: 6 * r.Spec.Bounds().Max.Y}
			p.Home[1] = p.Settings.End
			writePlan(t, filepath.Join(dir, "plan-"+name+"-sure"), r, ps, p)
		})
	}
}

// cornerOf is a place just outside the south-west of the site.
func cornerOf(r *coverage.Result) grid.XY {
	b := r.Spec.Bounds()
	return grid.XY{X: b.Min.X - 0.06*b.Width(), Y: b.Min.Y + 0.05*b.Height()}
}

func writePlan(t *testing.T, path string, r *coverage.Result, ps passes, p *plan.Plan) {
	var pic, hours, text bytes.Buffer
	require.NoError(t, planPNG(&pic, newPlanSheet(r, ps, p, Metric), 110))
	require.NoError(t, HoursPNG(&hours, r, p, Metric))
	require.NoError(t, PlanText(&text, r, p, Metric))
	require.NoError(t, os.WriteFile(path+".png", pic.Bytes(), 0o644))
	require.NoError(t, os.WriteFile(path+"-hours.png", hours.Bytes(), 0o644))
	require.NoError(t, os.WriteFile(path+".txt", text.Bytes(), 0o644))
}

func TestPlanMapGolden(t *testing.T) {
	r, ps := field().makeUnsure(t)
	var pic bytes.Buffer
	require.NoError(t, planPNG(&pic, newPlanSheet(r, ps, visitOf(t, r, cornerOf(r), 7), Metric), 80))
	golden.PNG(t, "testdata/plan.png", pic.Bytes(), golden.Tolerance{Channel: 24, Pixels: 60})
}

func TestHoursGolden(t *testing.T) {
	r, _ := field().makeUnsure(t)
	var pic bytes.Buffer
	require.NoError(t, hoursPNG(&pic, r, visitOf(t, r, cornerOf(r), 7), Imperial, 80))
	golden.PNG(t, "testdata/plan-hours.png", pic.Bytes(), golden.Tolerance{Channel: 24, Pixels: 60})
}
