package main

import (
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/track"
)

func TestWhyNothing(t *testing.T) {
	for _, c := range []struct {
		name    string
		treatAs track.Kind
		notes   []track.NoteKind
		want    string
	}{
		{"untimed", track.Lost, []track.NoteKind{track.NoteNoTimes}, "w.gpx: no times in it, so searching cannot be told from walking; --treat-as searching counts all of it"},
		{"untimed, searching elsewhere", track.Searching, []track.NoteKind{track.NoteNoTimes, track.NoteOutside}, "no searching on the site in any log; is it the right site file?"},
		{"far away", track.Lost, []track.NoteKind{track.NoteFarAway}, "no searching on the site in any log; is it the right site file?"},
		{"clock back", track.Lost, []track.NoteKind{track.NoteClockBack}, "no searching in any log; of w.gpx, 3 fixes were left out as clock-back"},
		{"one fix", track.Lost, nil, "no searching in any log: nobody walked at a searching pace for long enough"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := &coverage.Result{}
			r.Settings.Track.TreatAs = c.treatAs
			for _, k := range c.notes {
				r.Notes = append(r.Notes, coverage.FileNote{File: "w.gpx", Note: track.Note{Kind: k, Count: 3}})
			}
			require.Equal(t, c.want, whyNothing(r))
		})
	}
}
