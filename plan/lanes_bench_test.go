package plan_test

import (
	"math/rand/v2"
	"testing"

	"untrod/grid"
	"untrod/plan"
)

// BenchmarkLanes lays lanes over all gaps of a walked field; compare the time with
// their number.
func BenchmarkLanes(b *testing.B) {
	gaps := walkedField(rand.New(rand.NewPCG(1, 2)), 120, 0.2, 1.5)
	area := 0.0
	for _, g := range gaps {
		area += g.Area()
	}
	for b.Loop() {
		for _, g := range gaps {
			plan.Lanes([]grid.Polygon{g}, nil, plan.LaneSettings{SwathM: 1.5})
		}
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*len(gaps)), "us/gap")
	b.ReportMetric(area/float64(len(gaps)), "m2/gap")
}
