package track

// LegSettings are the thresholds of leg labelling.
//
// How a path is cut into legs, told for a walker: the pace is the distance made
// good over 5 seconds, so that a receiver's jitter does not count as walking,
// averaged over WindowS. Slower than StandMS is standing, faster than SearchMaxMS
// walking, between them searching. Stretches too short to be meant (MinSearchS,
// MinStandS, MinWalkS, in this order) become what their longer neighbour is. A
// step is lost when the receiver itself says its fix is poor (MaxHDOP, MaxAccM),
// when nobody could have walked it (JumpSpeedMS), or when the fixes hop to and
// fro without getting anywhere (MinHeadway), as those of a phone indoors do; and
// so is a short stretch of searching beside a lost one (MinCleanS).
//
// A receiver at rest drifts by 0.02 to 0.06 m/s in the open and 0.1 m/s under
// leaves, a phone at rest often repeats one position: both are standing. Speed
// cannot tell searching from a slow climb or from a stroll at searching pace.
type LegSettings struct {
	// StandMS, default 0.15 m/s, is the least pace of searching. Searchers move on
	// at 0.2 to 0.7 m/s; lower lets a drifting receiver at rest paint ground,
	// higher takes slow searching for standing.
	StandMS float64
	// SearchMaxMS, default 0.9 m/s, is the pace from which it is walking. Walkers do
	// 0.9 to 1.6 m/s. Raise it, say to 1.5, where ground was searched at walking
	// pace.
	SearchMaxMS float64
	// WindowS, default 15 s, is the time over which the pace is averaged: longer
	// is steadier and blurs the ends of short stops.
	WindowS float64
	// MinHeadway, default 0.6, is the least share of the metres of 5-second chords
	// that is made good over chords twice as long (at least one fix more at each
	// end), summed over HeadwayS. Walks stay above 0.75, lanes of 6 m logged every
	// 5 s come down to 0.65, independent errors give 0.33.
	MinHeadway float64
	// HeadwayS, default 120 s, is the time over which headway is summed.
	HeadwayS float64
	// MinSearchS, default 30 s, is the shortest searching leg: at rest, receivers
	// settle for up to 20 s and then hop now and then.
	MinSearchS float64
	// MinStandS, default 15 s, is the shortest standing leg; sharp turns look like
	// shorter stops.
	MinStandS float64
	// MinWalkS, default 10 s, is the shortest walking leg.
	MinWalkS float64
	// MinCleanS, default 120 s, is the shortest searching leg beside one that was
	// lost for 5 s or more.
	MinCleanS float64
	// MaxHDOP, default 20, and MaxAccM, default 50 m, are the poorest HDOP and
	// accuracy at which a fix is trusted. A missing value is trusted.
	MaxHDOP, MaxAccM float64
}

// DefaultSettings returns the defaults named at each field.
func DefaultSettings() Settings {
	return Settings{
		JumpSpeedMS: 3, SilenceS: 30, FarM: 25_000, TreatAs: Lost,
		Legs: LegSettings{
			StandMS: 0.15, SearchMaxMS: 0.9, WindowS: 15, MinHeadway: 0.6, HeadwayS: 120,
			MinSearchS: 30, MinStandS: 15, MinWalkS: 10, MinCleanS: 120, MaxHDOP: 20, MaxAccM: 50,
		},
	}
}

const leapS = 5 // s, from which a lost leg is more than a lone leap

// label cuts a path into legs. The first point of a path has the kind of the step
// that leaves it.
func label(p Path, set Settings) []Leg {
	kinds := make([]Kind, len(p.Points)) // all Lost
	lost := lostSteps(p, set)
	for i := 0; i < len(kinds); {
		end := i + 1 // of a run of trusted steps that leaves point i
		for end < len(kinds) && !lost(end) {
			end++
		}
		if p.Timed && end-i > 1 {
			pace(kinds[i+1:end], p.Points[i:end], set.Legs)
		}
		for j := i + 1; j < end && !p.Timed; j++ {
			kinds[j] = set.TreatAs
		}
		i = end
	}
	if len(kinds) > 1 {
		kinds[0] = kinds[1]
	}
	legs := legsOf(kinds)
	if !p.Timed {
		return legs
	}
	legs = absorb(legs, p.Points, Searching, set.Legs.MinSearchS)
	legs = absorb(legs, p.Points, Standing, set.Legs.MinStandS)
	legs = absorb(legs, p.Points, Walking, set.Legs.MinWalkS)
	return doubt(legs, p.Points, set.Legs.MinCleanS)
}

// lostSteps returns whether the step into point i is not to be trusted.
func lostSteps(p Path, set Settings) func(i int) bool {
	bad := func(q Point) bool { // false when missing
		return float64(q.HDOP) > set.Legs.MaxHDOP || float64(q.AccM) > set.Legs.MaxAccM
	}
	return func(i int) bool {
		if bad(p.Points[i]) {
			return true
		}
		return i > 0 && (bad(p.Points[i-1]) || p.Timed && tooFast(p.Points[i-1], p.Points[i], set.JumpSpeedMS))
	}
}

// legsOf joins points of one kind that follow one another.
func legsOf(kinds []Kind) []Leg {
	var legs []Leg
	for i, k := range kinds {
		if n := len(legs); n > 0 && legs[n-1].Kind == k {
			legs[n-1].To++
			continue
		}
		legs = append(legs, Leg{k, i, i + 1})
	}
	return legs
}

// absorb gives legs of kind k shorter than minS the kind of the longer of their
// neighbours that is not Lost, and joins what has become alike.
func absorb(legs []Leg, ps []Point, k Kind, minS float64) []Leg {
	kinds := make([]Kind, len(legs))
	for i, l := range legs {
		kinds[i] = l.Kind
		if l.Kind == k && seconds(l, ps) < minS {
			kinds[i] = longerNeighbour(legs, i, ps)
		}
	}
	return relabel(legs, kinds)
}

// relabel gives each leg its new kind and joins what has become alike.
func relabel(legs []Leg, kinds []Kind) []Leg {
	var out []Leg
	for i, l := range legs {
		l.Kind = kinds[i]
		if n := len(out); n > 0 && out[n-1].Kind == l.Kind {
			out[n-1].To = l.To
			continue
		}
		out = append(out, l)
	}
	return out
}

// doubt makes Lost the searching legs shorter than minS beside a Lost one of at
// least leapS: a lone leap does not throw doubt on what is round it.
func doubt(legs []Leg, ps []Point, minS float64) []Leg {
	lost := func(i int) bool {
		return i >= 0 && i < len(legs) && legs[i].Kind == Lost && seconds(legs[i], ps) >= leapS
	}
	kinds := make([]Kind, len(legs))
	for i, l := range legs {
		kinds[i] = l.Kind
		if l.Kind == Searching && seconds(l, ps) < minS && (lost(i-1) || lost(i+1)) {
			kinds[i] = Lost
		}
	}
	return relabel(legs, kinds)
}

// longerNeighbour is the kind of the longer of the legs beside legs[i]; where
// there is none but Lost ones, Lost.
func longerNeighbour(legs []Leg, i int, ps []Point) Kind {
	kind, best := Lost, -1.0
	for _, j := range [2]int{i - 1, i + 1} {
		if j < 0 || j >= len(legs) || legs[j].Kind == Lost {
			continue
		}
		if s := seconds(legs[j], ps); s > best {
			kind, best = legs[j].Kind, s
		}
	}
	return kind
}

// seconds is the time a leg took, the step into it included.
func seconds(l Leg, ps []Point) float64 { return ps[l.To-1].T.Sub(ps[max(l.From-1, 0)].T) }
