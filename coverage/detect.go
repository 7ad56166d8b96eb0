package coverage

import (
	"fmt"
	"math"
)

// Combine is the chance that at least one of several independent looks detects,
// 1 - prod(1 - p), without loss for small p. Each p is in [0, 1]; with none it
// is 0.
func Combine(ps ...float64) float64 {
	miss := 0.0
	for _, p := range ps {
		miss += math.Log1p(-p)
	}
	return 0 - math.Expm1(miss) // not -Expm1, which gives -0
}

// Repeated is Combine of the same chance p, passes times; 0 for no passes.
func Repeated(p float64, passes int) float64 {
	if passes == 0 {
		return 0
	}
	return 0 - math.Expm1(float64(passes)*math.Log1p(-p))
}

// InverseCube is the chance of detection on parallel tracks with coverage factor
// c when detection falls with the inverse cube of the distance: erf(sqrt(pi)/2 c).
// It lies between RandomSearch and DefiniteRange. Source: Koopman 1946 (1980);
// the form is that of Washburn 2002, "Search and Detection", section 2.4.
func InverseCube(c float64) float64 { return math.Erf(math.Sqrt(math.Pi) / 2 * c) }

// DefiniteRange is the chance of detection on perfect parallel tracks with
// coverage factor c when all within range is detected and nothing beyond:
// min(1, c), the most any search can reach. Source: Koopman 1946 (1980).
func DefiniteRange(c float64) float64 { return min(1, c) }

// TrialLevel is the level of a trial's limits.
const TrialLevel = 0.95

// Trial is a test of searcher and detector: targets of the kind sought, buried
// unseen by the searcher, and how many one pass found.
type Trial struct{ Seeded, Found int }

// Estimate is the chance per pass the trial shows, Found / Seeded, with exact
// limits at TrialLevel; NaN, 0 and 1 when nothing was seeded.
func (t Trial) Estimate() (p, lo, hi float64) {
	lo, hi = ClopperPearson(t.Found, t.Seeded, TrialLevel)
	return float64(t.Found) / float64(t.Seeded), lo, hi
}

// DetectSettings says how likely one pass over a target of the kind sought is to
// sound: given outright, or by a trial. The zero value says nothing.
type DetectSettings struct {
	PerPass float64 // more than 0, at most 1; 0 when a trial is given
	Trial   Trial   // up to 1,000,000 seeded; zero when PerPass is given
}

// Validate returns a *SettingsError for the first setting out of range, the zero
// value included.
func (d DetectSettings) Validate() error {
	seeded, found := d.Trial.Seeded, d.Trial.Found
	switch {
	case d.Trial == (Trial{}) && !(d.PerPass > 0 && d.PerPass <= 1):
		return &SettingsError{"detect", fmt.Sprintf("%g", d.PerPass), "more than 0 and at most 1"}
	case d.Trial == (Trial{}):
		return nil
	case d.PerPass != 0:
		return &SettingsError{"detect", fmt.Sprintf("%g", d.PerPass), "left out when --seeded and --found are given"}
	case seeded < 1 || seeded > 1e6:
		return &SettingsError{"seeded", fmt.Sprint(seeded), "from 1 to 1000000"}
	case found < 0 || found > seeded:
		return &SettingsError{"found", fmt.Sprint(found), fmt.Sprintf("from 0 to %d, the number seeded", seeded)}
	}
	return nil
}

// Detection is how likely a target was found. Percents are of the targets that
// could lie anywhere in the searchable ground, each place as likely as another.
// Limits are equal to the figure itself when positions are taken as perfect and the
// chance per pass was given outright. From a trial they are those of TrialLevel, and
// with a Certainty those of AtLeastPercent and Interval90; with both, the lower of
// one with the lower of the other. They carry over because every figure rises with
// the chance per pass and with the ground swept.
type Detection struct {
	PerPass, Lo, Hi float64 // chance per pass, with limits
	FromTrial       bool
	SeededN, FoundN int // 0 when not from a trial

	AnywherePercent, AnywhereLoPercent, AnywhereHiPercent float64

	// What search theory gives for the same effort at PerPass: wandering at
	// random, inverse cube, definite range.
	RandomPercent, InverseCubePercent, DefinitePercent float64
}

// Detect combines the passes over the searchable ground with the chance per pass:
// the mean over the ground of 1 - (1 - p)^passes, each pass taken as an
// independent look. Ground that rings false or hides a target does so on every
// pass, so the figure is high if anything.
//
// Passes are those logged. With a certainty, nil when positions are taken as perfect,
// as much ground counts as was most likely swept, for the limits at least and at
// most; how it shares in one, two and more passes is still as logged, since nothing
// better is known.
//
// coverageFactor is Result.CoverageFactor, in which the whole swath counts as
// swept. The theory's sweep width is the integral of the chance over the offset,
// here p x swath, so its curves are taken at p x coverageFactor. The error is
// that of p.Validate.
func Detect(passes []PassShare, coverageFactor float64, c *Certainty, p DetectSettings) (Detection, error) {
	if err := p.Validate(); err != nil {
		return Detection{}, err
	}
	d := Detection{PerPass: p.PerPass, Lo: p.PerPass, Hi: p.PerPass}
	if p.Trial != (Trial{}) {
		d.FromTrial, d.SeededN, d.FoundN = true, p.Trial.Seeded, p.Trial.Found
		d.PerPass, d.Lo, d.Hi = p.Trial.Estimate()
	}
	least, likely, most := passes, passes, passes
	if c != nil {
		least, likely, most = scaled(passes, c.AtLeastPercent), scaled(passes, c.ExpectedPercent), scaled(passes, c.Interval90[1])
	}
	d.AnywherePercent = anywherePercent(likely, d.PerPass)
	d.AnywhereLoPercent = anywherePercent(least, d.Lo)
	d.AnywhereHiPercent = anywherePercent(most, d.Hi)
	k := d.PerPass * coverageFactor
	d.RandomPercent = 100 * RandomSearch(k)
	d.InverseCubePercent = 100 * InverseCube(k)
	d.DefinitePercent = 100 * DefiniteRange(k)
	return d, nil
}

// scaled shares out so much swept ground as the passes share in theirs; as one pass
// where there are none.
func scaled(passes []PassShare, sweptPercent float64) []PassShare {
	swept := 0.0
	for _, s := range passes {
		if s.Passes > 0 {
			swept += s.Percent
		}
	}
	if swept == 0 {
		return []PassShare{{0, 100 - sweptPercent}, {1, sweptPercent}}
	}
	out := make([]PassShare, len(passes))
	for i, s := range passes {
		out[i] = PassShare{s.Passes, s.Percent * sweptPercent / swept}
		if s.Passes == 0 {
			out[i].Percent = 100 - sweptPercent
		}
	}
	return out
}

// anywherePercent is the mean over the ground of 1 - (1 - p)^passes.
func anywherePercent(passes []PassShare, p float64) float64 {
	sum := 0.0
	for _, s := range passes {
		sum += s.Percent * Repeated(p, s.Passes)
	}
	return sum
}
