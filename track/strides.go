package track

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"untrod/grid"
)

// clocked is the timed part of a walk.
type clocked struct {
	paths      []Path // by their start
	from, to   Instant
	searchingS float64
}

func clockedOf(w Walk) clocked {
	c := clocked{from: math.MaxInt64, to: math.MinInt64}
	for _, p := range w.Paths {
		if !p.Timed || len(p.Points) == 0 {
			continue
		}
		c.paths = append(c.paths, p)
		c.from, c.to = min(c.from, p.Points[0].T), max(c.to, p.Points[len(p.Points)-1].T)
		for _, l := range p.Legs {
			if line := p.Line(l); l.Kind == Searching {
				c.searchingS += line[len(line)-1].T.Sub(line[0].T)
			}
		}
	}
	slices.SortStableFunc(c.paths, func(a, b Path) int { return cmp.Compare(a.Points[0].T, b.Points[0].T) })
	return c
}

// sighting is where a walker was seen, and whether searching.
type sighting struct {
	grid.XY
	searching bool
}

// at is where the walker was at t, between two fixes of a path.
func (c clocked) at(t Instant) (sighting, bool) {
	i := sort.Search(len(c.paths), func(i int) bool { return c.paths[i].Points[0].T > t }) - 1
	if i < 0 {
		return sighting{}, false
	}
	p := c.paths[i]
	j := sort.Search(len(p.Points), func(j int) bool { return p.Points[j].T >= t })
	if j == len(p.Points) {
		return sighting{}, false
	}
	l := sort.Search(len(p.Legs), func(l int) bool { return p.Legs[l].To > j })
	s := sighting{p.Points[j].XY, l < len(p.Legs) && p.Legs[l].Kind == Searching}
	if j > 0 {
		a, b := p.Points[j-1], p.Points[j]
		f := t.Sub(a.T) / b.T.Sub(a.T)
		s.XY = grid.XY{X: a.X + f*(b.X-a.X), Y: a.Y + f*(b.Y-a.Y)}
	}
	return s, true
}

// stride is a displacement over strideS, and where it began.
type stride struct {
	at, by    grid.XY
	searching bool // at its beginning or end
}

func (c clocked) stride(t Instant) (stride, bool) {
	p, ok := c.at(t)
	if !ok {
		return stride{}, false
	}
	q, ok := c.at(t + 1000*strideS)
	return stride{p.XY, less(q.XY, p.XY), p.searching || q.searching}, ok
}

// agreement is how far two logs agree over the strides both show, of those in which
// either searches.
type agreement struct {
	strides int
	enough  bool    // to tell anything
	misfit  float64 // squared differences by squared lengths, summed over both logs
	pace    float64 // by how much more of it lies along the way than across
	apartM  float64 // between the mean places
	changeM float64 // root mean square of the difference across the way
}

// agree compares c with b, whose clock is put right by shiftS.
func (c clocked) agree(b clocked, shiftS float64) agreement {
	shift := Instant(shiftS * 1000)
	from, to := max(c.from, b.from+shift), min(c.to, b.to+shift)-1000*strideS
	gap := max(1000*strideGapS, (to-from)/maxStrides)
	var s strideSums
	for t := from; t <= to; t += gap {
		p, ok := c.stride(t)
		q, okB := b.stride(t - shift)
		if ok && okB && (p.searching || q.searching) {
			s.add(p, q)
		}
	}
	l := s.agreement()
	seconds := float64(l.strides) * float64(gap) / 1000
	l.enough = l.strides >= minStrides && seconds >= min(commonS, c.searchingS/2, b.searchingS/2)
	return l
}

// strideSums adds up how two logs differ, stride by stride.
type strideSums struct {
	n                      int
	along, across, lengths float64 // squared
	apart                  grid.XY
}

func (s *strideSums) add(p, q stride) {
	s.n++
	s.apart.X += p.at.X - q.at.X
	s.apart.Y += p.at.Y - q.at.Y
	if l := math.Sqrt(max(norm2(p.by), norm2(q.by))); l > longM {
		p.by, q.by = scaled(p.by, longM/l), scaled(q.by, longM/l)
	}
	s.lengths += norm2(p.by) + norm2(q.by)
	way, e := grid.XY{X: p.by.X + q.by.X, Y: p.by.Y + q.by.Y}, less(p.by, q.by)
	if l := norm2(way); l > 0 {
		s.along += (e.X*way.X + e.Y*way.Y) * (e.X*way.X + e.Y*way.Y) / l
		s.across += (e.Y*way.X - e.X*way.Y) * (e.Y*way.X - e.X*way.Y) / l
	}
}

func scaled(q grid.XY, k float64) grid.XY { return grid.XY{X: k * q.X, Y: k * q.Y} }

func norm2(q grid.XY) float64 { return q.X*q.X + q.Y*q.Y }

func (s *strideSums) agreement() agreement {
	if s.n == 0 || s.lengths == 0 {
		return agreement{misfit: math.Inf(1)}
	}
	n := float64(s.n)
	return agreement{
		strides: s.n, misfit: (s.along + s.across) / s.lengths, pace: (s.along - s.across) / s.lengths,
		apartM: math.Sqrt(norm2(s.apart)) / n, changeM: math.Sqrt(s.across / n),
	}
}

func (l agreement) verdict() Likeness {
	switch {
	case !l.enough:
		return Unclear
	case l.misfit < maxMisfit && l.pace < paceShare+paceOfMisfit*l.misfit && l.apartM < max(nearM, nearChanges*l.changeM):
		return OneWalk
	}
	return TwoWalks
}
