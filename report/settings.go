package report

import "untrod/coverage"

// SettingsDoc holds every setting that changes a number, as used. Coil and
// swing, and all that is about the coil, are null when the swath was given as
// such; the outline's pad is null when the site came with a boundary of its own.
// The settings of position and detection are with what they led to.
type SettingsDoc struct {
	SwathM      Number  `json:"swath_m"`
	CellM       Number  `json:"cell_m"`
	CoilM       Number  `json:"coil_m"`
	SwingM      Number  `json:"swing_m"`
	MinGapM     Number  `json:"min_gap_m"`
	MinGapM2    Number  `json:"min_gap_m2"`
	OutlinePadM Number  `json:"outline_pad_m"`
	VisitGapS   Number  `json:"visit_gap_s"`
	JumpSpeedMS Number  `json:"jump_speed_ms"`
	SilenceS    Number  `json:"silence_s"`
	FarM        Number  `json:"far_m"`
	TreatAs     string  `json:"treat_as"`
	Legs        LegsDoc `json:"legs"`
	DepthM      Number  `json:"depth_m"`
	SweepS      Number  `json:"sweep_s"`
	CoilShape   *string `json:"coil_shape"`
	// Visits whose recognised lanes were declared as walked to lines or flags.
	LaidOut []string `json:"laid_out_visits"`
	Without []string `json:"without,omitempty"` // visits that count for nothing, as typed
}

// LegsDoc is a track.LegSettings.
type LegsDoc struct {
	StandMS     Number `json:"stand_ms"`
	SearchMaxMS Number `json:"search_max_ms"`
	WindowS     Number `json:"window_s"`
	MinHeadway  Number `json:"min_headway"`
	HeadwayS    Number `json:"headway_s"`
	MinSearchS  Number `json:"min_search_s"`
	MinStandS   Number `json:"min_stand_s"`
	MinWalkS    Number `json:"min_walk_s"`
	MinCleanS   Number `json:"min_clean_s"`
	MaxHDOP     Number `json:"max_hdop"`
	MaxAccM     Number `json:"max_acc_m"`
}

func settings(r *coverage.Result) SettingsDoc {
	s := r.Settings
	d := SettingsDoc{
		SwathM: exact(swathM(s)), CellM: exact(s.CellM), CoilM: exact(s.CoilM), SwingM: exact(s.SwingM),
		MinGapM: exact(s.MinGapM), MinGapM2: exact(s.MinGapM2), OutlinePadM: exact(s.OutlinePadM),
		VisitGapS: exact(s.VisitGapS), JumpSpeedMS: exact(s.Track.JumpSpeedMS),
		SilenceS: exact(s.Track.SilenceS), FarM: exact(s.Track.FarM), TreatAs: s.Track.TreatAs.String(),
		LaidOut: append([]string{}, s.LaidOut...), Without: s.Without,
	}
	l := s.Track.Legs
	d.Legs = LegsDoc{exact(l.StandMS), exact(l.SearchMaxMS), exact(l.WindowS), exact(l.MinHeadway),
		exact(l.HeadwayS), exact(l.MinSearchS), exact(l.MinStandS), exact(l.MinWalkS),
		exact(l.MinCleanS), exact(l.MaxHDOP), exact(l.MaxAccM)}
	if s.CoilM == 0 {
		d.CoilM, d.SwingM, d.DepthM, d.SweepS = unknown, unknown, unknown, unknown
	} else {
		shape := s.CoilShape.String()
		d.DepthM, d.SweepS, d.CoilShape = exact(s.DepthM), exact(sweepS(s)), &shape
	}
	if !r.OwnOutline {
		d.OutlinePadM = unknown
	}
	return d
}

// swathM is the width of the swath, from whichever way it was given.
func swathM(s coverage.Settings) float64 {
	if s.SwathM != 0 {
		return s.SwathM
	}
	return s.CoilM + s.SwingM
}

// sweepS is the time from one end of the swing to the other, as used.
func sweepS(s coverage.Settings) float64 {
	if s.SweepS != 0 {
		return s.SweepS
	}
	return s.SwingM / coverage.SwingSpeedMS
}

// exact keeps a setting as it was used, free of the last digits that a change
// of units leaves behind.
func exact(x float64) Number { return to(x, 9) }
