package track

import (
	"fmt"
	"math"

	"untrod/grid"
)

// Clocks: fixes dated outside [oddBefore, oddAfter) are flagged. Receivers count
// weeks modulo 1024 (7168 days); one that has lost count shows a date that much
// too early. The first count ended on 1999-08-22, before which there was hardly
// a consumer log. A date that is wrong but possible cannot be told.
const (
	oddBefore Instant = 935_280_000_000   // 1999-08-22
	oddAfter  Instant = 4_102_444_800_000 // 2100-01-01
)

// NewWalk cleans the segments of one visit, in the order of the file, and labels
// the legs. Points are in f's metres. Every fix ends in exactly one leg or in one
// note that drops it, so Fixes = points in all legs + Notes.Dropped().
//
// A fix alone is dropped when its position is missing or off the globe, exactly
// (0, 0), called no fix by the receiver, or over FarM from f's datum. Amid timed
// fixes, one without time is dropped. Next to the fix kept before it, one is
// dropped when
//   - place and time are the same (where there are no times: the place);
//   - its time is earlier, unless it and the next 5 run forward: then the clock
//     was set back, nothing is dropped, and a new path starts;
//   - it, alone or with up to 4 after it, lies away by more than 5 m and more than
//     JumpSpeedMS allows, both going and coming back, while the fix after them is
//     within reach of the one before. A leap that does not come back stays.
//
// Fixes of one time at different places stay.
//
// A break of more than SilenceS starts a new path. Segments of the file that
// follow one another sooner are one path: where the recorder was paused for
// longer, the silence parts them. A segment without times, or of three fixes or
// more that all have the same time, is a path of its own, and of kind TreatAs.
//
// Time O(fixes). Memory is 32 bytes a fix, allocated once, and in passing as much
// again for the longest path.
func NewWalk(f grid.Frame, segments [][]Fix, set Settings) Walk {
	c := cleaner{frame: f, set: set}
	for _, s := range segments {
		c.walk.Fixes += len(s)
	}
	c.points = make([]Point, 0, c.walk.Fixes)
	from := 0 // of the timed stretch being gathered
	for _, s := range segments {
		if timed(s) {
			c.gather(s, true)
			continue
		}
		c.finish(from, true)
		from = len(c.points)
		c.gather(s, false)
		c.finish(from, false)
		from = len(c.points)
	}
	c.finish(from, true)
	return c.walk
}

// timed reports whether the segment's clock can be used.
func timed(s []Fix) bool {
	same := 0
	for _, f := range s {
		switch {
		case f.T.Known() && f.T != s[0].T:
			return true
		case f.T.Known():
			same++
		}
	}
	return len(s) == 0 || same > 0 && same < 3
}

type cleaner struct {
	frame  grid.Frame
	set    Settings
	points []Point // kept so far, over all paths
	walk   Walk
	read   int // fixes read, to name them in notes
}

// gather projects the fixes of a segment that can stand alone onto points.
func (c *cleaner) gather(s []Fix, timed bool) {
	if !timed {
		c.walk.Notes.Add(NoteNoTimes, func() string { return fmt.Sprintf("fix %d: no usable times in its segment", c.read+1) })
	}
	for i := range s {
		f := &s[i]
		c.read++
		q, bad := c.project(f)
		if bad == "" && timed && !f.T.Known() {
			bad = NoteMissingTime
		}
		if bad != "" {
			c.walk.Notes.Add(bad, func() string { return c.example(f, bad) })
			continue
		}
		p := Point{XY: q, T: NoTime, AccM: f.AccM, HDOP: f.HDOP}
		if timed {
			p.T = f.T
			if f.T < oddBefore || f.T >= oddAfter {
				c.walk.Notes.Add(NoteOddDate, func() string { return c.example(f, NoteOddDate) })
			}
		}
		c.points = append(c.points, p)
	}
}

// project returns f in metres, or the reason why it cannot be used.
func (c *cleaner) project(f *Fix) (grid.XY, NoteKind) {
	switch {
	case !f.Pos.Valid():
		return grid.XY{}, NoteBadPosition
	case f.Pos == grid.LonLat{}:
		return grid.XY{}, NoteZeroZero
	case f.Kind == FixNone:
		return grid.XY{}, NoteNoFix
	}
	d := c.frame.Datum()
	east := math.Abs(f.Pos.Lon - d.Lon)
	if min(east, 360-east) > 30 || math.Abs(f.Pos.Lat-d.Lat) > 1 {
		return grid.XY{}, NoteFarAway // out of the projection's reach, and over 100 km
	}
	q := c.frame.ToXY(f.Pos)
	if !(math.Hypot(q.X, q.Y) <= c.set.FarM) {
		return grid.XY{}, NoteFarAway
	}
	return q, ""
}

func (c *cleaner) example(f *Fix, k NoteKind) string {
	what := ""
	switch k {
	case NoteBadPosition:
		what = fmt.Sprintf("latitude %v, longitude %v", f.Pos.Lat, f.Pos.Lon)
	case NoteZeroZero:
		what = "latitude 0, longitude 0"
	case NoteNoFix:
		what = "the receiver says it had no fix"
	case NoteMissingTime:
		what = "no time"
	case NoteFarAway:
		what = fmt.Sprintf("over %.0f km from the site", c.set.FarM/1000)
	case NoteOddDate:
		what = "dated " + f.T.Time().Format("2006-01-02")
	}
	return fmt.Sprintf("fix %d: %s", c.read, what)
}

// finish takes out what cannot follow the fix before it, from points[from:],
// and cuts what is left into paths.
func (c *cleaner) finish(from int, timed bool) {
	ps := c.points[from:]
	n := 0 // kept
	for i := 0; i < len(ps); {
		kind, drop := NoteKind(""), 0
		if n > 0 {
			kind, drop = c.unfit(ps[n-1], ps[i:], timed)
		}
		for range drop {
			p := ps[i]
			c.walk.Notes.Add(kind, func() string { return place(p) })
			i++
		}
		if drop == 0 {
			ps[n] = ps[i]
			n++
			i++
		}
	}
	c.points = c.points[:from+n]
	c.cut(c.points[from:], timed)
}

// cut parts ps where there is a silence or the clock was set back, and labels
// each path.
func (c *cleaner) cut(ps []Point, timed bool) {
	from := 0
	for i := 1; i <= len(ps); i++ {
		if i < len(ps) && !(timed && c.parted(ps[i-1], ps[i])) {
			continue
		}
		p := Path{Points: ps[from:i:i], Timed: timed}
		p.Legs = label(p, c.set)
		c.walk.Paths = append(c.walk.Paths, p)
		from = i
	}
}

func (c *cleaner) parted(a, b Point) bool {
	switch dt := b.T.Sub(a.T); {
	case dt < 0:
		c.walk.Notes.Add(NoteClockSet, func() string { return fmt.Sprintf("%s: %.0f s back", place(b), -dt) })
	case dt > c.set.SilenceS:
		c.walk.Notes.Add(NoteSilence, func() string { return fmt.Sprintf("%s: after %.0f s", place(b), dt) })
	default:
		return false
	}
	return true
}

// place names a point of which the number is no longer known.
func place(p Point) string {
	if !p.T.Known() {
		return fmt.Sprintf("%.1f m east, %.1f m north of the datum", p.X, p.Y)
	}
	return p.T.Time().Format("2006-01-02T15:04:05Z")
}
