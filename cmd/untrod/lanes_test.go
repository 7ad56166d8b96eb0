package main

import (
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
)

func TestLanesCommand(t *testing.T) {
	o := newCoverOptions(usualCanopy)
	for _, g := range o.groups {
		for name, value := range map[string]string{
			"site": "site.geojson", "out": "my result", "coil": "28cm", "swing": "1 m", "quick": "true",
			"units": "metric", "seed": "7", "laid-out": "north", "without": "first try",
		} {
			if f := g.flags.Lookup(name); f != nil {
				require.NoError(t, f.Value.Set(value))
			}
		}
	}
	found := []coverage.LaneProposal{{Session: "south, lanes"}, {Session: "south, lanes"}}
	require.Regexp(t, `^.* cover --site site.geojson --coil 28cm --swing '1 m' --out 'my result' --quick --seed 7`+
		` --without 'first try' --laid-out north --laid-out 'south, lanes' walks 'more/\*.gpx'$`,
		o.lanesCommand(found, "", []string{"walks", "more/*.gpx"}))
	require.Regexp(t, `^.* set my.gpkg laid-out north laid-out 'south, lanes'$`, o.lanesCommand(found, "my.gpkg", nil))
}

// TestQuotedIsSafeToPaste: names come from files that strangers may have written.
func TestQuotedIsSafeToPaste(t *testing.T) {
	for word, want := range map[string]string{
		"walks":              "walks",
		"south, lanes":       "'south, lanes'",
		"":                   "''",
		`a "b" $(rm) 'c'`:    `'a "b" $(rm) '\''c'\'''`,
		"two\nlines `id` \\": "'twolines `id` \\'",
	} {
		require.Equal(t, want, quoted(word))
	}
}
