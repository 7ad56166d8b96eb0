package web

import (
	"fmt"
	"math"
	"net/http"
	"slices"

	"untrod/grid"
	"untrod/report"
	"untrod/site"
)

// drawing makes a site of a document.
type drawing struct {
	frame grid.Frame
	known map[[2]int64]grid.LonLat // positions the book has, by their millimetres
}

// newDrawing knows the positions of the site there is, so that what was not moved keeps
// its degrees to the last digit.
func newDrawing(f grid.Frame, old *site.Site) drawing {
	d := drawing{f, map[[2]int64]grid.LonLat{}}
	if old == nil {
		return d
	}
	add := func(ps []grid.LonLat) {
		for _, p := range ps {
			d.known[wholeMM(pointDoc(f.ToXY(p)))] = p
		}
	}
	areas := slices.Concat(old.Boundary, old.Keepouts)
	for _, g := range old.Slow {
		areas = append(areas, g.Area)
	}
	for _, g := range old.LaidOut {
		areas = append(areas, g.Area)
	}
	for _, a := range areas {
		add(a.Outer)
		for _, h := range a.Holes {
			add(h)
		}
	}
	for _, l := range old.Landmarks {
		add(l.Points)
	}
	return d
}

func wholeMM(p PointDoc) [2]int64 {
	return [2]int64{int64(math.Round(1000 * float64(p[0]))), int64(math.Round(1000 * float64(p[1])))}
}

// maxReachM is how far from its datum a document may draw.
const maxReachM = 30_000

func (d drawing) points(what string, ps []PointDoc) ([]grid.LonLat, error) {
	out := make([]grid.LonLat, len(ps))
	for i, p := range ps {
		q := grid.XY{X: float64(p[0]), Y: float64(p[1])}
		if !(math.Hypot(q.X, q.Y) <= maxReachM) {
			return nil, unusable(what, fmt.Sprintf("reaches over %d km away", maxReachM/1000))
		}
		known, is := d.known[wholeMM(p)]
		if out[i] = known; !is {
			out[i] = d.frame.ToLonLat(q)
		}
	}
	return out, nil
}

// unusable is what is wrong with a shape.
func unusable(what, why string) error {
	return refuse(http.StatusUnprocessableEntity, what+" "+why)
}

// called is how messages name a shape.
func called(what, name string, i int) string {
	if name = report.Printable(name); name != "" {
		return fmt.Sprintf("%s %q", what, name)
	}
	return fmt.Sprintf("%s %d", what, i+1)
}

// site is the document as a valid site.
func (d drawing) site(doc SiteDoc) (*site.Site, error) {
	if len(doc.Boundary) == 0 {
		return nil, refuse(http.StatusUnprocessableEntity, "the site has no outline", "draw the edge of the ground first")
	}
	s := &site.Site{Name: doc.Name}
	var err error
	if s.Boundary, err = d.areas("the outline", doc.Boundary); err != nil {
		return nil, err
	}
	if s.Keepouts, err = d.areas("the keep-out", doc.Keepouts); err != nil {
		return nil, err
	}
	for i, g := range doc.Slow {
		a, err := d.area(called("the slow ground", g.Name, i), g.AreaDoc)
		if err != nil {
			return nil, err
		}
		s.Slow = append(s.Slow, site.Slow{Area: a, Pace: g.Pace})
	}
	for i, g := range doc.LaidOut {
		l, err := d.laidOut(called("the laid-out ground", g.Name, i), g)
		if err != nil {
			return nil, err
		}
		s.LaidOut = append(s.LaidOut, l)
	}
	for i, g := range doc.Landmarks {
		l, err := d.landmark(called("the landmark", g.Name, i), g)
		if err != nil {
			return nil, err
		}
		s.Landmarks = append(s.Landmarks, l)
	}
	return s, s.Validate()
}

func (d drawing) areas(what string, docs []AreaDoc) (out []site.Area, err error) {
	for i, doc := range docs {
		a, err := d.area(called(what, doc.Name, i), doc)
		if err != nil {
			return nil, err
		}
		out = append(out, a)
	}
	return out, nil
}

func (d drawing) area(what string, doc AreaDoc) (site.Area, error) {
	a := site.Area{Name: doc.Name}
	for i, ring := range append([][]PointDoc{doc.Outer}, doc.Holes...) {
		ps, err := d.points(what, ring)
		if err != nil {
			return a, err
		}
		ps = slices.Compact(ps) // two clicks on one spot
		for len(ps) > 1 && ps[0] == ps[len(ps)-1] {
			ps = ps[:len(ps)-1]
		}
		if len(ps) < 3 {
			return a, unusable(what, "needs three corners or more")
		}
		if i == 0 {
			a.Outer = ps
		} else {
			a.Holes = append(a.Holes, ps)
		}
	}
	return a, nil
}

// Limits of laid-out ground, as for a site file.
const minSpacingM, maxSpacingM, maxDirectionDeg = 0.1, 20, 180

func (d drawing) laidOut(what string, doc LaidOutDoc) (site.LaidOut, error) {
	a, err := d.area(what, doc.AreaDoc)
	switch {
	case err != nil:
		return site.LaidOut{}, err
	case !(doc.SpacingM >= minSpacingM && doc.SpacingM <= maxSpacingM):
		return site.LaidOut{}, unusable(what, fmt.Sprintf("needs lanes %g to %d m apart", minSpacingM, maxSpacingM))
	case !(doc.DirectionDeg >= 0 && doc.DirectionDeg <= maxDirectionDeg):
		return site.LaidOut{}, unusable(what, fmt.Sprintf("needs a direction of its lanes from 0 to %d degrees", maxDirectionDeg))
	}
	return site.LaidOut{Area: a, SpacingM: doc.SpacingM, DirectionDeg: doc.DirectionDeg, Session: doc.Session}, nil
}

func (d drawing) landmark(what string, doc LandmarkDoc) (site.Landmark, error) {
	l := site.Landmark{Name: doc.Name, Kind: doc.Kind, Mark: doc.Mark}
	shape := slices.Index(shapeWords[:], doc.Shape)
	if shape < 0 {
		return l, unusable(what, "is neither a point, a line nor an area")
	}
	l.Shape = site.Shape(shape)
	if l.Shape == site.AreaShape {
		a, err := d.area(what, AreaDoc{PolygonDoc: PolygonDoc{Outer: doc.Points}})
		l.Points = a.Outer
		return l, err
	}
	var err error
	if l.Points, err = d.points(what, doc.Points); err != nil {
		return l, err
	}
	switch {
	case l.Shape == site.PointShape && len(l.Points) != 1:
		return l, unusable(what, "is a point, and needs one place")
	case l.Shape == site.LineShape && len(l.Points) < 2:
		return l, unusable(what, "is a line, and needs two places or more")
	}
	return l, nil
}
