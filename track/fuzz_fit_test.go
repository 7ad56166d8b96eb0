package track_test

import (
	"bytes"
	"errors"
	"testing"

	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/proto"
	"github.com/stretchr/testify/require"

	"untrod/track"
)

func FuzzReadFIT(f *testing.F) {
	walk := fitFile(f, nil, append([]proto.Message{fitID(typedef.FileActivity), fitTimer(0, typedef.EventTypeStart)}, fitRecords(0, 4)...)...)
	f.Add(walk)
	f.Add(append(bytes.Clone(walk), walk...))
	f.Add(fitBytes(fitDefine(20, fitPlace...), []byte{0, 0x20, 0, 0, 0, 0x10, 0, 0, 0}, []byte{0x85, 0x20, 0, 0, 0, 0x10, 0, 0, 0}))
	f.Add(fitBytes(fitDefine(29, [3]byte{0, 3, 7}, [3]byte{1, 4, 0x85}, [3]byte{2, 4, 0x85}), []byte{0, 'a', 0, 0, 1, 2, 3, 4, 5, 6, 7, 8}))
	f.Add([]byte{12, 0x20, 0, 0, 0, 0, 0, 0, '.', 'F', 'I', 'T', 0x40, 0, 0, 20, 0, 0})
	f.Add([]byte(small))
	f.Fuzz(func(t *testing.T, data []byte) {
		requireReads(t, func() ([]*track.Log, error) {
			log, err := track.ReadFIT(bytes.NewReader(data), "fuzz.fit")
			if err != nil {
				require.Nil(t, log)
				return nil, err
			}
			return []*track.Log{log}, nil
		})
	})
}

// requireReads checks that what read does is sound and the same when done again.
func requireReads(t *testing.T, read func() ([]*track.Log, error)) {
	t.Helper()
	logs, err := read()
	if err != nil {
		var parse *track.ParseError
		var unsupported *track.UnsupportedError
		require.True(t, errors.As(err, &parse) || errors.As(err, &unsupported), "%T", err)
		require.NotContains(t, err.Error(), "\n")
		require.Nil(t, logs)
		return
	}
	require.NotEmpty(t, logs)
	again, err := read()
	require.NoError(t, err)
	require.Len(t, again, len(logs))
	for i, log := range logs {
		requireSound(t, log)
		require.NotEmpty(t, log.Format)
		require.Equal(t, examples(log), examples(again[i]))
		require.Equal(t, log.Fixes(), again[i].Fixes())
	}
}
