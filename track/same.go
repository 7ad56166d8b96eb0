package track

// Likeness says how two logs are related.
type Likeness uint8

const (
	Unclear  Likeness = iota // too little in common to tell
	TwoWalks                 // two people, or one at two times
	OneWalk                  // one person, two receivers; or one log, smoothed
	OneLog                   // the second log's fixes are all in the first, as they are or rounded
)

// Match is what [Compare] found.
type Match struct {
	Likeness Likeness
	ClockS   float64 // to be added to the times of the second log
	Misfit   float64 // of OneWalk and TwoWalks: 0 for equal displacements, about 1 for strangers
}

// Thresholds, found by simulation: docs/accuracy.md, "The same walk twice".
const (
	strideS    = 20  // displacements are compared over this time
	longM      = 10  // longer ones, which are of walking, weigh no more than this
	strideGapS = 6   // one begins so long after another
	maxStrides = 200 // at most so many are compared
	minStrides = 8   // fewer tell nothing
	commonS    = 120 // nor does less searching in common, or less than half of the shorter log's

	maxMisfit = 0.55 // over which displacements are strangers
	// Two people side by side differ in pace, two receivers in all directions alike:
	// what a difference may have more along the way than across it, as a share of
	// the squared lengths.
	paceShare, paceOfMisfit = 0.01, 0.25
	// Two receivers stay this near to each other, on the mean of a log, or this many
	// times what their difference changes by across the way in a stride.
	nearM, nearChanges = 10, 12
	// Beyond these the clock is not tried at other times.
	abroadM, hopeless = 100, 0.8

	clockS      = 6   // clocks may differ by this
	zoneS       = 900 // or by a time zone, of whole quarters of an hour
	maxZones    = 56  // up to 14 hours
	zoneMisfit  = 0.2 // stricter, as there are many to try,
	zoneStrides = 60  // and not in a short log
	zoneM       = 20  // apart, at most, at three moments of four
)

// Compare tells whether two logs, in one frame's metres, are of one walk. The first
// is to be the one with more fixes: OneLog means that the second is within it.
//
// Two receivers on one person move alike, whatever their offsets: over a stride of
// 20 s their displacements differ by little, equally much along the way and across
// it, and their mean distance is one that their drift explains. Two people who walk
// side by side differ in pace and stops. Only strides in which one of the two
// searches are looked at: people walk in together. Clocks that differ by up to 6 s
// are put right, and those off by a time zone where half of the shorter log then
// fits. Paths without times are the same only when their places are, in order.
//
// Under dense canopy two people who keep abreast without a stop cannot be told from
// two receivers. O(points + log points).
func Compare(a, b Walk) Match {
	if Within(a, b, 0) {
		return Match{Likeness: OneLog}
	}
	ca, cb := clockedOf(a), clockedOf(b)
	if len(ca.paths) == 0 || len(cb.paths) == 0 {
		return Match{}
	}
	now := ca.match(cb)
	if now.Likeness == OneWalk {
		return now
	}
	for k := -maxZones; k <= maxZones; k++ {
		shiftS := float64(k * zoneS)
		if k == 0 || !ca.fits(cb, shiftS) {
			continue
		}
		if Within(a, b, shiftS) {
			return Match{Likeness: OneLog, ClockS: shiftS}
		}
		if l := ca.agree(cb, shiftS); l.verdict() == OneWalk && l.misfit < zoneMisfit && l.strides >= zoneStrides {
			return Match{OneWalk, shiftS, l.misfit}
		}
	}
	return now
}

// match compares two logs and puts the second's clock right by seconds: first in
// steps of two, then of one.
func (c clocked) match(b clocked) Match {
	best, at := c.agree(b, 0), 0.0
	if best.apartM > abroadM || best.misfit > hopeless {
		return Match{best.verdict(), 0, best.misfit}
	}
	try := func(s float64) {
		if l := c.agree(b, s); l.strides >= minStrides && l.misfit < best.misfit {
			best, at = l, s
		}
	}
	for s := -clockS; s <= clockS; s += 2 {
		try(float64(s))
	}
	near := at
	try(near - 1)
	try(near + 1)
	return Match{best.verdict(), at, best.misfit}
}

// fits reports, after a look at twenty moments, whether half of the shorter log
// may be of the same walk when b's clock is put right by shiftS.
func (c clocked) fits(b clocked, shiftS float64) bool {
	shift := Instant(shiftS * 1000)
	from, to := max(c.from, b.from+shift), min(c.to, b.to+shift)
	shorter := min(c.to.Sub(c.from), b.to.Sub(b.from))
	if common := to.Sub(from); common < shorter/2 || common < commonS {
		return false
	}
	both, far := 0, 0
	for i := range Instant(20) {
		t := from + (2*i+1)*(to-from)/40
		p, ok := c.at(t)
		q, okB := b.at(t - shift)
		if ok && okB {
			both++
			if away(p.XY, q.XY) > zoneM {
				far++
			}
		}
		if far > 5 {
			return false
		}
	}
	return both >= 10
}
