package report

import (
	"math"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
)

// nearM is how far round a landmark a statement looks, in metres.
const nearM = 10

// NearDoc is the searchable ground within 10 m of a landmark. The shares are null
// where there is none, and those of chance with perfect positions.
type NearDoc struct {
	Landmark           string `json:"landmark"`
	SearchableM2       Number `json:"searchable_m2"`
	AsLoggedPercent    Number `json:"as_logged_percent"`
	MeanChancePercent  Number `json:"mean_chance_percent"`
	SurelySweptPercent Number `json:"surely_swept_percent"`
	UntroddenPercent   Number `json:"untrodden_percent"`
}

// nearLandmarks looks at each landmark in the order of the site. A cell is as far off
// as its centre; ground inside a landmark that is an area is 0 m off.
func nearLandmarks(r *coverage.Result) []NearDoc {
	out := []NearDoc{}
	for _, l := range r.Local.Landmarks {
		out = append(out, near(r, l))
	}
	return out
}

func near(r *coverage.Result, l site.LocalLandmark) NearDoc {
	m := groundNear(r.Searchable, l)
	n := m.Count()
	d := NearDoc{l.Name, round2(m.AreaM2()), unknown, unknown, unknown, unknown}
	if n == 0 {
		return d
	}
	d.AsLoggedPercent = round3(100 * float64(m.CountAnd(r.Swept)) / float64(n))
	if r.Certainty == nil {
		return d
	}
	sum, sure, bare := 0.0, 0, 0
	m.Cells(func(c grid.Cell) {
		v := r.Certainty.ChanceAt(r.Spec.Centre(c))
		sum += v
		switch stateOf(v) {
		case surely:
			sure++
		case untrodden:
			bare++
		}
	})
	d.MeanChancePercent = round3(100 * sum / float64(n))
	d.SurelySweptPercent, d.UntroddenPercent = round3(100*float64(sure)/float64(n)), round3(100*float64(bare)/float64(n))
	return d
}

// groundNear are the cells of in that lie less than nearM from a landmark.
func groundNear(in *grid.Mask, l site.LocalLandmark) *grid.Mask {
	m := grid.NewMask(in.Spec())
	if len(l.XY) == 0 {
		return m
	}
	if l.Shape == site.AreaShape {
		m.FillPolygon(grid.Polygon{Outer: l.XY})
		m.And(in)
		markEdge(m, in, l.XY[len(l.XY)-1], l.XY[0])
	}
	markNear(m, in, l.XY[0], l.XY[0])
	for i := 1; i < len(l.XY); i++ {
		markEdge(m, in, l.XY[i-1], l.XY[i])
	}
	return m
}

// markEdge takes a long edge in pieces, whose boxes are small however it runs.
func markEdge(m, in *grid.Mask, a, b grid.XY) {
	n := max(1, math.Ceil(math.Hypot(b.X-a.X, b.Y-a.Y)/(2*nearM)))
	at := func(i float64) grid.XY {
		return grid.XY{X: a.X + float64((b.X-a.X)*i/n), Y: a.Y + float64((b.Y-a.Y)*i/n)}
	}
	for i := 0.0; i < n; i++ {
		markNear(m, in, at(i), at(i+1))
	}
}

// markNear sets the cells of in less than nearM from the edge between a and b.
func markNear(m, in *grid.Mask, a, b grid.XY) {
	s := in.Spec()
	box := grid.EmptyBounds().Add(a).Add(b).Pad(nearM)
	lo, _ := s.CellAt(box.Min)
	hi, _ := s.CellAt(box.Max)
	for row := max(lo.Row, 0); row <= min(hi.Row, s.Rows-1); row++ {
		for col := max(lo.Col, 0); col <= min(hi.Col, s.Cols-1); col++ {
			c := grid.Cell{Col: col, Row: row}
			if in.Has(c) && !m.Has(c) && offEdge(s.Centre(c), a, b) < nearM {
				m.Set(c)
			}
		}
	}
}

// offEdge is the distance of q from the edge between a and b.
func offEdge(q, a, b grid.XY) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	along := 0.0
	if square := float64(dx*dx) + float64(dy*dy); square > 0 {
		along = min(1, max(0, (float64((q.X-a.X)*dx)+float64((q.Y-a.Y)*dy))/square))
	}
	return math.Hypot(q.X-a.X-float64(along*dx), q.Y-a.Y-float64(along*dy))
}
