package report

import (
	"encoding/json"
	"io"
	"math"
	"strconv"
	"time"

	"untrod/coverage"
	"untrod/grid"
	"untrod/track"
)

// Number is a number that JSON gives as null when it is not known: NaN or
// infinite.
type Number float64

// MarshalJSON implements json.Marshaler; it never writes an exponent.
func (n Number) MarshalJSON() ([]byte, error) {
	if math.IsNaN(float64(n)) || math.IsInf(float64(n), 0) {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, float64(n), 'f', -1, 64), nil
}

// UnmarshalJSON implements json.Unmarshaler: null is NaN.
func (n *Number) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*n = Number(math.NaN())
		return nil
	}
	return json.Unmarshal(b, (*float64)(n))
}

// Schema names the form of a SummaryDoc; it changes when a field changes its
// meaning.
const Schema = "untrod-coverage-1"

// SummaryDoc is the whole of a result in numbers. Areas are in square metres
// to 0.01, percents to 0.001, metres and seconds to 0.01 and 0.1, positions in
// WGS 84 degrees to 8 decimals, times in UTC or null.
type SummaryDoc struct {
	Schema   string       `json:"schema"`
	Site     SiteDoc      `json:"site"`
	Settings SettingsDoc  `json:"settings"`
	Coverage CoverageDoc  `json:"coverage"`
	Search   SearchDoc    `json:"search"`
	Sessions []SessionDoc `json:"sessions"`
	Gaps     []GapDoc     `json:"gaps"`
	Slivers  SliversDoc   `json:"slivers"`

	Position      PositionDoc       `json:"position"`
	Detection     *DetectionDoc     `json:"detection"`    // null unless asked for
	Thoroughness  *ThoroughnessDoc  `json:"thoroughness"` // null unless coil and swing are known
	LaidOut       []LaidOutDoc      `json:"laid_out"`
	LaneProposals []LaneProposalDoc `json:"lane_proposals"`

	LeftOut []LeftOutVisitDoc `json:"left_out,omitempty"` // visits that settings.without leaves out
	Copies  []CopyDoc         `json:"copies"`
	Notes   []NoteDoc         `json:"notes"`
}

// LonLatDoc is a position.
type LonLatDoc struct {
	Lon Number `json:"lon"`
	Lat Number `json:"lat"`
}

// SiteDoc is the ground.
type SiteDoc struct {
	Name         string    `json:"name"`
	BoundaryM2   Number    `json:"boundary_m2"`
	KeepoutM2    Number    `json:"keepout_m2"`
	SearchableM2 Number    `json:"searchable_m2"`
	Datum        LonLatDoc `json:"datum"`
}

// CoverageDoc is how much was swept; passes run from 0 up. When positions are
// taken as perfect, what follows them is made of the percentage as logged. Where
// thoroughness is counted, it says what the coil itself passed over.
type CoverageDoc struct {
	AsLoggedPercent Number         `json:"as_logged_percent"`
	SweptM2         Number         `json:"swept_m2"`
	Passes          []PassShareDoc `json:"passes"`

	AtLeastPercent     Number     `json:"at_least_percent"`
	ExpectedPercent    Number     `json:"expected_percent"`
	Interval90Percent  *[2]Number `json:"interval_90_percent"`
	SurelySweptPercent Number     `json:"surely_swept_percent"`
	InDoubtPercent     Number     `json:"in_doubt_percent"`
	UntroddenPercent   Number     `json:"untrodden_percent"`
}

// PassShareDoc is a coverage.PassShare.
type PassShareDoc struct {
	Passes  int    `json:"passes"`
	Percent Number `json:"percent"`
}

// SearchDoc sets the effort beside what it could have done.
type SearchDoc struct {
	EffortM2            Number `json:"effort_m2"`
	CoverageFactor      Number `json:"coverage_factor"`
	RandomSearchPercent Number `json:"random_search_percent"`
	RewalkedPercent     Number `json:"rewalked_percent"`
}

