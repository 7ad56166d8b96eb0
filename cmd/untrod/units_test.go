package main

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The international foot is 0.3048 m, the inch a twelfth of it and the yard
// three, exactly (NIST Special Publication 811, 2008, appendix B.6).
func TestParseQuantity(t *testing.T) {
	for _, c := range []struct {
		of   *quantity
		text string
		want float64
	}{
		{lengths, "1.5m", 1.5},
		{lengths, "150cm", 1.5},
		{lengths, "28 cm", 0.28},
		{lengths, " 1,5 m ", 1.5},
		{lengths, "0,125m", 0.125},
		{lengths, "1500MM", 1.5},
		{lengths, "0.0015km", 1.5},
		{lengths, "5ft", 1.524},
		{lengths, "11in", 0.2794},
		{lengths, "2yd", 1.8288},
		{lengths, "-1m", -1},
		{lengths, ".5m", 0.5},
		{lengths, "1.5\u00a0m", 1.5}, // a no-break space
		{areas, "2m2", 2},
		{areas, "2 m²", 2},
		{areas, "20sqft", 1.858_060_8},
		{areas, "20 sq ft", 1.858_060_8},
		{areas, "20ft2", 1.858_060_8},
		{areas, "0.5ha", 5000},
		{speeds, "0.9m/s", 0.9},
		{speeds, "3.6km/h", 1},
		{speeds, "2mph", 0.89408},
		{times, "1.2s", 1.2},
		{times, "800 ms", 0.8},
		{shares, "0.7", 0.7},
		{shares, "0,7", 0.7},
		{shares, "70%", 0.7},
		{shares, "70 %", 0.7},
	} {
		t.Run(c.text, func(t *testing.T) {
			got, err := c.of.parse(c.text)
			require.NoError(t, err)
			require.InDelta(t, c.want, got, 1e-12)
		})
	}
}

func TestParseQuantityRefuses(t *testing.T) {
	for _, c := range []struct {
		of         *quantity
		text, says string
	}{
		{lengths, "", "not a length, such as 1.5m"},
		{lengths, "m", "not a length"},
		{lengths, "wide", "not a length"},
		{lengths, "NaNm", "not a length"},
		{lengths, "Infm", "not a length"},
		{lengths, "1.2.3m", "not a length"},
		{lengths, "1,2,34m", "not a length"},
		{lengths, "1-2m", "not a length"},
		{lengths, "1.5", "a length needs its unit"},
		{lengths, "1,500m", "the comma could mean thousands"},
		{areas, "1,000sqft", "the comma could mean thousands"},
		{lengths, "5ells", `unit "ells" is not one of cm, ft, in`},
		{lengths, "1e3m", `unit "e3m"`},
		{lengths, "5'3\"", "unit"},
		{lengths, "2m2", `unit "m2"`},
		{areas, "2m", `unit "m" is not one of`},
		{speeds, "2m", `unit "m" is not one of`},
		{times, "1.2", "a time needs its unit, such as 1.2s"},
		{times, "1m", `unit "m" is not one of min, ms, s`},
		{shares, "7/10", `unit "/10" is not one of %`},
		{shares, "often", "not a share, such as 0.7 or 70%"},
	} {
		t.Run(c.text, func(t *testing.T) {
			_, err := c.of.parse(c.text)
			require.ErrorContains(t, err, c.says)
		})
	}
}

// Every number comes back through every unit, with a point or a comma.
func TestParseQuantityRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.SampledFrom([]*quantity{lengths, areas, speeds, times, shares}).Draw(t, "quantity")
		v := math.Round(rapid.Float64Range(-5000, 5000).Draw(t, "value")*100) / 100
		for unit, size := range q.units {
			got, err := q.parse(fmt.Sprintf("%.2f %s", v, unit))
			require.NoError(t, err)
			require.InDelta(t, v*size, got, 1e-9*math.Max(1, math.Abs(v*size)))
		}
	})
}

func TestCountFlag(t *testing.T) {
	var f countFlag
	require.Equal(t, 200, f.or(200))
	require.Empty(t, f.String())
	for _, bad := range []string{"", "-1", "1.5", "many", "99999999999999999999"} {
		require.Error(t, f.Set(bad), bad)
	}
	require.NoError(t, f.Set("0"))
	require.Equal(t, 0, f.or(200))
	require.Equal(t, "0", f.String())
}

// Whatever is typed, parse neither panics nor lets through a number that is none.
func FuzzParseQuantity(f *testing.F) {
	for _, s := range []string{"1.5m", "1,5 m", "28cm", "5ft 3in", "½m", "١m", "1.5", "--m", "2 m²"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, q := range []*quantity{lengths, areas, speeds, times, shares} {
			if v, err := q.parse(s); err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
				t.Errorf("%q gives %v", s, v)
			}
		}
	})
}
