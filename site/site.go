// Package site holds the plain types of a site (its boundary, keep-outs,
// landmarks and marks, and the visits to it) and the readers that make them
// from GeoJSON, KML and GPX. Positions are WGS 84 degrees until [Site.Local] puts
// them in a frame's metres. Start at [Read]. The package opens no files and prints
// nothing.
package site

import (
	"untrod/grid"
	"untrod/track"
)

// Area is a polygon in degrees: an outer ring less its holes. Rings do not
// repeat their first vertex and may run either way.
type Area struct {
	Name  string
	Outer []grid.LonLat
	Holes [][]grid.LonLat
}

// Shape says what a landmark is drawn as.
type Shape uint8

const (
	PointShape Shape = iota
	LineShape
	AreaShape
)

// Landmark is a named point, line or polygon whose surroundings matter.
type Landmark struct {
	Name  string
	Kind  string // what it is, in the user's words: "well", "big tree"; may be empty
	Mark  bool   // its true position is known well enough to check a receiver against
	Shape Shape
	// Points holds the one point, the line, or the outer ring (first vertex not
	// repeated), in degrees.
	Points []grid.LonLat
}

// Kinds of note on a site file, beside those of package track.
const (
	NoteUnclosedRing   track.NoteKind = "unclosed-ring"   // joined to its first vertex
	NoteNoGeometry     track.NoteKind = "no-geometry"     // an entry of the file without a shape that can be used
	NoteKnot           track.NoteKind = "knot"            // a small loop of a walked outline, cut off
	NoteKeepoutOutside track.NoteKind = "keepout-outside" // touches no boundary, so takes nothing away
	NoteLandmarkFar    track.NoteKind = "landmark-far"    // out of reach of the site's frame, left out
)

// Site is the ground of interest. The searchable ground is the union of the
// boundary areas less every keep-out.
type Site struct {
	Name      string
	Boundary  []Area
	Keepouts  []Area
	Landmarks []Landmark
	LaidOut   []LaidOut
	Slow      []Slow
	Notes     track.Notes // what [Read] found odd
}

// Local is a site in a frame's metres.
type Local struct {
	Boundary, Keepouts []grid.Polygon
	Landmarks          []LocalLandmark
	LaidOut            []LocalLaidOut
	Slow               []LocalSlow
}

// LocalLandmark is a landmark in a frame's metres.
type LocalLandmark struct {
	Landmark
	XY []grid.XY
}
