package site

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/golang/geo/s2"

	"untrod/grid"
	"untrod/track"
)

// A track or route is closed, and so the outline of a site, when its ends lie
// within closedM or closedShare of its length of each other, whichever is more,
// but never over a tenth of its length.
const (
	closedM     = 10
	closedShare = 0.02
)

// A loop of a walked outline is a knot, and cut off, when its box is at most
// knotM and knotShare of the outline's box from corner to corner: the traces of
// a receiver that wanders while its carrier stands still.
const (
	knotM     = 20
	knotShare = 0.1
)

// maxKnots bounds the time spent on a tangle that is no outline.
const maxKnots = 200

// readGPX takes the first closed route or track as the boundary and the
// waypoints as landmarks.
func (s *Site) readGPX(raw []byte, name string) error {
	log, err := track.ReadGPX(bytes.NewReader(raw), name)
	if err != nil {
		return err
	}
	s.Notes.Merge(log.Notes)
	s.addWaypoints(log, name)
	nearest := "none has 3 points"
	least := math.Inf(1)
	for _, t := range append(append([]track.Track{}, log.Routes...), log.Tracks...) {
		ps := s.outline(t, name)
		if len(ps) < 3 {
			continue
		}
		gap, length := gapOf(ps)
		if gap <= math.Min(math.Max(closedM, closedShare*length), length/10) {
			return s.addOutline(source{place: name, name: t.Name}, ps)
		}
		if gap < least {
			least, nearest = gap, fmt.Sprintf("the ends of %q are %.0f m apart", t.Name, gap)
		}
	}
	return fmt.Errorf("%s: no closed route or track to be the boundary: %s", name, nearest)
}

func (s *Site) addWaypoints(log *track.Log, name string) {
	for _, w := range log.Waypoints {
		if !s.usable(w.Fix, name) {
			continue
		}
		kind := w.Type
		if kind == "" {
			kind = w.Sym
		}
		s.Landmarks = append(s.Landmarks, Landmark{
			Name: w.Name, Kind: kind, Mark: strings.EqualFold(w.Type, roleMark),
			Shape: PointShape, Points: []grid.LonLat{w.Pos},
		})
	}
}

// usable reports whether a fix has a position, and notes it when it has none.
func (s *Site) usable(x track.Fix, name string) bool {
	switch {
	case !x.Pos.Valid():
		s.Notes.Add(track.NoteBadPosition, func() string {
			return fmt.Sprintf("%s: position %v off the globe", name, x.Pos)
		})
	case x.Pos == grid.LonLat{}:
		s.Notes.Add(track.NoteZeroZero, func() string { return name + ": position 0,0" })
	default:
		return true
	}
	return false
}

// outline returns the usable positions of a track, its segments joined.
func (s *Site) outline(t track.Track, name string) []grid.LonLat {
	var ps []grid.LonLat
	for _, seg := range t.Segments {
		for _, x := range seg {
			if s.usable(x, name) {
				ps = append(ps, x.Pos)
			}
		}
	}
	return ps
}

const earthM = 6_371_009 // mean radius

// gapOf returns the distance between the ends of a line and its length, in
// metres to half a percent: they only decide whether it is closed.
func gapOf(ps []grid.LonLat) (gap, length float64) {
	for i := 1; i < len(ps); i++ {
		length += roughM(ps[i-1], ps[i])
	}
	return roughM(ps[0], ps[len(ps)-1]), length
}

func roughM(a, b grid.LonLat) float64 {
	return s2.LatLngFromDegrees(a.Lat, a.Lon).Distance(s2.LatLngFromDegrees(b.Lat, b.Lon)).Radians() * earthM
}

// addOutline cuts the knots of a closed line and makes it the boundary.
func (s *Site) addOutline(src source, ps []grid.LonLat) error {
	ring, knots := untie(ps)
	for range knots {
		s.Notes.Add(NoteKnot, func() string {
			return fmt.Sprintf("%s: outline %q crosses itself in a small loop, cut off", src.place, src.name)
		})
	}
	return s.addPolygon(src, [][]grid.LonLat{append(ring, ring[0])})
}

// untie cuts small loops off a ring, up to maxKnots, and returns how many. What
// is left may still cross itself.
func untie(ring []grid.LonLat) (out []grid.LonLat, knots int) {
	for len(ring) <= maxVertices && knots < maxKnots {
		cut := cutKnot(ring)
		if cut == nil {
			break
		}
		ring = cut
		knots++
	}
	return ring, knots
}

// cutKnot returns the ring without the loop at the first place, from the west,
// where it meets itself, or nil when it does not or the loop is too long. The
// result has fewer vertices.
func cutKnot(ring []grid.LonLat) (cut []grid.LonLat) {
	l := lattice{int64(math.Round(ring[0].Lon * perDegree))}
	ring = slices.CompactFunc(slices.Clone(ring), func(a, b grid.LonLat) bool { return l.at(a) == l.at(b) })
	ps := l.ring(ring)
	ring = ring[:len(ps)] // without vertices at the end that repeat the first
	sweep(edgesOf([][]point{ps}), func(e, f edge) bool {
		how, at := e.meet(f)
		if how == apart || how == touch && e.follows(f) {
			return true
		}
		i, j := min(e.i, f.i), max(e.i, f.i)
		rest := append(slices.Clone(ring[:i+1]), ring[j+1:]...)
		loop := slices.Clone(ring[i+1 : j+1])
		if how != overlap {
			rest = slices.Insert(rest, i+1, at)
			loop = append(loop, at)
		}
		a, b := spreadM(rest), spreadM(loop)
		if a < b {
			rest, a, b = loop, b, a
		}
		if len(rest) >= 3 && b <= min(knotM, knotShare*a) {
			cut = rest
		}
		return false
	})
	return cut
}

// spreadM is the length from corner to corner of the box around ps.
func spreadM(ps []grid.LonLat) float64 {
	box := s2.EmptyRect()
	for _, p := range ps {
		box = box.AddPoint(s2.LatLngFromDegrees(p.Lat, p.Lon))
	}
	if box.IsEmpty() {
		return 0
	}
	return box.Lo().Distance(box.Hi()).Radians() * earthM
}
