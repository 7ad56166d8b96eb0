package track

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseNumber(t *testing.T) {
	for in, want := range map[string]float64{
		"0": 0, "-0.5": -0.5, "+7": 7, "12.": 12, ".25": 0.25, "1e3": 1000, "-1.5E-2": -0.015,
		"51.507350000000002": 51.507350000000002, "9007199254740993": 9007199254740993,
		"0.00000000000000000000000001": 1e-26, "000000000000000000000000012.5": 12.5,
	} {
		got, ok := parseNumber([]byte(in))
		require.True(t, ok, in)
		require.Equal(t, want, got, in)
	}
	for _, in := range []string{"", "-", ".", "-.", "+-1", "1.2.3", "1,5", "NaN", "Inf", "-inf", "0x1p4", "1_000",
		"12 m", "1e", "1e39", "1e999", "٣", "1\x00"} {
		_, ok := parseNumber([]byte(in))
		require.False(t, ok, in)
	}
	negativeZero, ok := parseNumber([]byte("-0.0"))
	require.True(t, ok)
	require.True(t, math.Signbit(negativeZero))
}

// Bit for bit: strconv is correctly rounded.
func TestParseNumberEqualsTheStandardLibrary(t *testing.T) {
	same := func(t *rapid.T, text string) {
		want, err := strconv.ParseFloat(text, 64)
		require.NoError(t, err)
		got, ok := parseNumber([]byte(text))
		require.True(t, ok, text)
		require.Equal(t, math.Float64bits(want), math.Float64bits(got), text)
	}
	rapid.Check(t, func(t *rapid.T) {
		same(t, rapid.StringMatching(`[-+]?[0-9]{1,12}(\.[0-9]{0,20})?`).Draw(t, "text"))
		same(t, rapid.StringMatching(`-?\.[0-9]{1,25}(e-?[0-9])?`).Draw(t, "small"))
		v := rapid.Float64Range(-180, 180).Draw(t, "v")
		for decimals := -1; decimals <= 18; decimals++ {
			same(t, strconv.FormatFloat(v, 'f', decimals, 64))
		}
	})
}

func TestParseCommaNumber(t *testing.T) {
	for in, want := range map[string]float64{"1,5": 1.5, "-51,25": -51.25, "0,000001": 1e-6} {
		got, ok := parseCommaNumber([]byte(in))
		require.True(t, ok, in)
		require.Equal(t, want, got, in)
	}
	for _, in := range []string{"", ",", "1,", ",5", "1,2,3", "1,234.5", "1.234,5", "-,5", "1, 5", "1,5m"} {
		_, ok := parseCommaNumber([]byte(in))
		require.False(t, ok, in)
	}
}
