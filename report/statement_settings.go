package report

import (
	"fmt"
	"slices"

	"untrod/coverage"
	"untrod/track"
)

// GivenDoc holds the settings as they were given to coverage.Assess, to the last
// bit, so that the result can be worked out again: what was left to be chosen is 0
// here. What was chosen stands in the summary.
//
// Several documents below it have the very fields of the settings they stand for, so
// that the two convert into each other and a field added there does not compile
// until it is added here; a test holds the rest.
type GivenDoc struct {
	SwathM      float64     `json:"swath_m"`
	CoilM       float64     `json:"coil_m"`
	SwingM      float64     `json:"swing_m"`
	CellM       float64     `json:"cell_m"`
	MinGapM     float64     `json:"min_gap_m"`
	MinGapM2    float64     `json:"min_gap_m2"`
	OutlinePadM float64     `json:"outline_pad_m"`
	VisitGapS   float64     `json:"visit_gap_s"`
	DepthM      float64     `json:"depth_m"`
	SweepS      float64     `json:"sweep_s"`
	CoilShape   string      `json:"coil_shape"`
	Detect      givenDetect `json:"detect"`
	Trial       givenTrial  `json:"trial"`
	Position    givenPlace  `json:"position"`
	Receiver    givenFaults `json:"receiver"`
	LaidOut     []string    `json:"laid_out_visits"`
	Without     []string    `json:"without,omitempty"`
	Zones       givenZones  `json:"rings"`
	Track       givenTrack  `json:"track"`
	Legs        givenLegs   `json:"legs"`
}

type givenDetect struct {
	PerPass float64 `json:"per_pass"`
}

type givenTrial struct {
	Seeded int `json:"seeded"`
	Found  int `json:"found"`
}

type givenPlace struct {
	Canopy string `json:"canopy"`
	Draws  int    `json:"draws"`
	Seed   uint64 `json:"seed"`
}

type givenFaults struct {
	OffsetM float64 `json:"offset_sd_m"`
	DriftM  float64 `json:"drift_sd_m"`
	DriftS  float64 `json:"drift_time_s"`
	RoughM  float64 `json:"rough_sd_m"`
	WhiteM  float64 `json:"white_sd_m"`
}

type givenZones struct {
	RingsM  []float64 `json:"radii_m"`
	Nearest bool      `json:"nearest"`
}

type givenTrack struct {
	JumpSpeedMS float64 `json:"jump_speed_ms"`
	SilenceS    float64 `json:"silence_s"`
	FarM        float64 `json:"far_m"`
	TreatAs     string  `json:"treat_as"`
}

type givenLegs struct {
	StandMS     float64 `json:"stand_ms"`
	SearchMaxMS float64 `json:"search_max_ms"`
	WindowS     float64 `json:"window_s"`
	MinHeadway  float64 `json:"min_headway"`
	HeadwayS    float64 `json:"headway_s"`
	MinSearchS  float64 `json:"min_search_s"`
	MinStandS   float64 `json:"min_stand_s"`
	MinWalkS    float64 `json:"min_walk_s"`
	MinCleanS   float64 `json:"min_clean_s"`
	MaxHDOP     float64 `json:"max_hdop"`
	MaxAccM     float64 `json:"max_acc_m"`
}

// given is the document of settings.
func given(s coverage.Settings) GivenDoc {
	return GivenDoc{
		SwathM: s.SwathM, CoilM: s.CoilM, SwingM: s.SwingM, CellM: s.CellM, MinGapM: s.MinGapM, MinGapM2: s.MinGapM2,
		OutlinePadM: s.OutlinePadM, VisitGapS: s.VisitGapS, DepthM: s.DepthM, SweepS: s.SweepS,
		CoilShape: s.CoilShape.String(),
		Detect:    givenDetect{s.Detect.PerPass}, Trial: givenTrial(s.Detect.Trial),
		Position: givenPlace{s.Position.Canopy, s.Position.Draws, s.Position.Seed},
		Receiver: givenFaults(s.Position.Receiver),
		LaidOut:  append([]string{}, s.LaidOut...),
		Without:  s.Without,
		Zones:    givenZones{append([]float64{}, s.Zones.RingsM...), s.Zones.Nearest},
		Track:    givenTrack{s.Track.JumpSpeedMS, s.Track.SilenceS, s.Track.FarM, s.Track.TreatAs.String()},
		Legs:     givenLegs(s.Track.Legs),
	}
}

// Settings is the inverse of given. It fails for a word it does not know.
func (d GivenDoc) Settings() (coverage.Settings, error) {
	s := coverage.Settings{
		SwathM: d.SwathM, CoilM: d.CoilM, SwingM: d.SwingM, CellM: d.CellM, MinGapM: d.MinGapM, MinGapM2: d.MinGapM2,
		OutlinePadM: d.OutlinePadM, VisitGapS: d.VisitGapS, DepthM: d.DepthM, SweepS: d.SweepS,
		Detect:   coverage.DetectSettings{PerPass: d.Detect.PerPass, Trial: coverage.Trial(d.Trial)},
		Position: coverage.PositionSettings{Canopy: d.Position.Canopy, Receiver: track.Receiver(d.Receiver), Draws: d.Position.Draws, Seed: d.Position.Seed},
		LaidOut:  d.LaidOut,
		Without:  d.Without,
		Zones:    coverage.ZoneSettings(d.Zones),
		Track:    track.Settings{JumpSpeedMS: d.Track.JumpSpeedMS, SilenceS: d.Track.SilenceS, FarM: d.Track.FarM, Legs: track.LegSettings(d.Legs)},
	}
	shapes := []coverage.CoilShape{coverage.Concentric, coverage.DoubleD}
	i := slices.IndexFunc(shapes, func(c coverage.CoilShape) bool { return c.String() == d.CoilShape })
	kinds := []track.Kind{track.Lost, track.Standing, track.Walking, track.Searching}
	k := slices.IndexFunc(kinds, func(c track.Kind) bool { return c.String() == d.Track.TreatAs })
	if i < 0 || k < 0 {
		return s, fmt.Errorf("settings: coil shape %q, logs without times treated as %q: not known", d.CoilShape, d.Track.TreatAs)
	}
	s.CoilShape, s.Track.TreatAs = shapes[i], kinds[k]
	return s, nil
}
