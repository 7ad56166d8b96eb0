package track

func (g *gpxReader) endPoint(el element) {
	g.inPoint = false
	if el == elWaypoint {
		g.log.Waypoints = append(g.log.Waypoints, g.point)
		return
	}
	g.fixes.add(g.point.Fix)
}

// endSegment reports whether there were fixes to make a segment of.
func (g *gpxReader) endSegment() bool {
	fixes := g.fixes.take()
	if len(fixes) == 0 {
		return false
	}
	g.line.Segments = append(g.line.Segments, fixes)
	return true
}

func (g *gpxReader) endLine(to []Track, what string) []Track {
	line := g.line
	g.line = Track{}
	if len(line.Segments) == 0 {
		g.note(NoteEmpty, what+" without points")
		return to
	}
	return append(to, line)
}

// fixList gathers the fixes of a segment of unknown length in pieces, so that
// they are copied once, into a slice of just their length.
type fixList struct {
	full [][]Fix
	last []Fix
}

func (l *fixList) add(f Fix) {
	const piece = 4096
	if len(l.last) == cap(l.last) {
		if len(l.last) > 0 {
			l.full = append(l.full, l.last)
		}
		l.last = make([]Fix, 0, piece)
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
