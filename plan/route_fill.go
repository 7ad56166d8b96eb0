package plan

import (
	"math"
	"slices"
)

// greed is what fill prefers. The zero value is worth per added second.
type greed struct {
	worth bool    // the most worth, whatever it takes
	blur  float64 // up to this share is left to chance
}

// mood draws a way of choosing for one round.
func (s *search) mood() greed {
	return greed{worth: s.rng.IntN(5) == 0, blur: 0.6 * s.rng.Float64()}
}

// offer is an unvisited stop with the cheapest place for it.
type offer struct {
	stop  int
	after int     // stop to put it behind
	added float64 // seconds it would add
	taste float64 // what its worth counts for this time
}

func (o *offer) rank(g greed) float64 {
	if g.worth || o.added <= 0 {
		return o.taste
	}
	return o.taste / o.added
}

// fill puts candidates, which are not on the route, into it one after another until
// no more fits in the budget.
func (s *search) fill(candidates []int, g greed) {
	s.offers = s.offers[:0]
	for _, i := range candidates {
		if s.place[i] >= 0 {
			continue
		}
		o := offer{stop: i, added: math.Inf(1), taste: s.Worth[i]}
		if g.blur > 0 {
			o.taste *= 1 - float64(g.blur*s.rng.Float64())
		}
		s.reoffer(&o)
		s.offered[i] = len(s.offers)
		s.offers = append(s.offers, o)
	}
	for k := s.choose(g); k >= 0; k = s.choose(g) {
		s.take(k)
	}
	for _, o := range s.offers {
		s.offered[o.stop] = -1
	}
}

// choose returns the offer that is liked best and fits, -1 when none does. One that
// takes no time is liked above all.
func (s *search) choose(g greed) int {
	best, rank, free := -1, 0.0, false
	for k := range s.offers {
		o := &s.offers[k]
		if !(s.used+o.added <= s.Budget) || s.place[o.stop] >= 0 {
			continue
		}
		r, f := o.rank(g), o.added <= 0
		if best < 0 || f && !free || f == free && r > rank {
			best, rank, free = k, r, f
		}
	}
	return best
}

// take puts offer k into the route and brings the others up to date: those that
// were to go where it went, and those near it.
func (s *search) take(k int) {
	o := s.offers[k]
	s.insert(o)
	for j := range s.offers {
		if p := &s.offers[j]; p.after == o.after && s.place[p.stop] < 0 {
			p.added = math.Inf(1)
			s.reoffer(p)
			s.tryAfter(p, o.after)
			s.tryAfter(p, o.stop)
		}
	}
	for _, i := range s.near[o.stop] {
		if j := s.offered[i]; j >= 0 && s.place[i] < 0 {
			s.tryAfter(&s.offers[j], o.after)
			s.tryAfter(&s.offers[j], o.stop)
		}
	}
}

func (s *search) insert(o offer) {
	at := s.place[o.after] + 1
	s.look(o.stop, o.after, s.via[at])
	s.via = slices.Insert(s.via, at, o.stop)
	for k := at; k < len(s.via); k++ {
		s.place[s.via[k]] = k
	}
	s.used += o.added
	s.worth += s.Worth[o.stop]
}

// reoffer finds the cheapest place for o: beside a near stop, Start or End.
func (s *search) reoffer(o *offer) {
	s.tryAfter(o, s.via[0])
	s.tryAfter(o, s.via[len(s.via)-2])
	for _, i := range s.near[o.stop] {
		if k := s.place[i]; k >= 0 {
			s.tryAfter(o, s.via[k-1])
			s.tryAfter(o, i)
		}
	}
}

// tryAfter notes a as the place for o when it is cheaper than what o has.
func (s *search) tryAfter(o *offer, a int) {
	b := s.via[s.place[a]+1]
	added := s.way.get(a, o.stop) + s.Stay[o.stop] + s.way.get(o.stop, b) - s.way.get(a, b)
	if added < o.added {
		o.after, o.added = a, added
	}
}
