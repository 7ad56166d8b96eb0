package check

import (
	"math/rand/v2"

	"untrod/grid"
	"untrod/track"
)

// Abreast simulates two people who search a patch together, in lanes gapM apart:
// one takes the odd lanes, one the even, each with his own pace, weave and digs,
// and whoever ends a lane first waits for the other. Each log has errors of its
// own.
func Abreast(s WalkSettings, gapM float64) [2]Visit {
	s.LaneM = 2 * gapM
	var pair [2]*walker
	for i := range pair {
		pair[i] = &walker{set: s, pos: s.Gate, trodden: map[[2]int]int{}, rng: rand.New(rand.NewPCG(s.Seed, uint64(3+i)))}
		pair[i].pos.Y += float64(i) // side by side at the gate
	}
	ends := lanes(s.Patch, s.LaneM)
	kind := track.Walking
	for len(ends) > 0 && !pair[0].timeToGo() && !pair[1].timeToGo() {
		n := 1
		for n < len(ends) && ends[n].Y == ends[0].Y {
			n++
		}
		pair[0].lane(ends[:n], 0, kind)
		pair[1].lane(ends[:n], gapM, kind)
		meet(pair)
		ends, kind = ends[n:], track.Searching
	}
	var out [2]Visit
	for i, w := range pair {
		w.goTo(grid.XY{X: s.Gate.X, Y: s.Gate.Y + float64(i)}, track.Walking)
		out[i] = Visit{Start: s.Start, True: w.true}
		out[i].Log = s.Receiver.Log(out[i], rand.New(rand.NewPCG(s.Seed, uint64(5+i))))
	}
	return out
}

// lane walks along ps, shifted north. The way to the first of them is of a kind.
func (w *walker) lane(ps []grid.XY, north float64, kind track.Kind) {
	for _, p := range ps {
		w.goTo(grid.XY{X: p.X, Y: p.Y + north}, kind)
		kind = track.Searching
	}
}

// meet lets the one who is ahead wait.
func meet(pair [2]*walker) {
	wait := len(pair[0].true) - len(pair[1].true)
	if wait < 0 {
		pair[0].stay(pair[0].pos, -wait)
	} else {
		pair[1].stay(pair[1].pos, wait)
	}
}
