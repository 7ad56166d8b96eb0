package plan

import (
	"fmt"
	"math"
	"slices"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// Settings of a plan. [DefaultSettings] gives every default; budget, start, end and
// year are for the caller to fill in.
type Settings struct {
	BudgetS    float64 // seconds from leaving Start to being at End, up to a day
	Start, End grid.XY // frame metres, at most 25 km off the datum: the car, or a landmark
	SearchMS   float64 // pace while searching, 0.05 to 3 m/s; 0: the median of the visits, else 0.4
	WalkMS     float64 // pace while walking, 0.1 to 5 m/s; 0: the mean of the visits, else 1.2
	DigShare   float64 // seconds standing for each second of searching, up to 20; negative: the visits' own, else 0.3
	OverlapM   float64 // by which neighbouring swaths overlap, 0 to 0.9 swath
	PaceM      float64 // length of one pace, 0.2 to 2 m; 0: PaceM
	Interest   []Interest
	// Finds are where things worth keeping were found, frame metres: ground weighs
	// more where they lie dense for the ground swept there. Empty: not asked.
	Finds  []grid.XY
	Slow   []SlowGround // empty: what the site marks as slow
	Effort int          // rounds of the search for a route; 0: DefaultEffort
	Seed   uint64       // of the search for a route
	Year   float64      // decimal year of the visit, for the declination
	Hours  []float64    // budgets to compare, each up to a day
}

// SlowGround is ground that is steep, wet or thorny: paces on it are divided by
// Factor, 0.1 to 20. Where several overlap their delays add up. Ways do not go round
// it.
type SlowGround struct {
	Name    string
	Polygon grid.Polygon
	Factor  float64
}

// What is taken where the visits do not tell, m/s and a share. Common practice, no
// source.
const (
	usualSearchMS = 0.4
	usualWalkMS   = 1.2
	usualDigShare = 0.3
)

// DefaultSettings returns the defaults named at each field, and budgets of 1, 2, 3 and
// 5 hours to compare.
func DefaultSettings() Settings {
	return Settings{DigShare: -1, PaceM: PaceM, Seed: 1, Hours: []float64{1, 2, 3, 5}}
}

// BudgetError says that the time is too short for any stop.
type BudgetError struct {
	BudgetS float64
	WayS    float64 // least time to walk to a stop and on to the end
	NeededS float64 // least time for that and for searching the stop
}

func (e *BudgetError) Error() string {
	return fmt.Sprintf("%s is too short: the nearest gap takes %s of walking, and %s with searching it",
		minutes(e.BudgetS), minutes(e.WayS), minutes(e.NeededS))
}

// Unwrap returns ErrBudget.
func (e *BudgetError) Unwrap() error { return ErrBudget }

// minutes rounds up, so that a time said to be needed suffices.
func minutes(s float64) string { return fmt.Sprintf("%.0f min", math.Ceil(s/60)) }

// farM is how far from the datum a frame is used, as in track.DefaultSettings.
const farM = 25_000

// validate returns a *coverage.SettingsError for the first setting out of range.
func (s Settings) validate(swathM float64) error {
	bad := func(flag string, v any, allowed string) error {
		return &coverage.SettingsError{Flag: flag, Value: fmt.Sprint(v), Allowed: allowed}
	}
	in := func(v, lo, hi float64) bool { return v >= lo && v <= hi } // false for NaN
	for i, h := range append([]float64{s.BudgetS / 3600}, s.Hours...) {
		if !in(h, 1.0/3600, 24) {
			return bad([]string{"hours", "compare-hours"}[min(i, 1)], h, "from a second to 24 h")
		}
	}
	for i, p := range []grid.XY{s.Start, s.End} {
		if m := math.Hypot(p.X, p.Y); !(m <= farM) {
			return bad([]string{"start", "end"}[i], fmt.Sprintf("%.1f km from the site", m/1000), "within 25 km of the site")
		}
	}
	switch {
	case s.SearchMS != 0 && !in(s.SearchMS, 0.05, 3):
		return bad("search-speed", s.SearchMS, "from 0.05 m/s to 3 m/s")
	case s.WalkMS != 0 && !in(s.WalkMS, 0.1, 5):
		return bad("walk-speed", s.WalkMS, "from 0.1 m/s to 5 m/s")
	case !(s.DigShare <= 20):
		return bad("dig-share", s.DigShare, "at most 20")
	case !in(s.OverlapM, 0, 0.9*swathM):
		return bad("overlap", s.OverlapM, fmt.Sprintf("from 0 m to %.3g m, nine tenths of the swath", 0.9*swathM))
	case s.PaceM != 0 && !in(s.PaceM, 0.2, 2):
		return bad("pace-length", s.PaceM, "from 0.2 m to 2 m")
	case s.Effort < 0 || s.Effort > 10_000_000:
		return bad("effort", s.Effort, "from 0 to 10000000")
	case !in(s.Year, 1900, 2200):
		return bad("date", s.Year, "a year from 1900 to 2200")
	}
	for _, g := range s.Slow {
		if !in(g.Factor, 0.1, 20) {
			return bad("slow", fmt.Sprintf("%q %g", g.Name, g.Factor), "a factor from 0.1 to 20")
		}
	}
	return s.validateInterest()
}

// filled checks the settings and fills in what is left to the visits.
func (s Settings) filled(r *coverage.Result) (Settings, []string, error) {
	if len(s.Slow) == 0 {
		s.Slow = slowOf(r.Local)
	}
	if err := s.validate(r.Settings.SwathM); err != nil {
		return s, nil, err
	}
	var notes []string
	take := func(v *float64, of func(*coverage.Result) (float64, bool), usual float64, note string) {
		own, ok := of(r)
		if *v = own; !ok {
			*v = usual
			notes = append(notes, fmt.Sprintf(note, usual))
		}
	}
	if s.SearchMS == 0 {
		take(&s.SearchMS, searchingPace, usualSearchMS, "the visits do not tell your pace of searching: taken as %g m/s")
	}
	if s.WalkMS == 0 {
		take(&s.WalkMS, walkingPace, usualWalkMS, "the visits do not tell your walking pace: taken as %g m/s")
	}
	if s.DigShare < 0 {
		take(&s.DigShare, diggingShare, usualDigShare, "the visits do not tell how long you dig: taken as %g s for each second of searching")
	}
	if s.PaceM == 0 {
		s.PaceM = PaceM
	}
	return s, notes, nil
}

// slowOf is the slow ground of a site.
func slowOf(l site.Local) (out []SlowGround) {
	for _, g := range l.Slow {
		out = append(out, SlowGround{g.Name, g.Polygon, 1 / g.Pace})
	}
	return out
}

// leastTold is how many seconds of a kind the visits need to tell of to be believed.
const leastTold = 60

// searchingPace is the median over the time searched: from the walks themselves where
// they were looked at so, else of the visits' mean paces.
func searchingPace(r *coverage.Result) (float64, bool) {
	if t := r.Thoroughness; t != nil && secondsOf(r, track.Searching) >= leastTold {
		return t.MedianMS, true
	}
	type visit struct{ ms, s float64 }
	var visits []visit
	for _, v := range r.Sessions {
		if s := v.Seconds[track.Searching]; s > 0 {
			visits = append(visits, visit{v.Metres[track.Searching] / s, s})
		}
	}
	slices.SortFunc(visits, func(a, b visit) int {
		if a.ms < b.ms {
			return -1
		}
		return 1
	})
	half, all := 0.0, secondsOf(r, track.Searching)
	for _, v := range visits {
		if half += v.s; half >= all/2 && all >= leastTold {
			return v.ms, true
		}
	}
	return 0, false
}

func walkingPace(r *coverage.Result) (float64, bool) {
	m, s := 0.0, secondsOf(r, track.Walking)
	for _, v := range r.Sessions {
		if v.Seconds[track.Walking] > 0 {
			m += v.Metres[track.Walking]
		}
	}
	return m / s, s >= leastTold
}

func diggingShare(r *coverage.Result) (float64, bool) {
	s := secondsOf(r, track.Searching)
	return secondsOf(r, track.Standing) / s, s >= 10*leastTold
}

func secondsOf(r *coverage.Result, k track.Kind) (sum float64) {
	for _, v := range r.Sessions {
		sum += v.Seconds[k]
	}
	return sum
}
