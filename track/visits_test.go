package track_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/track"
)

func TestVisits(t *testing.T) {
	const h = 3600
	for _, c := range []struct {
		name     string
		segments [][]int64 // seconds; -1 is no time
		want     [][][]int64
	}{
		{"nothing", nil, nil},
		{"empty segment", [][]int64{{}}, nil},
		{"one", [][]int64{{0, 1, 2}}, [][][]int64{{{0, 1, 2}}}},
		{"just 4 hours is one visit", [][]int64{{0, 4 * h}}, [][][]int64{{{0, 4 * h}}}},
		{"cut within a segment", [][]int64{{0, 1, 4*h + 2, 4*h + 3}}, [][][]int64{{{0, 1}}, {{4*h + 2, 4*h + 3}}}},
		{"cut between segments", [][]int64{{0, 1}, {5 * h}}, [][][]int64{{{0, 1}}, {{5 * h}}}},
		{"two segments of a visit", [][]int64{{0, 1}, {h}}, [][][]int64{{{0, 1}, {h}}}},
		{"no times go to the visit before", [][]int64{{0}, {-1, -1}, {9 * h}, {-1}}, [][][]int64{{{0}, {-1, -1}}, {{9 * h}, {-1}}}},
		{"no times at the start", [][]int64{{-1}, {0}}, [][][]int64{{{-1}, {0}}}},
		{"missing time at a cut", [][]int64{{0, -1, 5 * h}}, [][][]int64{{{0, -1}}, {{5 * h}}}},
		{"clock back", [][]int64{{9 * h, 0, 1}}, [][][]int64{{{9 * h, 0, 1}}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			log := track.Log{Tracks: []track.Track{{}}}
			for _, s := range c.segments {
				fixes := []track.Fix{}
				for _, at := range s {
					f := track.NoFix
					if at >= 0 {
						f.T = track.Instant(at * 1000)
					}
					fixes = append(fixes, f)
				}
				log.Tracks[0].Segments = append(log.Tracks[0].Segments, fixes)
			}
			var got [][][]int64
			for _, v := range track.Visits(&log, 4*h) {
				var visit [][]int64
				for _, s := range v {
					var at []int64
					for _, f := range s {
						if f.T.Known() {
							at = append(at, int64(f.T)/1000)
						} else {
							at = append(at, -1)
						}
					}
					visit = append(visit, at)
				}
				got = append(got, visit)
			}
			require.Equal(t, c.want, got)
		})
	}
}

// One file may hold the same recording twice, or those of two people.
func TestVisitsOfTracksOfOneTime(t *testing.T) {
	for _, c := range []struct {
		name   string
		tracks [][]int64 // seconds; -1 is no time
		want   []int     // fixes of each visit
	}{
		{"one after the other", [][]int64{{0, 1}, {2, 3}}, []int{4}},
		{"begun while the first was closed", [][]int64{{0, 100}, {70, 200}}, []int{4}},
		{"twice", [][]int64{{0, 100}, {0, 100}}, []int{2, 2}},
		{"later part", [][]int64{{0, 100, 200}, {100, 200}, {300}}, []int{3, 3}},
		{"without times", [][]int64{{0, 100}, {-1, -1}, {0, 100}}, []int{4, 2}},
		{"long before", [][]int64{{20000, 20100}, {0, 100}, {20200}}, []int{2, 2, 1}},
		{"begins without", [][]int64{{0, 100}, {-1, 0, 100}}, []int{2, 3}},
	} {
		t.Run(c.name, func(t *testing.T) {
			log := track.Log{}
			for _, times := range c.tracks {
				fixes := []track.Fix{}
				for _, at := range times {
					f := track.NoFix
					if at >= 0 {
						f.T = track.Instant(at * 1000)
					}
					fixes = append(fixes, f)
				}
				log.Tracks = append(log.Tracks, track.Track{Segments: [][]track.Fix{{}, fixes}})
			}
			var got []int
			for _, v := range track.Visits(&log, 4*3600) {
				n := 0
				for _, s := range v {
					n += len(s)
				}
				got = append(got, n)
			}
			require.Equal(t, c.want, got)
		})
	}
}
