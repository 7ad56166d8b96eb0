package coverage

import (
	"math"
	"slices"
)

// z95 is the 95th percentile of the standard normal distribution.
const z95 = 1.6448536269514722

// judge turns the percentages of the draws into the figures given to people. The
// draws alone are too sure of themselves in two ways, which are measured on the
// draws themselves and allowed for.
//
// Error scatters walks that truly lay close together, so a log may seem to
// cover more than the walk did. How much error scatters is seen when it is put on
// once more: again are draws of draws. Where they cover more than the draws, the
// lower limits are lowered in that proportion, and widened by half of it.
//
// At the edge, draws mirrored back lie over each other, where a walker would have
// sought fresh ground; how much this matters is seen from how much mirroring
// changed: plain are the first draws without it. The best figure and the upper
// limit take a quarter of it.
//
// Where the coil is swung, error does two things to a draw: it scatters, and it makes
// the way longer and so the pace faster, at which the coil misses more. The coil's share
// of what the swath swept, in draws over that in draws of draws, tells the second from
// the first; scatter is what is left, and the best figure and the upper limit are
// raised in that proportion.
//
// At least is never over most, the percent as logged.
//
// Found by simulation, see docs/accuracy.md; on proportions of swept and unswept
// ground, so that no figure leaves 0 to 100.
func judge(d draws, most float64) *Certainty {
	mean, sd := meanSD(d.folded)
	if mean == 0 || mean == 100 {
		return &Certainty{AtLeastPercent: mean, ExpectedPercent: mean, Interval90: [2]float64{mean, mean}, raw: d}
	}
	scatter, haste := math.Min(1, ratio(mean, average(d.again))), 1.0
	if h := len(d.swath); h > 0 {
		share := ratio(average(d.folded[:h]), average(d.swath))
		missed := ratio(share, ratio(average(d.again[:h]), average(d.swathAgain)))
		scatter = math.Min(1, ratio(ratio(mean, average(d.again)), missed))
		haste = math.Max(1, missed)
	}
	edge := math.Pow(math.Min(1, ratio(100-average(d.folded[:len(d.plain)]), 100-average(d.plain))), 0.25)
	wide := math.Hypot(sd/mean, math.Log(scatter)/2)
	sorted := slices.Clone(d.folded)
	slices.Sort(sorted)
	low := mean * scatter * math.Exp(-z95*wide)
	low = math.Min(math.Min(low, quantile(sorted, 0.05)), most)
	likely := 100 - (100-mean)*edge
	high := 100 - (100-mean)*edge*math.Exp(-z95*sd/(100-mean))
	high = math.Max(high, quantile(sorted, 0.95))
	if haste > 1 { // misses multiply
		likely, high = 100-100*math.Pow(1-likely/100, haste), 100-100*math.Pow(1-high/100, haste)
	}
	return &Certainty{
		AtLeastPercent:  low,
		ExpectedPercent: likely,
		Interval90:      [2]float64{low, high},
		raw:             d,
	}
}

func ratio(a, b float64) float64 {
	if b == 0 {
		return 1
	}
	return a / b
}

func average(s []float64) float64 {
	sum := 0.0
	for _, v := range s {
		sum += v
	}
	return sum / float64(len(s))
}

func meanSD(s []float64) (mean, sd float64) {
	mean = average(s)
	for _, v := range s {
		sd += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(sd / float64(len(s)-1))
}

// quantile of a sorted sample, between neighbours.
func quantile(sorted []float64, p float64) float64 {
	x := p * float64(len(sorted)-1)
	i := int(x)
	if i+1 == len(sorted) {
		return sorted[i]
	}
	return sorted[i] + (x-float64(i))*(sorted[i+1]-sorted[i])
}
