package track

func (g *gpxReader) endPoint(el element) {
	g.inPoint = false
	if el == elWaypoint {
		g.log.addWaypoint(g.point)
		return
	}
	g.fixes.add(g.point.Fix)
}

// endLine adds what was gathered in l.
func (r *fieldReader) endLine(l *lineList, to []Track, what string) []Track {
	line, any := l.takeLine()
	if !any {
		r.note(NoteEmpty, what+" without points")
		return to
	}
	return append(to, line)
}

// lineList gathers the segments of the open track or route.
type lineList struct {
	line  Track
	fixes fixList // of the open segment
}

// endSegment reports whether there were fixes to make a segment of.
func (l *lineList) endSegment() bool {
	fixes := l.fixes.take()
	if len(fixes) == 0 {
		return false
	}
	l.line.Segments = append(l.line.Segments, fixes)
	return true
}

// takeLine returns the line gathered, and whether it has segments, and begins anew.
func (l *lineList) takeLine() (Track, bool) {
	l.endSegment()
	line := l.line
	l.line = Track{}
	return line, len(line.Segments) > 0
}

// fixList gathers the fixes of a segment of unknown length in pieces, so that
// they are copied once, into a slice of just their length.
type fixList struct {
	full [][]Fix
	last []Fix
}

const pieceFixes = 4096

// add takes in a fix. The first piece grows to its length, since many a segment is
// short; those after it are made whole.
func (l *fixList) add(f Fix) {
	if len(l.last) == pieceFixes {
		l.full = append(l.full, l.last)
		l.last = make([]Fix, 0, pieceFixes)
	}
	l.last = append(l.last, f)
}

// take returns the fixes gathered and empties the list.
func (l *fixList) take() []Fix {
	n := len(l.last)
	for _, piece := range l.full {
		n += len(piece)
	}
	if n == 0 {
		return nil
	}
	all := make([]Fix, 0, n)
	for _, piece := range l.full {
		all = append(all, piece...)
	}
	all = append(all, l.last...)
	l.full, l.last = nil, l.last[:0]
	return all
}

// len is the number of fixes gathered.
func (l *fixList) len() int { return len(l.full)*pieceFixes + len(l.last) }

// at is the i-th fix gathered, for i below len.
func (l *fixList) at(i int) *Fix {
	if n := i / pieceFixes; n < len(l.full) {
		return &l.full[n][i%pieceFixes]
	}
	return &l.last[i%pieceFixes]
}
