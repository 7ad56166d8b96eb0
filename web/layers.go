package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"untrod/report"
)

// LayerDoc is one entry of GET /api/layers. The layer swept has a picture for each
// number of visits: swept-0, swept-1 and so on; swept alone is all of them.
type LayerDoc struct {
	Name   string          `json:"name"`
	Title  string          `json:"title"`
	Legend []report.KeyRow `json:"legend"`
}

// swept is the layer that shows the ground visit by visit.
const swept = "swept"

// layers answers GET /api/layers.
func (s *server) layers(w http.ResponseWriter, _ *http.Request) error {
	now, err := s.desk.current()
	if err != nil {
		return err
	}
	docs := []LayerDoc{}
	for _, name := range append(slices.Clone(report.LayerNames), swept) {
		l, err := now.layer(name)
		if err != nil {
			return err
		}
		docs = append(docs, LayerDoc{l.Name, l.Title, l.Key})
	}
	return answer(w, docs)
}

// layer finds a layer by its name.
func (n *shown) layer(name string) (*report.Layer, error) {
	if visits, ok := sweptBy(name, len(n.result.Sessions)); ok {
		all, err := make1(&n.once, swept, func() (*report.Swept, error) { return report.NewSwept(n.result), nil })
		if err != nil {
			return nil, err
		}
		return all.Layer(visits), nil
	}
	if !slices.Contains(report.LayerNames, name) {
		return nil, refuse(http.StatusNotFound, "there is no such layer")
	}
	return make1(&n.once, "layer "+name, func() (*report.Layer, error) { return report.NewLayer(n.result, n.units, name), nil })
}

// sweptBy is how many of the visits a layer named swept or swept-N is of.
func sweptBy(name string, all int) (visits int, ok bool) {
	if name == swept {
		return all, true
	}
	number, is := strings.CutPrefix(name, swept+"-")
	visits, err := strconv.Atoi(number)
	return visits, is && err == nil && visits >= 0 && visits <= all
}
