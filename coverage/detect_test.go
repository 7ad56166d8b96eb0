package coverage_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/coverage"
)

// Koopman 1946 (1980), Washburn 2002 section 2.4; values computed from the
// formulas there to six decimals.
func TestDetectionCurves(t *testing.T) {
	for _, row := range []struct{ c, random, inverseCube, definite float64 }{
		{0.10, 0.095163, 0.099739, 0.10},
		{0.25, 0.221199, 0.245969, 0.25},
		{0.50, 0.393469, 0.469116, 0.50},
		{0.75, 0.527633, 0.652775, 0.75},
		{1.00, 0.632121, 0.789909, 1},
		{1.25, 0.713495, 0.882802, 1},
		{1.50, 0.776870, 0.939888, 1},
		{2.00, 0.864665, 0.987811, 1},
		{2.50, 0.917915, 0.998271, 1},
		{3.00, 0.950213, 0.999830, 1},
	} {
		require.InDelta(t, row.random, coverage.RandomSearch(row.c), 5.1e-7, "C %g", row.c)
		require.InDelta(t, row.inverseCube, coverage.InverseCube(row.c), 5.1e-7, "C %g", row.c)
		require.Equal(t, row.definite, coverage.DefiniteRange(row.c), "C %g", row.c)
	}
}

// Inverse cube lies between random and exhaustive search (Eagle, OA3602 notes 2012).
func TestDetectionCurvesOrdered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.Float64Range(1e-3, 5).Draw(t, "c")
		require.Less(t, coverage.RandomSearch(c), coverage.InverseCube(c))
		require.Less(t, coverage.InverseCube(c), coverage.DefiniteRange(c))
	})
}

// Two random searches of c1 and c2 detect as one of c1 + c2.
func TestRandomSearchIsMultiplicative(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c1 := rapid.Float64Range(0, 10).Draw(t, "c1")
		c2 := rapid.Float64Range(0, 10).Draw(t, "c2")
		both := coverage.Combine(coverage.RandomSearch(c1), coverage.RandomSearch(c2))
		require.InDelta(t, coverage.RandomSearch(c1+c2), both, 1e-12)
	})
}

// Civil Air Patrol, MART volume II, table 6-3, page 107: one search 60 %, two
// flights 80 %, three flights 90 %. The table rounds down to steps of 5 %; exact
// are 84 % and 93.6 %.
func TestCombinePublished(t *testing.T) {
	for passes, want := range map[int]float64{1: 0.60, 2: 0.84, 3: 0.936} {
		require.InDelta(t, want, coverage.Repeated(0.6, passes), 1e-15)
	}
	require.InDelta(t, 0.84, coverage.Combine(0.6, 0.6), 1e-15)
	require.InDelta(t, 0.936, coverage.Combine(0.6, 0.6, 0.6), 1e-15)
}

func TestCombineEdges(t *testing.T) {
	require.Equal(t, "+0", signed(coverage.Combine()))
	require.Equal(t, "+0", signed(coverage.Combine(0, 0)))
	require.Equal(t, "+0", signed(coverage.Repeated(1, 0)))
	require.Equal(t, "+0", signed(coverage.Repeated(0, 5)))
	require.Equal(t, 1.0, coverage.Combine(0.3, 1))
	require.Equal(t, 1.0, coverage.Repeated(1, 3))
	require.InEpsilon(t, 2e-18, coverage.Combine(1e-18, 1e-18), 1e-12, "small chances are not lost")
	require.InEpsilon(t, 3e-18, coverage.Repeated(1e-18, 3), 1e-12)
}

// signed tells 0 from -0, which JSON would show.
func signed(zero float64) string {
	if zero == 0 && math.Signbit(zero) {
		return "-0"
	}
	return "+0"
}

