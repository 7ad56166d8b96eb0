package site

import (
	"fmt"
	"strings"

	"untrod/grid"
)

// Limits of the pace on slow ground, shares of the usual pace.
const (
	minPace = 0.05
	maxPace = 1
)

// Slow is ground that is steep, wet or thorny: it is searchable like any other and
// changes no figure of coverage, but takes longer. In a site file it is a polygon of
// role slow with the property pace.
type Slow struct {
	Area
	// Pace is the share of the usual pace that is walked and searched there, 0.05 to
	// 1: a half takes twice the time. A file may give it in percent, as in "50%".
	Pace float64
}

// LocalSlow is slow ground in a frame's metres.
type LocalSlow struct {
	Slow
	Polygon grid.Polygon
}

// addSlow adds a polygon as slow ground.
func (s *Site) addSlow(src source, a Area) error {
	pace, err := parseNumber(src, "pace", "%")
	if err != nil {
		return err
	}
	if strings.HasSuffix(src.property("pace"), "%") {
		pace /= 100
	}
	if err := checkPace(pace); err != nil {
		return src.errorf("%w", err)
	}
	s.Slow = append(s.Slow, Slow{a, pace})
	return nil
}

func checkPace(pace float64) error {
	if !(pace >= minPace && pace <= maxPace) {
		return fmt.Errorf("pace %s outside [%g, %d], that is 5%% to 100%%", number(pace), minPace, maxPace)
	}
	return nil
}

func (l Slow) shape() shape {
	return shape{role: roleSlow, name: l.Name, Geometry: l.orb(), pace: l.Pace}
}
