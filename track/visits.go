package track

// Visits sorts the track segments of a log into visits, in the order of the file.
// A visit ends where over gapS seconds pass without a fix, between two segments or
// within one; there the segment is cut. Fixes without time, and times that run
// back, end no visit. A visit is what [NewWalk] takes; a log without fixes has
// none. Segments share memory with the log. O(fixes).
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
		for _, s := range t.Segments {
			from, anew := 0, false
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
