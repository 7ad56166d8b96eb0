package track_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
	"untrod/track"
)

// drawLog draws a log as receivers write them: degrees to 9 decimals, elevations to
// the decimetre.
func drawLog(t *rapid.T) *track.Log {
	fix := rapid.Custom(func(t *rapid.T) track.Fix {
		f := track.NoFix
		f.Pos = grid.LonLat{
			Lon: math.Round(rapid.Float64Range(-180, 180).Draw(t, "lon")*1e9) / 1e9,
			Lat: math.Round(rapid.Float64Range(-90, 90).Draw(t, "lat")*1e9) / 1e9,
		}
		f.T = track.Instant(rapid.Int64Range(0, 4e12).Draw(t, "ms"))
		if rapid.Bool().Draw(t, "high") {
			f.EleM = float32(rapid.IntRange(-4000, 90000).Draw(t, "dm")) / 10
		}
		return f
	})
	segment := rapid.SliceOfN(fix, 1, 5)
	l := &track.Log{}
	for range rapid.IntRange(1, 3).Draw(t, "tracks") {
		name := rapid.SampledFrom([]string{"a", "Ålund & <søn>", `"x"`, "דרך"}).Draw(t, "name")
		l.Tracks = append(l.Tracks, track.Track{Name: name, Segments: rapid.SliceOfN(segment, 1, 3).Draw(t, "segments")})
	}
	w := track.Waypoint{Fix: fix.Draw(t, "waypoint"), Name: "post & rail"}
	l.Waypoints = []track.Waypoint{w}
	return l
}

func TestWrittenLogsReadBack(t *testing.T) {
	for name, write := range map[string]func(io.Writer, *track.Log) error{
		"GPX": track.WriteGPX, "KML": track.WriteKML, "GeoJSON": track.WriteGeoJSON,
	} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				l := drawLog(t)
				again := rewritten(t, write, l)
				require.Equal(t, name, again.Format)
				requireFixes(t, l.Tracks, again.Tracks)
				require.Equal(t, l.Waypoints[0].Name, again.Waypoints[0].Name)
				require.Equal(t, l.Waypoints[0].Pos, again.Waypoints[0].Pos)
			})
		})
	}
}

// A CSV has a column for the track's name, and one for the segment, which is not
// read.
func TestWrittenCSVReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLog(t)
		l.Waypoints = nil
		l.Tracks = l.Tracks[:1]
		l.Tracks[0].Segments = l.Tracks[0].Segments[:1]
		again := rewritten(t, track.WriteCSV, l)
		requireFixes(t, l.Tracks[0].Segments, again.Tracks[0].Segments)
	})
}

// requireFixes compares what may hold NaN.
func requireFixes(t *rapid.T, want, got any) {
	require.Equal(t, fmt.Sprintf("%+v", want), fmt.Sprintf("%+v", got))
}

func rewritten(t *rapid.T, write func(io.Writer, *track.Log) error, l *track.Log) *track.Log {
	var b bytes.Buffer
	require.NoError(t, write(&b, l))
	again, err := readOne(&b, "again")
	require.NoError(t, err)
	return again
}

func TestWriteCSVIsInert(t *testing.T) {
	var b bytes.Buffer
	l := &track.Log{Waypoints: []track.Waypoint{{Fix: track.NoFix, Name: "=1+1", Desc: "@x", Type: "-"}}}
	require.NoError(t, track.WriteCSV(&b, l))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	require.Equal(t, []string{"'=1+1", "", "", "", "", "'@x", "'-"}, rows[1])
}
