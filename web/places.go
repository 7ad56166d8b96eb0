package web

import (
	"math"
	"net/http"
	"time"

	"untrod/grid"
	"untrod/report"
	"untrod/site"
	"untrod/site/book"
)

// PlaceDoc is a waypoint of a log.
type PlaceDoc struct {
	ID    int64            `json:"id"`
	Name  string           `json:"name"`
	Kind  string           `json:"kind"`
	Role  string           `json:"role"` // landmark, mark, find or nothing
	File  string           `json:"file"`
	Time  *time.Time       `json:"time"`
	Datum report.LonLatDoc `json:"datum"`
	At    [2]report.Number `json:"at"`
}

// roleWords are what the page calls the roles.
var roleWords = map[string]site.Role{
	"landmark": site.RoleLandmark, "mark": site.RoleMark, "find": site.RoleFind, "nothing": site.RoleNone,
}

func roleWord(r site.Role) string {
	for word, role := range roleWords {
		if role == r {
			return word
		}
	}
	return string(r)
}

func (s *server) places(w http.ResponseWriter, _ *http.Request) error {
	var all []book.Place
	if err := s.desk.look(func(b *book.Book) (err error) {
		all, err = b.Places()
		return err
	}); err != nil {
		return err
	}
	f, err := s.placesFrame(all)
	if err != nil {
		return err
	}
	out := []PlaceDoc{}
	for _, p := range all {
		at := f.ToXY(p.Pos)
		out = append(out, PlaceDoc{
			ID: p.ID, Name: p.Name, Kind: p.Kind, Role: roleWord(p.Role), File: p.File, Time: timeOf(p.T),
			Datum: datumDoc(f), At: [2]report.Number{millimetres(at.X), millimetres(at.Y)},
		})
	}
	return answer(w, out)
}

// placesFrame is that of the shown result or, where there is none, one around the
// places.
func (s *server) placesFrame(all []book.Place) (grid.Frame, error) {
	if now, err := s.desk.current(); err == nil {
		return now.result.Frame, nil
	}
	var at []grid.LonLat
	for _, p := range all {
		at = append(at, p.Pos)
	}
	if len(at) == 0 {
		return grid.Frame{}, nil
	}
	return grid.FrameAround(at)
}

func datumDoc(f grid.Frame) report.LonLatDoc {
	d := f.Datum()
	return report.LonLatDoc{Lon: report.Number(d.Lon), Lat: report.Number(d.Lat)}
}

// millimetres rounds metres for JSON: more is noise.
func millimetres(m float64) report.Number { return report.Number(math.Round(1000*m) / 1000) }

func (s *server) placeRole(w http.ResponseWriter, r *http.Request) error {
	var doc struct {
		ID   int64
		Role string
	}
	if err := readDoc(w, r, &doc); err != nil {
		return err
	}
	role, known := roleWords[doc.Role]
	if !known {
		return refuse(http.StatusBadRequest, "a place is a landmark, a mark, a find or nothing")
	}
	err := s.desk.edit("", func(b *book.Book) error {
		all, err := b.Places()
		if err != nil {
			return err
		}
		for _, p := range all {
			if p.ID != doc.ID {
				continue
			}
			if err := b.Begin("made " + p.Name + " a " + doc.Role); err != nil {
				return err
			}
			return b.Call(p.ID, role)
		}
		return refuse(http.StatusNotFound, "there is no such place any more")
	})
	if err != nil {
		return err
	}
	return s.state(w)
}
