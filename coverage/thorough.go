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
	t := &Thoroughness{Coil: Coil{SizeM: s.CoilM, SwingM: s.SwingM, SweepS: s.SweepS, Shape: s.CoilShape}, DepthM: s.DepthM}
	t.FastestMS = t.Coil.FastestPace(s.DepthM)
	const step, steps = 0.02, 150 // paces up to 3 m/s
	seconds := make([]float64, steps+1)
	for _, v := range visits {
		eachPace(v.walk, func(pace, s float64) { seconds[min(int(pace/step), steps)] += s })
	}
	all, fast, share := 0.0, 0.0, 0.0
	for i, sec := range seconds {
		pace := (float64(i) + 0.5) * step
		all += sec
		if sec > 0 {
			share += sec * t.Coil.MeanShare(pace, s.DepthM)
		}
		if pace > t.FastestMS {
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
	half := 0.0
	for i, sec := range seconds {
		if half += sec; half >= all/2 {
			t.MedianMS = (float64(i) + 0.5) * step
			break
		}
	}
	return t
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
