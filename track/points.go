package track

import (
	"fmt"
	"strings"
)

// NoteRepeated counts lines without times through points that have them.
const NoteRepeated NoteKind = "repeated"

// What makes waypoints the fixes of one recording. Things that people mark take them
// longer: a minute is common practice, no source.
const (
	minFixPoints = 10
	maxFixStep   = Instant(60_000) // from three points in four to the next
)

// tracksOfPoints makes tracks of the waypoints that are fixes, one of each
// recording, where there is no track with times.
func (r *fieldReader) tracksOfPoints() {
	for _, t := range r.log.Tracks {
		if t.hasTimes() {
			return
		}
	}
	var tracks []Track
	isFix := map[string]bool{}
	for _, key := range r.keys() {
		if t := recording(r.log.Waypoints, key); len(t.Segments) > 0 {
			isFix[key], tracks = true, append(tracks, t)
		}
	}
	if len(tracks) == 0 {
		return
	}
	others := r.log.Waypoints[:0:0]
	for _, w := range r.log.Waypoints {
		if !w.T.Known() || !isFix[withoutDigits(w.Name)] {
			others = append(others, w)
		}
	}
	r.log.Waypoints = others
	r.leaveOutRepeats(tracks)
	r.log.Tracks = append(r.log.Tracks, tracks...)
}

// keys are the names, without their digits, that many waypoints share, in the order
// of the file.
func (r *fieldReader) keys() (keys []string) {
	count := map[string]int{}
	for _, w := range r.log.Waypoints {
		if !w.T.Known() {
			continue
		}
		key := withoutDigits(w.Name)
		if count[key]++; count[key] == minFixPoints {
			keys = append(keys, key)
		}
	}
	return keys
}

func withoutDigits(name string) string {
	return strings.Map(func(r rune) rune {
		if '0' <= r && r <= '9' {
			return -1
		}
		return r
	}, name)
}

// recording is the track of the timed waypoints of a key; no segments if they are
// none.
func recording(all []Waypoint, key string) Track {
	t := Track{}
	var fixes []Fix
	soon := 0
	for _, w := range all {
		if !w.T.Known() || withoutDigits(w.Name) != key {
			continue
		}
		if n := len(fixes); n == 0 {
			t.Name = w.Name
		} else {
			if step := w.T - fixes[n-1].T; step >= 0 && step <= maxFixStep {
				soon++
			}
			if w.Name != t.Name {
				t.Name = strings.TrimSpace(key)
			}
		}
		fixes = append(fixes, w.Fix)
	}
	if 4*soon >= 3*(len(fixes)-1) {
		t.Segments = [][]Fix{fixes}
	}
	return t
}

func (t Track) hasTimes() bool {
	for _, s := range t.Segments {
		for i := range s {
			if s[i].T.Known() {
				return true
			}
		}
	}
	return false
}

// leaveOutRepeats takes out the log's segments that only pass through fixes of one
// of tracks, in order.
func (r *fieldReader) leaveOutRepeats(tracks []Track) {
	kept := r.log.Tracks[:0]
	for _, t := range r.log.Tracks {
		segments := t.Segments[:0]
		for _, s := range t.Segments {
			if !passesThrough(s, tracks) {
				segments = append(segments, s)
				continue
			}
			r.note(NoteRepeated, fmt.Sprintf("a line of %d positions repeats points with times", len(s)))
		}
		if t.Segments = segments; len(segments) > 0 {
			kept = append(kept, t)
		}
	}
	r.log.Tracks = kept
}

func passesThrough(line []Fix, tracks []Track) bool {
	for _, t := range tracks {
		i := 0
		for _, f := range t.Segments[0] {
			if i < len(line) && line[i].Pos == f.Pos {
				i++
			}
		}
		if i == len(line) {
			return true
		}
	}
	return false
}
