package track

// againS is how much of its time a track shares with the one before when it
// is another recording, and not one begun while the other was being closed.
const againS = 60

// Visits sorts the track segments of a log into visits, in the order of the file.
// A visit ends where over gapS seconds pass without a fix, between two segments or
// within one; there the segment is cut. It also ends before a track that begins
// over a minute before the end of what came before: one file may hold a recording
// twice, or those of two people. Other times that run back, and fixes without time,
// end no visit. A visit is what [NewWalk] takes; a log without fixes has none.
// Segments share memory with the log. O(fixes).
func Visits(l *Log, gapS float64) [][][]Fix {
	var visits [][][]Fix
	last := NoTime
	add := func(s []Fix, anew bool) {
		if len(s) == 0 {
			return
		}
		if anew || len(visits) == 0 {
			visits = append(visits, nil)
		}
		v := &visits[len(visits)-1]
		*v = append(*v, s)
	}
	for _, t := range l.Tracks {
		start := t.start()
		again := start.Known() && last.Known() && last.Sub(start) > againS
		for _, s := range t.Segments {
			from, anew := 0, again && len(s) > 0
			again = again && len(s) == 0
			if anew {
				last = NoTime
			}
			for i, f := range s {
				if !f.T.Known() {
					continue
				}
				if last.Known() && f.T.Sub(last) > gapS {
					add(s[from:i], anew)
					from, anew = i, true
				}
				last = f.T
			}
			add(s[from:], anew)
		}
	}
	return visits
}

// start is the first time in a track.
func (t Track) start() Instant {
	for _, s := range t.Segments {
		for _, f := range s {
			if f.T.Known() {
				return f.T
			}
		}
	}
	return NoTime
}
