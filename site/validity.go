package site

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"untrod/grid"
)

const (
	// reachM is how far from the frame's datum everything of a site must lie:
	// as far as a grid.Frame is good for.
	reachM = 30_000
	// maxVertices and maxHoles (of one polygon) bound the time the checks take on
	// a hostile file.
	maxVertices = 50_000
	maxHoles    = 1000
)

// Validate returns the first fault that keeps s from being used, or nil:
//
//   - no boundary, or a boundary no frame can hold (grid.ErrTooWide among them);
//   - a position off the globe;
//   - more than 50,000 vertices in boundary, keep-outs, laid-out and slow ground,
//     or 1,000 holes in one polygon;
//   - a keep-out, laid-out or slow ground that reaches over 30 km from the
//     boundary's middle;
//   - slow ground with a pace outside 0.05 to 1;
//   - a ring with no area, or that crosses, touches or runs along itself;
//   - two rings of one polygon that cross, run along each other or touch in
//     more than one point; a hole outside its outer ring or inside another.
//
// Where rings meet the message names the place in longitude, latitude. Edges
// are straight in longitude and latitude (RFC 7946 section 3.1.1) between
// vertices rounded to 1e-8 degree, about 1 mm, which makes every test exact.
// Boundary polygons may overlap one another, and so may keep-outs.
//
// O(n log n) for n vertices of usual outlines; n^2 where edges are long and
// many, about 1 s at 10,000.
func (s *Site) Validate() error {
	if len(s.Boundary) == 0 {
		return errors.New("no boundary: no polygon has that role")
	}
	if err := s.checkVertices(); err != nil {
		return err
	}
	f, err := s.Frame()
	if err != nil {
		return fmt.Errorf("boundary: %w", err)
	}
	for i, g := range s.Slow {
		if err := checkPace(g.Pace); err != nil {
			return fmt.Errorf("%s: %w", s.label(roleSlow, i), err)
		}
	}
	l := latticeOf(f)
	return s.eachArea(func(role string, i int, a Area) error {
		if role != roleBoundary && slices.ContainsFunc(a.rings(), func(r []grid.LonLat) bool { return !inReach(f, r) }) {
			return fmt.Errorf("%s reaches over %d km from the boundary's middle; cut it to the site",
				s.label(role, i), reachM/1000)
		}
		if err := checkRings(l.rings(a)); err != nil {
			return fmt.Errorf("%s: %w", s.label(role, i), err)
		}
		return nil
	})
}

// checkVertices refuses positions off the globe and outlines too long to check.
func (s *Site) checkVertices() error {
	n := 0
	if err := s.eachArea(func(role string, i int, a Area) error {
		if len(a.Holes) > maxHoles {
			return fmt.Errorf("%s has %d holes, at most %d; draw holes as keep-outs", s.label(role, i), len(a.Holes), maxHoles)
		}
		for k, ring := range a.rings() {
			n += len(ring)
			if err := checkPositions(ring); err != nil {
				return fmt.Errorf("%s: %s: %w", s.label(role, i), ringName(k), err)
			}
		}
		return nil
	}); err != nil {
		return err
	}
	if n > maxVertices {
		return fmt.Errorf("boundary, keep-outs, laid-out and slow ground have %d vertices, at most %d; simplify the outlines", n, maxVertices)
	}
	for _, l := range s.Landmarks {
		if err := checkPositions(l.Points); err != nil {
			return fmt.Errorf("landmark %q: %w", l.Name, err)
		}
	}
	return nil
}

// inReach reports whether f is good at all of ps.
func inReach(f grid.Frame, ps []grid.LonLat) bool {
	return !slices.ContainsFunc(ps, func(p grid.LonLat) bool {
		q := f.ToXY(p)
		return !(math.Hypot(q.X, q.Y) <= reachM)
	})
}

// checkRings returns the first fault of a polygon, outer ring first.
func checkRings(rings [][]point) error {
	for i, r := range rings {
		if flat(r) {
			return fmt.Errorf("%s has no area", ringName(i))
		}
	}
	if err := checkMeetings(rings); err != nil {
		return err
	}
	for i, h := range rings[1:] {
		if side(h, rings[0]) < 0 {
			return fmt.Errorf("hole %d lies outside its outer ring", i+1)
		}
		for j, g := range rings[1 : i+1] {
			if side(h, g) > 0 || side(g, h) > 0 {
				return fmt.Errorf("holes %d and %d lie one inside the other", j+1, i+1)
			}
		}
	}
	return nil
}

// flat reports whether a ring's points all lie on one line.
func flat(r []point) bool {
	for i := 2; i < len(r); i++ {
		if turnOf(r[0], r[1], r[i]) != 0 {
			return false
		}
	}
	return true
}

// side is inRing for the first vertex of r that is not on o. It is that of all
// of r when the two meet in one point at most.
func side(r, o []point) int {
	for _, p := range r {
		if s := inRing(o, p); s != 0 {
			return s
		}
	}
	return 0
}

// checkMeetings returns an error that says where rings of a polygon meet as they
// may not.
func checkMeetings(rings [][]point) (err error) {
	touched := map[[2]int]grid.LonLat{}
	sweep(edgesOf(rings), func(e, f edge) bool {
		how, at := e.meet(f)
		if how == apart || how == touch && e.follows(f) {
			return true
		}
		if e.ring == f.ring {
			err = fmt.Errorf("%s %s itself at %v", ringName(e.ring), verb(how), at)
			return false
		}
		pair := [2]int{min(e.ring, f.ring), max(e.ring, f.ring)}
		first, again := touched[pair]
		if how == touch && (!again || first == at) {
			touched[pair] = at
			return true
		}
		if how == touch {
			err = fmt.Errorf("%s touches %s in more than one point, one at %v; draw the hole as a keep-out",
				ringName(pair[1]), ringName(pair[0]), at)
		} else {
			err = fmt.Errorf("%s %s %s at %v; draw the hole as a keep-out",
				ringName(pair[1]), verb(how), ringName(pair[0]), at)
		}
		return false
	})
	return err
}

func verb(m meeting) string {
	return [...]string{touch: "touches", cross: "crosses", overlap: "runs along"}[m]
}

// idleKeepouts returns the numbers of the keep-outs that share no ground with
// the boundary. Touching counts as sharing.
func (s *Site) idleKeepouts(f grid.Frame) []int {
	l := latticeOf(f)
	var boundary [][][]point
	for _, a := range s.Boundary {
		boundary = append(boundary, l.rings(a))
	}
	var idle []int
	for i, k := range s.Keepouts {
		rings := l.rings(k)
		if !slices.ContainsFunc(boundary, func(b [][]point) bool { return shareGround(b, rings) }) {
			idle = append(idle, i)
		}
	}
	return idle
}

func shareGround(a, b [][]point) bool {
	if inArea(a, b[0][0]) >= 0 || inArea(b, a[0][0]) >= 0 {
		return true
	}
	met := false
	edges := edgesOf(append(slices.Clone(a), b...))
	sweep(edges, func(e, f edge) bool {
		if (e.ring < len(a)) != (f.ring < len(a)) {
			how, _ := e.meet(f)
			met = how != apart
		}
		return !met
	})
	return met
}
