package track_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/muktihari/fit/decoder"
	"github.com/muktihari/fit/encoder"
	"github.com/muktihari/fit/profile/basetype"
	"github.com/muktihari/fit/profile/mesgdef"
	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/proto"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/track"
)

func fitSmall(t *testing.T) []byte {
	return fitFile(t, nil, append([]proto.Message{fitID(typedef.FileActivity), fitTimer(0, typedef.EventTypeStart)}, fitRecords(0, 20)...)...)
}

// recordsBefore counts the records that are complete before byte n.
func recordsBefore(t *testing.T, data []byte, n int) (count int) {
	t.Helper()
	records := map[byte]bool{}
	at := 0
	_, err := decoder.NewRaw().Decode(bytes.NewReader(data), func(what decoder.RawFlag, b []byte) error {
		at += len(b)
		switch {
		case what == decoder.RawFlagMesgDef:
			records[b[0]&15] = b[3] == 20
		case what == decoder.RawFlagMesgData && records[b[0]&15] && at <= n:
			count++
		}
		return nil
	})
	require.NoError(t, err)
	return count
}

func TestReadFITTruncatedAnywhere(t *testing.T) {
	data := fitSmall(t)
	for cut := range len(data) {
		log, err := track.ReadFIT(bytes.NewReader(data[:cut]), "walk.fit")
		if cut < int(data[0]) {
			var parse *track.ParseError
			require.ErrorAs(t, err, &parse, cut)
			continue
		}
		require.NoError(t, err, cut)
		require.Equal(t, 1, log.Notes.Count(track.NoteTruncated), cut)
		require.Equal(t, recordsBefore(t, data, cut), log.Fixes(), cut)
	}
	require.Empty(t, readFIT(t, data).Notes.List())
}

// Some byte becomes another: nothing panics, it is always noticed, and records
// before the byte are never lost.
func TestReadFITDamagedAnywhere(t *testing.T) {
	data := fitSmall(t)
	whole := fixes(readFIT(t, data))
	for i := int(data[0]); i < len(data); i++ {
		before := recordsBefore(t, data, i)
		for _, flip := range []byte{1, 0x40, 0x80, 0xff} {
			broken := bytes.Clone(data)
			broken[i] ^= flip
			log := readFIT(t, broken)
			require.NotEmpty(t, log.Notes.List(), "%d %x", i, flip)
			require.GreaterOrEqual(t, log.Fixes(), before, "%d %x", i, flip)
			for k := range before {
				requireFix(t, whole[k], fixes(log)[k])
			}
		}
	}
}

func TestReadFITErrors(t *testing.T) {
	for name, c := range map[string]struct{ data, want string }{
		"empty":      {"", "walk.fit: empty file"},
		"cut header": {"\x0e\x10\x6d\x08\x00\x00", "walk.fit: no complete FIT header"},
		"GPX":        {small, "walk.fit: not a FIT file: looks like XML"},
		"text":       {"lat,lon\n1,2\n1,2\n", "walk.fit: not a FIT file: looks like plain text"},
	} {
		log, err := track.ReadFIT(strings.NewReader(c.data), "walk.fit")
		require.EqualError(t, err, c.want, name)
		require.Nil(t, log)
	}
	broken := errors.New("disk on fire")
	data := fitSmall(t)
	for _, cut := range []int{0, 5, 14, 40, len(data) - 1, len(data)} {
		_, err := track.ReadFIT(io.MultiReader(bytes.NewReader(data[:cut]), failing{broken}), "walk.fit")
		require.ErrorIs(t, err, broken, cut)
	}
	_, err := track.ReadFIT(io.MultiReader(bytes.NewReader(data[:40]), failing{nil}), "walk.fit")
	require.ErrorIs(t, err, io.ErrNoProgress)
}

// Messages of a single byte, definitions of nothing and descriptions of fields
// without end take no memory.
func TestReadFITHostile(t *testing.T) {
	chained := append(fitBytes(fitDefine(0)), fitBytes(fitDefine(0))...)
	for name, data := range map[string][]byte{
		"records of nothing": append(fitBytes(fitDefine(20)), make([]byte, 4<<20)...),
		"unfinished":         append([]byte{12, 0x20, 0, 0, 0, 0, 0, 0, '.', 'F', 'I', 'T'}, append(fitDefine(206), make([]byte, 4<<20)...)...),
		"definitions":        fitBytes(bytes.Repeat(fitDefine(20), 1<<18)),
		"sessions":           fitBytes(fitDefine(18, [3]byte{2, 4, byte(basetype.Uint32)}), bytes.Repeat([]byte{0, 0x55, 1, 2, 3}, 1<<18)),
		"chained":            bytes.Repeat(chained, 1<<14),
	} {
		if name == "records of nothing" {
			binary.LittleEndian.PutUint32(data[4:], 4<<20)
		}
		allocated := bytesAllocated(func() { readFIT(t, data) })
		require.Less(t, allocated, uint64(16<<20), name)
	}
}

