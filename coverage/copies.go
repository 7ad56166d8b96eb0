package coverage

import (
	"cmp"
	"context"
	"slices"

	"untrod/track"
)

// Why a visit is a copy of another.
const (
	SameFixes = "same-fixes" // its fixes are all in the other, as they are or rounded
	SameWalk  = "same-walk"  // by another receiver on the same person, or smoothed
)

// Copy is a visit that another log tells of too. Only what it logged while the other
// was silent counts, with the other's session.
type Copy struct {
	File, Name string
	Of         string  // the file that is used instead; the visit, where both are in one file
	Why        string  // SameFixes or SameWalk
	ClockS     float64 // seconds by which its clock is behind the other's
	Fixes      int     // not counted
	Kept       int     // counted, where the other was silent
}

// Copies returns the visits of the logs that Assess would not count, or not whole,
// because another log tells of them too; of the settings only Track and VisitGapS
// matter. Errors are those of Assess.
func Copies(ctx context.Context, in Input, set Settings) ([]Copy, error) {
	r := &Result{Settings: set}
	_, err := r.load(ctx, in, func(string, int64, int64) {})
	return r.Copies, err
}

// copies finds, among visits in order of time, those that are of one walk.
type copies struct {
	visits  []visit
	quality map[int]quality // of those that have a neighbour
	used    []use
}

// use says which visit stands for one: itself, or the one it is a copy of.
type use struct {
	by     int
	why    string
	clockS float64
	kept   int
}

// dropCopies leaves one of all visits that are of the same walk, with what the
// others add to it, and lists the others. Visits are in order of time, and the order
// of the input plays no part. Visits of two walkers who are named are never the
// same. A look at each pair that shares time and ground; the rest is
// O(points + visits log visits).
func (r *Result) dropCopies(visits []visit) []visit {
	c := copies{visits: visits, quality: map[int]quality{}, used: make([]use, len(visits))}
	for i := range visits {
		c.used[i].by = i
	}
	pairs := c.compare(c.neighbours())
	for _, g := range groupsOf(pairs) {
		c.join(g, r.Settings.Track.SilenceS)
	}
	var kept []visit
	for i, v := range visits {
		if c.used[i].by == i {
			kept = append(kept, v)
		} else {
			r.Copies = append(r.Copies, c.copy(i))
		}
	}
	return kept
}

// copy tells of a visit that is not used itself.
func (c *copies) copy(i int) Copy {
	u, v := c.used[i], c.visits[i]
	out := Copy{File: v.file, Name: v.name, Why: u.why, ClockS: u.clockS, Fixes: v.walk.Fixes - u.kept, Kept: u.kept}
	for c.used[u.by].by != u.by { // a copy of a copy
		u = c.used[u.by]
		out.ClockS += u.clockS
	}
	if out.Of = c.visits[u.by].file; out.Of == v.file {
		out.Of = c.visits[u.by].name
	}
	return out
}

// kin is a pair of visits and what was found of them.
type kin struct {
	a, b int
	track.Match
}

// compare looks at each pair, the better visit first, and marks those within
// another. It returns the pairs of which neither is.
func (c *copies) compare(pairs [][2]int) []kin {
	var out []kin
	for _, p := range pairs {
		a, b := p[0], p[1]
		if c.used[a].by != a || c.used[b].by != b {
			continue
		}
		m := track.Match{Likeness: track.TwoWalks}
		if v, w := c.visits[a].walker, c.visits[b].walker; v == "" || w == "" || v == w {
			m = track.Compare(c.visits[a].walk, c.visits[b].walk)
		}
		if m.Likeness == track.OneLog {
			c.used[b] = use{by: a, why: SameFixes, clockS: m.ClockS}
			c.name(a, b)
			continue
		}
		out = append(out, kin{a, b, m})
	}
	return slices.DeleteFunc(out, func(k kin) bool { return c.used[k.a].by != k.a || c.used[k.b].by != k.b })
}

// join puts a group's visits into the best of them.
func (c *copies) join(g group, silenceS float64) {
	slices.SortFunc(g, func(a, b member) int { return c.byQuality(a.visit, b.visit) })
	best := &c.visits[g[0].visit]
	for _, m := range g[1:] {
		u := use{by: g[0].visit, why: SameWalk, clockS: m.clockS - g[0].clockS}
		best.walk, u.kept = track.Join(best.walk, c.visits[m.visit].walk, u.clockS, silenceS)
		c.used[m.visit] = u
		c.name(g[0].visit, m.visit)
	}
	best.clock()
}

// name lets a visit have the walker of its copy when its own is not said.
func (c *copies) name(i, other int) {
	if c.visits[i].walker == "" {
		c.visits[i].walker = c.visits[other].walker
	}
}

// group is visits that are one walk.
type group []member

// member is a visit, and what puts its clock right with its group's.
type member struct {
	visit  int
	clockS float64
}

// groupsOf joins visits that are one walk, the surest pairs first, and never two
// that were found to be two.
func groupsOf(pairs []kin) []group {
	apart, in, groups := map[[2]int]bool{}, map[int]int{}, []group{}
	slices.SortStableFunc(pairs, func(a, b kin) int { return cmp.Compare(a.Misfit, b.Misfit) })
	find := func(v int) int {
		if _, ok := in[v]; !ok {
			groups, in[v] = append(groups, group{{v, 0}}), len(groups)
		}
		return in[v]
	}
	for _, k := range pairs {
		if k.Likeness == track.TwoWalks {
			apart[[2]int{k.a, k.b}], apart[[2]int{k.b, k.a}] = true, true
		}
	}
	for _, k := range pairs {
		if k.Likeness != track.OneWalk {
			continue
		}
		a, b := find(k.a), find(k.b)
		if a == b || groups[a].apart(groups[b], apart) {
			continue
		}
		shift := groups[a].clock(k.a) + k.ClockS - groups[b].clock(k.b)
		for _, m := range groups[b] {
			groups[a] = append(groups[a], member{m.visit, m.clockS + shift})
			in[m.visit] = a
		}
		groups[b] = nil
	}
	return slices.DeleteFunc(groups, func(g group) bool { return len(g) < 2 })
}

func (g group) clock(v int) float64 {
	return g[slices.IndexFunc(g, func(m member) bool { return m.visit == v })].clockS
}

func (g group) apart(h group, apart map[[2]int]bool) bool {
	for _, m := range g {
		for _, n := range h {
			if apart[[2]int{m.visit, n.visit}] {
				return true
			}
		}
	}
	return false
}
