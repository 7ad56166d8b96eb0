package coverage

import (
	"maps"
	"math"
	"slices"

	"untrod/site"
)

// Dug is a find as far as its reading goes: the lowest and highest number the
// detector gave (NaN when none is known), and what came up.
type Dug struct {
	Lo, Hi  float64
	Verdict site.Verdict
}

// Share is x of n, with exact limits (Clopper and Pearson 1934) and score limits
// (Wilson 1927). Value is NaN when N is 0.
type Share struct {
	X, N               int
	Value              float64
	Lo, Hi             float64
	WilsonLo, WilsonHi float64
}

// shareOf is at 95 %.
func shareOf(x, n int) Share {
	s := Share{X: x, N: n, Value: float64(x) / float64(n)}
	s.Lo, s.Hi = ClopperPearson(x, n, 0.95)
	s.WilsonLo, s.WilsonHi = Wilson(x, n, 0.95)
	return s
}

// Band is the finds whose reading is from From on and under To.
type Band struct {
	From, To float64
	Dug      int
	Keepers  Share // of those known to be keeper or scrap
	Unknown  int   // neither
}

// Bands counts finds by reading, in bands of width numbers that begin at whole
// multiples of it, from the lowest; bands without a find are left out. A reading
// that is a range counts in the band of its middle. Limits are at 95 %. without is
// the finds with no reading; all of them when width is not above 0.
//
// They tell of what was dug: what was heard and left in the ground is in none.
// O(finds x log finds).
func Bands(finds []Dug, width float64) (bands []Band, without int) {
	in := map[float64][]Dug{}
	for _, d := range finds {
		if at := math.Floor((d.Lo + d.Hi) / 2 / width); width > 0 && !math.IsNaN(at) {
			in[at] = append(in[at], d)
		} else {
			without++
		}
	}
	for _, at := range slices.Sorted(maps.Keys(in)) {
		kept, scrap := verdicts(in[at])
		bands = append(bands, Band{
			From: at * width, To: (at + 1) * width,
			Dug: len(in[at]), Keepers: shareOf(kept, kept+scrap), Unknown: len(in[at]) - kept - scrap,
		})
	}
	return bands, without
}

func verdicts(finds []Dug) (keepers, scrap int) {
	for _, d := range finds {
		switch d.Verdict {
		case site.Keeper:
			keepers++
		case site.Scrap:
			scrap++
		}
	}
	return keepers, scrap
}

// SkipRule is what leaving every signal under a number in the ground would have
// done to the finds that were dug.
type SkipRule struct {
	Under   float64
	Lost    Share // keepers left in the ground, of all keepers with a reading
	Spared  Share // scrap not dug, of all scrap with a reading
	Unknown int   // left in the ground, neither keeper nor scrap
	Without int   // finds with no reading, of which it cannot be said
}

// SkipUnder tells what skipping everything under a number would have cost here,
// with limits at 95 %. A signal is skipped when its whole reading is under the
// number: one that flickers across it would have been dug. It tells of this site
// and of what was dug on it alone. O(finds).
func SkipUnder(finds []Dug, number float64) SkipRule {
	s := SkipRule{Under: number}
	var heard, left []Dug
	for _, d := range finds {
		if math.IsNaN(d.Lo) || math.IsNaN(d.Hi) {
			s.Without++
			continue
		}
		heard = append(heard, d)
		if d.Hi < number {
			left = append(left, d)
		}
	}
	keepers, scrap := verdicts(heard)
	lost, spared := verdicts(left)
	s.Lost, s.Spared = shareOf(lost, keepers), shareOf(spared, scrap)
	s.Unknown = len(left) - lost - spared
	return s
}
