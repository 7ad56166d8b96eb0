package track_test

import (
	"bytes"
	"errors"
	"regexp"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"untrod/track"
)

func FuzzReadGPX(f *testing.F) {
	for _, seed := range []string{
		"", "<gpx/>", small, "<html>", `{"type":"Feature"}`, "\x1f\x8b\x08", "\xff\xfe<\x00g\x00p\x00x\x00/\x00>\x00",
		`<?xml version="1.0" encoding="latin1"?><gpx creator="&#233;"><wpt lat="1,5" lon="&#49;"><name>` + "\xe9" + `</name></wpt></gpx>`,
		`<gpx><rte><rtept lat="1" lon="2"/></rte><trk><trkpt lat='1' lon='2'><sat>7.0</sat><a><hAcc>-1</hAcc></a></trkpt></trk></gpx>`,
		`<!DOCTYPE gpx [<!ENTITY a "b">]><gpx><trk><name>&a;<![CDATA[<]]></name></trk></gpx>x`,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		log, err := readOne(bytes.NewReader(data), "fuzz.gpx")
		if err != nil {
			var parse *track.ParseError
			var unsupported *track.UnsupportedError
			require.True(t, errors.As(err, &parse) || errors.As(err, &unsupported), "%T", err)
			require.Nil(t, log)
			return
		}
		requireSound(t, log)
		again, err := readOne(bytes.NewReader(data), "fuzz.gpx")
		require.NoError(t, err)
		require.Equal(t, examples(log), examples(again))
	})
}

// requireSound checks what holds of every log, however odd its file.
func requireSound(t *testing.T, log *track.Log) {
	t.Helper()
	texts := []string{log.Creator}
	for _, lines := range [][]track.Track{log.Tracks, log.Routes} {
		for _, line := range lines {
			texts = append(texts, line.Name)
			if len(line.Segments) == 0 {
				require.Fail(t, "a track without segments", line.Name)
			}
			for _, s := range line.Segments {
				if len(s) == 0 {
					require.Fail(t, "a segment without fixes", line.Name)
				}
				for _, fix := range s {
					requireSoundFix(t, fix)
				}
			}
		}
	}
	for _, w := range log.Waypoints {
		requireSoundFix(t, w.Fix)
		texts = append(texts, w.Name, w.Desc, w.Sym, w.Type)
	}
	for _, n := range log.Notes.List() {
		require.Regexp(t, notePlace, n.Example)
		require.Positive(t, n.Count)
		texts = append(texts, n.Example)
	}
	for _, s := range texts {
		if !utf8.ValidString(s) {
			require.Fail(t, "not UTF-8", "%q", s)
		}
	}
}

var notePlace = regexp.MustCompile(`^[^:]+:[0-9]+: [^\n]+$`)

// requireSoundFix asserts only what fails: it is called for millions of fixes.
func requireSoundFix(t *testing.T, f track.Fix) {
	sound := f.Sats >= -1 && f.Kind <= track.FixPPS
	for _, measure := range []float32{f.HDOP, f.PDOP, f.AccM} {
		sound = sound && !(measure < 0)
	}
	for _, v := range []float64{f.Pos.Lon, f.Pos.Lat, float64(f.EleM), float64(f.HDOP)} {
		sound = sound && !(v > 3.5e38 || v < -3.5e38)
	}
	if !sound {
		require.Fail(t, "negative or infinite", "%+v", f)
	}
}
