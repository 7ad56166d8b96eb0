package track_test

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/track"
)

func FuzzReadKML(f *testing.F) {
	for _, seed := range []string{
		"", "<kml/>", smallKML, inKML(timedPoints(10, 1, func(int) string { return "" })), "<gpx/>", "\xff\xfe<\x00k\x00",
		inKML(`<Placemark><gx:Track><gx:coord>1 2</gx:coord><when/><ExtendedData><gx:SimpleArrayData name="hAcc"><gx:value>1</gx:value></gx:SimpleArrayData></ExtendedData></gx:Track></Placemark>`),
		`<kml><Placemark><MultiGeometry><Point><coordinates>1 , 2,, 3</coordinates></Point></MultiGeometry><Data name='sat'><value>7</value></Data></Placemark></kml>x`,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) { requireSoundRead(t, track.ReadKML, data, "</kml>") })
}

func FuzzReadTCX(f *testing.F) {
	for _, seed := range []string{
		"", "<TrainingCenterDatabase/>", smallTCX, "<gpx/>", "\xfe\xff\x00<\x00T",
		tcxHead + "<Courses><Course><Name>a</Name><CoursePoint><Position><LatitudeDegrees>1</LatitudeDegrees></Position></CoursePoint><Track>" + tcxPoint("", "1", "2", ""),
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) { requireSoundRead(t, track.ReadTCX, data, "</TrainingCenterDatabase>") })
}

func FuzzReadGeoJSON(f *testing.F) {
	for _, seed := range []string{
		"", "{}", smallGeoJSON, `[1]`, "\xff\xfe{\x00\"\x00t\x00", `{"type":"Point","coordinates":[1,2]}`,
		`{"coordinates":[[[1,2],[3,NaN]],[[undefined,-Infinity]]],"type":"MultiLineString"}` + "\x1e{}",
		`{"features":[{"geometry":{"geometries":[{"type":"MultiPoint","coordinates":[[1,2]]}]},"properties":{"coordinateProperties":{"times":[[1935648000]]},"time":5}}]}`,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) { requireSoundRead(t, track.ReadGeoJSON, data, "]}") })
}

// requireSoundRead reads a file twice, the second time in small pieces, and once
// more cut short where last ends it: what is left of it is a beginning.
func requireSoundRead(t *testing.T, read func(io.Reader, string) (*track.Log, error), data []byte, last string) {
	log, err := read(bytes.NewReader(data), "fuzz.log")
	if err != nil {
		var parse *track.ParseError
		var unsupported *track.UnsupportedError
		require.True(t, errors.As(err, &parse) || errors.As(err, &unsupported), "%T", err)
		require.False(t, strings.Contains(err.Error(), "\n"))
		require.Nil(t, log)
		return
	}
	requireSound(t, log)
	again, err := read(slow{bytes.NewReader(data)}, "fuzz.log")
	require.NoError(t, err)
	require.Equal(t, examples(log), examples(again))
	require.Equal(t, places(fixes(log)), places(fixes(again)))

	if i := bytes.LastIndex(data, []byte(last)); i > 0 && log.Notes.Count(track.NoteTruncated)+log.Notes.Count(track.NoteBadXML) == 0 {
		if cut, err := read(bytes.NewReader(data[:i]), "fuzz.log"); err == nil {
			requireSound(t, cut)
			require.LessOrEqual(t, len(cut.Waypoints)+cut.Fixes(), len(log.Waypoints)+log.Fixes())
		}
	}
}

// slow reads at most seven bytes at a time.
type slow struct{ r io.Reader }

func (s slow) Read(p []byte) (int, error) { return s.r.Read(p[:min(7, len(p))]) }
