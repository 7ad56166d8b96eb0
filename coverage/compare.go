package coverage

import (
	"fmt"
	"math"
	"strings"

	"untrod/grid"
	"untrod/site"
)

// CompareLevel is the level of every limit of a comparison.
const CompareLevel = 0.95

// Zone is the ground of one ring round one landmark, or the rest of the site.
type Zone struct {
	Landmark string  // as Comparison names it; empty for the rest
	FromM    float64 // ground from here on, metres from the landmark
	ToM      float64 // and less than this; both 0 for the rest
	Cells    int     // of Result.Spec
	SweptM2  float64 // once or more, as logged

	SearchableM2, AsLoggedPercent float64
	MeanPasses                    float64 // over all its ground, also what was never swept
	SearchSPerM2                  float64 // over all its ground
	TrackM                        float64 // of searching, see Comparison
	// Certainty is judged from the draws of this ground alone; nil with perfect
	// positions and for a zone without cells.
	Certainty *ZoneCertainty

	Finds, Keepers              float64 // means over the draws: a find near an edge counts in part
	FindsPer100M2, FindsPerHour Rate    // of ground swept once or more; of searching
	RatioToRest                 Ratio   // of finds per square metre swept; NaN for the rest itself
	// RatioAsLogged is the same of finds and ground as logged. Its P is the test: error
	// has blurred finds and walks alike already, so that neither ground gains where
	// finds lie evenly; to blur both once more, as the draws do, hides differences.
	RatioAsLogged Ratio
	PHolm         float64 // RatioAsLogged.P, corrected for all zones that were tested
}

// ZoneCertainty is how surely a zone was swept, as Certainty is for the site.
type ZoneCertainty struct {
	AtLeastPercent, ExpectedPercent float64
	Interval90                      [2]float64
}

// Comparison tells the ground round landmarks from the rest of the site.
//
// Cells, passes and seconds are as logged, seconds from the footprint of each step
// (Tally). Metres of track are those of searching legs, cut into pieces of at most
// pieceM, each counted where its middle lies.
//
// Receiver error is allowed for by the draws: in each, the ground swept in a zone is
// that of the drawn walks, and every find is put where it may truly have been, by a
// normal error of its own about its logged place, kept to the searchable ground. The
// draw of a find and that of the walk are independent, though one receiver may have
// logged both: so figures are a little more doubtful than they need be. Seconds
// stay as logged.
type Comparison struct {
	Landmarks []string // in the order of the site; unnamed ones are counted
	Zones     []Zone   // by landmark, then by ring
	Rest      Zone
	Placed    []PlacedFind // finds on the site
	Outside   int          // finds with a place that is not on the searchable ground
	Placeless int          // finds without a place
	Left      []Left       // of the whole site, then of each landmark with ground in its rings
	Trend     Trend
	// Of the finds on the site and those without a place:
	Readings []DetectorReadings // by detector, since each has numbers of its own
	Dates    Dating
}

// PlacedFind is a find on the site.
type PlacedFind struct {
	site.Find
	XY    grid.XY // as logged, metres
	Visit int     // the session it was made in, by its time; -1 when no session holds it
}

// compare makes the comparison; the draws, if any, are done.
func (r *Result) compare(visits []visit, finds []site.Find, zones zoneMasks) *Comparison {
	c := &Comparison{Landmarks: landmarkNames(r.Local.Landmarks)}
	cells := zones.flat()
	for i, z := range cells {
		c.Zones = append(c.Zones, r.zone(z))
		if n := len(r.Settings.Zones.RingsM); i < len(cells)-1 {
			k := i % n
			c.Zones[i].Landmark, c.Zones[i].ToM = c.Landmarks[i/n], r.Settings.Zones.RingsM[k]
			if k > 0 {
				c.Zones[i].FromM = r.Settings.Zones.RingsM[k-1]
			}
		}
	}
	r.judgeZones(c.Zones)
	index := newZoneIndex(r.Spec, cells)
	r.trackIn(c.Zones, visits, index)
	r.placeFinds(c, finds)
	r.findsIn(c, index)
	c.Rest = c.Zones[len(c.Zones)-1]
	c.Zones = c.Zones[:len(c.Zones)-1]
	r.leftIn(c, visits, zones)
	r.trend(c, visits)
	c.tellFinds(finds)
	return c
}

// landmarkNames tells landmarks apart: those without a name are counted, and so are
// those that share one.
func landmarkNames(marks []site.LocalLandmark) []string {
	var out []string
	seen := map[string]int{}
	for i, m := range marks {
		name := strings.TrimSpace(m.Name)
		if name == "" {
			name = fmt.Sprintf("landmark %d", i+1)
		}
		if seen[name]++; seen[name] > 1 {
			name = fmt.Sprintf("%s (%d)", name, seen[name])
		}
		out = append(out, name)
	}
	return out
}

// zone is what the log says of some cells.
func (r *Result) zone(z zoneCells) Zone {
	out := Zone{Cells: z.cells, RatioToRest: noRatio, RatioAsLogged: noRatio, PHolm: math.NaN()}
	a, swept, passes := r.Spec.CellAreaM2(), 0, 0
	seconds := 0.0
	z.mask.Cells(func(c grid.Cell) {
		if p := r.Tally.Passes(c); p > 0 {
			swept++
			passes += p
			seconds += r.Tally.SecondsPerM2(c) * a
		}
	})
	out.SearchableM2, out.SweptM2 = float64(z.cells)*a, float64(swept)*a
	out.AsLoggedPercent = percent(swept, z.cells)
	if z.cells > 0 {
		out.MeanPasses = float64(passes) / float64(z.cells)
		out.SearchSPerM2 = seconds / out.SearchableM2
	}
	return out
}

func (z *Zone) hours() float64 { return z.SearchSPerM2 * z.SearchableM2 / 3600 }

var noRatio = Ratio{math.NaN(), math.NaN(), math.NaN(), math.NaN()}

// judgeZones makes of the draws of each zone what judge makes of the site's.
func (r *Result) judgeZones(zs []Zone) {
	if r.Certainty == nil {
		return
	}
	for i := range zs {
		if zs[i].Cells == 0 {
			continue
		}
		j := judge(r.Certainty.raw.zones[i], r.mostIn(zs[i].AsLoggedPercent))
		zs[i].Certainty = &ZoneCertainty{j.AtLeastPercent, j.ExpectedPercent, j.Interval90}
	}
}