func TestDetect(t *testing.T) {
	passes := []coverage.PassShare{{Passes: 0, Percent: 20}, {Passes: 1, Percent: 50}, {Passes: 2, Percent: 30}}
	t.Run("given", func(t *testing.T) {
		d, err := coverage.Detect(passes, 1.1, nil, coverage.DetectSettings{PerPass: 0.7})
		require.NoError(t, err)
		require.InDelta(t, 50*0.7+30*0.91, d.AnywherePercent, 1e-12)
		require.Equal(t, d.AnywherePercent, d.AnywhereLoPercent)
		require.Equal(t, d.AnywherePercent, d.AnywhereHiPercent)
		require.InDelta(t, 100*(1-math.Exp(-0.77)), d.RandomPercent, 1e-12)
		require.InDelta(t, 77, d.DefinitePercent, 1e-12)
		require.False(t, d.FromTrial)
		require.Equal(t, [3]float64{0.7, 0.7, 0.7}, [3]float64{d.PerPass, d.Lo, d.Hi})
	})
	t.Run("trial", func(t *testing.T) {
		d, err := coverage.Detect(passes, 1.1, nil, coverage.DetectSettings{Trial: coverage.Trial{Seeded: 20, Found: 15}})
		require.NoError(t, err)
		require.True(t, d.FromTrial)
		require.Equal(t, [2]int{20, 15}, [2]int{d.SeededN, d.FoundN})
		require.Equal(t, 0.75, d.PerPass)
		lo, hi := coverage.ClopperPearson(15, 20, 0.95)
		require.Equal(t, [2]float64{lo, hi}, [2]float64{d.Lo, d.Hi})
		require.InDelta(t, 50*lo+30*(1-(1-lo)*(1-lo)), d.AnywhereLoPercent, 1e-12)
		require.InDelta(t, 50*hi+30*(1-(1-hi)*(1-hi)), d.AnywhereHiPercent, 1e-12)
	})
	t.Run("as surely as the ground was swept", func(t *testing.T) {
		c := &coverage.Certainty{AtLeastPercent: 40, ExpectedPercent: 60, Interval90: [2]float64{40, 72}}
		mix := func(p float64) float64 { return (5*p + 3*(1-(1-p)*(1-p))) / 8 } // of swept ground
		d, err := coverage.Detect(passes, 1.1, c, coverage.DetectSettings{PerPass: 0.7})
		require.NoError(t, err)
		require.InDelta(t, 60*mix(0.7), d.AnywherePercent, 1e-12)
		require.InDelta(t, 40*mix(0.7), d.AnywhereLoPercent, 1e-12)
		require.InDelta(t, 72*mix(0.7), d.AnywhereHiPercent, 1e-12)
		d, err = coverage.Detect(passes, 1.1, c, coverage.DetectSettings{Trial: coverage.Trial{Seeded: 20, Found: 15}})
		require.NoError(t, err)
		lo, hi := coverage.ClopperPearson(15, 20, 0.95)
		require.InDelta(t, 40*mix(lo), d.AnywhereLoPercent, 1e-12)
		require.InDelta(t, 72*mix(hi), d.AnywhereHiPercent, 1e-12)
		d, err = coverage.Detect([]coverage.PassShare{{Percent: 100}}, 0, c, coverage.DetectSettings{PerPass: 0.5})
		require.NoError(t, err)
		require.InDelta(t, 30, d.AnywherePercent, 1e-12, "nothing logged on the site, all the same likely near it")
	})
	t.Run("never fails", func(t *testing.T) {
		d, err := coverage.Detect(passes, 1.1, nil, coverage.DetectSettings{PerPass: 1})
		require.NoError(t, err)
		require.InDelta(t, 80, d.AnywherePercent, 1e-12, "the percent covered")
	})
	t.Run("nothing found", func(t *testing.T) {
		d, err := coverage.Detect(passes, 1.1, nil, coverage.DetectSettings{Trial: coverage.Trial{Seeded: 20}})
		require.NoError(t, err)
		require.Equal(t, "+0", signed(d.AnywherePercent))
		require.Zero(t, d.AnywherePercent)
		require.Positive(t, d.AnywhereHiPercent)
	})
	t.Run("nothing searched", func(t *testing.T) {
		d, err := coverage.Detect([]coverage.PassShare{{Percent: 100}}, 0, nil, coverage.DetectSettings{PerPass: 0.7})
		require.NoError(t, err)
		require.Equal(t, coverage.Detection{PerPass: 0.7, Lo: 0.7, Hi: 0.7}, d)
	})
}

