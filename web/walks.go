package web

import (
	"context"

	"untrod/coverage"
	"untrod/track"
)

// walksOf reads the logs once more for the walks of a result's sessions, in their
// order and frame. A session that another log added to has its own log's walk.
func walksOf(ctx context.Context, logs []coverage.Source, r *coverage.Result) ([]track.Walk, error) {
	out := make([]track.Walk, len(r.Sessions))
	taken := make([]bool, len(r.Sessions))
	for _, log := range logs {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		visits, err := log.Visits()
		if err != nil {
			continue // the result has it among what was skipped
		}
		for _, v := range visits {
			w := track.NewWalk(r.Frame, v.Segments, r.Settings.Track)
			start, end := spanOf(v.Segments)
			if n := sessionOf(r.Sessions, taken, logged{v.SHA256, w.Fixes, start, end}); n >= 0 {
				out[n], taken[n] = w, true
			}
		}
	}
	return out, nil
}

// logged is a visit as its log has it, before cleaning.
type logged struct {
	sha256     string
	fixes      int
	start, end track.Instant
}

// sessionOf is the place among a result's sessions of a visit, -1 when it is none of
// them: it was left out, or is a copy. It is of the same file and of the same time,
// of as many fixes where there are several.
func sessionOf(all []coverage.Session, taken []bool, v logged) int {
	best := -1
	for i, s := range all {
		if s.SHA256 != v.sha256 || taken != nil && taken[i] || !meets(s, v) {
			continue
		}
		if s.Fixes == v.fixes {
			return i
		}
		if best < 0 && s.Start.Known() {
			best = i
		}
	}
	return best
}

// meets reports whether a session and a visit share time. Without times they may.
func meets(s coverage.Session, v logged) bool {
	if !s.Start.Known() || !v.start.Known() {
		return s.Fixes == v.fixes
	}
	return s.Start <= v.end && v.start <= s.End
}

// spanOf is the time from the first fix to the last.
func spanOf(segments [][]track.Fix) (start, end track.Instant) {
	start, end = track.NoTime, track.NoTime
	for _, seg := range segments {
		for _, f := range seg {
			if !f.T.Known() {
				continue
			}
			if !start.Known() || f.T < start {
				start = f.T
			}
			if !end.Known() || f.T > end {
				end = f.T
			}
		}
	}
	return start, end
}
