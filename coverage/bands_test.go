package coverage_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/coverage"
	"untrod/site"
)

func TestBands(t *testing.T) {
	nan := math.NaN()
	finds := []coverage.Dug{
		{76, 76, site.Keeper}, {70, 79, site.Scrap}, {79, 81, site.Keeper}, // middle 80
		{80, 80, site.UnknownVerdict}, {12.5, 12.5, site.Scrap}, {-4, -4, site.Scrap},
		{nan, nan, site.Keeper}, {70, 70, ""},
	}
	bands, without := coverage.Bands(finds, 10)
	require.Equal(t, 1, without)
	require.Len(t, bands, 4)
	for i, want := range []struct {
		from             float64
		dug, x, n, other int
	}{{-10, 1, 0, 1, 0}, {10, 1, 0, 1, 0}, {70, 3, 1, 2, 1}, {80, 2, 1, 1, 1}} {
		b := bands[i]
		require.Equal(t, want.from, b.From)
		require.Equal(t, want.from+10, b.To)
		require.Equal(t, [4]int{want.dug, want.x, want.n, want.other}, [4]int{b.Dug, b.Keepers.X, b.Keepers.N, b.Unknown}, "from %g", b.From)
	}
	lo, hi := coverage.ClopperPearson(1, 2, 0.95)
	wlo, whi := coverage.Wilson(1, 2, 0.95)
	require.Equal(t, coverage.Share{X: 1, N: 2, Value: 0.5, Lo: lo, Hi: hi, WilsonLo: wlo, WilsonHi: whi}, bands[2].Keepers)

	only, _ := coverage.Bands([]coverage.Dug{{5, 5, site.UnknownVerdict}}, 10)
	require.True(t, math.IsNaN(only[0].Keepers.Value))
	require.Equal(t, [2]float64{0, 1}, [2]float64{only[0].Keepers.Lo, only[0].Keepers.Hi})

	for _, width := range []float64{0, -1, nan} {
		bands, without = coverage.Bands(finds, width)
		require.Empty(t, bands)
		require.Len(t, finds, without)
	}
}

func TestSkipUnder(t *testing.T) {
	finds := []coverage.Dug{
		{40, 40, site.Scrap}, {59, 59, site.Scrap}, {50, 55, site.Keeper}, {55, 62, site.Keeper}, // flickers across 60
		{60, 60, site.Keeper}, {80, 80, site.Keeper}, {70, 70, site.Scrap}, {30, 30, site.UnknownVerdict},
		{math.NaN(), math.NaN(), site.Keeper},
	}
	s := coverage.SkipUnder(finds, 60)
	require.Equal(t, [6]int{1, 4, 2, 3, 1, 1}, [6]int{s.Lost.X, s.Lost.N, s.Spared.X, s.Spared.N, s.Unknown, s.Without})
	require.Equal(t, 0.25, s.Lost.Value)
	lo, hi := coverage.ClopperPearson(2, 3, 0.95)
	require.Equal(t, [2]float64{lo, hi}, [2]float64{s.Spared.Lo, s.Spared.Hi})
	require.Equal(t, 60.0, s.Under)
}

// No find is lost or counted twice, and a higher number never skips less.
func TestReadingsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		finds := rapid.SliceOf(rapid.Custom(func(t *rapid.T) coverage.Dug {
			lo := float64(rapid.IntRange(-20, 99).Draw(t, "lo"))
			d := coverage.Dug{Lo: lo, Hi: lo + float64(rapid.IntRange(0, 9).Draw(t, "more")),
				Verdict: rapid.SampledFrom([]site.Verdict{site.Keeper, site.Scrap, site.UnknownVerdict}).Draw(t, "verdict")}
			if rapid.IntRange(0, 9).Draw(t, "heard") == 0 {
				d.Lo, d.Hi = math.NaN(), math.NaN()
			}
			return d
		})).Draw(t, "finds")
		bands, sum := coverage.Bands(finds, float64(rapid.IntRange(1, 20).Draw(t, "width")))
		for i, b := range bands {
			sum += b.Dug
			require.Equal(t, b.Dug, b.Keepers.N+b.Unknown)
			require.True(t, i == 0 || bands[i-1].To <= b.From)
		}
		require.Len(t, finds, sum)
		at := float64(rapid.IntRange(-30, 120).Draw(t, "number"))
		a, b := coverage.SkipUnder(finds, at), coverage.SkipUnder(finds, at+1)
		require.True(t, a.Lost.X <= b.Lost.X && a.Spared.X <= b.Spared.X && a.Unknown <= b.Unknown)
		all := coverage.SkipUnder(finds, 1000)
		require.Len(t, finds, all.Lost.N+all.Spared.N+all.Unknown+all.Without)
		require.Equal(t, all.Lost.N, all.Lost.X)
	})
}
