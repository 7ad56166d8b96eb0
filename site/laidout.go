package site

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"path"
	"strconv"
	"strings"

	"untrod/grid"
	"untrod/track"
)

// Limits of the distance between laid-out lanes, in metres.
const (
	minSpacingM = 0.1
	maxSpacingM = 20
)

// LaidOut is ground that was walked in lanes along string lines or flags, as its
// searcher declares. In a site file it is a polygon of role laid-out with the
// properties spacing, direction and session.
type LaidOut struct {
	Area
	SpacingM     float64 // between neighbouring lanes, 0.1 to 20
	DirectionDeg float64 // of the lanes, clockwise from true north, 0 to 180
	// Session is the name or file of the visit in which it was walked; "" for any.
	Session string
}

// LocalLaidOut is laid-out ground in a frame's metres. The frame's north is taken
// for true north: they differ by less than 0.1 degree within 5 km of the datum,
// up to latitude 65.
type LocalLaidOut struct {
	LaidOut
	Polygon grid.Polygon
}

// Of reports whether l may have been walked in the visit of this name and file:
// whether l names no session, or one of the two, whatever the case of its letters.
// Of the file the last part of the path will do, with its extension or without.
func (l LaidOut) Of(name, file string) bool {
	file = strings.ReplaceAll(file, `\`, "/")
	for _, s := range []string{"", name, file, path.Base(file), baseName(file)} {
		if strings.EqualFold(strings.TrimSpace(l.Session), strings.TrimSpace(s)) {
			return true
		}
	}
	return false
}

// addLaidOut adds a polygon as laid-out ground, with what the file says of its
// lanes.
func (s *Site) addLaidOut(src source, a Area) error {
	spacing, err := parseNumber(src, "spacing", "m")
	if err != nil {
		return err
	}
	if !(spacing >= minSpacingM && spacing <= maxSpacingM) {
		return src.errorf("spacing %s outside [%g, %d] m", number(spacing), minSpacingM, maxSpacingM)
	}
	direction, err := parseNumber(src, "direction", "°")
	if err != nil {
		return err
	}
	if !(direction >= 0 && direction <= 180) {
		return src.errorf("direction %s outside [0, 180] degrees from true north", number(direction))
	}
	s.LaidOut = append(s.LaidOut, LaidOut{a, spacing, direction, src.property("session")})
	return nil
}

// parseNumber reads a property that must be there: a number, or a text of one
// with or without its unit.
func parseNumber(src source, key, unit string) (float64, error) {
	text := src.property(key)
	if text == "" {
		return 0, src.errorf("%s without %s", called[src.role], key)
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(text, unit)), 64)
	if errors.Is(err, strconv.ErrSyntax) {
		return 0, src.errorf("%s %q is not a number with or without %q", key, text, unit)
	}
	return v, nil // what is out of range is infinite
}

// Proposal is a block of lanes found in a walk as the laid-out ground it would be
// if its searcher says that it was walked to lines: never to be assumed. Its
// corners are where the receiver put them. Spacing is rounded to centimetres and
// direction to tenths of a degree.
func Proposal(b track.LaneBlock, f grid.Frame, session string) LaidOut {
	return LaidOut{
		Area:         Area{Name: fmt.Sprintf("%d lanes", b.Lanes), Outer: toLonLat(f, b.Corners[:])},
		SpacingM:     math.Round(100*b.SpacingM) / 100,
		DirectionDeg: math.Mod(math.Round(10*b.DirectionDeg)/10, 180),
		Session:      session,
	}
}

// Feature is l as the text of a GeoJSON Feature, to stand among the features of a
// site file; [Read] reads it back.
func (l LaidOut) Feature() ([]byte, error) { return json.MarshalIndent(l.shape().feature(), "", " ") }

func (l LaidOut) shape() shape {
	return shape{role: "laid-out", name: l.Name, Geometry: l.orb(), laid: &l}
}
