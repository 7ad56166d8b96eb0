package web

import (
	"cmp"
	"slices"

	"untrod/grid"
	"untrod/track"
)

// piece is a stretch of a searching leg with the box about it.
type piece struct {
	visit  int
	points []track.Point
	box    grid.Bounds
}

// piecePoints are so few that a piece is small, and so many that pieces are few.
const piecePoints = 64

// pieces are the searching legs of all visits, cut up.
func (n *shown) pieces() ([]piece, error) {
	return make1(&n.once, "pieces", func() ([]piece, error) {
		var out []piece
		for i, w := range n.walks {
			for _, p := range w.Paths {
				for _, l := range p.Legs {
					if l.Kind == track.Searching {
						out = appendPieces(out, i, p.Line(l))
					}
				}
			}
		}
		return out, nil
	})
}

// appendPieces cuts up a line; pieces share their ends.
func appendPieces(out []piece, visit int, line []track.Point) []piece {
	for from := 0; from == 0 || from+1 < len(line); from += piecePoints - 1 {
		p := piece{visit, line[from:min(from+piecePoints, len(line))], grid.EmptyBounds()}
		for _, q := range p.points {
			p.box = p.box.Add(q.XY)
		}
		out = append(out, p)
	}
	return out
}

// hit is where a visit came nearest: on the way from one point to the next, or at both
// where they are one.
type hit struct {
	visit     int
	from, to  track.Point
	distanceM float64
	q         grid.XY
}

// hits are the visits that came within reachM of q, in order of time.
func hits(pieces []piece, q grid.XY, reachM float64) []hit {
	best := map[int]hit{}
	for _, p := range pieces {
		b := p.box.Pad(reachM)
		if q.X < b.Min.X || q.X > b.Max.X || q.Y < b.Min.Y || q.Y > b.Max.Y {
			continue
		}
		for i := range p.points {
			from, to := p.points[max(i-1, 0)], p.points[i]
			d := q.FromSegment(from.XY, to.XY)
			if h, is := best[p.visit]; d <= reachM && (!is || d < h.distanceM) {
				best[p.visit] = hit{p.visit, from, to, d, q}
			}
		}
	}
	var out []hit
	for _, h := range best {
		out = append(out, h)
	}
	slices.SortFunc(out, func(a, b hit) int { return cmp.Compare(a.visit, b.visit) })
	return out
}

// at is when the visit was nearest, by an even pace from point to point.
func (h hit) at() track.Instant {
	a, b := h.from, h.to
	if !a.T.Known() || !b.T.Known() {
		return track.NoTime
	}
	dx, dy := b.X-a.X, b.Y-a.Y
	square := dx*dx + dy*dy
	if square == 0 {
		return a.T
	}
	along := min(1, max(0, ((h.q.X-a.X)*dx+(h.q.Y-a.Y)*dy)/square))
	return a.T + track.Instant(along*float64(b.T-a.T))
}