// SessionDoc is a coverage.Session.
type SessionDoc struct {
	Name            string     `json:"name"`
	File            string     `json:"file"`
	Walker          string     `json:"walker"` // empty when not said
	SHA256          string     `json:"sha256"`
	Fixes           int        `json:"fixes"`
	Start           *time.Time `json:"start"`
	End             *time.Time `json:"end"`
	SearchingS      Number     `json:"searching_s"`
	WalkingS        Number     `json:"walking_s"`
	StandingS       Number     `json:"standing_s"`
	LostS           Number     `json:"lost_s"`
	SearchingM      Number     `json:"searching_m"`
	SwathM2         Number     `json:"swath_m2"`
	NewGroundM2     Number     `json:"new_ground_m2"`
	RewalkedPercent Number     `json:"rewalked_percent"`
	TieM            Number     `json:"tie_m"` // null without ties
	// The rough part of the receiver's error, standard deviation per axis, as found
	// from this session's log; null when positions are taken as perfect.
	RoughSdM Number `json:"rough_sd_m"`
}

// GapDoc is a coverage.Gap without its outline.
type GapDoc struct {
	ID          int       `json:"id"`
	AreaM2      Number    `json:"area_m2"`
	WidestM     Number    `json:"widest_m"`
	Centre      LonLatDoc `json:"centre"`
	ChanceSwept Number    `json:"chance_swept"`
	UntroddenM2 Number    `json:"untrodden_m2"`
	InDoubt     bool      `json:"in_doubt"`
}

// SliversDoc is the unswept ground in no gap.
type SliversDoc struct {
	Count  int    `json:"count"`
	AreaM2 Number `json:"area_m2"`
}

// NoteDoc is a note on one file. The kind "skipped" is a file that could not
// be used at all; its example says why.
type NoteDoc struct {
	File    string `json:"file"`
	Kind    string `json:"kind"`
	Count   int    `json:"count"`
	Example string `json:"example"`
}

// LeftOutVisitDoc is a visit that counts for nothing because the searcher left it out.
type LeftOutVisitDoc struct {
	Name   string     `json:"name"`
	File   string     `json:"file"`
	Walker string     `json:"walker"` // empty when not said
	SHA256 string     `json:"sha256"`
	Fixes  int        `json:"fixes"`
	Start  *time.Time `json:"start"`
	End    *time.Time `json:"end"`
}

// CopyDoc is a visit, or part of one, that another log tells of too.
type CopyDoc struct {
	File            string `json:"file"`
	Name            string `json:"name"`
	Of              string `json:"of"`
	Why             string `json:"why"` // same-fixes or same-walk
	ClockBehindS    Number `json:"clock_behind_s"`
	FixesNotCounted int    `json:"fixes_not_counted"`
	FixesCounted    int    `json:"fixes_counted"`
}

// Summary puts r in the form that WriteJSON writes.
func Summary(r *coverage.Result) SummaryDoc {
	d := SummaryDoc{
		Schema: Schema,
		Site: SiteDoc{r.Site.Name, round2(r.BoundaryM2), round2(r.KeepoutM2), round2(r.SearchableM2),
			lonLat(r.Frame.Datum())},
		Settings: settings(r),
		Coverage: coverageDoc(r),
		Search: SearchDoc{round2(r.EffortM2), to(r.CoverageFactor, 4),
			round3(r.RandomSearchPercent), round3(r.RewalkedPercent)},
		Sessions: []SessionDoc{},
		Gaps:     []GapDoc{},
		Slivers:  SliversDoc{r.Slivers.Count, round2(r.Slivers.AreaM2)},
		Position: position(r), Detection: detection(r.Detection), Thoroughness: thoroughness(r.Thoroughness),
		LaidOut: laidOut(r), LaneProposals: laneProposals(r),
		Copies: []CopyDoc{}, Notes: []NoteDoc{},
	}
	for _, s := range r.Sessions {
		d.Sessions = append(d.Sessions, session(s, r.Certainty != nil))
	}
	for _, g := range r.Gaps {
		d.Gaps = append(d.Gaps, GapDoc{g.ID, round2(g.AreaM2), round2(g.WidestM), lonLat(g.Centre),
			to(g.ChanceSwept, 4), round2(g.UntroddenM2), g.InDoubt})
	}
	for _, s := range r.LeftOut {
		d.LeftOut = append(d.LeftOut, LeftOutVisitDoc{s.Name, s.File, s.Walker, s.SHA256, s.Fixes, timeOf(s.Start), timeOf(s.End)})
	}
	for _, c := range r.Copies {
		d.Copies = append(d.Copies, CopyDoc{c.File, c.Name, c.Of, c.Why, to(c.ClockS, 0), c.Fixes, c.Kept})
	}
	for _, n := range r.Notes {
		d.Notes = append(d.Notes, NoteDoc{n.File, string(n.Kind), n.Count, n.Example})
	}
	for _, s := range r.Skipped {
		d.Notes = append(d.Notes, NoteDoc{s.File, "skipped", 1, s.Err.Error()})
	}
	return d
}

