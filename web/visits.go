package web

import (
	"net/http"
	"strconv"
	"strings"
	"time"

	"untrod/coverage"
	"untrod/report"
	"untrod/site/book"
	"untrod/track"
)

// VisitDoc is one visit of the book, with what the shown result found of it.
type VisitDoc struct {
	ID              int64          `json:"id"`
	N               int            `json:"n"` // its place in the result, -1 when it is not in it
	Name            string         `json:"name"`
	File            string         `json:"file"`
	Walker          string         `json:"walker"`
	Format          string         `json:"format"`
	Start           *time.Time     `json:"start"`
	End             *time.Time     `json:"end"`
	Fixes           int            `json:"fixes"`
	LeftOut         bool           `json:"left_out"`
	LaidOut         bool           `json:"laid_out"`
	Lanes           int            `json:"lanes"`
	LaneSpacingM    *report.Number `json:"lane_spacing_m"`
	SearchingS      report.Number  `json:"searching_s"`
	WalkingS        report.Number  `json:"walking_s"`
	StandingS       report.Number  `json:"standing_s"`
	LostS           report.Number  `json:"lost_s"`
	NewGroundM2     report.Number  `json:"new_ground_m2"`
	RewalkedPercent report.Number  `json:"rewalked_percent"`
	Ties            int            `json:"ties"`
	TieM            report.Number  `json:"tie_m"`
	CopyOf          string         `json:"copy_of"`
}

func (s *server) visitRoutes(m *http.ServeMux) {
	m.Handle("POST /api/logs", asking(s.logs))
	m.Handle("POST /api/site/file", asking(s.siteFile))
	m.Handle("GET /api/visits", asking(s.visits))
	m.Handle("POST /api/visits/left-out", s.listVisit("without"))
	m.Handle("POST /api/visits/laid-out", s.listVisit("laid-out"))
	m.Handle("POST /api/visits/drop", asking(s.dropVisit))
	m.Handle("GET /api/places", asking(s.places))
	m.Handle("POST /api/places/role", asking(s.placeRole))
	m.Handle("GET /api/settings", asking(s.settings))
	m.Handle("PUT /api/settings", asking(s.putSettings))
	m.Handle("GET /api/coverage", asking(s.coverage))
	m.Handle("GET /api/notes", asking(s.notes))
	m.Handle("GET /api/cautions", asking(s.cautions))
}

// visitBook is what the book says of its visits.
type visitBook struct {
	visits []book.Session
	says   map[string]string
}

func readVisits(b *book.Book) (v visitBook, err error) {
	if v.visits, err = b.Sessions(); err == nil {
		v.says, err = b.Settings()
	}
	return v, err
}

// named are the names the settings can tell the visits by.
func (v visitBook) named() []coverage.VisitName {
	out := make([]coverage.VisitName, len(v.visits))
	for i, s := range v.visits {
		out[i] = coverage.VisitName{Name: s.Name, File: s.File}
	}
	return out
}

// listed marks the visits that a setting lists.
func (v visitBook) listed(setting string) []bool {
	in, _ := coverage.LeftOut(v.named(), words(v.says[setting]))
	return in
}

// words are the entries of a setting that is a list.
func words(text string) []string {
	if text == "" {
		return nil
	}
	return strings.Split(text, "\n")
}

func (s *server) visits(w http.ResponseWriter, _ *http.Request) error {
	var v visitBook
	if err := s.desk.look(func(b *book.Book) (err error) {
		v, err = readVisits(b)
		return err
	}); err != nil {
		return err
	}
	var r *coverage.Result
	if now, err := s.desk.current(); err == nil {
		r = now.result
	}
	out := []VisitDoc{}
	leftOut, laidOut := v.listed("without"), v.listed("laid-out")
	for i, visit := range v.visits {
		doc := visitDoc(visit)
		doc.LeftOut, doc.LaidOut = leftOut[i], laidOut[i]
		if r != nil {
			doc.addFound(r, visit)
		}
		out = append(out, doc)
	}
	return answer(w, out)
}

func visitDoc(v book.Session) VisitDoc {
	return VisitDoc{
		ID: v.ID, N: -1, Name: v.Name, File: v.File, Walker: v.Walker, Format: v.Format,
		Start: timeOf(v.Start), End: timeOf(v.End), Fixes: v.Fixes,
	}
}

// addFound adds what a result found of a visit.
func (d *VisitDoc) addFound(r *coverage.Result, v book.Session) {
	for _, c := range r.Copies {
		if c.File == v.File && c.Name == v.Name {
			d.CopyOf = c.Of
		}
	}
	d.N = sessionOf(r.Sessions, nil, logged{v.SHA256, v.Fixes, v.Start, v.End})
	if d.N < 0 {
		return
	}
	s := r.Sessions[d.N]
	d.SearchingS, d.WalkingS = report.Number(s.Seconds[track.Searching]), report.Number(s.Seconds[track.Walking])
	d.StandingS, d.LostS = report.Number(s.Seconds[track.Standing]), report.Number(s.Seconds[track.Lost])
	d.NewGroundM2, d.RewalkedPercent = report.Number(s.NewGroundM2), report.Number(s.RewalkedPercent)
	d.Ties, d.TieM = s.Ties, report.Number(s.TieM)
	for _, l := range r.Lanes {
		if l.Session == s.Name {
			spacing := report.Number(l.Block.SpacingM)
			d.Lanes += l.Block.Lanes
			d.LaneSpacingM = &spacing
		}
	}
}

// timeOf is a moment for JSON, nil when it is not known.
func timeOf(t track.Instant) *time.Time {
	if !t.Known() {
		return nil
	}
	at := t.Time().UTC()
	return &at
}

func (s *server) dropVisit(w http.ResponseWriter, r *http.Request) error {
	var doc struct{ ID int64 }
	if err := readDoc(w, r, &doc); err != nil {
		return err
	}
	err := s.desk.change(func(path string) error {
		_, err := s.run(r.Context(), "drop", "--", path, strconv.FormatInt(doc.ID, 10))
		return err
	})
	if err != nil {
		return err
	}
	return s.state(w)
}
