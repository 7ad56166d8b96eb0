package web

import (
	"net/http"
	"slices"
	"strings"

	"untrod/grid"
	"untrod/site"
	"untrod/site/book"
)

// putSite answers PUT /api/site: the shapes replace those of the book.
func (s *server) putSite(w http.ResponseWriter, r *http.Request) error {
	var doc SiteDoc
	if err := readDoc(w, r, &doc); err != nil {
		return err
	}
	f, err := grid.NewFrame(grid.LonLat{Lon: float64(doc.Datum.Lon), Lat: float64(doc.Datum.Lat)})
	if err != nil {
		return refuse(http.StatusBadRequest, "the datum: "+err.Error())
	}
	var old *site.Site
	if err := s.desk.look(func(b *book.Book) error {
		old, _ = b.Site() // one that cannot be used is replaced like none
		return nil
	}); err != nil {
		return err
	}
	drawn, err := newDrawing(f, old).site(doc)
	if err != nil {
		return err
	}
	if what := changed(old, drawn); what != "" {
		if err := s.desk.edit(what, func(b *book.Book) error { return replaceSite(b, drawn) }); err != nil {
			return err
		}
	}
	return s.state(w)
}

// replaceSite writes a site. A waypoint of a log that stood for a landmark or mark the
// site does not have any more stands for nothing.
func replaceSite(b *book.Book, s *site.Site) error {
	places, err := b.Places()
	if err != nil {
		return err
	}
	for _, p := range places {
		stands := slices.ContainsFunc(s.Landmarks, func(l site.Landmark) bool {
			return l.Name == p.Name && l.Mark == (p.Role == site.RoleMark) && slices.Equal(l.Points, []grid.LonLat{p.Pos})
		})
		if !stands && (p.Role == site.RoleLandmark || p.Role == site.RoleMark) {
			if err := b.Call(p.ID, site.RoleNone); err != nil {
				return err
			}
		}
	}
	return b.SetSite(s)
}

// changed names what differs between two sites, for undo; "" when nothing does. The old
// one is nil when no outline was drawn before.
func changed(old, drawn *site.Site) string {
	if old == nil {
		return "drew the outline"
	}
	var what []string
	for _, part := range []struct {
		name string
		same bool
	}{
		{"the outline", slices.EqualFunc(old.Boundary, drawn.Boundary, sameArea)},
		{"the keep-outs", slices.EqualFunc(old.Keepouts, drawn.Keepouts, sameArea)},
		{"the landmarks", slices.EqualFunc(old.Landmarks, drawn.Landmarks, func(a, b site.Landmark) bool {
			return a.Name == b.Name && a.Kind == b.Kind && a.Mark == b.Mark && a.Shape == b.Shape && slices.Equal(a.Points, b.Points)
		})},
		{"the slow ground", slices.EqualFunc(old.Slow, drawn.Slow, func(a, b site.Slow) bool {
			return a.Pace == b.Pace && sameArea(a.Area, b.Area)
		})},
		{"the laid-out ground", slices.EqualFunc(old.LaidOut, drawn.LaidOut, func(a, b site.LaidOut) bool {
			return a.SpacingM == b.SpacingM && a.DirectionDeg == b.DirectionDeg && a.Session == b.Session && sameArea(a.Area, b.Area)
		})},
		{"the site's name", old.Name == drawn.Name},
	} {
		if !part.same {
			what = append(what, part.name)
		}
	}
	if len(what) == 0 {
		return ""
	}
	return "changed " + strings.Join(what, ", ")
}

func sameArea(a, b site.Area) bool {
	return a.Name == b.Name && slices.Equal(a.Outer, b.Outer) &&
		slices.EqualFunc(a.Holes, b.Holes, func(g, h []grid.LonLat) bool { return slices.Equal(g, h) })
}