// TestFITAgainstLibrary compares with the library's own decoder of whole messages
// on random files.
func TestFITAgainstLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		messages := []proto.Message{fitID(typedef.FileActivity)}
		for s := range rapid.IntRange(1, 30).Draw(t, "records") {
			r := fitRecord(s).SetPositionLat(rapid.Int32().Draw(t, "lat")).SetPositionLong(rapid.Int32().Draw(t, "lon")).
				SetEnhancedAltitude(rapid.Uint32().Draw(t, "ele")).SetGpsAccuracy(rapid.Uint8().Draw(t, "acc")).
				SetHeartRate(rapid.Uint8().Draw(t, "other"))
			if rapid.Bool().Draw(t, "old altitude") {
				r.SetEnhancedAltitude(basetype.Uint32Invalid).SetAltitude(rapid.Uint16().Draw(t, "altitude"))
			}
			messages = append(messages, r.ToMesg(nil))
		}
		var opts []encoder.Option
		switch rapid.IntRange(0, 2).Draw(t, "encoding") {
		case 1:
			opts = append(opts, encoder.WithBigEndian())
		case 2:
			opts = append(opts, encoder.WithHeaderOption(encoder.HeaderOptionCompressedTimestamp, 0))
		}
		data := fitFile(t, opts, messages...)
		log, err := track.ReadFIT(bytes.NewReader(data), "walk.fit")
		require.NoError(t, err)
		requireLikeLibrary(t, data, log)
	})
}

// requireLikeLibrary compares every position the library's decoder finds.
func requireLikeLibrary(t require.TestingT, data []byte, log *track.Log) {
	got := fixes(log)
	for _, r := range log.Routes {
		got = append(got, slices.Concat(r.Segments...)...)
	}
	var want []track.Fix
	// Its own way from the old altitude to the enhanced one loses a step to rounding.
	// It also leaves a header without a checksum out of the file's.
	dec := decoder.New(bytes.NewReader(data), decoder.WithNoComponentExpansion(), decoder.WithIgnoreChecksum())
	for dec.Next() {
		file, err := dec.Decode()
		if err != nil {
			require.NotEmpty(t, log.Notes.List(), err)
			return
		}
		for _, m := range file.Messages {
			if m.Num != typedef.MesgNumRecord {
				continue
			}
			r := mesgdef.NewRecord(&m)
			if r.PositionLat == basetype.Sint32Invalid && r.PositionLong == basetype.Sint32Invalid {
				continue
			}
			want = append(want, libraryFix(r))
		}
	}
	require.Equal(t, len(want), len(got))
	for i := range want {
		require.Equal(t, withoutNaN(want[i]), withoutNaN(got[i]), i)
	}
}

// withoutNaN is f with another sign for what is missing, for ==.
func withoutNaN(f track.Fix) track.Fix {
	for _, v := range []*float32{&f.EleM, &f.HDOP, &f.PDOP, &f.AccM} {
		if math.IsNaN(float64(*v)) {
			*v = -1e9
		}
	}
	for _, v := range []*float64{&f.Pos.Lon, &f.Pos.Lat} {
		if math.IsNaN(*v) {
			*v = -1e9
		}
	}
	return f
}

func libraryFix(r *mesgdef.Record) track.Fix {
	f := track.NoFix
	if d := r.PositionLatDegrees(); d <= 180 {
		f.Pos.Lat = d
	}
	if d := r.PositionLongDegrees(); d <= 180 {
		f.Pos.Lon = d
	}
	if f.EleM = float32(r.EnhancedAltitudeScaled()); r.EnhancedAltitude == basetype.Uint32Invalid {
		f.EleM = float32(r.AltitudeScaled())
	}
	if r.GpsAccuracy != basetype.Uint8Invalid {
		f.AccM = float32(r.GpsAccuracy)
	}
	if !r.Timestamp.IsZero() {
		f.T = track.At(r.Timestamp)
	}
	return f
}

// TestFITSamples reads the files that the library is tested with, where its
// source is at hand.
func TestFITSamples(t *testing.T) {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/muktihari/fit").Output()
	folder := filepath.Join(strings.TrimSpace(string(out)), "testdata")
	if _, statErr := os.Stat(folder); err != nil || statErr != nil {
		t.Skip("the FIT library's test files are not at hand")
	}
	count, found := 0, 0
	require.NoError(t, filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".fit") {
			return err
		}
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		log, err := track.ReadFIT(bytes.NewReader(data), d.Name())
		require.NoError(t, err)
		requireLikeLibrary(t, data, log)
		count++
		found += log.Fixes()
		return nil
	}))
	t.Logf("%d files, %d fixes", count, found)
	require.Greater(t, count, 10)
	require.Positive(t, found)
}
