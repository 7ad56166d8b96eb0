package plan

import (
	"math"
	"slices"

	"untrod/grid"
	"untrod/site"
)

// TrueBearing returns the bearing of to as seen from from, in degrees clockwise from
// true north, in [0, 360); NaN for two equal places. It is the bearing in the frame
// plus the meridian convergence at from: within 0.01 degree of the geodesic's
// azimuth as far as 20 km from the datum, up to latitude 80. Distances in a frame
// need no correction.
func TrueBearing(f grid.Frame, from, to grid.XY) float64 {
	if from == to {
		return math.NaN()
	}
	return clockwise(frameBearing(from, to) - frameBearing(northOf(f, from)))
}

// northOf returns two places in line with true north, either side of at: the way
// the meridian runs in the frame.
func northOf(f grid.Frame, at grid.XY) (south, north grid.XY) {
	const step = 1e-4 // about 11 m, over which a meridian is straight
	p := f.ToLonLat(at)
	return f.ToXY(grid.LonLat{Lon: p.Lon, Lat: p.Lat - step}), f.ToXY(grid.LonLat{Lon: p.Lon, Lat: p.Lat + step})
}

// frameBearing is the bearing from a to b clockwise from the frame's north.
func frameBearing(a, b grid.XY) float64 {
	return math.Atan2(b.X-a.X, b.Y-a.Y) * 180 / math.Pi
}

// clockwise brings degrees into [0, 360).
func clockwise(deg float64) float64 {
	if deg = math.Mod(deg, 360); deg < 0 {
		deg += 360
	}
	if deg == 360 { // a tiny negative number, rounded
		return 0
	}
	return deg
}

// PaceM is the usual length of a pace in metres. Common practice, no source.
const PaceM = 0.75

// Paces is a distance in whole paces of paceM metres, above 0.
func Paces(distanceM, paceM float64) int { return int(math.Round(distanceM / paceM)) }

// Bearing tells how to get to a place from something that can be seen.
type Bearing struct {
	Landmark  string
	Mark      bool
	From      grid.XY // nearest point of the landmark
	DistanceM float64
	TrueDeg   float64 // from the landmark to the place; NaN at the landmark itself
}

const (
	// A mark counts as nearer than it is by this factor, because its place is
	// known: a mark at 30 m comes before a landmark at 21 m. A choice, no source.
	markFactor = 2.0 / 3
	// Two bearings fix a place poorly when they cross at a smaller angle than this.
	// A choice, no source.
	crossDeg = 20
)

// Bearings returns how to get to a place from the two landmarks that serve best, the
// best first; fewer when there are fewer. First is the nearest, a mark counting as
// two thirds of its distance. Second is the nearest by the same count whose
// direction crosses that of the first well: neither within 20 degrees of it nor of
// its opposite; the nearest of the others when none does. Of equals the one named
// first. Lines and outlines of areas count by their nearest point. O(vertices of the
// landmarks).
func Bearings(f grid.Frame, landmarks []site.LocalLandmark, to grid.XY) []Bearing {
	var all []Bearing
	for _, l := range landmarks {
		if len(l.XY) == 0 {
			continue
		}
		from := nearestPoint(l, to)
		all = append(all, Bearing{
			Landmark: l.Name, Mark: l.Mark, From: from,
			DistanceM: between(from, to), TrueDeg: TrueBearing(f, from, to),
		})
	}
	slices.SortStableFunc(all, func(a, b Bearing) int {
		if a.count() < b.count() {
			return -1
		} else if a.count() > b.count() {
			return 1
		}
		return 0
	})
	if len(all) <= 2 {
		return all
	}
	i := slices.IndexFunc(all[1:], func(b Bearing) bool { return crossing(all[0].TrueDeg, b.TrueDeg) })
	return []Bearing{all[0], all[1+max(i, 0)]}
}

func (b Bearing) count() float64 {
	if b.Mark {
		return markFactor * b.DistanceM
	}
	return b.DistanceM
}

// crossing reports whether lines at two bearings meet at crossDeg or more. Where one
// has no bearing the place is at its landmark and any second will do.
func crossing(a, b float64) bool {
	d := math.Mod(clockwise(a-b), 180)
	return math.IsNaN(d) || d >= crossDeg && d <= 180-crossDeg
}

// nearestPoint is the point of a landmark nearest to q: of the outline for an area.
func nearestPoint(l site.LocalLandmark, q grid.XY) grid.XY {
	best := l.XY[0]
	for i, a := range l.XY {
		b := a
		switch {
		case l.Shape == site.PointShape:
		case i+1 < len(l.XY):
			b = l.XY[i+1]
		case l.Shape == site.AreaShape:
			b = l.XY[0]
		}
		if p := closestOn(a, b, q); between(p, q) < between(best, q) {
			best = p
		}
	}
	return best
}

// closestOn is the point of the segment from a to b nearest to q.
func closestOn(a, b, q grid.XY) grid.XY {
	dx, dy := b.X-a.X, b.Y-a.Y
	d2 := dx*dx + dy*dy
	if d2 == 0 {
		return a
	}
	t := math.Max(0, math.Min(((q.X-a.X)*dx+(q.Y-a.Y)*dy)/d2, 1))
	return grid.XY{X: a.X + t*dx, Y: a.Y + t*dy}
}

func between(a, b grid.XY) float64 { return math.Hypot(b.X-a.X, b.Y-a.Y) }
