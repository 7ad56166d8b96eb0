package coverage

import (
	"fmt"
	"math"

	"untrod/grid"
	"untrod/track"
)

// Left is what may still lie in some ground, by the finds of the visits that all went
// over the same part of it.
type Left struct {
	Landmark string // its rings together; empty: the whole site
	// The visits that swept at least sameShare of what all swept here, as indices into
	// Result.Sessions, and the ground each of them swept, as logged.
	Visits  []int
	SameM2  float64
	Catches []int     // finds logged on that ground, by visit
	Seconds []float64 // of searching on it, by visit; nil when a visit has no times
	Others  int       // finds on that ground made in other visits, or in none that is known
	Removal Removal   // where Refused is nil
	Refused error     // why nothing can be said
}

// sameShare is how much of the swept ground a visit must have swept to be a pass over
// the same ground (our choice).
const sameShare = 0.5

// leftIn estimates what is left on the site and round each landmark.
func (r *Result) leftIn(c *Comparison, visits []visit, zones zoneMasks) {
	walked := make([]*grid.Mask, len(visits))
	for i := range visits {
		walked[i] = grid.NewMask(r.Spec)
		brush := grid.NewBrush(r.Spec.CellM, r.Settings.SwathM/2)
		visits[i].searching(func(line []track.Point) { walked[i].FillLine(lineXY(line), brush) })
		walked[i].And(r.Searchable)
	}
	c.Left = append(c.Left, r.leftOn(c.Placed, visits, walked, r.Searchable))
	for i, rings := range zones.of {
		ground := grid.NewMask(r.Spec)
		for _, m := range rings {
			ground.Or(m)
		}
		if ground.Count() == 0 {
			continue
		}
		l := r.leftOn(c.Placed, visits, walked, ground)
		l.Landmark = c.Landmarks[i]
		c.Left = append(c.Left, l)
	}
}

func (r *Result) leftOn(finds []PlacedFind, visits []visit, walked []*grid.Mask, ground *grid.Mask) Left {
	l := Left{}
	same, swept := ground.Clone(), r.Swept.CountAnd(ground)
	for i, w := range walked {
		if n := w.CountAnd(ground); n > 0 && float64(n) >= sameShare*float64(swept) {
			l.Visits = append(l.Visits, i)
			same.And(w)
		}
	}
	if len(l.Visits) == 0 {
		same.Clear()
	}
	l.SameM2 = same.AreaM2()
	l.catch(finds, same)
	l.time(visits, same)
	l.estimate()
	return l
}

// catch counts the finds on the ground, by visit.
func (l *Left) catch(finds []PlacedFind, same *grid.Mask) {
	at := map[int]int{}
	for i, v := range l.Visits {
		at[v] = i
	}
	l.Catches = make([]int, len(l.Visits))
	for _, f := range finds {
		k, ok := same.Spec().CellAt(f.XY)
		if !ok || !same.Has(k) {
			continue
		}
		if i, ok := at[f.Visit]; ok {
			l.Catches[i]++
		} else {
			l.Others++
		}
	}
}

// time is the searching of each visit on the ground.
func (l *Left) time(visits []visit, same *grid.Mask) {
	for _, v := range l.Visits {
		sum := 0.0
		visits[v].pieces(func(mid grid.XY, _, s float64) {
			if k, ok := same.Spec().CellAt(mid); ok && same.Has(k) {
				sum += s
			}
		})
		if sum == 0 {
			l.Seconds = nil
			return
		}
		l.Seconds = append(l.Seconds, sum)
	}
}

func (l *Left) estimate() {
	switch {
	case len(l.Visits) == 0:
		l.Refused = fmt.Errorf("no visit swept at least half of it: %w", ErrOnePass)
	case len(l.Visits) == 1:
		l.Refused = fmt.Errorf("one visit alone swept at least half of it: %w", ErrOnePass)
	case l.SameM2 == 0:
		l.Refused = fmt.Errorf("no ground that each of %d visits swept: %w", len(l.Visits), ErrOnePass)
	case l.Seconds == nil:
		l.Refused = fmt.Errorf("not all visits have times: %w", ErrUneven)
	default:
		if l.Refused = EvenEffort(l.Seconds); l.Refused == nil {
			l.Removal, l.Refused = Remaining(l.Catches)
		}
	}
}

// Trend is what an hour on fresh ground brought over the visits. A find is on fresh
// ground when no earlier visit had swept its logged place, as logged; so is a piece of
// track when its middle is.
type Trend struct {
	Visits []FreshVisit // with searching on fresh ground, in order of time
	// Early and Late are the visits parted where half the fresh hours are; LateFrom is
	// the first of the late, as an index into Visits. Ratio is that of late to early,
	// exact and conditional (RatioOf); all NaN when there are not two visits with times.
	Early, Late Haul
	LateFrom    int
	Ratio       Ratio
}

// FreshVisit is the fresh ground of one session.
type FreshVisit struct {
	Session int
	Finds   int
	Hours   float64
	PerHour Rate
}

func (r *Result) trend(c *Comparison, visits []visit) {
	t := &c.Trend
	t.Ratio = noRatio
	for i := range visits {
		v := FreshVisit{Session: i}
		visits[i].pieces(func(mid grid.XY, _, s float64) {
			if k, ok := r.Spec.CellAt(mid); ok && r.Searchable.Has(k) && r.freshFor(i, k) {
				v.Hours += s / 3600
			}
		})
		for _, f := range c.Placed {
			if k, _ := r.Spec.CellAt(f.XY); f.Visit == i && r.freshFor(i, k) {
				v.Finds++
			}
		}
		if v.Hours > 0 {
			v.PerHour = RateOf([]Haul{{v.Finds, v.Hours}}, CompareLevel)
			t.Visits = append(t.Visits, v)
		}
	}
	t.split()
}

// freshFor reports whether no session before i swept a cell.
func (r *Result) freshFor(i int, k grid.Cell) bool {
	first, _, ok := r.Tally.Sessions(k)
	return !ok || first >= i
}

// split parts the visits so that the hours of both parts are as even as can be.
func (t *Trend) split() {
	all, sum, best := 0.0, 0.0, math.Inf(1)
	for _, v := range t.Visits {
		all += v.Hours
	}
	for i := 1; i < len(t.Visits); i++ {
		sum += t.Visits[i-1].Hours
		if d := math.Abs(all/2 - sum); d < best {
			best, t.LateFrom = d, i
		}
	}
	if len(t.Visits) < 2 {
		return
	}
	for i, v := range t.Visits {
		h := &t.Early
		if i >= t.LateFrom {
			h = &t.Late
		}
		h.Finds, h.Effort = h.Finds+v.Finds, h.Effort+v.Hours
	}
	t.Ratio = RatioOf([]Haul{t.Late}, []Haul{t.Early}, CompareLevel)
}
