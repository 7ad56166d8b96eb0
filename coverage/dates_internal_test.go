package coverage

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Input of the archSeries package's aorist example, ends taken as the first year
// after; output computed by even spreading (Ratcliffe 2002).
func TestSpreadPublished(t *testing.T) {
	got := spread([]DateRange{{450, 699, 3}, {450, 799, 6}, {600, 649, 25}}, blocks{500, 50, 20})
	want := []float64{1.457143, 1.457143, 26.457143, 1.457143, 0.857143, 0.857143}
	sum := 0.0
	for i, finds := range got {
		sum += finds
		if i < len(want) {
			require.InDelta(t, want[i], finds, 5e-7, "block %d", i)
		} else {
			require.Zero(t, finds, "block %d", i)
		}
	}
	require.InDelta(t, 32.542857, sum, 5e-7)
}
