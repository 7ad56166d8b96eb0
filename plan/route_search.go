package plan

import (
	"context"
	"math"
	"math/rand/v2"
)

// search holds one run of Tour.Solve: the route being changed and what finds near
// stops quickly.
type search struct {
	*Tour
	*route
	way    *costs
	rng    *rand.Rand
	useful []int   // stops that can be worth a visit
	near   [][]int // for each useful stop others, nearest first
	place  []int   // of each stop in via, -1 when it is not visited

	offers        []offer // scratch of fill
	offered       []int   // the offer of each stop, -1
	queue         []int   // scratch of shorten
	queued        []bool
	ahead, astern []float64 // seconds from the first of via forwards, and back to it
}

func newSearch(t Tour, seed uint64) *search {
	n := len(t.Worth)
	s := &search{
		Tour: &t, route: &route{via: []int{n, n + 1}},
		way: newCosts(n+2, t.Go), rng: rand.New(rand.NewPCG(seed, 0x5eed)),
		place: make([]int, n+2), offered: make([]int, n+2), queued: make([]bool, n+2),
	}
	for i := range n {
		s.place[i] = -1
		if t.Worth[i] > 0 && !math.IsInf(t.Stay[i], 1) {
			s.useful = append(s.useful, i)
		}
	}
	for i := range s.offered {
		s.offered[i] = -1
	}
	s.settle()
	s.near = nearStops(s.Tour, s.way, s.useful)
	return s
}

// settle brings places, worth and seconds in line with via, adding in order.
func (s *search) settle() {
	s.worth, s.used = 0, 0
	for k, i := range s.via {
		s.place[i] = k
		if k > 0 {
			s.used += s.way.get(s.via[k-1], i)
		}
		if i < len(s.Worth) {
			s.worth += s.Worth[i]
			s.used += s.Stay[i]
		}
	}
}

// adopt makes r the route that is being changed.
func (s *search) adopt(r *route) {
	for _, i := range s.via {
		s.place[i] = -1
	}
	s.set(r)
	for k, i := range s.via {
		s.place[i] = k
	}
}

// construct is the greedy choice: the stop that brings most worth per added second
// goes in where it costs least, until none fits.
func (s *search) construct() {
	s.fill(s.useful, greed{})
	s.settle()
}

// anneal improves the route by ruin and recreate (Schrimpf et al. 2000, Journal of
// Computational Physics 159:139-171) with the threshold of record-to-record travel
// (Dueck 1993, ibid. 104:86-92), both from memory, and returns the best route met.
func (s *search) anneal(ctx context.Context, rounds int) (*route, error) {
	var now, best route
	best.set(s.route)
	now.set(s.route)
	for k := range rounds {
		if k%64 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		s.round()
		slack := float64(maxSlack * (1 - float64(k)/float64(rounds)) * s.rng.Float64())
		if s.used <= s.Budget && (s.better(&now) || s.worth > best.worth*(1-slack)) {
			now.set(s.route)
		} else {
			s.adopt(&now)
		}
		if now.better(&best) {
			best.set(&now)
		}
	}
	return &best, nil
}

// maxSlack is the share of the best worth a route may lack and still be gone on
// from, at the start; it falls to 0 at the end.
const maxSlack = 0.03

// round takes stops out at one or two places and fills the time that is won with
// stops near there.
func (s *search) round() {
	if len(s.useful) == 0 {
		return
	}
	candidates := s.ruin()
	g := s.mood()
	s.fill(candidates, g)
	s.shorten()
	s.fill(candidates, g)
	s.settle()
}
