package track

import (
	"fmt"
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseAngle(t *testing.T) {
	for in, want := range map[string]float64{
		"51.25": 51.25, "-3,5": -3.5, "+7": 7, "51.25N": 51.25, "S51.25": -51.25, "51,25 s": -51.25,
		"N 51 30.208": 51 + 30.208/60, "N51° 30.208'": 51 + 30.208/60, "51 30 N": 51.5, "51:30:18": 51.505,
		"51°30'12.5\"N": 51 + 30./60 + 12.5/3600, "51° 30′ 12,5″ S": -(51 + 30./60 + 12.5/3600), "-51°30'": -51.5,
		"51\xb030'N": 51.5, "51º30’18”N": 51.505, "0 0 0": 0, "0°0'36\"S": -0.01,
	} {
		got, ok := parseAngle([]byte(in), 'N', 'S')
		require.True(t, ok, in)
		require.InDelta(t, want, got, 1e-13, in)
	}
	for _, in := range []string{"", "N", "-", "51.5 30", "51 60", "51 30 60", "51 30 12 5", "-51 S", "N51S", "51E", "W51",
		"51-30", "51..5", "1.5.2 3", "51 30,5,2", "5151 30", "north", "NaN", "51°°x", "51d30m18s", "1,2,3", "250 30", "N250"} {
		v, ok := parseAngle([]byte(in), 'N', 'S')
		require.False(t, ok, "%q is %v", in, v)
	}
}

// The value is the exact quotient, rounded once, however the angle is written: big.Rat
// is exact.
func TestAnglesAreRoundedOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		deg, minute, second := rapid.IntRange(0, 179).Draw(t, "deg"), rapid.IntRange(0, 59).Draw(t, "min"), rapid.IntRange(0, 59).Draw(t, "sec")
		k := rapid.IntRange(0, mostDecimals).Draw(t, "k")
		n := rapid.Int64Range(0, int64(math.Pow10(k))-1).Draw(t, "n")
		rest := ""
		if k > 0 {
			rest = fmt.Sprintf(".%0*d", k, n)
		}
		exact := func(per int64, whole int64, decimals string) float64 {
			part, ok := new(big.Rat).SetString("0" + decimals)
			require.True(t, ok)
			v, _ := new(big.Rat).Quo(part.Add(part, big.NewRat(whole, 1)), big.NewRat(per, 1)).Float64()
			return v
		}
		want := exact(60, int64(deg*60+minute), rest)
		got, decimals, ok := parseDegreesMinutes(fmt.Appendf(nil, "%d%02d%s", deg, minute, rest))
		require.True(t, ok)
		require.Equal(t, k, decimals)
		require.Equal(t, want, got)
		got, ok = parseAngle(fmt.Appendf(nil, "%d° %d%s'W", deg, minute, rest), 'E', 'W')
		require.True(t, ok)
		require.Equal(t, -exact(60, int64(deg*60+minute), rest), got)
		got, ok = parseAngle(fmt.Appendf(nil, "%d:%d:%d%s", deg, minute, second, rest), 'E', 'W')
		require.True(t, ok)
		require.Equal(t, exact(3600, int64((deg*60+minute)*60+second), rest), got)
	})
}

func TestParseDegreesMinutes(t *testing.T) {
	for in, want := range map[string]float64{"4530": 45.5, "4530.": 45.5, "30": 0.5, "000.6": 0.01, "17959.99999999999999": 179 + 59.9999999999/60} {
		got, _, ok := parseDegreesMinutes([]byte(in))
		require.True(t, ok, in)
		require.Equal(t, want, got, in)
	}
	for _, in := range []string{"", ".", ".5", "4560", "-4530", "45 30", "4530.5.5", "1234567", "4530,5", "453O", "25030"} {
		_, _, ok := parseDegreesMinutes([]byte(in))
		require.False(t, ok, in)
	}
}
