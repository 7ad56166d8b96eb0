package main

import (
	"math"
	"time"

	"untrod/grid"
	"untrod/internal/check"
	"untrod/site"
	"untrod/track"
)

// quillonGreen is the demo: an old fairground meadow that was never anywhere
// (its coordinates lie in mid-ocean), searched on four days.
func quillonGreen() *scene {
	return &scene{
		name:  "Quillon Green",
		datum: grid.LonLat{Lon: -31.2047, Lat: 47.3118},
		features: []feature{
			{"boundary", "Quillon Green", "", site.AreaShape, points(
				-54, -30, -38, -39, -8, -41, 22, -37, 49, -40, 56, -14, 51, 8,
				55, 27, 38, 39, 9, 36, -14, 41, -41, 34, -56, 14, -50, -8)},
			{"keepout", "pond", "", site.AreaShape, oval(26, -13, 10, 6.5)},
			{"keepout", "tree nursery", "", site.AreaShape, points(-41, 11, -22, 15, -25, 29, -44, 25)},
			{"landmark", "bandstand footing", "foundation", site.AreaShape, oval(2, 7, 3.5, 3.5)},
			{"landmark", "old oak row", "trees", site.LineShape, points(28, 31, 35, 27, 42, 21, 47, 14)},
			{"mark", "water trough", "trough", site.PointShape, points(-30, -20)},
			{"landmark", "gate", "gate", site.PointShape, points(-46, -34.5)},
		},
		visits: []sceneVisit{
			{"visits/1-by-the-gate.gpx", "by the gate, winding", quillonVisit(1, "2026-04-11T09:12:00Z", check.Winding, box(-54, -38, -12, 8)), "water trough"},
			{"visits/2-south-lanes.gpx", "south side, lanes", quillonVisit(2, "2026-04-18T13:40:00Z", check.Lanes, box(-9, -38, 50, -14)), ""},
			{"visits/3-bandstand.gpx", "round the bandstand", quillonVisit(3, "2026-05-02T10:05:00Z", check.Spiral, box(-17, -11, 21, 27)), ""},
			{"visits/4-oak-row.gpx", "oak row, winding", quillonVisit(4, "2026-05-09T08:55:00Z", check.Winding, box(16, -6, 54, 36)), ""},
		},
	}
}

// quillonVisit is one visit of at most two hours through the gate.
func quillonVisit(seed uint64, start string, style check.Style, patch grid.Bounds) check.WalkSettings {
	w := check.DefaultWalk()
	w.Seed, w.Style, w.Patch = seed, style, patch
	w.Gate, w.Seconds, w.LaneM = grid.XY{X: -52, Y: -44}, 7200, 1.2
	w.Start = instant(start)
	w.Receiver.JumpsPerHour, w.Receiver.SilencesPerHour = 3, 1
	return w
}

func instant(s string) track.Instant {
	t, err := time.Parse(time.RFC3339, s)
	if err != nil {
		panic(err)
	}
	return track.At(t)
}

func box(x0, y0, x1, y1 float64) grid.Bounds {
	return grid.Bounds{Min: grid.XY{X: x0, Y: y0}, Max: grid.XY{X: x1, Y: y1}}
}

// points takes x, y, x, y, ...
func points(xy ...float64) []grid.XY {
	var out []grid.XY
	for i := 0; i+1 < len(xy); i += 2 {
		out = append(out, grid.XY{X: xy[i], Y: xy[i+1]})
	}
	return out
}

// oval is an ellipse of 16 corners with half-axes a and b.
func oval(x, y, a, b float64) []grid.XY {
	var out []grid.XY
	for i := range 16 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 16)
		out = append(out, grid.XY{X: x + a*cos, Y: y + b*sin})
	}
	return out
}
