package coverage

import (
	"maps"
	"slices"

	"untrod/site"
)

// bandWidth is the width of a band of readings, in the detector's numbers (common
// practice, no source).
const bandWidth = 10

// DetectorReadings is what the readings of one detector turned out to be.
type DetectorReadings struct {
	Detector string // empty when not said
	Bands    []Band
	Rules    []SkipRule // skipping all under the end of each band, by band
	Without  int        // finds without a reading
}

// tellFinds sums up the readings and dates of the finds on the site and of those
// without a place.
func (c *Comparison) tellFinds(finds []site.Find) {
	var all []site.Find
	for _, f := range c.Placed {
		all = append(all, f.Find)
	}
	for _, f := range finds {
		if !f.Placed() {
			all = append(all, f)
		}
	}
	var dates []DateRange
	dug := map[string][]Dug{}
	for _, f := range all {
		dates = append(dates, DateRange{f.From, f.To, 1})
		dug[f.Detector] = append(dug[f.Detector], Dug{f.ReadingLo, f.ReadingHi, f.Verdict})
	}
	c.Dates = DatesOf(dates)
	for _, name := range slices.Sorted(maps.Keys(dug)) {
		if r := readingsOf(name, dug[name]); len(r.Bands) > 0 {
			c.Readings = append(c.Readings, r)
		}
	}
}

func readingsOf(detector string, dug []Dug) DetectorReadings {
	r := DetectorReadings{Detector: detector}
	r.Bands, r.Without = Bands(dug, bandWidth)
	for _, b := range r.Bands {
		r.Rules = append(r.Rules, SkipUnder(dug, b.To))
	}
	return r
}
