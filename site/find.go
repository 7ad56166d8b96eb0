package site

import (
	"fmt"
	"math"
	"strings"

	"untrod/grid"
	"untrod/track"
)

// Verdict is what a find turned out to be.
type Verdict string

// Verdicts.
const (
	Keeper         Verdict = "keeper"
	Scrap          Verdict = "scrap"
	UnknownVerdict Verdict = "unknown"
)

// verdictWords are what people write for a verdict, common practice, no source.
var verdictWords = map[string]Verdict{
	"keeper": Keeper, "keep": Keeper, "kept": Keeper, "yes": Keeper, "good": Keeper,
	"scrap": Scrap, "junk": Scrap, "trash": Scrap, "rubbish": Scrap, "no": Scrap,
	"unknown": UnknownVerdict, "": UnknownVerdict, "?": UnknownVerdict,
}

// ParseVerdict reads keeper, scrap or unknown, or a usual word for one of them, in
// either case; nothing is unknown.
func ParseVerdict(text string) (v Verdict, ok bool) {
	v, ok = verdictWords[strings.ToLower(strings.TrimSpace(text))]
	return v, ok
}

// NoYear stands for a year that is not known.
const NoYear = math.MinInt

// Find is something dug, or a signal noted. What is not known is NaN, NoTime or
// NoYear, never 0: start from [NoFind].
type Find struct {
	ID   int64 // the book's
	Name string
	T    track.Instant
	Pos  grid.LonLat // degrees
	// SdM is how uncertain Pos is, the standard deviation per axis in metres; NaN
	// for that of the receiver.
	SdM                  float64
	Reading              string  // the detector's target number, as typed
	ReadingLo, ReadingHi float64 // the range that Reading means, both ends included
	Detector             string
	DepthM               float64
	Verdict              Verdict
	Material             string
	From, To             int // years its date lies between, both included, below 0 before our era
	Note                 string
	Session              int64    // the book's ID of the visit; 0 for none
	Photos               []string // SHA-256 in hex
}

// NoFind is a Find of which nothing is known.
var NoFind = Find{
	T: track.NoTime, Pos: grid.LonLat{Lon: math.NaN(), Lat: math.NaN()}, SdM: math.NaN(),
	ReadingLo: math.NaN(), ReadingHi: math.NaN(), DepthM: math.NaN(),
	Verdict: UnknownVerdict, From: NoYear, To: NoYear,
}

// Placed reports whether f has a place on the globe.
func (f *Find) Placed() bool { return f.Pos.Valid() }

// What a find's numbers may be: a hole is dug by hand, and a year is one of
// people's.
const (
	maxDepthM = 5
	maxSdM    = 1000
	firstYear = -10_000
	lastYear  = 3_000
	maxText   = 20_000 // bytes of a name or note
)

// Validate returns an error for the first thing in f that cannot be: a depth
// outside [0, 5 m], a spread outside (0, 1 km], years outside [-10000, 3000] or of
// which the first is after the last, half a place, another verdict than the three,
// texts over 20 kB.
func (f *Find) Validate() error {
	known := func(v float64) bool { return !math.IsNaN(v) }
	year := func(y int) bool { return y == NoYear || y >= firstYear && y <= lastYear }
	switch {
	case (known(f.Pos.Lat) || known(f.Pos.Lon)) && !f.Pos.Valid():
		return fmt.Errorf("find %q: place %v, %v is not on the globe", f.Name, f.Pos.Lat, f.Pos.Lon)
	case known(f.DepthM) && !(f.DepthM >= 0 && f.DepthM <= maxDepthM):
		return fmt.Errorf("find %q: depth of %g m outside [0, %d]", f.Name, f.DepthM, maxDepthM)
	case known(f.SdM) && !(f.SdM > 0 && f.SdM <= maxSdM):
		return fmt.Errorf("find %q: uncertainty of %g m per axis outside (0, %d]", f.Name, f.SdM, maxSdM)
	case !year(f.From) || !year(f.To):
		return fmt.Errorf("find %q: year outside [%d, %d]", f.Name, firstYear, lastYear)
	case f.From != NoYear && f.To != NoYear && f.From > f.To:
		return fmt.Errorf("find %q: from %d is after to %d", f.Name, f.From, f.To)
	case f.Verdict != Keeper && f.Verdict != Scrap && f.Verdict != UnknownVerdict:
		return fmt.Errorf("find %q: verdict %q is not %s, %s or %s", f.Name, string(f.Verdict), Keeper, Scrap, UnknownVerdict)
	}
	for _, text := range []string{f.Name, f.Reading, f.Detector, f.Material, f.Note} {
		if len(text) > maxText {
			return fmt.Errorf("find %q: a text of %d bytes, over %d", f.Name[:min(40, len(f.Name))], len(text), maxText)
		}
	}
	return nil
}
