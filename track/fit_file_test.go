package track_test

import (
	"bytes"
	"encoding/binary"
	"slices"
	"testing"
	"time"

	"github.com/muktihari/fit/encoder"
	"github.com/muktihari/fit/kit/hash/crc16"
	"github.com/muktihari/fit/profile/basetype"
	"github.com/muktihari/fit/profile/mesgdef"
	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/proto"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
	"untrod/track"
)

var fitStart = time.Date(2031, 5, 4, 8, 0, 0, 0, time.UTC)

// fitFile encodes messages with the library's encoder.
func fitFile(t require.TestingT, opts []encoder.Option, messages ...proto.Message) []byte {
	var b bytes.Buffer
	require.NoError(t, encoder.New(&b, opts...).Encode(&proto.FIT{Messages: messages}))
	return b.Bytes()
}

func fitID(kind typedef.File) proto.Message {
	return mesgdef.NewFileId(nil).SetType(kind).SetProductName("Invented 1").ToMesg(nil)
}

// fitRecord is second s of a walk north.
func fitRecord(s int) *mesgdef.Record {
	return mesgdef.NewRecord(nil).SetTimestamp(fitStart.Add(time.Duration(s) * time.Second)).
		SetPositionLat(int32(500_000_000 + 100*s)).SetPositionLong(-30_000_000)
}

func fitTimer(s int, kind typedef.EventType) proto.Message {
	return mesgdef.NewEvent(nil).SetTimestamp(fitStart.Add(time.Duration(s) * time.Second)).
		SetEvent(typedef.EventTimer).SetEventType(kind).ToMesg(nil)
}

func fitRecords(from, to int) (out []proto.Message) {
	for s := from; s < to; s++ {
		out = append(out, fitRecord(s).ToMesg(nil))
	}
	return out
}

func readFIT(t *testing.T, data []byte) *track.Log {
	t.Helper()
	log, err := track.ReadFIT(bytes.NewReader(data), "walk.fit")
	require.NoError(t, err)
	requireSound(t, log)
	return log
}

// segmentsOf are the numbers of fixes in each segment of each track.
func segmentsOf(tracks []track.Track) (out [][]int) {
	for _, tr := range tracks {
		var n []int
		for _, s := range tr.Segments {
			n = append(n, len(s))
		}
		out = append(out, n)
	}
	return out
}

func TestReadFITRecord(t *testing.T) {
	when := track.At(fitStart)
	for name, c := range map[string]struct {
		record *mesgdef.Record
		want   track.Fix
	}{
		"bare": {fitRecord(0), fix(-30_000_000*180/float64(1<<31), 500_000_000*180/float64(1<<31), func(f *track.Fix) { f.T = when })},
		"everything": {fitRecord(0).SetEnhancedAltitudeScaled(123.4).SetAltitudeScaled(99).SetGpsAccuracy(4),
			fix(-30_000_000*180/float64(1<<31), 500_000_000*180/float64(1<<31), func(f *track.Fix) { f.T, f.EleM, f.AccM = when, 123.4, 4 })},
		"old altitude": {fitRecord(0).SetAltitudeScaled(-3.2),
			fix(-30_000_000*180/float64(1<<31), 500_000_000*180/float64(1<<31), func(f *track.Fix) { f.T, f.EleM = when, -3.2 })},
		"a quarter turn": {fitRecord(0).SetPositionLat(1 << 29).SetPositionLong(-1 << 30), fix(-90, 45, func(f *track.Fix) { f.T = when })},
	} {
		log := readFIT(t, fitFile(t, nil, fitID(typedef.FileActivity), c.record.ToMesg(nil)))
		require.Equal(t, "FIT", log.Format, name)
		require.Equal(t, "Invented 1", log.Creator, name)
		require.Len(t, fixes(log), 1, name)
		requireFix(t, c.want, fixes(log)[0], name)
		require.Empty(t, log.Notes.List(), name)
	}
}

// The number of semicircles comes back from the degrees exactly.
func TestReadFITPositionLossless(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lat, lon := rapid.Int32Range(-1<<30, 1<<30).Draw(t, "lat"), rapid.Int32().Draw(t, "lon")
		if lon == basetype.Sint32Invalid {
			lon = 0
		}
		data := fitFile(t, nil, fitID(typedef.FileActivity), fitRecord(0).SetPositionLat(lat).SetPositionLong(lon).ToMesg(nil))
		log, err := track.ReadFIT(bytes.NewReader(data), "walk.fit")
		require.NoError(t, err)
		pos := fixes(log)[0].Pos
		require.Equal(t, grid.LonLat{Lon: float64(lon), Lat: float64(lat)}, grid.LonLat{Lon: pos.Lon / 180 * (1 << 31), Lat: pos.Lat / 180 * (1 << 31)})
	})
}

