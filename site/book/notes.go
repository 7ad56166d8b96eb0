package book

import (
	"encoding/json"
	"fmt"

	"untrod/track"
)

func readNotes(text string) (track.Notes, error) {
	var list []track.Note
	if err := json.Unmarshal([]byte(text), &list); err != nil {
		return track.Notes{}, fmt.Errorf("damaged notes: %w", err)
	}
	var out track.Notes
	for _, n := range list {
		out.Merge(timesOf(n))
	}
	return out, nil
}

// timesOf is notes that count n as often as it says, in steps of doubling.
func timesOf(n track.Note) track.Notes {
	var out, unit track.Notes
	unit.Add(n.Kind, func() string { return n.Example })
	for left := n.Count; left > 0; left >>= 1 {
		if left&1 == 1 {
			out.Merge(unit)
		}
		unit.Merge(unit)
	}
	return out
}
