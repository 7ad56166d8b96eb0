package coverage

import (
	"errors"
	"fmt"
	"io"
	"path"
	"strings"

	"untrod/track"
)

// ErrNoTrack is the error of a file that can be read, but holds no walk.
var ErrNoTrack = errors.New("no recorded track in it")

// Source is one input file, opened when its turn comes.
type Source struct {
	Name   string // for messages and the report
	Walker string // who carried the receiver; empty when not said
	Open   func() (io.ReadCloser, error)
	CSV    track.Columns // what its columns hold, if it is a table; nil: found by their heads
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

// VisitsOf splits what a file holds into visits, in the order of the file. A visit
// is named after the first track of its recording that has a name, or the
// recording's file; the second of one recording adds "(2)", and recordings of one
// name in one file add that of their own file. A recording without a fix has no
// visit, only a note where there are others. Segments share memory with logs.
// O(fixes).
func VisitsOf(logs []*track.Log, file, sha256 string, gapS float64) []Visit {
	var visits []Visit
	var waypoints []track.Waypoint
	var notes track.Notes
	names := recordingNames(logs, file)
	for i, l := range logs {
		notes.Merge(l.Notes)
		waypoints = append(waypoints, l.Waypoints...)
		split := track.Visits(l, gapS)
		if len(split) == 0 && len(logs) > 1 {
			notes.Add(track.NoteEmpty, func() string { return l.Name + ": no recorded track in it" + hintOf(l) })
		}
		for k, segments := range split {
			v := Visit{Name: names[i], SHA256: sha256, Segments: segments}
			if k > 0 {
				v.Name = fmt.Sprintf("%s (%d)", names[i], k+1)
			}
			visits = append(visits, v)
		}
	}
	for i := range visits {
		visits[i].Waypoints = waypoints
	}
	if len(visits) > 0 {
		visits[0].Notes = notes
	}
	return visits
}

// recordingNames are what the visits of each log are called.
func recordingNames(logs []*track.Log, file string) []string {
	names, count := make([]string, len(logs)), map[string]int{}
	for i, l := range logs {
		names[i] = nameOf(l, file)
		count[names[i]]++
	}
	for i, l := range logs {
		if count[names[i]] > 1 {
			names[i] += ", " + baseName(l.Name)
		}
	}
	return names
}

// nameOf is the first track's name, or the file's name without its endings.
func nameOf(log *track.Log, file string) string {
	for _, t := range log.Tracks {
		if n := strings.TrimSpace(t.Name); n != "" {
			return n
		}
	}
	if log.Name != "" {
		file = log.Name // of the recording within the file
	}
	base := strings.TrimSuffix(baseName(file), ".gz")
	return strings.TrimSuffix(base, path.Ext(base))
}

func baseName(file string) string { return path.Base(strings.ReplaceAll(file, `\`, "/")) }

func hintOf(log *track.Log) string {
	switch {
	case len(log.Routes) > 0:
		return ": it holds a planned route, not a walk"
	case len(log.Waypoints) > 0:
		return ": it holds waypoints only"
	}
	return ""
}