func coverageDoc(r *coverage.Result) CoverageDoc {
	d := CoverageDoc{AsLoggedPercent: round3(r.AsLoggedPercent), SweptM2: round2(r.SweptM2), Passes: []PassShareDoc{}}
	for _, p := range r.Passes {
		d.Passes = append(d.Passes, PassShareDoc{p.Passes, round3(p.Percent)})
	}
	for _, n := range []*Number{&d.AtLeastPercent, &d.ExpectedPercent, &d.SurelySweptPercent, &d.InDoubtPercent, &d.UntroddenPercent} {
		*n = unknown
	}
	c := r.Certainty
	if c == nil && r.Settings.Position.Canopy == "none" { // as logged is all there is
		p := r.AsLoggedPercent
		c = &coverage.Certainty{
			AtLeastPercent: p, ExpectedPercent: p, Interval90: [2]float64{p, p},
			SurelyPercent: p, UntroddenPercent: 100 - p,
		}
	}
	if c != nil {
		d.AtLeastPercent, d.ExpectedPercent = round3(c.AtLeastPercent), round3(c.ExpectedPercent)
		d.Interval90Percent = limits(c.Interval90[0], c.Interval90[1], 3)
		d.SurelySweptPercent, d.InDoubtPercent = round3(c.SurelyPercent), round3(c.DoubtPercent)
		d.UntroddenPercent = round3(c.UntroddenPercent)
	}
	return d
}

func session(s coverage.Session, unsure bool) SessionDoc {
	tie, rough := unknown, unknown
	if s.Ties > 0 {
		tie = round2(s.TieM)
	}
	if unsure {
		rough = to(s.RoughM, 3)
	}
	return SessionDoc{
		Name: s.Name, File: s.File, Walker: s.Walker, SHA256: s.SHA256, Fixes: s.Fixes,
		Start: timeOf(s.Start), End: timeOf(s.End),
		SearchingS: to(s.Seconds[track.Searching], 1), WalkingS: to(s.Seconds[track.Walking], 1),
		StandingS: to(s.Seconds[track.Standing], 1), LostS: to(s.Seconds[track.Lost], 1),
		SearchingM: round2(s.Metres[track.Searching]), SwathM2: round2(s.SwathM2),
		NewGroundM2: round2(s.NewGroundM2), RewalkedPercent: round3(s.RewalkedPercent),
		TieM: tie, RoughSdM: rough,
	}
}

// WriteJSON writes Summary(r), indented by one space.
func WriteJSON(w io.Writer, r *coverage.Result) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	return enc.Encode(Summary(r))
}

func timeOf(i track.Instant) *time.Time {
	if !i.Known() {
		return nil
	}
	t := i.Time()
	return &t
}

// unknown is what JSON gives as null.
var unknown = Number(math.NaN())

func limits(lo, hi float64, decimals int) *[2]Number {
	return &[2]Number{to(lo, decimals), to(hi, decimals)}
}

func lonLat(p grid.LonLat) LonLatDoc { return LonLatDoc{to(p.Lon, 8), to(p.Lat, 8)} }

func round2(x float64) Number           { return to(x, 2) }
func round3(x float64) Number           { return to(x, 3) }
func to(x float64, decimals int) Number { return Number(roundTo(x, decimals)) }
func roundTo(x float64, decimals int) float64 {
	p := math.Pow(10, float64(decimals))
	return math.Round(x*p)/p + 0 // + 0 turns a negative zero
}
