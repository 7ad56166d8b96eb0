package site

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"untrod/grid"
)

// Roles a shape of a site file can have.
const (
	roleBoundary = "boundary"
	roleKeepout  = "keepout"
	roleLandmark = "landmark"
	roleMark     = "mark"
	roleLaidOut  = "laidout"
	roleSlow     = "slow"
)

// source is what a file says of a shape, and where, as in
// "site.geojson: feature 3".
type source struct {
	place, name, role, kind string
	property                func(key string) string // of what else the file says; nil: nothing
}

func (src source) errorf(format string, args ...any) error {
	return fmt.Errorf("%s: "+format, append([]any{src.place}, args...)...)
}

// quoteName adds the shape's name to its place.
func (src *source) quoteName() {
	if src.name != "" {
		src.place += fmt.Sprintf(" %q", src.name)
	}
}

// parseRole returns the role a text names, whatever its case and hyphens; ""
// stays "".
func parseRole(text string) (string, error) {
	role := strings.NewReplacer("-", "", "_", "", " ", "").Replace(strings.ToLower(text))
	switch role {
	case "", roleBoundary, roleKeepout, roleLandmark, roleMark, roleLaidOut, roleSlow:
		return role, nil
	}
	return "", fmt.Errorf("role %q is not boundary, keepout, landmark, mark, laid-out or slow", text)
}

// addPolygon adds a polygon as what its role says, boundary when it has none.
func (s *Site) addPolygon(src source, rings [][]grid.LonLat) error {
	if len(rings) == 0 {
		return src.errorf("polygon without rings")
	}
	a := Area{Name: src.name}
	for i, ring := range rings {
		clean, err := s.cleanRing(src, ringName(i), ring)
		if err != nil {
			return err
		}
		if i == 0 {
			a.Outer = clean
		} else {
			a.Holes = append(a.Holes, clean)
		}
	}
	switch src.role {
	case roleKeepout:
		s.Keepouts = append(s.Keepouts, a)
	case roleLandmark, roleMark:
		s.addLandmark(src, AreaShape, a.Outer)
	case roleLaidOut:
		return s.addLaidOut(src, a)
	case roleSlow:
		return s.addSlow(src, a)
	default:
		s.Boundary = append(s.Boundary, a)
	}
	return nil
}

// addLine adds a point or line, which can only be a landmark.
func (s *Site) addLine(src source, shape Shape, ps []grid.LonLat) error {
	switch src.role {
	case roleBoundary, roleKeepout, roleLaidOut, roleSlow:
		return src.errorf("role %q needs a polygon", src.role)
	}
	if shape == LineShape && len(ps) < 2 {
		return src.errorf("line of %d vertices, needs 2", len(ps))
	}
	if err := checkPositions(ps); err != nil {
		return src.errorf("%w", err)
	}
	s.addLandmark(src, shape, ps)
	return nil
}

func (s *Site) addLandmark(src source, shape Shape, ps []grid.LonLat) {
	s.Landmarks = append(s.Landmarks, Landmark{
		Name: src.name, Kind: src.kind, Mark: src.role == roleMark, Shape: shape, Points: ps,
	})
}

// cleanRing drops repeated vertices, the closing one too, and notes a ring that
// is not closed.
func (s *Site) cleanRing(src source, which string, ring []grid.LonLat) ([]grid.LonLat, error) {
	if err := checkPositions(ring); err != nil {
		return nil, src.errorf("%s: %w", which, err)
	}
	if len(ring) > 0 && !samePlace(ring[0], ring[len(ring)-1]) {
		s.Notes.Add(NoteUnclosedRing, func() string {
			return fmt.Sprintf("%s: %s does not end where it starts; closed", src.place, which)
		})
	}
	var out []grid.LonLat
	for _, p := range ring {
		if len(out) == 0 || !samePlace(out[len(out)-1], p) {
			out = append(out, p)
		}
	}
	for len(out) > 1 && samePlace(out[0], out[len(out)-1]) {
		out = out[:len(out)-1]
	}
	if n := distinct(out); n < 3 {
		return nil, src.errorf("%s: %d distinct vertices, needs 3", which, n)
	}
	return out, nil
}

// samePlace is equality, with longitudes 180 and -180 the same.
func samePlace(a, b grid.LonLat) bool {
	return a.Lat == b.Lat && (a.Lon == b.Lon || math.Abs(a.Lon) == 180 && a.Lon == -b.Lon)
}

// distinct counts the different positions, up to 3.
func distinct(ps []grid.LonLat) int {
	var seen []grid.LonLat
next:
	for _, p := range ps {
		for _, q := range seen {
			if samePlace(p, q) {
				continue next
			}
		}
		if seen = append(seen, p); len(seen) == 3 {
			break
		}
	}
	return len(seen)
}

// checkPositions returns an error that names the first position off the globe
// and guesses why.
func checkPositions(ps []grid.LonLat) error {
	for i, p := range ps {
		if p.Valid() {
			continue
		}
		what, v, limit := "longitude", p.Lon, 180.0
		if !(math.Abs(p.Lat) <= 90) {
			what, v, limit = "latitude", p.Lat, 90
		}
		err := fmt.Errorf("vertex %d: %s %s outside [-%g, %g]", i+1, what, short(v, limit), limit, limit)
		switch {
		case math.Abs(p.Lat) > 360 || math.Abs(p.Lon) > 360:
			err = fmt.Errorf("%w; are these metres? the file must be in longitude, latitude", err)
		case math.Abs(p.Lat) > 90 && math.Abs(p.Lat) <= 180 && math.Abs(p.Lon) <= 90:
			err = fmt.Errorf("%w; are longitude and latitude swapped?", err)
		case what == "longitude" && math.Abs(p.Lon) > 180:
			err = fmt.Errorf("%w; past 180 it is written %s", err, number(rounded(math.Remainder(p.Lon, 360))))
		}
		return err
	}
	return nil
}

// short prints v to 6 decimals, or whole where that would print the limit it is
// beyond.
func short(v, limit float64) string {
	if math.Abs(rounded(v)) == limit {
		return number(v)
	}
	return number(rounded(v))
}

func rounded(v float64) float64 { return math.Round(v*1e6) / 1e6 }

// number prints v without an exponent where that stays short.
func number(v float64) string {
	if math.Abs(v) < 1e12 {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

func ringName(i int) string {
	if i == 0 {
		return "outer ring"
	}
	return fmt.Sprintf("hole %d", i)
}
