package report

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

var compareDatum = grid.LonLat{Lon: -24.31, Lat: 43.87} // mid-ocean

// comparedGround is an invented site of 70 m by 45 m with four landmarks, one of them
// off the site, searched in three visits: all of it twice, the west once more, where
// most of the finds are.
func comparedGround(t testing.TB) *coverage.Result {
	f, err := grid.NewFrame(compareDatum)
	require.NoError(t, err)
	at := func(xy ...float64) (out []grid.LonLat) {
		for i := 0; i < len(xy); i += 2 {
			out = append(out, f.ToLonLat(grid.XY{X: xy[i] - 35, Y: xy[i+1] - 22}))
		}
		return out
	}
	s := &site.Site{Name: "Osier Bank",
		Boundary: []site.Area{{Outer: at(0, 0, 66, 3, 70, 41, 30, 45, 2, 38)}},
		Keepouts: []site.Area{{Name: "pit", Outer: at(44, 26, 53, 25, 55, 34, 46, 35)}},
		Landmarks: []site.Landmark{
			{Name: "split boulder", Points: at(14, 17)},
			{Name: "drip line", Shape: site.LineShape, Points: at(38, 8, 47, 12, 58, 10)},
			{Name: "sheepfold", Shape: site.AreaShape, Points: at(27, 30, 33, 30, 33, 35, 27, 35)},
			{Name: "milestone", Points: at(160, 20)},
		}}
	start := time.Date(2026, 4, 4, 8, 0, 0, 0, time.UTC)
	var logs []coverage.Source
	for i, width := range []float64{68, 68, 24} {
		logs = append(logs, lanesOf(f, fmt.Sprintf("walk%d.gpx", i+1), start.AddDate(0, 0, 7*i), width))
	}
	set := coverage.DefaultSettings()
	set.SwathM, set.CellM = 1.6, 0.2
	set.Zones = coverage.ZoneSettings{RingsM: []float64{5, 10}, Nearest: true}
	r, err := coverage.Assess(t.Context(), coverage.Input{Site: s, Logs: logs, Finds: inventedFinds(f, start)}, set, nil)
	require.NoError(t, err)
	return r
}

// lanesOf is a visit in lanes 1.8 m apart over so much of the width.
func lanesOf(f grid.Frame, name string, start time.Time, width float64) coverage.Source {
	var fixes []track.Fix
	add := func(x, y float64) {
		fix := track.NoFix
		fix.Pos, fix.T = f.ToLonLat(grid.XY{X: x - 35, Y: y - 22}), track.At(start.Add(time.Duration(len(fixes))*time.Second))
		fixes = append(fixes, fix)
	}
	for i := 0.0; 1+1.8*i < width; i++ {
		for k := 0.0; k <= 80; k++ {
			y := 1 + 0.5*k
			if int(i)%2 == 1 {
				y = 42 - y
			}
			add(1+1.8*i, y)
		}
	}
	return coverage.Source{Name: name, Visits: func() ([]coverage.Visit, error) {
		return []coverage.Visit{{Name: name[:5], SHA256: "aa", Segments: [][]track.Fix{fixes}}}, nil
	}}
}

// inventedFinds are 34, 20 of them about the boulder, fewer on each visit; one lies
// off the site, one has no place.
func inventedFinds(f grid.Frame, start time.Time) (out []site.Find) {
	for i := range 34 {
		d := site.NoFind
		angle, r := 2.4*float64(i), 4.6*math.Sqrt(float64(i%20+1)/20)
		x, y := 14+r*math.Cos(angle), 17+r*math.Sin(angle)
		if i >= 20 {
			x, y = 6+float64(i*17%60), 4+float64(i*23%34)
		}
		visit := []int{0, 0, 0, 0, 1, 1, 2}[i%7]
		d.Pos, d.T = f.ToLonLat(grid.XY{X: x - 35, Y: y - 22}), track.At(start.AddDate(0, 0, 7*visit).Add(time.Minute))
		d.ReadingLo = float64(24 + i*13%66)
		d.ReadingHi, d.Detector = d.ReadingLo+float64(i%3), "red one"
		if d.ReadingLo > 58 || i%9 == 0 {
			d.Verdict = site.Keeper
		} else if i%4 > 0 {
			d.Verdict = site.Scrap
		}
		if i%5 > 0 {
			d.From = 1740 + 10*(i%7)
			d.To = d.From + 15 + i
		}
		out = append(out, d)
	}
	out[32].Pos = f.ToLonLat(grid.XY{X: 300})
	out[33].Pos = site.NoFind.Pos
	return out
}

// comparedUnsure is comparedGround with made-up certainty.
func comparedUnsure(t testing.TB) *coverage.Result {
	r := comparedGround(t)
	r.Certainty = unsure(r)
	r.Settings.Position = coverage.PositionSettings{Canopy: "light", Receiver: track.ReceiverOf(3), Draws: 200, Seed: 1}
	c := r.Comparison
	for _, z := range append(pointers(c.Zones), &c.Rest) {
		if z.Cells > 0 {
			p := 0.9 * z.AsLoggedPercent
			z.Certainty = &coverage.ZoneCertainty{AtLeastPercent: p - 9, ExpectedPercent: p, Interval90: [2]float64{p - 9, p + 6}}
		}
		z.Finds += 0.3
		z.RatioToRest.Lo, z.RatioToRest.Hi = 0.6*z.RatioToRest.Lo, 1.4*z.RatioToRest.Hi
	}
	return r
}

func pointers(zs []coverage.Zone) (out []*coverage.Zone) {
	for i := range zs {
		out = append(out, &zs[i])
	}
	return out
}
