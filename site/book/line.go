package book

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"

	"untrod/grid"
	"untrod/track"
)

const (
	// lineWithinM is how far a fix may lie from the line drawn of a visit.
	lineWithinM = 0.25
	// lineChunk bounds the time for a hostile track, which is up to the square of it.
	lineChunk = 512
)

// lineOf is the line a GIS draws of a visit: through some of its fixes, by the
// method of Douglas and Peucker (1973), so that every other lies within 0.25 m.
// All fixes are kept beside it. Fixes off the globe are passed over, and segments
// with fewer than two others. It jumps where a visit crosses the antimeridian.
func lineOf(segments [][]track.Fix) shape {
	s := shape{kind: wkbMultiLine}
	for _, seg := range segments {
		var all []grid.LonLat
		for _, f := range seg {
			if f.Pos.Valid() {
				all = append(all, f.Pos)
			}
		}
		if len(all) < 2 {
			continue
		}
		line := []grid.LonLat{all[0]}
		for from := 0; from < len(all)-1; from += lineChunk {
			line = append(line, thin(all[from:min(from+lineChunk+1, len(all))])[1:]...)
		}
		s.members = append(s.members, shape{kind: wkbLine, parts: [][]grid.LonLat{line}})
	}
	return s
}

// thin keeps the first, the last and what is needed of ps, two or more.
func thin(ps []grid.LonLat) []grid.LonLat {
	const metresPerDegree = 111_320
	shrink := math.Max(0.01, math.Cos(ps[0].Lat*math.Pi/180))
	line := make(orb.LineString, len(ps))
	for i, p := range ps {
		line[i] = orb.Point{(p.Lon - ps[0].Lon) * shrink, p.Lat - ps[0].Lat}
	}
	kept := simplify.DouglasPeucker(lineWithinM / metresPerDegree).LineString(line.Clone())
	out := make([]grid.LonLat, 0, len(kept))
	for i, k := 0, 0; i < len(line) && k < len(kept); i++ {
		if line[i] == kept[k] {
			out = append(out, ps[i])
			k++
		}
	}
	return out
}
