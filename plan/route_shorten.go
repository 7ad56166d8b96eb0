package plan

import "slices"

// look queues stops whose surroundings changed, for shorten.
func (s *search) look(stops ...int) {
	for _, i := range stops {
		if !s.queued[i] {
			s.queued[i] = true
			s.queue = append(s.queue, i)
		}
	}
}

// shorten makes the way shorter by 2-opt (Croes 1958, Operations Research
// 6:791-812) and or-opt moves (Or 1976), both from memory, round the queued stops
// until none is left. The queue holds only stops whose neighbours changed.
func (s *search) shorten() {
	s.measure()
	for len(s.queue) > 0 {
		i := s.queue[len(s.queue)-1]
		s.queue = s.queue[:len(s.queue)-1]
		s.queued[i] = false
		for s.place[i] >= 0 && (s.turn(i) || s.move(i)) {
			s.measure()
		}
	}
}

// leastGain keeps rounding from passing for a shorter way; seconds.
const leastGain = 1e-7

// measure adds up the way forwards and backwards, so that the seconds of any
// stretch are known either way.
func (s *search) measure() {
	s.ahead, s.astern = append(s.ahead[:0], 0), append(s.astern[:0], 0)
	for k := 1; k < len(s.via); k++ {
		a, b := s.via[k-1], s.via[k]
		s.ahead = append(s.ahead, s.ahead[k-1]+s.way.get(a, b))
		s.astern = append(s.astern, s.astern[k-1]+s.way.get(b, a))
	}
}

// turned is what walking via[from..to] backwards adds to the way inside it.
func (s *search) turned(from, to int) float64 {
	return s.astern[to] - s.astern[from] - (s.ahead[to] - s.ahead[from])
}

// beside is how many near stops of a stop shorten looks at.
const beside = 12

// turn looks for a stretch with one end at stop i that is shorter backwards.
func (s *search) turn(i int) bool {
	k, last := s.place[i], len(s.via)-1
	for _, j := range s.fewNear(i) {
		m := s.place[j]
		if m < 0 {
			continue
		}
		lo, hi := min(k, m), max(k, m)
		if hi < last && s.flip(lo+1, hi) || lo > 0 && s.flip(lo, hi-1) {
			return true
		}
	}
	return false
}

// flip walks via[from..to] backwards when that is shorter.
func (s *search) flip(from, to int) bool {
	if from >= to {
		return false
	}
	a, x, y, b := s.via[from-1], s.via[from], s.via[to], s.via[to+1]
	gain := s.way.get(a, x) + s.way.get(y, b) - s.way.get(a, y) - s.way.get(x, b) - s.turned(from, to)
	if !(gain > leastGain) {
		return false
	}
	slices.Reverse(s.via[from : to+1])
	s.moved(from, to, gain)
	s.look(a, x, y, b)
	return true
}

// moved brings the places of via[from..to] in line after a gain.
func (s *search) moved(from, to int, gain float64) {
	for k := from; k <= to; k++ {
		s.place[s.via[k]] = k
	}
	s.used -= gain
}

// fewNear returns the nearest stops of i, and Start and End for themselves none.
func (s *search) fewNear(i int) []int {
	if i >= len(s.near) {
		return nil
	}
	return s.near[i][:min(beside, len(s.near[i]))]
}

// longestMove is the longest string of stops or-opt moves.
const longestMove = 3

// move looks for a better place for a string of stops with stop i at an end.
func (s *search) move(i int) bool {
	for n := 1; n <= longestMove; n++ {
		if s.moveString(i, s.place[i], n) || n > 1 && s.moveString(i, s.place[i]-n+1, n) {
			return true
		}
	}
	return false
}

// moveString looks for a better place, beside a stop near i, for the n stops from
// place from. Where leaving them out saves nothing, nothing is looked for.
func (s *search) moveString(i, from, n int) bool {
	end := from + n - 1
	if from < 1 || end > len(s.via)-2 {
		return false
	}
	a, x, y, b := s.via[from-1], s.via[from], s.via[end], s.via[end+1]
	saved := s.way.get(a, x) + s.way.get(y, b) - s.way.get(a, b)
	if !(saved > leastGain) {
		return false
	}
	for _, j := range s.fewNear(i) {
		m := s.place[j]
		if m >= 0 && (m < from || m > end) && (s.shift(from, n, m, saved) || s.shift(from, n, m-1, saved)) {
			s.look(a, x, y, b)
			return true
		}
	}
	return false
}

// shift puts the n stops from place from, whose leaving saves so many seconds,
// between places to and to+1, either way round, when that is shorter.
func (s *search) shift(from, n, to int, saved float64) bool {
	end := from + n - 1
	if to >= from-1 && to <= end {
		return false
	}
	x, y, c, d := s.via[from], s.via[end], s.via[to], s.via[to+1]
	saved += s.way.get(c, d)
	same := saved - s.way.get(c, x) - s.way.get(y, d)
	back := saved - s.way.get(c, y) - s.way.get(x, d) - s.turned(from, end)
	gain := max(same, back)
	if !(gain > leastGain) {
		return false
	}
	if back > same {
		slices.Reverse(s.via[from : end+1])
	}
	s.rotate(from, n, to, gain)
	s.look(c, d)
	return true
}

// rotate moves the n stops from place from to behind place to.
func (s *search) rotate(from, n, to int, gain float64) {
	lo, mid, hi := from, from+n, to+1
	if to < from {
		lo, mid, hi = to+1, from, from+n
	}
	slices.Reverse(s.via[lo:mid])
	slices.Reverse(s.via[mid:hi])
	slices.Reverse(s.via[lo:hi])
	s.moved(lo, hi-1, gain)
}
