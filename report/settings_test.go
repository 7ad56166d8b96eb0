package report

import (
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/track"
)

// Every field of the settings is in the document; a new one has to be added.
func TestSettingsAreAllReported(t *testing.T) {
	fields := func(v any) int { return reflect.TypeOf(v).NumField() }
	require.Equal(t, fields(track.LegSettings{}), fields(LegsDoc{}))
	inTrack := fields(track.Settings{}) - 1       // Legs is a document of its own
	inCoverage := fields(coverage.Settings{}) - 4 // Track is laid flat; Position, Detect and Zones are not here
	require.Equal(t, inCoverage+inTrack+1, fields(SettingsDoc{}))
}

// The rough part of a receiver's error is found from each log, not set; strays
// and the number of draws are results.
func TestPositionIsAllReported(t *testing.T) {
	fields := func(v any) int { return reflect.TypeOf(v).NumField() }
	set := fields(track.Receiver{}) - 1 + fields(coverage.PositionSettings{}) - 1
	require.Equal(t, set+1, fields(PositionDoc{}))
}

func TestSwathFromCoilAndSwing(t *testing.T) {
	r := &coverage.Result{Settings: coverage.Settings{CoilM: 0.28, SwingM: 1.2}}
	require.InDelta(t, 1.48, float64(settings(r).SwathM), 1e-12)
	require.Equal(t, Number(0.28), settings(r).CoilM)
	require.Equal(t, Number(1.2), settings(r).SweepS, "the swing at its usual speed")
	r.Settings = coverage.Settings{SwathM: 1.5}
	require.Equal(t, Number(1.5), settings(r).SwathM)
	b, err := settings(r).CoilM.MarshalJSON()
	require.NoError(t, err)
	require.Equal(t, "null", string(b))
}
