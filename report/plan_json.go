package report

import (
	"encoding/json"
	"fmt"
	"io"

	"untrod/coverage"
	"untrod/plan"
)

// PlanSchema names the form of a PlanDoc; it changes when a field changes its
// meaning.
const PlanSchema = "untrod-plan-1"

// PlanDoc is the whole of a plan. Metres and square metres are to 0.01, seconds to
// 0.1, bearings in degrees clockwise to 0.01, percents to 0.001, positions in WGS 84
// degrees to 8 decimals. What is not known is null.
type PlanDoc struct {
	Schema   string          `json:"schema"`
	Site     string          `json:"site"`
	BudgetS  Number          `json:"budget_s"`
	UsedS    Number          `json:"used_s"`
	SearchS  Number          `json:"search_s"`
	WalkS    Number          `json:"walk_s"`
	DigS     Number          `json:"dig_s"`
	LaneM    Number          `json:"lane_m"`
	WalkM    Number          `json:"walk_m"`
	Settings PlanSettingsDoc `json:"settings"`
	Stops    []PlanStopDoc   `json:"stops"`
	Home     []LonLatDoc     `json:"home"` // the way from the last stop to the end
	Expected PlanExpectedDoc `json:"expected"`
	Budgets  []OutlookDoc    `json:"budgets"`
	Left     []LeftOutDoc    `json:"left"`
	Magnetic MagneticDoc     `json:"magnetic"`
	Guided   bool            `json:"guided"`  // the receiver is good enough to be led along lanes
	NoGaps   bool            `json:"no_gaps"` // nothing was left to plan
	// What one more pass would bring; null unless no gaps are left.
	SecondPass *SecondPassDoc `json:"second_pass"`
	Notes      []string       `json:"notes"`
}

// PlanSettingsDoc holds the settings as used.
type PlanSettingsDoc struct {
	SwathM   Number        `json:"swath_m"`
	OverlapM Number        `json:"overlap_m"`
	PaceM    Number        `json:"pace_m"`
	SearchMS Number        `json:"search_ms"`
	WalkMS   Number        `json:"walk_ms"`
	DigShare Number        `json:"dig_share"` // seconds standing for each second searching
	Start    LonLatDoc     `json:"start"`
	End      LonLatDoc     `json:"end"`
	Interest []InterestDoc `json:"interest"`
	Effort   int           `json:"effort"`
	Seed     uint64        `json:"seed"`
	Year     Number        `json:"year"`
}

// InterestDoc is a plan.Interest.
type InterestDoc struct {
	Landmark string `json:"landmark"`
	Kind     string `json:"kind"`
	Weight   Number `json:"weight"`
	FadeM    Number `json:"fade_m"`
}

// PlanStopDoc is a plan.Stop; gap is the first of its gaps.
type PlanStopDoc struct {
	Stop      int            `json:"stop"`
	Gap       int            `json:"gap"`
	Gaps      []int          `json:"gaps"`
	Part      string         `json:"part"`
	Worth     Number         `json:"worth"`
	FreshM2   Number         `json:"fresh_m2"`
	AreaM2    Number         `json:"area_m2"`
	Why       string         `json:"why"`
	WalkS     Number         `json:"walk_s"`
	SearchS   Number         `json:"search_s"`
	DigS      Number         `json:"dig_s"`
	ApproachM Number         `json:"approach_m"`
	Approach  []LonLatDoc    `json:"approach"`
	Blocks    []PlanBlockDoc `json:"blocks"`
	Lanes     []PlanLaneDoc  `json:"lanes"`
	Reach     []ReachDoc     `json:"reach"`
}

// PlanBlockDoc is a plan.Block; the spacing is null for a single lane.
type PlanBlockDoc struct {
	Lanes    int    `json:"lanes"`
	Rims     int    `json:"rims"`
	SpacingM Number `json:"spacing_m"`
	LengthM  Number `json:"length_m"`
}

// PlanLaneDoc is a lane, numbered within its stop in walking order.
type PlanLaneDoc struct {
	Lane               int       `json:"lane"`
	Block              int       `json:"block"`
	Rim                bool      `json:"rim"`
	From               LonLatDoc `json:"from"`
	To                 LonLatDoc `json:"to"`
	BearingTrueDeg     Number    `json:"bearing_true_deg"`
	BearingMagneticDeg Number    `json:"bearing_magnetic_deg"`
	LengthM            Number    `json:"length_m"`
}

// ReachDoc is a plan.Bearing: from a landmark to where the first lane begins.
type ReachDoc struct {
	Landmark           string    `json:"landmark"`
	Mark               bool      `json:"mark"`
	From               LonLatDoc `json:"from"`
	BearingTrueDeg     Number    `json:"bearing_true_deg"`
	BearingMagneticDeg Number    `json:"bearing_magnetic_deg"`
	DistanceM          Number    `json:"distance_m"`
}

// PlanExpectedDoc is a plan.Expected.
type PlanExpectedDoc struct {
	FreshM2              Number `json:"fresh_m2"`
	AsLoggedPercentAfter Number `json:"as_logged_percent_after"`
	AtLeastPercentAfter  Number `json:"at_least_percent_after"`
	ExpectedPercentAfter Number `json:"expected_percent_after"`
}

// OutlookDoc is a plan.Outlook.
type OutlookDoc struct {
	Hours                Number `json:"hours"`
	UsedS                Number `json:"used_s"`
	Stops                int    `json:"stops"`
	FreshM2              Number `json:"fresh_m2"`
	ExpectedPercentAfter Number `json:"expected_percent_after"`
}

// LeftOutDoc is a plan.LeftOut.
type LeftOutDoc struct {
	Gap    int    `json:"gap"`
	AreaM2 Number `json:"area_m2"`
	Worth  Number `json:"worth"`
	Why    string `json:"why"`
}

// MagneticDoc is a plan.Magnetic.
type MagneticDoc struct {
	Model          string `json:"model"`
	DeclinationDeg Number `json:"declination_deg"` // east positive
	ErrorDeg       Number `json:"error_deg"`       // one standard deviation
	HorizontalNT   Number `json:"horizontal_nt"`
	ValidFrom      Number `json:"valid_from"`
	ValidUntil     Number `json:"valid_until"`
	Expired        bool   `json:"expired"`
	Caution        bool   `json:"caution"`
	Blackout       bool   `json:"blackout"`
}

// SecondPassDoc is a plan.SecondPass.
type SecondPassDoc struct {
	Detection    bool   `json:"detection"`
	NowPercent   Number `json:"now_percent"`
	AfterPercent Number `json:"after_percent"`
	LaneM        Number `json:"lane_m"`
	SearchS      Number `json:"search_s"`
}

// PlanJSON writes PlanOf(r, p), indented by one space.
func PlanJSON(w io.Writer, r *coverage.Result, p *plan.Plan) error {
	return writeIndented(w, PlanOf(r, p))
}

func writeIndented(w io.Writer, doc any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	return enc.Encode(doc)
}

// ReadPlan reads what PlanJSON wrote. Of any other file it says so.
func ReadPlan(in io.Reader) (*PlanDoc, error) {
	d := &PlanDoc{}
	if err := json.NewDecoder(in).Decode(d); err != nil {
		return nil, fmt.Errorf("not a plan: %w", err)
	}
	if d.Schema != PlanSchema {
		return nil, fmt.Errorf("not a plan: its schema is %q, not %q", d.Schema, PlanSchema)
	}
	return d, nil
}
