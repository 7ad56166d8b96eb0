package report

import (
	"image/color"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/track"
)

// Colours of a layer go from light to dark, apart enough for grey print and every eye.
func TestLayersDarkenInSteps(t *testing.T) {
	ramps := map[string][]color.RGBA{
		"sand and depths": append([]color.RGBA{paper, classColour[sliver]}, depths[:]...),
		"chance":          append([]color.RGBA{paper}, washes[:]...),
		"visit by visit":  {paper, classColour[sliver], classColour[once], classColour[more]},
	}
	for name, ramp := range ramps {
		for who, eye := range eyes {
			for i := 1; i < len(ramp); i++ {
				need := minStep
				if i == 1 {
					need = 7 // paper and ground have the edge of the site between them
				}
				require.GreaterOrEqual(t, lightness(ramp[i-1], eye)-lightness(ramp[i], eye), float64(need), "%s, %s, step %d", name, who, i)
			}
		}
	}
}

// Bands of the chance share their outer bounds with the states.
func TestChanceBand(t *testing.T) {
	for v, want := range map[float64]uint8{0: 1, 0.2: 1, 0.2001: 2, 0.399: 2, 0.4: 3, 0.59: 3, 0.6: 4, 0.799: 4, 0.8: 5, 1: 5} {
		require.Equal(t, want, chanceBand(v), "%g", v)
	}
}

func TestVisitWords(t *testing.T) {
	day := func(n track.Instant) track.Instant { return 1_750_000_000_000 + n*86_400_000 }
	all := []coverage.Session{{Start: day(0), End: day(0)}, {Start: day(3), End: day(3)}, {Start: day(40), End: day(40)}, {Start: track.NoTime, End: track.NoTime}}
	for _, c := range []struct {
		from, to int
		want     string
	}{
		{0, 1, "visit 1, 15 June 2025"},
		{0, 2, "visits 1 to 2, 15 to 18 June 2025"},
		{1, 4, "visits 2 to 4, 18 June to 25 July 2025"},
		{3, 4, "visit 4, no date"},
	} {
		require.Equal(t, c.want, visitWords(all, c.from, c.to))
	}
}

// A pixel's cells by majority, the darker in a tie, as on the map.
func TestMostOfIsMajority(t *testing.T) {
	for n := range 4 * 4 * 4 * 4 {
		var a [maxClasses]uint32
		var b [classes]uint32
		for i, v := 1, n; i <= 4; i, v = i+1, v/4 {
			a[i], b[i] = uint32(v%4), uint32(v%4)
		}
		for _, cells := range []int{6, 12} {
			require.Equal(t, uint8(majority(b, cells)), mostOf(&a, cells), "%v of %d", a, cells)
		}
	}
}

// firstFrom keeps to the centres of cells as the Spec has them, also where an edge lies on
// one.
func TestFirstFrom(t *testing.T) {
	s := grid.Spec{Origin: grid.XY{X: -30.1}, CellM: 0.1}
	for i := -5; i < 700; i++ {
		x := s.Centre(grid.Cell{Col: i}).X
		require.Equal(t, i, firstFrom(s.Origin.X, s.CellM, x))
		require.Equal(t, i+1, firstFrom(s.Origin.X, s.CellM, x+1e-9))
	}
}

func TestHexOf(t *testing.T) {
	require.Equal(t, "#99150D", hexOf(classColour[gap]))
	require.Equal(t, "#0A00FF", hexOf(color.RGBA{R: 10, B: 255, A: 255}))
}

// No layer has more classes than a pixel counts, nor more colours than the picture has.
func TestLayersFit(t *testing.T) {
	r, _ := field().makeUnsure(t)
	r.Tally = coverage.NewTally(r.Searchable)
	for _, name := range LayerNames {
		l := NewLayer(r, Metric, name)
		require.Equal(t, name, l.Name)
		require.LessOrEqual(t, len(l.colours), maxClasses, name)
		require.Less(t, len(l.colours), byteColours, name)
	}
	require.Nil(t, NewLayer(r, Metric, "backdrop"))
}
