package book

import (
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
	"untrod/track"
)

// requireSameBits compares fixes by their bits, so that NaNs and zeros count.
func requireSameBits(t require.TestingT, want, got [][]track.Fix) {
	require.Equal(t, len(want), len(got), "segments")
	for i := range want {
		require.Equal(t, len(want[i]), len(got[i]), "fixes of segment %d", i)
		for k := range want[i] {
			for c, f := range fields {
				require.Equal(t, f.get(&want[i][k]), f.get(&got[i][k]), "segment %d fix %d column %d", i, k, c)
			}
		}
	}
}

// TestFieldsAreAll fails when a fix gets a field that is not packed.
func TestFieldsAreAll(t *testing.T) {
	n := reflect.TypeFor[track.Fix]().NumField() - 1 + reflect.TypeFor[grid.LonLat]().NumField()
	require.Len(t, fields, n, "every field of a fix needs a column")
	require.Equal(t, 5, reflect.TypeFor[track.Waypoint]().NumField(), "the fix and four texts are packed")
}

func anyFloat(decimals int) *rapid.Generator[float64] {
	round := func(v float64) float64 { p := math.Pow10(decimals); return math.Round(v*p) / p }
	return rapid.OneOf(
		rapid.Map(rapid.Float64Range(-180, 180), round),
		rapid.Map(rapid.Int32(), func(k int32) float64 { return float64(k) * 180 / (1 << 31) }),
		rapid.Map(rapid.Int64Range(-180*6e5, 180*6e5), func(k int64) float64 { return float64(k) / 6e5 }),
		rapid.Map(rapid.Uint64(), math.Float64frombits),
		rapid.SampledFrom([]float64{0, math.Copysign(0, -1), math.NaN(), math.Inf(1), math.MaxFloat64, 5e-324, math.Float64frombits(0x7ff8000000000123)}),
	)
}

func anyFixes(t *rapid.T) [][]track.Fix {
	one := anyFloat(rapid.IntRange(0, 12).Draw(t, "decimals"))
	single := rapid.OneOf(rapid.Map(one, func(v float64) float32 { return float32(v) }), rapid.Map(rapid.Uint32(), math.Float32frombits))
	fix := rapid.Custom(func(t *rapid.T) track.Fix {
		return track.Fix{
			Pos:  grid.LonLat{Lon: one.Draw(t, "lon"), Lat: one.Draw(t, "lat")},
			T:    track.Instant(rapid.OneOf(rapid.Int64Range(1.7e12, 1.8e12), rapid.Int64(), rapid.Just(int64(track.NoTime))).Draw(t, "t")),
			EleM: single.Draw(t, "ele"), HDOP: single.Draw(t, "hdop"), PDOP: single.Draw(t, "pdop"), AccM: single.Draw(t, "acc"),
			Sats: rapid.Int16().Draw(t, "sats"), Kind: track.FixKind(rapid.Uint8().Draw(t, "kind")),
		}
	})
	return rapid.SliceOfN(rapid.SliceOfN(fix, 0, 8), 0, 4).Draw(t, "segments")
}

func TestPackIsLossless(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := anyFixes(t)
		n := 0
		for _, s := range want {
			n += len(s)
		}
		got, err := unpack(pack(want), n)
		require.NoError(t, err)
		requireSameBits(t, want, got)
	})
}

// TestScales holds that each way of writing a position is found on its own scale,
// the coarsest.
func TestScales(t *testing.T) {
	bits := func(vs ...float64) (out []uint64) {
		for _, v := range vs {
			out = append(out, math.Float64bits(v))
		}
		return out
	}
	for name, c := range map[string]struct {
		values []uint64
		want   scale
	}{
		"whole degrees":       {bits(9, 48), scale{1, 1}},
		"six decimals":        {bits(9.123456, 9.12345, -9.1), scale{1, 1e6}},
		"and a missing one":   {bits(9.123456, math.NaN(), 9.1), scale{1, 1e6}},
		"and a negative zero": {bits(9.123456, math.Copysign(0, -1)), scale{1, 1e6}},
		"fourteen decimals":   {bits(9.12345678901234, 9.2), scale{1, 1e14}},
		"minutes":             {bits(float64(48*60*10000+71234)/600000, float64(48*60*10000+71235)/600000), scale{1, 60e4}},
		"semicircles":         {bits(float64(572662306)*180/(1<<31), float64(572662307)*180/(1<<31)), scale{180, 1 << 31}},
	} {
		t.Run(name, func(t *testing.T) {
			which := scaleOf(c.values, 64)
			require.NotEqual(t, asBits, which)
			require.Equal(t, c.want, scales[which])
		})
	}
	require.Equal(t, asBits, scaleOf(bits(math.Pi, math.E), 64))
	require.Equal(t, asBits, scaleOf(bits(9.5, 9.5), 64), "all the same")
	require.Len(t, scales, 33, "adding to the list is a new format")
}

func TestWaypointsArePacked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var want []track.Waypoint
		for _, s := range anyFixes(t) {
			for _, f := range s {
				text := rapid.String()
				want = append(want, track.Waypoint{Fix: f, Name: text.Draw(t, "name"), Desc: text.Draw(t, "desc"), Sym: text.Draw(t, "sym"), Type: text.Draw(t, "type")})
			}
		}
		got, err := unpackWaypoints(packWaypoints(want))
		require.NoError(t, err)
		require.Equal(t, len(want), len(got))
		for i := range want {
			requireSameBits(t, [][]track.Fix{{want[i].Fix}}, [][]track.Fix{{got[i].Fix}})
			a, b := want[i], got[i]
			require.Equal(t, []string{a.Name, a.Desc, a.Sym, a.Type}, []string{b.Name, b.Desc, b.Sym, b.Type})
		}
	})
}

// FuzzUnpack holds that damage is an error and nothing worse, also where the
// checksum is right.
func FuzzUnpack(f *testing.F) {
	fix := track.NoFix
	fix.Pos, fix.T = grid.LonLat{Lon: 9.123456, Lat: 48.1}, 1_750_000_000_000
	for _, s := range [][][]track.Fix{nil, {{fix, track.NoFix, fix}, {}, {fix}}} {
		raw, err := inflate(pack(s), 1<<20)
		require.NoError(f, err)
		f.Add(raw)
		raw, err = inflate(packWaypoints([]track.Waypoint{{Fix: fix, Name: "oak"}}), 1<<20)
		require.NoError(f, err)
		f.Add(raw)
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		if got, err := unpack(deflate(raw), 1000); err == nil {
			back, err := unpack(pack(got), 1000)
			require.NoError(t, err)
			requireSameBits(t, got, back)
		}
		_, _ = unpackWaypoints(deflate(raw))
		_, _ = readShape(raw)
		_, _, _ = boundsOf(raw)
	})
}
