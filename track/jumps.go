package track

const (
	jumpFloorM = 5 // shorter steps are never too fast: receivers jitter by metres within a second
	jumpRun    = 5 // fixes that a jump may last
	clockRun   = 5 // fixes that must run on for a clock to count as set back
)

// unfit returns how many of the first points of next cannot follow prev, and why.
func (c *cleaner) unfit(prev Point, next []Point, timed bool) (NoteKind, int) {
	p := next[0]
	switch {
	case p.XY == prev.XY && p.T == prev.T:
		return NoteDuplicate, 1
	case !timed:
		return "", 0
	case p.T < prev.T:
		if runsOn(next, prev.T) {
			return "", 0
		}
		return NoteClockBack, 1
	}
	return NoteJump, c.awayAndBack(prev, next)
}

// runsOn reports whether the clock goes on from next[0] without coming back
// to after was.
func runsOn(next []Point, was Instant) bool {
	if len(next) <= clockRun {
		return false
	}
	for i := 1; i <= clockRun; i++ {
		if next[i].T < next[i-1].T || next[i].T > was {
			return false
		}
	}
	return true
}

// awayAndBack returns how many points of next are a jump away from prev.
func (c *cleaner) awayAndBack(prev Point, next []Point) int {
	if !tooFast(prev, next[0], c.set.JumpSpeedMS) {
		return 0
	}
	for k := 1; k <= jumpRun && k < len(next); k++ {
		if next[k].T < prev.T {
			return 0
		}
		if tooFast(next[k-1], next[k], c.set.JumpSpeedMS) && !tooFast(prev, next[k], c.set.JumpSpeedMS) {
			return k
		}
	}
	return 0
}

// tooFast reports whether the step from a to b is longer than jumpFloorM and
// than speedMS allows.
func tooFast(a, b Point, speedMS float64) bool {
	reach := max(jumpFloorM, speedMS*b.T.Sub(a.T))
	return squared(a, b) > reach*reach
}
