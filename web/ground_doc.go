package web

import (
	"time"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
	"untrod/report"
	"untrod/site"
)

// siteDoc is a site in a frame's metres.
func siteDoc(f grid.Frame, of *site.Site) SiteDoc {
	d := SiteDoc{Datum: datumDoc(f), Name: of.Name, Boundary: areaDocs(f, of.Boundary), Keepouts: areaDocs(f, of.Keepouts),
		Landmarks: []LandmarkDoc{}, Slow: []SlowDoc{}, LaidOut: []LaidOutDoc{}}
	for _, l := range of.Landmarks {
		d.Landmarks = append(d.Landmarks, LandmarkDoc{l.Name, l.Kind, l.Mark, shapeWords[l.Shape], ringDoc(f, l.Points)})
	}
	for _, g := range of.Slow {
		d.Slow = append(d.Slow, SlowDoc{areaDoc(f, g.Area), g.Pace})
	}
	for _, g := range of.LaidOut {
		d.LaidOut = append(d.LaidOut, LaidOutDoc{areaDoc(f, g.Area), g.SpacingM, g.DirectionDeg, g.Session})
	}
	return d
}

// shapeWords are what documents call the shapes of landmarks.
var shapeWords = [...]string{site.PointShape: "point", site.LineShape: "line", site.AreaShape: "area"}

func areaDocs(f grid.Frame, all []site.Area) []AreaDoc {
	out := make([]AreaDoc, len(all))
	for i, a := range all {
		out[i] = areaDoc(f, a)
	}
	return out
}

func areaDoc(f grid.Frame, a site.Area) AreaDoc {
	d := AreaDoc{a.Name, PolygonDoc{Outer: ringDoc(f, a.Outer), Holes: [][]PointDoc{}}}
	for _, h := range a.Holes {
		d.Holes = append(d.Holes, ringDoc(f, h))
	}
	return d
}

func ringDoc(f grid.Frame, ps []grid.LonLat) []PointDoc {
	out := make([]PointDoc, len(ps))
	for i, p := range ps {
		out[i] = pointDoc(f.ToXY(p))
	}
	return out
}

func gapDoc(g coverage.Gap) GapDoc {
	d := GapDoc{
		ID: g.ID, InDoubt: g.InDoubt, AreaM2: millimetres(g.AreaM2), WidestM: millimetres(g.WidestM),
		ChanceSwept: report.Number(g.ChanceSwept), Centre: pointDoc(g.CentreXY), Outlines: []PolygonDoc{},
	}
	for _, p := range g.Outline {
		d.Outlines = append(d.Outlines, polygonDoc(p))
	}
	return d
}

func pointDoc(q grid.XY) PointDoc { return PointDoc{millimetres(q.X), millimetres(q.Y)} }

func lineDoc(qs []grid.XY) []PointDoc {
	out := make([]PointDoc, len(qs))
	for i, q := range qs {
		out[i] = pointDoc(q)
	}
	return out
}

func polygonDoc(p grid.Polygon) PolygonDoc {
	d := PolygonDoc{Outer: lineDoc(p.Outer), Holes: [][]PointDoc{}}
	for _, h := range p.Holes {
		d.Holes = append(d.Holes, lineDoc(h))
	}
	return d
}

// declination is what a compass shows at a place, and what to mind.
func declination(at grid.LonLat, now time.Time) (deg report.Number, warning string) {
	m, err := plan.Declination(at, 0, float64(now.Year())+float64(now.YearDay()-1)/365.25)
	switch {
	case err != nil:
		return 0, err.Error()
	case m.Blackout():
		warning = "so near a magnetic pole a compass is of no use"
	case m.Caution():
		warning = "so near a magnetic pole a compass may mislead: check it on a line whose bearing you know"
	case m.Expired:
		warning = "the magnetic model holds from 2025 to 2030 only: check the compass on a line whose bearing you know"
	}
	return millimetres(m.DeclinationDeg), warning
}
