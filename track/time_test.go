package track

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseTime(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"2031-05-04T08:15:30Z", "2031-05-04T08:15:30Z"},
		{"2031-05-04t08:15:30z", "2031-05-04T08:15:30Z"},
		{"2031-05-04 08:15:30", "2031-05-04T08:15:30Z"},
		{"2031-05-04T08:15:30", "2031-05-04T08:15:30Z"},
		{"2031-05-04T08:15:30.2Z", "2031-05-04T08:15:30.2Z"},
		{"2031-05-04T08:15:30,25Z", "2031-05-04T08:15:30.25Z"},
		{"2031-05-04T08:15:30.123999999999Z", "2031-05-04T08:15:30.123Z"},
		{"2031-05-04T08:15:30.25", "2031-05-04T08:15:30.25Z"},
		{"2031-05-04T08:15:30+02:00", "2031-05-04T06:15:30Z"},
		{"2031-05-04T08:15:30.5+0200", "2031-05-04T06:15:30.5Z"},
		{"2031-05-04T08:15:30-03", "2031-05-04T11:15:30Z"},
		{"2031-05-04T23:15:30-09:30", "2031-05-05T08:45:30Z"},
		{"2031-05-04 08:15:30 +0200", "2031-05-04T06:15:30Z"},
		{"2031-12-31T23:59:60Z", "2032-01-01T00:00:00Z"},
		{"2032-02-29T00:00:00Z", "2032-02-29T00:00:00Z"},
		{"1969-12-31T23:59:59.25Z", "1969-12-31T23:59:59.25Z"},
		{"2031-05-04T08:15Z", "2031-05-04T08:15:00Z"},
		{"2031-05-04T08:15+02:00", "2031-05-04T06:15:00Z"},
		{"20310504T081530Z", "2031-05-04T08:15:30Z"},
	} {
		got, ok := parseTime([]byte(c.in))
		require.True(t, ok, c.in)
		want, err := time.Parse(time.RFC3339Nano, c.want)
		require.NoError(t, err)
		require.Equal(t, At(want), got, c.in)
	}
	for _, in := range []string{
		"", "yesterday", "2031-05-04", "2031-02-29T00:00:00Z", "2031-13-01T00:00:00Z", "2031-00-01T00:00:00Z",
		"2031-01-00T00:00:00Z", "2031-01-32T00:00:00Z", "0000-00-00T00:00:00Z", "2031-05-04T24:00:00Z",
		"2031-05-04T08:60:00Z", "2031-05-04T08:15:61Z", "2031-05-04T08:15:30.Z", "2031-05-04T08:15:30Zz",
		"2031-05-04T08:15:30+2", "2031-05-04T08:15:30+02:60", "2031-05-04T08:15:30+24:00",
		"2031-05-04T08:15:30+02-00", "2031-05-04T08:1a:30Z", "-031-05-04T08:15:30Z", "2031-05-04X08:15:30Z",
	} {
		_, ok := parseTime([]byte(in))
		require.False(t, ok, in)
	}
}

func TestParseTimeEqualsTheStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zone := time.FixedZone("", 60*rapid.IntRange(-14*60, 14*60).Draw(t, "zone"))
		at := time.Unix(rapid.Int64Range(-60_000_000_000, 250_000_000_000).Draw(t, "second"),
			rapid.Int64Range(0, 999_999_999).Draw(t, "nano")).In(zone)
		layout := rapid.SampledFrom([]string{
			time.RFC3339, time.RFC3339Nano, "2006-01-02T15:04:05.000Z0700", "2006-01-02 15:04:05.999999Z07:00",
		}).Draw(t, "layout")
		text := at.Format(layout)
		want, err := time.Parse(layout, text)
		require.NoError(t, err)
		got, ok := parseTime([]byte(text))
		require.True(t, ok, text)
		require.Equal(t, At(want), got, text)
	})
}
