package coverage

import (
	"math"

	"untrod/track"
)

// Thoroughness is how well the coil itself passed over the ground inside the
// swath: it draws a zigzag, and above a certain pace misses strips.
type Thoroughness struct {
	FastestMS      float64 // the fastest pace that leaves nothing between the turns of the swing
	MedianMS       float64 // median pace of searching, by time
	HurriedPercent float64 // share of the searching time that was faster
	MeanPercent    float64 // share of the ground in the swath that the coil passed over in one pass, mean by time
	GroundPercent  float64 // share of the searchable ground that the coil itself passed over, as logged
	Coil           Coil
	DepthM         float64
	Counted        bool // the chance and the figures made of it count what the coil passed over, not the swath
}

// paceOverS is the time over which pace is taken, so that a receiver's noise is
// not taken for haste.
const paceOverS = 10

// thoroughness is nil unless coil and swing are known.
func (r *Result) thoroughness(visits []visit) *Thoroughness {
	s := r.Settings
	if s.CoilM == 0 || s.SwingM == 0 {
		return nil
	}
	t := &Thoroughness{Coil: s.coil(), DepthM: s.DepthM, Counted: s.swings() && r.Certainty != nil}
	t.FastestMS = t.Coil.FastestPace(s.DepthM)
	ps := pacesOf(visits)
	all, fast, share := 0.0, 0.0, 0.0
	for i, sec := range ps {
		all += sec
		if sec > 0 {
			share += sec * t.Coil.MeanShare(paceAt(i), s.DepthM)
		}
		if paceAt(i) > t.FastestMS {
			fast += sec
		}
	}
	if all == 0 {
		return nil
	}
	t.HurriedPercent, t.MeanPercent = 100*fast/all, 100*share/all
	for _, p := range r.Passes { // each pass misses other strips
		t.GroundPercent += p.Percent * Repeated(t.MeanPercent/100, p.Passes)
	}
	t.MedianMS = ps.median()
	return t
}

// paces are the seconds of searching at each pace, in steps of 0.02 m/s up to 3.
type paces [151]float64

func paceAt(step int) float64 { return (float64(step) + 0.5) * 0.02 }

func pacesOf(visits []visit) *paces {
	p := &paces{}
	for _, v := range visits {
		eachPace(v.walk, func(pace, s float64) { p[min(int(pace/0.02), len(p)-1)] += s })
	}
	return p
}

// unknownPaceMS is the pace of searching without times, as the draws take it.
const unknownPaceMS = 0.4

// median is by time.
func (p *paces) median() float64 {
	all, half := 0.0, 0.0
	for _, sec := range p {
		all += sec
	}
	for i, sec := range p {
		if half += sec; sec > 0 && half >= all/2 {
			return paceAt(i)
		}
	}
	return unknownPaceMS
}

// eachPace calls f with the pace over each stretch of paceOverS of searching,
// and its seconds.
func eachPace(w track.Walk, f func(paceMS, seconds float64)) {
	for _, p := range w.Paths {
		if !p.Timed {
			continue
		}
		for _, l := range p.Legs {
			if l.Kind != track.Searching {
				continue
			}
			line := p.Line(l)
			for i := 0; i < len(line)-1; {
				j := i + 1
				for j < len(line)-1 && line[j].T.Sub(line[i].T) < paceOverS {
					j++
				}
				if s := line[j].T.Sub(line[i].T); s > 0 {
					f(math.Max(0, lineLength(line[i:j+1])/s), s)
				}
				i = j
			}
		}
	}
}
