package web

import (
	"net/http"

	"untrod/grid"
	"untrod/report"
	"untrod/site"
	"untrod/site/book"
)

// PointDoc is a place in metres east and north of a document's datum.
type PointDoc [2]report.Number

// PolygonDoc is an outline less its holes. Rings do not repeat their first point.
type PolygonDoc struct {
	Outer []PointDoc   `json:"outer"`
	Holes [][]PointDoc `json:"holes"`
}

// AreaDoc is a named polygon.
type AreaDoc struct {
	Name string `json:"name"`
	PolygonDoc
}

// LandmarkDoc is a landmark or mark; shape is point, line or area.
type LandmarkDoc struct {
	Name   string     `json:"name"`
	Kind   string     `json:"kind"`
	Mark   bool       `json:"mark"`
	Shape  string     `json:"shape"`
	Points []PointDoc `json:"points"`
}

// SlowDoc is slow ground; pace is a share of the usual one.
type SlowDoc struct {
	AreaDoc
	Pace float64 `json:"pace"`
}

// LaidOutDoc is ground declared as walked in lanes.
type LaidOutDoc struct {
	AreaDoc
	SpacingM     float64 `json:"spacing_m"`
	DirectionDeg float64 `json:"direction_deg"`
	Session      string  `json:"session"`
}

// SiteDoc are the shapes a person can draw.
type SiteDoc struct {
	Datum     report.LonLatDoc `json:"datum"`
	Name      string           `json:"name"`
	Boundary  []AreaDoc        `json:"boundary"`
	Keepouts  []AreaDoc        `json:"keepouts"`
	Landmarks []LandmarkDoc    `json:"landmarks"`
	Slow      []SlowDoc        `json:"slow"`
	LaidOut   []LaidOutDoc     `json:"laid_out"`
}

// GroundDoc is the answer to GET /api/ground: the site as the book has it now, and the
// gaps of the shown result. Rev is 0 when there is none: then the datum is the site's
// middle.
type GroundDoc struct {
	Rev        int              `json:"rev"`
	Bounds     [4]report.Number `json:"bounds"` // west, south, east, north of the boundary
	OwnOutline bool             `json:"own_outline"`
	SiteDoc
	Gaps               []GapDoc      `json:"gaps"`
	DeclinationDeg     report.Number `json:"declination_deg"`
	DeclinationWarning string        `json:"declination_warning"`
}

// GapDoc is one gap.
type GapDoc struct {
	ID          int           `json:"id"`
	InDoubt     bool          `json:"in_doubt"`
	AreaM2      report.Number `json:"area_m2"`
	WidestM     report.Number `json:"widest_m"`
	ChanceSwept report.Number `json:"chance_swept"`
	Centre      PointDoc      `json:"centre"`
	Outlines    []PolygonDoc  `json:"outlines"`
}

// groundRoutes are the questions on what the map shows, but its pictures.
func (s *server) groundRoutes(m *http.ServeMux) {
	m.Handle("GET /api/ground", asking(s.ground))
	m.Handle("PUT /api/site", asking(s.putSite))
	m.Handle("GET /api/outline", asking(s.outline))
	m.Handle("GET /api/spot", asking(s.spot))
	m.Handle("GET /api/timeline", asking(s.timeline))
	m.Handle("GET /api/tracks", asking(s.tracks))
}

// ground answers GET /api/ground. The shapes are those of the book, even where nothing
// could be worked out with them: else nobody could put them right.
func (s *server) ground(w http.ResponseWriter, _ *http.Request) error {
	now, _ := s.desk.current()
	var drawn *site.Site
	err := s.desk.look(func(b *book.Book) (err error) {
		drawn, err = b.Site()
		return err
	})
	switch {
	case now == nil && err != nil:
		return err
	case now == nil && drawn == nil:
		return answer(w, nil) // a new book; what went wrong, if anything did, the state says
	case now == nil:
		f, err := drawn.Frame()
		if err != nil {
			return err
		}
		return answer(w, s.groundDoc(f, drawn))
	}
	r := now.result
	if drawn == nil { // no outline, or a book that cannot be read just now
		drawn = &r.Site
	}
	doc := s.groundDoc(r.Frame, drawn)
	doc.Rev, doc.OwnOutline = now.rev, r.OwnOutline && drawn == &r.Site
	for _, g := range r.Gaps {
		doc.Gaps = append(doc.Gaps, gapDoc(g))
	}
	return answer(w, doc)
}

func (s *server) groundDoc(f grid.Frame, drawn *site.Site) GroundDoc {
	b := grid.EmptyBounds()
	for _, a := range drawn.Boundary {
		for _, p := range a.Outer {
			b = b.Add(f.ToXY(p))
		}
	}
	doc := GroundDoc{
		Bounds:  [4]report.Number{millimetres(b.Min.X), millimetres(b.Min.Y), millimetres(b.Max.X), millimetres(b.Max.Y)},
		SiteDoc: siteDoc(f, drawn), Gaps: []GapDoc{},
	}
	doc.DeclinationDeg, doc.DeclinationWarning = declination(f.Datum(), s.cfg.Now())
	return doc
}
