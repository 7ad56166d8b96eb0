package web

import (
	"math"
	"net/http"
	"slices"
	"strconv"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"
	"github.com/peterstace/simplefeatures/geom"

	"untrod/grid"
	"untrod/report"
	"untrod/track"
)

// OutlineDoc is the answer to GET /api/outline.
type OutlineDoc struct {
	Datum report.LonLatDoc `json:"datum"`
	Outer []PointDoc       `json:"outer"`
}

// Corners of a proposed outline.
const minCorners, usualCorners, maxCorners = 3, 16, 200

func (s *server) outline(w http.ResponseWriter, r *http.Request) error {
	corners, err := usualCorners, error(nil)
	if text := r.FormValue("corners"); text != "" {
		corners, err = strconv.Atoi(text)
	}
	if err != nil || corners < minCorners || corners > maxCorners {
		return refuse(http.StatusBadRequest, "an outline has 3 to 200 corners")
	}
	now, err := s.desk.current()
	if err != nil {
		return err
	}
	ring, err := proposal(now, corners)
	if err != nil {
		return err
	}
	return answer(w, OutlineDoc{datumDoc(now.result.Frame), lineDoc(ring)})
}

// The searched ground is drawn in cells of outlineCellM, or wider ones where it is so
// long that there would be more than maxOutlineCells of them on a side.
const (
	outlineCellM    = 0.5
	maxOutlineCells = 4000
)

// mostOfIt is the share of the searched ground that one piece must have for its outline
// to be proposed; else it is the hull of all pieces.
const mostOfIt = 0.9

// proposal is an outline about the searched ground, without holes, of at most so many
// corners, on whole tenths of a metre.
func proposal(n *shown, corners int) (grid.Ring, error) {
	searched := searchedGround(n)
	pieces := grid.Outlines(searched)
	var largest grid.Ring
	for _, p := range pieces {
		if p.Outer.Area() > largest.Area() {
			largest = p.Outer
		}
	}
	if largest == nil {
		return nil, refuse(http.StatusConflict, "no ground was searched yet", "add the logs of your visits")
	}
	all := 0.0
	for _, p := range pieces {
		all += p.Outer.Area()
	}
	if largest.Area() >= mostOfIt*all {
		if ring, ok := fewCorners(largest, corners); ok {
			return ring, nil
		}
	}
	ring, ok := fewCorners(hull(pieces), corners)
	if !ok {
		return nil, refuse(http.StatusConflict, "the searched ground is too small for an outline")
	}
	return ring, nil
}

// searchedGround is every place within half a swath of a searching leg, and as much
// about it as an outline that is drawn by itself leaves.
func searchedGround(n *shown) *grid.Mask {
	bounds := grid.EmptyBounds()
	for _, w := range n.walks {
		eachSearched(w, func(line []grid.XY) {
			for _, q := range line {
				bounds = bounds.Add(q)
			}
		})
	}
	cell := max(outlineCellM, max(bounds.Width(), bounds.Height())/maxOutlineCells)
	pad := max(n.result.Settings.OutlinePadM+n.result.Settings.SwathM/2, cell)
	m, brush := grid.NewMask(grid.SpecFor(bounds.Pad(pad+cell), cell)), grid.NewBrush(cell, pad)
	for _, w := range n.walks {
		eachSearched(w, func(line []grid.XY) { m.FillLine(line, brush) })
	}
	return m
}

// eachSearched calls f with the line of each searching leg.
func eachSearched(w track.Walk, f func(line []grid.XY)) {
	for _, p := range w.Paths {
		for _, l := range p.Legs {
			if l.Kind != track.Searching {
				continue
			}
			points := p.Line(l)
			line := make([]grid.XY, len(points))
			for i, q := range points {
				line[i] = q.XY
			}
			f(line)
		}
	}
}

// fewCorners leaves the corners of a ring that matter most, rounded; ok is false when
// what is left is no outline.
func fewCorners(r grid.Ring, corners int) (out grid.Ring, ok bool) {
	line := make(orb.Ring, 0, len(r)+1)
	for _, q := range r {
		line = append(line, orb.Point{q.X, q.Y})
	}
	line = append(line, line[0])
	if len(line) > corners+1 {
		line = simplify.VisvalingamKeep(corners + 1).Ring(line)
	}
	for _, q := range line[:len(line)-1] {
		p := grid.XY{X: math.Round(q[0]*10) / 10, Y: math.Round(q[1]*10) / 10}
		if len(out) == 0 || out[len(out)-1] != p {
			out = append(out, p)
		}
	}
	for len(out) > 1 && out[0] == out[len(out)-1] {
		out = out[:len(out)-1]
	}
	return out, len(out) >= minCorners && out.Area() > 0 && grid.Polygon{Outer: out}.Validate() == nil
}

// hull is the convex hull of outlines.
func hull(pieces []grid.Polygon) grid.Ring {
	var xy []float64
	for _, p := range pieces {
		for _, q := range p.Outer {
			xy = append(xy, q.X, q.Y)
		}
	}
	around := geom.NewLineStringXY(xy...).AsGeometry().ConvexHull().MustAsPolygon() // cells have an area
	seq := around.ExteriorRing().Coordinates()
	out := make(grid.Ring, seq.Length()-1)
	for i := range out {
		q := seq.GetXY(i)
		out[i] = grid.XY{X: q.X, Y: q.Y}
	}
	if out.Area() < 0 {
		slices.Reverse(out)
	}
	return out
}
