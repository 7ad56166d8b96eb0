package plan

import "slices"

// ruin takes stops out of the route round one or two places, and returns the stops
// that may go in instead: those taken out and the unvisited near there.
func (s *search) ruin() []int {
	places := 1 + s.rng.IntN(2)
	var out []int
	for range places {
		centre := s.useful[s.rng.IntN(len(s.useful))]
		if s.rng.IntN(2) == 0 && len(s.via) > 2 {
			centre = s.via[1+s.rng.IntN(len(s.via)-2)]
		}
		out = append(out, centre)
		out = append(out, s.near[centre]...)
		s.ruinRound(centre)
	}
	return s.unvisited(out)
}

// ruinRound takes out one to three strings of neighbours on the route: the first
// through the visited stop nearest to centre, the others through the next nearest
// that are left.
func (s *search) ruinRound(centre int) {
	strings, longest := 1+s.rng.IntN(3), 1+s.rng.IntN(min(maxString, max(1, len(s.via)/3)))
	s.ruinString(centre, longest, &strings)
	for _, i := range s.near[centre] {
		if strings == 0 {
			return
		}
		s.ruinString(i, longest, &strings)
	}
}

// maxString is the longest string of stops taken out at once.
const maxString = 10

func (s *search) ruinString(through, longest int, left *int) {
	if s.place[through] < 0 {
		return
	}
	*left--
	n := 1 + s.rng.IntN(longest)
	from := max(1, s.place[through]-s.rng.IntN(n))
	to := min(len(s.via)-1, from+n)
	s.cut(from, to)
}

// cut takes via[from:to] out of the route.
func (s *search) cut(from, to int) {
	a, b := s.via[from-1], s.via[to]
	for k := from; k < to; k++ {
		s.used -= s.way.get(s.via[k-1], s.via[k]) + s.Stay[s.via[k]]
		s.worth -= s.Worth[s.via[k]]
		s.place[s.via[k]] = -1
	}
	s.used += s.way.get(a, b) - s.way.get(s.via[to-1], b)
	s.via = slices.Delete(s.via, from, to)
	for k := from; k < len(s.via); k++ {
		s.place[s.via[k]] = k
	}
	s.look(a, b)
}

// unvisited returns the stops that are not on the route, each once.
func (s *search) unvisited(stops []int) []int {
	slices.Sort(stops)
	return slices.DeleteFunc(slices.Compact(stops), func(i int) bool { return s.place[i] >= 0 })
}