func TestReadFITParts(t *testing.T) {
	id := fitID(typedef.FileActivity)
	session := func(s int) proto.Message {
		return mesgdef.NewSession(nil).SetStartTime(fitStart.Add(time.Duration(s) * time.Second)).SetSportProfileName("Search").ToMesg(nil)
	}
	join := func(parts ...[]proto.Message) []proto.Message { return slices.Concat(parts...) }
	one := []proto.Message{id}
	for name, c := range map[string]struct {
		messages []proto.Message
		want     [][]int
		title    string
	}{
		"plain":           {join(one, fitRecords(0, 5)), [][]int{{5}}, ""},
		"timer":           {join(one, []proto.Message{fitTimer(0, typedef.EventTypeStart)}, fitRecords(0, 3), []proto.Message{fitTimer(3, typedef.EventTypeStopAll), fitTimer(9, typedef.EventTypeStart)}, fitRecords(9, 13)), [][]int{{3, 4}}, ""},
		"other event":     {join(one, fitRecords(0, 3), []proto.Message{mesgdef.NewEvent(nil).SetEvent(typedef.EventBattery).ToMesg(nil)}, fitRecords(3, 5)), [][]int{{5}}, ""},
		"sessions last":   {join(one, fitRecords(0, 6), []proto.Message{session(4), session(0)}), [][]int{{4, 2}}, "Search"},
		"sessions first":  {join(one, []proto.Message{session(0), session(2)}, fitRecords(0, 6)), [][]int{{2, 4}}, "Search"},
		"between records": {join(one, fitRecords(0, 2), fitRecords(10, 12), []proto.Message{session(5)}), [][]int{{2, 2}}, "Search"},
		"sport's name":    {join(one, []proto.Message{mesgdef.NewSport(nil).SetName("Fields").ToMesg(nil)}, fitRecords(0, 2)), [][]int{{2}}, "Fields"},
		"no records":      {one, nil, ""},
	} {
		log := readFIT(t, fitFile(t, nil, c.messages...))
		require.Equal(t, c.want, segmentsOf(log.Tracks), name)
		require.Empty(t, log.Notes.List(), name)
		if len(log.Tracks) > 0 {
			require.Equal(t, c.title, log.Tracks[0].Name, name)
		}
	}
}

func TestReadFITChained(t *testing.T) {
	first := fitFile(t, nil, append([]proto.Message{fitID(typedef.FileActivity)}, fitRecords(0, 4)...)...)
	course := fitFile(t, nil, append([]proto.Message{
		fitID(typedef.FileCourse), mesgdef.NewCourse(nil).SetName("Plan").ToMesg(nil),
		mesgdef.NewCoursePoint(nil).SetName("Gate").SetType(typedef.CoursePointDanger).SetPositionLat(1 << 29).SetPositionLong(1 << 28).
			SetTimestamp(fitStart).ToMesg(nil),
	}, fitRecords(10, 13)...)...)
	log := readFIT(t, slices.Concat(first, course, first))
	require.Equal(t, [][]int{{4}, {4}}, segmentsOf(log.Tracks))
	require.Equal(t, [][]int{{3}}, segmentsOf(log.Routes))
	require.Equal(t, "Plan", log.Routes[0].Name)
	require.Empty(t, log.Notes.List())
	require.Len(t, log.Waypoints, 1)
	w := log.Waypoints[0]
	require.Equal(t, []string{"Gate", "danger"}, []string{w.Name, w.Type})
	requireFix(t, fix(22.5, 45, func(f *track.Fix) { f.T = track.At(fitStart) }), w.Fix)

	// Damage in the first leaves the second whole.
	broken := slices.Concat(first, course)
	broken[len(first)/2] ^= 0xff
	log = readFIT(t, broken)
	require.Len(t, log.Routes, 1)
	require.Positive(t, log.Notes.Count(track.NoteBadField))

	log = readFIT(t, append(bytes.Clone(first), "surplus"...))
	require.Equal(t, 4, log.Fixes())
	require.Equal(t, []string{"bad-field 1 walk.fit:7: content after the end that is no FIT file, passed over"}, examples(log))
}

// fitBytes builds a file from raw messages, for what the encoder cannot write.
func fitBytes(messages ...[]byte) []byte {
	body := slices.Concat(messages...)
	head := []byte{12, 0x20, 0, 0, 0, 0, 0, 0, '.', 'F', 'I', 'T'}
	binary.LittleEndian.PutUint32(head[4:], uint32(len(body)))
	sum := crc16.New()
	_, _ = sum.Write(body)
	return binary.LittleEndian.AppendUint16(slices.Concat(head, body), sum.Sum16())
}

