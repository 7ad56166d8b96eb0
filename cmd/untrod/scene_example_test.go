package main

import (
	"flag"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/internal/check"
	"untrod/site"
)

var writeExample = flag.Bool("example", false, "write examples/tallow-field anew")

const exampleDir = "../../examples/tallow-field"

// tallowField is the small site under examples: a corner of pasture in
// mid-ocean, with a phone logging every third second.
func tallowField() *scene {
	return &scene{
		name:  "Tallow Field",
		datum: grid.LonLat{Lon: -27.6128, Lat: 44.9073},
		features: []feature{
			{"boundary", "Tallow Field", "", site.AreaShape, points(
				-21, -13, 2, -16, 23, -12, 20, 4, 24, 15, -3, 17, -23, 12, -18, 0)},
			{"keepout", "bramble", "", site.AreaShape, points(-12, 2, -6, 1, -4, 6, -8, 9, -13, 7)},
			{"landmark", "tumbled wall", "wall", site.LineShape, points(-18, -9, -5, -10, 4, -12)},
			{"mark", "capped well", "well", site.PointShape, points(11, 6)},
		},
		visits: []sceneVisit{
			{"walks/1-evening.gpx", "first evening", tallowVisit(11, "2026-06-02T18:10:00Z", check.Winding, box(-22, -15, 4, 16)), ""},
			{"walks/2-lanes.gpx", "lanes by the wall", tallowVisit(12, "2026-06-05T17:45:00Z", check.Lanes, box(-17, -13, 18, -3)), ""},
			{"walks/3-well.gpx", "round the well", tallowVisit(13, "2026-06-09T18:30:00Z", check.Spiral, box(2, -2, 19, 15)), "capped well"},
		},
	}
}

func tallowVisit(seed uint64, start string, style check.Style, patch grid.Bounds) check.WalkSettings {
	w := check.DefaultWalk()
	w.Seed, w.Style, w.Patch, w.Start = seed, style, patch, instant(start)
	w.Gate, w.Seconds = grid.XY{X: -30, Y: -18}, 1200
	w.DigMinS, w.DigMaxS = 30, 90
	w.Receiver.EveryS = 3
	return w
}

// TestExampleFiles writes the example anew with -example.
func TestExampleFiles(t *testing.T) {
	s := tallowField()
	if *writeExample {
		_, err := s.write(exampleDir)
		require.NoError(t, err)
	}
	for _, path := range s.files(exampleDir) {
		require.FileExists(t, path)
	}
}
