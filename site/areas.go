package site

import (
	"fmt"

	"untrod/grid"
)

// areaRoles are the roles of polygons that are ground, with what messages call them.
var (
	areaRoles = []string{roleBoundary, roleKeepout, roleLaidOut, roleSlow}
	called    = map[string]string{
		roleBoundary: "boundary", roleKeepout: "keep-out", roleLaidOut: "laid-out ground", roleSlow: "slow ground",
	}
)

// areasOf are the polygons of one of areaRoles.
func (s *Site) areasOf(role string) []Area {
	var out []Area
	switch role {
	case roleBoundary:
		return s.Boundary
	case roleKeepout:
		return s.Keepouts
	case roleLaidOut:
		for _, l := range s.LaidOut {
			out = append(out, l.Area)
		}
	case roleSlow:
		for _, l := range s.Slow {
			out = append(out, l.Area)
		}
	}
	return out
}

// eachArea calls f for every polygon of areaRoles until one gives an error.
func (s *Site) eachArea(f func(role string, i int, a Area) error) error {
	for _, role := range areaRoles {
		for i, a := range s.areasOf(role) {
			if err := f(role, i, a); err != nil {
				return err
			}
		}
	}
	return nil
}

// label names an area for messages: by name, or by number where there are more.
func (s *Site) label(role string, i int) string {
	all := s.areasOf(role)
	switch {
	case all[i].Name != "":
		return fmt.Sprintf("%s %q", called[role], all[i].Name)
	case len(all) > 1:
		return fmt.Sprintf("%s %d", called[role], i+1)
	}
	return called[role]
}

func (a Area) rings() [][]grid.LonLat { return append([][]grid.LonLat{a.Outer}, a.Holes...) }
