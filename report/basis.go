package report

import (
	"encoding/json"

	"untrod/coverage"
)

// PositionDoc says how wrong the receiver was taken to be, per axis, to 0.001 m.
// The canopy is null when an accuracy was given instead; without error the
// drift's time is null and nothing is drawn.
type PositionDoc struct {
	Canopy     *string  `json:"canopy"`
	OffsetSdM  Number   `json:"offset_sd_m"`
	DriftSdM   Number   `json:"drift_sd_m"`
	DriftTimeS Number   `json:"drift_time_s"`
	WhiteSdM   Number   `json:"white_sd_m"`
	Draws      int      `json:"draws"`
	Seed       uint64   `json:"seed"`
	Strays     []string `json:"strays"` // sessions that searched beyond the edge on purpose
}

func position(r *coverage.Result) PositionDoc {
	p := r.Settings.Position
	d := PositionDoc{
		OffsetSdM: to(p.Receiver.OffsetM, 3), DriftSdM: to(p.Receiver.DriftM, 3), DriftTimeS: unknown,
		WhiteSdM: to(p.Receiver.WhiteM, 3), Seed: p.Seed, Strays: []string{},
	}
	if p.Canopy != "" {
		d.Canopy = &p.Canopy
	}
	if p.Receiver.DriftM > 0 {
		d.DriftTimeS = exact(p.Receiver.DriftS)
	}
	if c := r.Certainty; c != nil {
		d.Draws, d.Strays = c.Draws, append(d.Strays, c.Strays...)
	}
	return d
}

// DetectionDoc is a coverage.Detection; limits are lower and upper, of a trial and of
// how surely the ground was swept. Seeded and found are null when the chance per
// pass was given outright.
type DetectionDoc struct {
	PerPass               Number     `json:"per_pass"`
	PerPassLimits         *[2]Number `json:"per_pass_limits"`
	Seeded                *int       `json:"seeded"`
	Found                 *int       `json:"found"`
	AnywherePercent       Number     `json:"anywhere_percent"`
	AnywhereLimitsPercent *[2]Number `json:"anywhere_limits_percent"`
	RandomPercent         Number     `json:"random_percent"`
	InverseCubePercent    Number     `json:"inverse_cube_percent"`
	DefiniteRangePercent  Number     `json:"definite_range_percent"`
}

func detection(t *coverage.Detection) *DetectionDoc {
	if t == nil {
		return nil
	}
	d := &DetectionDoc{
		PerPass: to(t.PerPass, 6), PerPassLimits: limits(t.Lo, t.Hi, 6),
		AnywherePercent:       round3(t.AnywherePercent),
		AnywhereLimitsPercent: limits(t.AnywhereLoPercent, t.AnywhereHiPercent, 3),
		RandomPercent:         round3(t.RandomPercent), InverseCubePercent: round3(t.InverseCubePercent),
		DefiniteRangePercent: round3(t.DefinitePercent),
	}
	if t.FromTrial {
		d.Seeded, d.Found = &t.SeededN, &t.FoundN
	}
	return d
}

// ThoroughnessDoc is a coverage.Thoroughness; the fastest pace is null when any
// pace will do. Counted says whether the chance and the figures made of it count
// what the coil passed over, or all of the swath.
type ThoroughnessDoc struct {
	MedianMS       Number `json:"median_ms"`
	FastestMS      Number `json:"fastest_ms"`
	HurriedPercent Number `json:"hurried_percent"`
	MeanPercent    Number `json:"mean_percent"`
	GroundPercent  Number `json:"ground_percent"`
	Counted        bool   `json:"counted"`
}

func thoroughness(t *coverage.Thoroughness) *ThoroughnessDoc {
	if t == nil {
		return nil
	}
	return &ThoroughnessDoc{to(t.MedianMS, 3), to(t.FastestMS, 4), round3(t.HurriedPercent), round3(t.MeanPercent), round3(t.GroundPercent), t.Counted}
}

// LaidOutDoc is a coverage.LaidOutGround.
type LaidOutDoc struct {
	Name      string `json:"name"`
	Session   string `json:"session"`
	Lanes     int    `json:"lanes"`
	Share     Number `json:"share"`
	Confirmed bool   `json:"confirmed"`
}

func laidOut(r *coverage.Result) []LaidOutDoc {
	out := []LaidOutDoc{}
	for _, l := range r.LaidOut {
		out = append(out, LaidOutDoc{l.Name, l.Session, l.Lanes, to(l.Share, 4), l.Confirmed})
	}
	return out
}

// LaneProposalDoc is a coverage.LaneProposal; the feature is ready for the site
// file, should the lanes have been walked to lines.
type LaneProposalDoc struct {
	Session   string          `json:"session"`
	Lanes     int             `json:"lanes"`
	SpacingM  Number          `json:"spacing_m"`
	SpacingSd Number          `json:"spacing_sd_m"`
	Feature   json.RawMessage `json:"feature"`
}

func laneProposals(r *coverage.Result) []LaneProposalDoc {
	out := []LaneProposalDoc{}
	for _, l := range r.Lanes {
		f, err := l.LaidOut.Feature()
		if err != nil { // a corner that is not a number
			f = []byte("null")
		}
		out = append(out, LaneProposalDoc{l.Session, l.Block.Lanes, round2(l.Block.SpacingM), to(l.Block.SpacingSdM, 3), f})
	}
	return out
}