// Passes that fall at random, Poisson with mean c, detect exactly as random search
// with sweep width p x swath.
func TestDetectPoissonPassesIsRandomSearch(t *testing.T) {
	for _, c := range []float64{0.2, 1, 2.5} {
		var passes []coverage.PassShare
		chance := math.Exp(-c)
		for n := range 60 {
			passes = append(passes, coverage.PassShare{Passes: n, Percent: 100 * chance})
			chance *= c / float64(n+1)
		}
		d, err := coverage.Detect(passes, c, nil, coverage.DetectSettings{PerPass: 0.7})
		require.NoError(t, err)
		require.InDelta(t, d.RandomPercent, d.AnywherePercent, 1e-10, "C %g", c)
	}
}

// No spread of passes beats definite range with the same effort, 1 - (1-p)^n
// being at most min(1, pn) and that concave in n.
func TestDetectNeverAboveDefiniteRange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shares := rapid.SliceOfN(rapid.Float64Range(0.01, 1), 1, 8).Draw(t, "shares")
		p := rapid.Float64Range(0.01, 1).Draw(t, "p")
		var sum, c float64
		for _, s := range shares {
			sum += s
		}
		var passes []coverage.PassShare
		for n, s := range shares {
			passes = append(passes, coverage.PassShare{Passes: n, Percent: 100 * s / sum})
			c += float64(n) * s / sum
		}
		d, err := coverage.Detect(passes, c, nil, coverage.DetectSettings{PerPass: p})
		require.NoError(t, err)
		require.LessOrEqual(t, d.AnywherePercent, d.DefinitePercent+1e-10)
	})
}

func TestDetectSettingsErrors(t *testing.T) {
	for _, row := range []struct {
		name string
		set  coverage.DetectSettings
		want string
	}{
		{"nothing given", coverage.DetectSettings{}, "--detect 0: must be more than 0 and at most 1"},
		{"a percent", coverage.DetectSettings{PerPass: 70}, "--detect 70: must be more than 0 and at most 1"},
		{"negative", coverage.DetectSettings{PerPass: -0.1}, "--detect -0.1: must be more than 0 and at most 1"},
		{"not a number", coverage.DetectSettings{PerPass: math.NaN()}, "--detect NaN: must be more than 0 and at most 1"},
		{"both", coverage.DetectSettings{PerPass: 0.7, Trial: coverage.Trial{Seeded: 20, Found: 15}},
			"--detect 0.7: must be left out when --seeded and --found are given"},
		{"found alone", coverage.DetectSettings{Trial: coverage.Trial{Found: 15}}, "--seeded 0: must be from 1 to 1000000"},
		{"seeded negative", coverage.DetectSettings{Trial: coverage.Trial{Seeded: -1}}, "--seeded -1: must be from 1 to 1000000"},
		{"too many seeded", coverage.DetectSettings{Trial: coverage.Trial{Seeded: 1_000_001}}, "--seeded 1000001: must be from 1 to 1000000"},
		{"found too many", coverage.DetectSettings{Trial: coverage.Trial{Seeded: 20, Found: 21}}, "--found 21: must be from 0 to 20, the number seeded"},
		{"found negative", coverage.DetectSettings{Trial: coverage.Trial{Seeded: 20, Found: -1}}, "--found -1: must be from 0 to 20, the number seeded"},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, err := coverage.Detect(nil, 1, nil, row.set)
			var setting *coverage.SettingsError
			require.ErrorAs(t, err, &setting)
			require.EqualError(t, err, row.want)
		})
	}
}