// fitDefine is a big-endian definition of local message 0; each field is number,
// size and type.
func fitDefine(message uint16, fields ...[3]byte) []byte {
	b := []byte{0x40, 0, 1, byte(message >> 8), byte(message), byte(len(fields))}
	for _, f := range fields {
		b = append(b, f[:]...)
	}
	return b
}

var fitPlace = [][3]byte{{0, 4, byte(basetype.Sint32)}, {1, 4, byte(basetype.Sint32)}}

func TestReadFITOdd(t *testing.T) {
	place := []byte{0x20, 0, 0, 0, 0x10, 0, 0, 0} // 45 N, 22.5 E
	seconds := func(header byte, s uint32) []byte { return binary.BigEndian.AppendUint32([]byte{header}, s) }
	stamped := append([][3]byte{{253, 4, byte(basetype.Uint32)}}, fitPlace...)
	at := func(s uint32) []byte { return append(seconds(0, s), place...) }
	day := uint32(1_000_000_000)
	for name, c := range map[string]struct {
		data  []byte
		times []track.Instant
		notes []string
	}{
		"compressed times": {fitBytes(fitDefine(20, stamped...), at(day+30), fitDefine(20, fitPlace...),
			append([]byte{0x80 | byte((day+31)&31)}, place...), append([]byte{0x80 | byte((day+40)&31)}, place...)),
			[]track.Instant{instantOf(day + 30), instantOf(day + 31), instantOf(day + 40)}, nil},
		"time since start": {fitBytes(fitDefine(20, stamped...), at(5)), []track.Instant{track.NoTime},
			[]string{"odd-date 1 walk.fit:2: a time counted from the device's start"}},
		"no position": {fitBytes(fitDefine(20, stamped...), append(seconds(0, day), 0x7f, 0xff, 0xff, 0xff, 0x7f, 0xff, 0xff, 0xff)), nil,
			[]string{"no-position 1 walk.fit:2: a record without a position"}},
		"field too small": {fitBytes(fitDefine(20, append([][3]byte{{253, 2, byte(basetype.Uint32)}}, fitPlace...)...), append([]byte{0, 1, 2}, place...)),
			[]track.Instant{track.NoTime}, []string{"bad-field 1 walk.fit:1: field 253 of message kind 20 has 2 bytes of type 0x86"}},
		"position of another type": {fitBytes(fitDefine(20, [3]byte{0, 4, byte(basetype.Uint32)}, fitPlace[1]), append([]byte{0}, place...)),
			[]track.Instant{track.NoTime}, []string{"bad-field 1 walk.fit:2: a position of type 0x86"}},
		"not defined": {fitBytes(fitDefine(20, stamped...), at(day), []byte{3, 1, 2}), []track.Instant{instantOf(day)},
			[]string{"bad-field 1 walk.fit:2: a message that was not defined, read up to here"}},
		"past the end": {append(fitBytes(fitDefine(20, stamped...), at(day), []byte{0, 1}), fitBytes(fitDefine(0))...), []track.Instant{instantOf(day)},
			[]string{"bad-field 1 walk.fit:2: a message runs past the end of its file, read up to here"}},
		"stored location": {fitBytes(fitDefine(29, [3]byte{0, 3, byte(basetype.String)}, [3]byte{1, 4, byte(basetype.Sint32)}, [3]byte{2, 4, byte(basetype.Sint32)},
			[3]byte{6, 2, byte(basetype.String)}), append(append([]byte{0, 'a', 'b', 0}, place...), 'd', 0)), nil, nil},
	} {
		t.Run(name, func(t *testing.T) {
			log := readFIT(t, c.data)
			var times []track.Instant
			for _, f := range fixes(log) {
				times = append(times, f.T)
				require.Equal(t, 22.5, f.Pos.Lon)
			}
			require.Equal(t, c.times, times)
			require.Equal(t, c.notes, examples(log))
			if name == "stored location" {
				require.Len(t, log.Waypoints, 1)
				require.Equal(t, []string{"ab", "d"}, []string{log.Waypoints[0].Name, log.Waypoints[0].Desc})
				require.Equal(t, grid.LonLat{Lon: 22.5, Lat: 45}, log.Waypoints[0].Pos)
			}
		})
	}
}

// instantOf is a FIT timestamp.
func instantOf(s uint32) track.Instant {
	return track.At(time.Date(1989, 12, 31, 0, 0, 0, 0, time.UTC).Add(time.Duration(s) * time.Second))
}

// A recorder that dies leaves a header that says there is nothing.
func TestReadFITNeverFinished(t *testing.T) {
	data := fitFile(t, nil, append([]proto.Message{fitID(typedef.FileActivity)}, fitRecords(0, 50)...)...)
	binary.LittleEndian.PutUint32(data[4:8], 0)
	log := readFIT(t, data[:len(data)-9])
	require.Equal(t, 49, log.Fixes())
	require.Equal(t, 1, log.Notes.Count(track.NoteTruncated))
}
