package coverage

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"untrod/track"
)

// Settings are all the numbers that change a result. DefaultSettings gives
// every default but the swath, which only the searcher knows.
type Settings struct {
	SwathM      float64        // strip one forward walk sweeps, 0.2 to 20 m; 0 when given by CoilM and SwingM
	CoilM       float64        // size of the search coil; 0 when the swath is given
	SwingM      float64        // width of the swing; 0 when the swath is given
	CellM       float64        // side of a cell, 0.02 to 5 m, at most a third of the swath; 0: chosen
	MinGapM     float64        // least width of a gap somewhere, up to 100 m; 0: one swath
	MinGapM2    float64        // least area of a gap, 0 to 1e6 m2; default 2
	OutlinePadM float64        // with no site: how far the outline reaches beyond the swath; default 5
	VisitGapS   float64        // a silence over this begins a new session; default 4 h
	DepthM      float64        // depth at which the coil is to have swept, 0 to 1 m; needs CoilM and SwingM
	SweepS      float64        // seconds from one end of the swing to the other, 0.3 to 10: the draws then swing the coil; 0: not measured, 1 m/s is shown beside
	CoilShape   CoilShape      // of the coil's field with depth
	Detect      DetectSettings // zero: detection is not reported
	Position    PositionSettings
	LaidOut     []string     // names or files of visits whose recognised lanes were walked to lines or flags
	Without     []string     // names or files of visits that count for nothing, see LeftOut
	Zones       ZoneSettings // none: landmarks are not compared
	Track       track.Settings
}

// DefaultSettings returns the defaults named at each field.
func DefaultSettings() Settings {
	return Settings{
		MinGapM2: 2, OutlinePadM: 5, VisitGapS: 4 * 3600,
		Position: PositionSettings{Canopy: "none", Draws: 200, Seed: 1},
		Track:    track.DefaultSettings(),
	}
}

// SettingsError says which setting is out of range, by the name of its
// command-line flag, and what is allowed.
type SettingsError struct {
	Flag    string
	Value   string
	Allowed string
}

func (e *SettingsError) Error() string {
	return fmt.Sprintf("--%s %s: must be %s", e.Flag, e.Value, e.Allowed)
}

// swath is the width of the swath, from whichever way it was given.
func (s Settings) swath() float64 {
	if s.SwathM != 0 {
		return s.SwathM
	}
	return s.CoilM + s.SwingM
}

// Validate returns a *SettingsError for the first setting out of range.
func (s Settings) Validate() error {
	metres := func(v float64) string { return fmt.Sprintf("%g m", math.Round(v*1e6)/1e6) }
	in := func(v, lo, hi float64) bool { return v >= lo && v <= hi } // false for NaN
	switch w := s.swath(); {
	case s.SwathM != 0 && (s.CoilM != 0 || s.SwingM != 0):
		return &SettingsError{"swath", metres(s.SwathM), "left out when --coil and --swing are given"}
	case s.SwathM == 0 && !in(s.CoilM, 0.05, 2):
		return &SettingsError{"coil", metres(s.CoilM), "from 0.05 m to 2 m"}
	case s.SwathM == 0 && !in(s.SwingM, 0, 18):
		return &SettingsError{"swing", metres(s.SwingM), "from 0 m to 18 m"}
	case !in(w, 0.2, 20):
		return &SettingsError{"swath", metres(w), "from 0.2 m to 20 m"}
	case s.CellM != 0 && !in(s.CellM, 0.02, 5):
		return &SettingsError{"cell", metres(s.CellM), "from 0.02 m to 5 m"}
	case s.CellM > w/3:
		return &SettingsError{"cell", metres(s.CellM), "at most a third of the swath, " + metres(w/3)}
	case s.CellM != 0 && w/2/s.CellM > 256:
		return &SettingsError{"cell", metres(s.CellM), "at least 1/512 of the swath"}
	case !in(s.Track.Legs.SearchMaxMS, 0.3, 3):
		return &SettingsError{"search-pace", fmt.Sprintf("%g m/s", s.Track.Legs.SearchMaxMS), "from 0.3 m/s to 3 m/s"}
	case !in(s.DepthM, 0, 1):
		return &SettingsError{"depth", metres(s.DepthM), "from 0 m to 1 m"}
	case s.DepthM > 0 && s.CoilM == 0:
		return &SettingsError{"depth", metres(s.DepthM), "given with --coil and --swing, which it works on"}
	case s.SweepS != 0 && !in(s.SweepS, 0.3, 10):
		return &SettingsError{"sweep-time", fmt.Sprintf("%g s", s.SweepS), "from 0.3 s to 10 s"}
	case len(s.LaidOut) > 0 && s.Position.Receiver.Perfect():
		return &SettingsError{"laid-out", fmt.Sprintf("%q", s.LaidOut[0]), "left out when positions are taken as perfect"}
	case slices.ContainsFunc(s.Without, func(word string) bool { return strings.TrimSpace(word) == "" }):
		return &SettingsError{"without", `""`, "a visit's name or file"}
	case s.Position.Draws < 20 || s.Position.Draws > 2000:
		return &SettingsError{"draws", fmt.Sprint(s.Position.Draws), "from 20 to 2000"}
	case !in(s.Position.Receiver.TotalM(), 0, 50):
		return &SettingsError{"accuracy", metres(s.Position.Receiver.TotalM()) + " per axis", "at most 50 m per axis"}
	case !in(s.MinGapM, 0, 100):
		return &SettingsError{"min-gap-width", metres(s.MinGapM), "from 0 m to 100 m"}
	case !in(s.MinGapM2, 0, 1e6):
		return &SettingsError{"min-gap-area", fmt.Sprintf("%g m2", s.MinGapM2), "from 0 m2 to 1000000 m2"}
	}
	if s.Detect != (DetectSettings{}) {
		if err := s.Detect.Validate(); err != nil {
			return err
		}
	}
	return s.Zones.validate()
}
