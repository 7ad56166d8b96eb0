package web

import (
	"math"
	"net/http"
	"strconv"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"

	"untrod/grid"
	"untrod/report"
	"untrod/track"
)

// TracksDoc is the answer to GET /api/tracks: the walks, thinned for the screen.
type TracksDoc struct {
	Rev    int              `json:"rev"`
	Datum  report.LonLatDoc `json:"datum"`
	Visits []TrackDoc       `json:"visits"`
}

// TrackDoc is the walk of one visit.
type TrackDoc struct {
	N    int      `json:"n"`
	Name string   `json:"name"`
	File string   `json:"file"`
	Legs []LegDoc `json:"legs"`
}

// LegDoc is one leg of a walk; kind is searching, walking, standing or lost.
type LegDoc struct {
	Kind string   `json:"kind"`
	Line thinLine `json:"line"`
}

// thinLine is a line whose points JSON gives to the centimetre, [[x, y], ...].
type thinLine []grid.XY

// MarshalJSON implements json.Marshaler.
func (l thinLine) MarshalJSON() ([]byte, error) {
	b := append(make([]byte, 0, 2+16*len(l)), '[')
	for i, q := range l {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(strconv.AppendFloat(append(b, '['), centimetres(q.X), 'f', -1, 64), ',')
		b = append(strconv.AppendFloat(b, centimetres(q.Y), 'f', -1, 64), ']')
	}
	return append(b, ']'), nil
}

func centimetres(m float64) float64 { return math.Round(100*m)/100 + 0 } // no -0

// thinM is how far a thinned line may be from the walk, metres. It grows by half, at most
// to coarsestM, while more than maxTrackPoints are left.
const (
	thinM          = 0.15
	coarsestM      = 2.5
	maxTrackPoints = 180_000 // some 3 MB of JSON
)

func (s *server) tracks(w http.ResponseWriter, _ *http.Request) error {
	now, err := s.desk.current()
	if err != nil {
		return err
	}
	visits, err := now.thinned()
	if err != nil {
		return err
	}
	return answer(w, TracksDoc{now.rev, datumDoc(now.result.Frame), visits})
}

// thinned are the walks as lines of few points.
func (n *shown) thinned() ([]TrackDoc, error) {
	return make1(&n.once, "tracks", func() ([]TrackDoc, error) {
		for tolerance := thinM; ; tolerance *= 1.5 {
			out, points := make([]TrackDoc, len(n.walks)), 0
			for i, w := range n.walks {
				v := n.result.Sessions[i]
				out[i] = TrackDoc{i, v.Name, v.File, legDocs(w, tolerance)}
				for _, l := range out[i].Legs {
					points += len(l.Line)
				}
			}
			if points <= maxTrackPoints || tolerance >= coarsestM {
				return out, nil
			}
		}
	})
}

// legDocs are the legs of a walk, thinned by the method of Douglas and Peucker.
func legDocs(w track.Walk, toleranceM float64) []LegDoc {
	out, way := []LegDoc{}, simplify.DouglasPeucker(toleranceM)
	for _, p := range w.Paths {
		for _, l := range p.Legs {
			points := p.Line(l)
			line := make(orb.LineString, len(points))
			for i, q := range points {
				line[i] = orb.Point{q.X, q.Y}
			}
			line = way.LineString(line)
			thinner := make(thinLine, len(line))
			for i, q := range line {
				thinner[i] = grid.XY{X: q[0], Y: q[1]}
			}
			out = append(out, LegDoc{l.Kind.String(), thinner})
		}
	}
	return out
}
