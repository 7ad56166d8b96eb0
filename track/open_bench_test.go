package track_test

import (
	"bytes"
	"testing"

	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/proto"
	"github.com/stretchr/testify/require"

	"untrod/track"
)

func BenchmarkReadFIT(b *testing.B) {
	messages := []proto.Message{fitID(typedef.FileActivity)}
	for s := range 100_000 {
		messages = append(messages, fitRecord(s).SetEnhancedAltitudeScaled(100).SetGpsAccuracy(3).SetHeartRate(90).SetDistance(uint32(s)).ToMesg(nil))
	}
	benchmarkRead(b, fitFile(b, nil, messages...))
}

func BenchmarkReadZip(b *testing.B) { benchmarkRead(b, zipped(b, "walk.gpx", string(logOf(50_000)))) }

func benchmarkRead(b *testing.B, data []byte) {
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	n := 0
	for b.Loop() {
		logs, err := track.Read(bytes.NewReader(data), "walk")
		require.NoError(b, err)
		n = logs[0].Fixes()
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/fix")
}
