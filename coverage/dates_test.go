package coverage_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/coverage"
	"untrod/site"
)

// Counts and median dates of a teaching example after South 1977 (deep yellow
// creamware, Littler's blue, scratch blue); 192137/109.
func TestMeanDatePublished(t *testing.T) {
	d := coverage.DatesOf([]coverage.DateRange{{1771, 1771, 31}, {1758, 1758, 22}, {1760, 1760, 56}})
	require.InDelta(t, 1762.72, d.Mean, 0.005)
	require.Equal(t, []coverage.Decade{{1750, 22}, {1760, 56}, {1770, 31}}, d.Decades)
	require.Equal(t, 109, d.Dated)

	ranges := coverage.DatesOf([]coverage.DateRange{{1762, 1780, 31}, {1750, 1766, 22}, {1744, 1776, 56}}) // the same middles
	require.InDelta(t, d.Mean, ranges.Mean, 1e-9)
}

func TestDates(t *testing.T) {
	nan, no := math.NaN(), site.NoYear
	for _, row := range []struct {
		name   string
		ranges []coverage.DateRange
		want   coverage.Dating
	}{
		{"a century", []coverage.DateRange{{1700, 1799, 10}}, coverage.Dating{Mean: 1749.5, Dated: 10, Decades: []coverage.Decade{
			{1700, 1}, {1710, 1}, {1720, 1}, {1730, 1}, {1740, 1}, {1750, 1}, {1760, 1}, {1770, 1}, {1780, 1}, {1790, 1}}}},
		{"across decades", []coverage.DateRange{{1805, 1814, 4}}, coverage.Dating{Mean: 1809.5, Dated: 4, Decades: []coverage.Decade{{1800, 2}, {1810, 2}}}},
		{"a gap between", []coverage.DateRange{{1801, 1801, 1}, {1825, 1825, 1}}, coverage.Dating{Mean: 1813, Dated: 2, Decades: []coverage.Decade{{1800, 1}, {1810, 0}, {1820, 1}}}},
		{"before year 1", []coverage.DateRange{{-5, 4, 2}}, coverage.Dating{Mean: -0.5, Dated: 2, Decades: []coverage.Decade{{-10, 1}, {0, 1}}}},
		{"last year of a decade", []coverage.DateRange{{1809, 1809, 1}}, coverage.Dating{Mean: 1809, Dated: 1, Decades: []coverage.Decade{{1800, 1}}}},
		{"open ends", []coverage.DateRange{{1850, no, 3}, {no, 1800, 4}}, coverage.Dating{Mean: nan, Open: 7}},
		{"no date", []coverage.DateRange{{no, no, 2}, {1900, 1900, 0}}, coverage.Dating{Mean: nan, Undated: 2}},
		{"ends before it begins", []coverage.DateRange{{1900, 1850, 2}}, coverage.Dating{Mean: nan, Odd: 2}},
		{"a slip of the pen", []coverage.DateRange{{17000, 17990, 1}, {1700, math.MaxInt, 1}, {no, -17000, 1}}, coverage.Dating{Mean: nan, Odd: 3}},
		{"none", nil, coverage.Dating{Mean: nan}},
	} {
		t.Run(row.name, func(t *testing.T) {
			got := coverage.DatesOf(row.ranges)
			if math.IsNaN(row.want.Mean) {
				require.True(t, math.IsNaN(got.Mean))
				got.Mean, row.want.Mean = 0, 0
			}
			require.InDelta(t, row.want.Mean, got.Mean, 1e-9)
			for i := range row.want.Decades {
				require.InDelta(t, row.want.Decades[i].Finds, got.Decades[i].Finds, 1e-9)
				got.Decades[i].Finds = row.want.Decades[i].Finds
			}
			got.Mean = row.want.Mean
			require.Equal(t, row.want, got)
		})
	}
}

// Year by year: each find puts an equal part into each of its years.
func TestDecadesTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ranges := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) coverage.DateRange {
			from := rapid.IntRange(-300, 2000).Draw(t, "from")
			years := rapid.IntRange(0, 300).Draw(t, "years")
			return coverage.DateRange{From: from, To: from + years, Finds: rapid.IntRange(1, 40).Draw(t, "finds")}
		}), 1, 6).Draw(t, "ranges")
		want, finds := map[int]float64{}, 0
		for _, r := range ranges {
			finds += r.Finds
			for y := r.From; y <= r.To; y++ {
				want[int(math.Floor(float64(y)/10))*10] += float64(r.Finds) / float64(r.To-r.From+1)
			}
		}
		got := coverage.DatesOf(ranges)
		sum := 0.0
		for i, d := range got.Decades {
			require.Equal(t, got.Decades[0].From+10*i, d.From)
			require.InDelta(t, want[d.From], d.Finds, 1e-9)
			sum += d.Finds
		}
		require.InDelta(t, float64(finds), sum, 1e-9)
		require.Equal(t, finds, got.Dated)
	})
}
