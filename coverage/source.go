package coverage

import (
	"io"

	"untrod/track"
)

// Source is one input file, opened when its turn comes.
type Source struct {
	Name   string // for messages and the report
	Walker string // who carried the receiver; empty when not said
	Open   func() (io.ReadCloser, error)
	// Visits, given instead of Open, returns what was read of the file before.
	Visits func() ([]Visit, error)
}

// Visit is one visit as a file holds it, before cleaning.
type Visit struct {
	Name      string
	SHA256    string // of the file's bytes, in hex
	Segments  [][]track.Fix
	Waypoints []track.Waypoint // of the whole file
	Notes     track.Notes      // on the whole file, with its first visit
}
