package site_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/site"
	"untrod/track"
)

func TestParseMoment(t *testing.T) {
	at := func(text string) track.Instant {
		v, err := time.Parse(time.RFC3339Nano, text)
		require.NoError(t, err)
		return track.At(v)
	}
	plusTwo := time.FixedZone("", 7200)
	for _, c := range []struct {
		name, text string
		order      site.DateOrder
		zone       *time.Location
		want       string // "" for not ok
		ambiguous  bool
	}{
		{"ISO with zone", "2031-05-24T10:20:30+02:00", "", nil, "2031-05-24T08:20:30Z", false},
		{"ISO, Z, decimals", "2031-05-24T10:20:30.250Z", "", nil, "2031-05-24T10:20:30.25Z", false},
		{"ISO without seconds", "2031-05-24T10:20", "", nil, "2031-05-24T10:20:00Z", false},
		{"zone of the table", "2031-05-24 10:20", "", plusTwo, "2031-05-24T08:20:00Z", false},
		{"own zone goes first", "2031-05-24 10:20Z", "", plusTwo, "2031-05-24T10:20:00Z", false},
		{"small letters", "2031-05-24t10:20:00z", "", nil, "2031-05-24T10:20:00Z", false},
		{"compact", "20310524T102030Z", "", nil, "2031-05-24T10:20:30Z", false},
		{"EXIF", "2031:05:24 10:20:30", "", nil, "2031-05-24T10:20:30Z", false},
		{"points", "24.05.2031 10:20", "", nil, "2031-05-24T10:20:00Z", false},
		{"month first by its numbers", "5/24/2031 2:05 PM", "", nil, "2031-05-24T14:05:00Z", false},
		{"comma before the clock", "24/5/2031, 10:20:30", "", nil, "2031-05-24T10:20:30Z", false},
		{"may be either", "3/4/2031 10:20", "", nil, "2031-04-03T10:20:00Z", true},
		{"same either way", "4/4/2031 10:20", "", nil, "2031-04-04T10:20:00Z", false},
		{"said to be month first", "3/4/2031 10:20", site.MonthFirst, nil, "2031-03-04T10:20:00Z", false},
		{"said to be day first", "3/4/2031 10:20", site.DayFirst, nil, "2031-04-03T10:20:00Z", false},
		{"month by name", "24 May 2031 10:20", "", nil, "2031-05-24T10:20:00Z", false},
		{"UTC by name", "2031-05-24 10:20 UTC", "", nil, "2031-05-24T10:20:00Z", false},
		{"a zone nobody can know", "2031-05-24 10:20 XST", "", nil, "", false},
		{"no such day", "2031-02-30 10:20", "", nil, "", false},
		{"no such hour", "2031-02-03 25:20", "", nil, "", false},
		{"only a clock", "10:20", "", nil, "", false},
		{"words", "last summer", "", nil, "", false},
		{"nothing", "", "", nil, "", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, ambiguous, ok := site.ParseMoment(c.text, c.order, c.zone)
			require.Equal(t, c.want != "", ok)
			require.Equal(t, c.ambiguous, ambiguous)
			if ok {
				require.Equal(t, at(c.want).Time(), m.T.Time())
				require.Equal(t, m.T, m.From)
			}
		})
	}
	for _, text := range []string{"2031-05-24", "24.5.2031", "5/24/2031", "24 May 2031", "20310524"} {
		m, _, ok := site.ParseMoment(text, "", plusTwo)
		require.True(t, ok, text)
		require.False(t, m.T.Known())
		require.Equal(t, at("2031-05-23T22:00:00Z"), m.From, text)
		require.Equal(t, at("2031-05-24T22:00:00Z"), m.To, text)
	}
}
