package track

import (
	"encoding/json"
	"fmt"
	"strings"
)

// featureRead is what has been read of a feature.
type featureRead struct {
	mark   Waypoint // of which the place does not count
	points []Fix
	lines  [][]Fix
	times  [][]Instant // of the lines
}

// feature reads a feature, collection or geometry whose brace was read.
func (g *geoReader) feature() error {
	f := featureRead{mark: Waypoint{Fix: NoFix}}
	err := g.object(&f)
	g.keep(&f, err != nil)
	return err
}

// object reads into f a feature, collection or geometry whose brace was read.
func (g *geoReader) object(f *featureRead) error {
	var s shapeRead
	kind := ""
	err := g.members(func(key string) (err error) {
		switch key {
		case "type":
			kind, err = g.kind()
		case "features":
			g.known = true
			return g.objects("features", g.feature)
		case "geometries":
			return g.objects("geometries", func() error { return g.object(f) })
		case "geometry":
			g.known = true
			if is, err := g.begins('{', "a geometry"); !is {
				return err
			}
			return g.object(f)
		case "coordinates":
			g.known = true
			s = shapeRead{}
			return g.coordinates(&s)
		case "properties":
			return g.properties(f)
		default:
			return g.skipNext()
		}
		return err
	})
	g.use(f, &s, kind, err != nil)
	return err
}

// kind reads the value of a "type".
func (g *geoReader) kind() (string, error) {
	tok, err := g.token()
	if err != nil {
		return "", err
	}
	kind, _ := tok.(string)
	switch kind {
	case "FeatureCollection", "Feature", "GeometryCollection", "Point", "MultiPoint",
		"LineString", "MultiLineString", "Polygon", "MultiPolygon":
		g.known = true
	}
	return kind, g.skip(tok)
}

// objects calls read for each object in an array, after its brace.
func (g *geoReader) objects(what string, read func() error) error {
	if is, err := g.begins('[', what); !is {
		return err
	}
	for g.d.More() {
		is, err := g.begins('{', "one of "+what)
		if is {
			err = read()
		}
		if err != nil {
			return err
		}
	}
	_, err := g.token()
	return err
}

// shapeDepths are how deep the numbers lie in what is read.
var shapeDepths = map[string]int{"Point": 1, "MultiPoint": 2, "LineString": 2, "MultiLineString": 3}

// use adds coordinates to a feature as what their geometry's type says. Where that is
// missing, or is beyond the place at which the file is cut short, a list of positions
// is taken for a line.
func (g *geoReader) use(f *featureRead, s *shapeRead, kind string, cut bool) {
	s.endLine()
	if kind == "" && s.depth == 2 {
		kind = "LineString"
		if !cut {
			g.note(NoteBadField, "a geometry without a type, taken for a line")
		}
	}
	depth := shapeDepths[kind]
	switch {
	case depth == 0: // none, or polygons
	case depth == s.depth && depth > 1 && kind != "MultiPoint":
		f.lines = append(f.lines, s.lines...)
	case depth == s.depth:
		f.points = append(f.points, s.lines[0]...)
	case cut:
	case s.depth == 0:
		g.note(NoteEmpty, kind+" without coordinates")
	default:
		g.note(NoteBadField, fmt.Sprintf("coordinates nested %d deep in a %s", s.depth, kind))
	}
}

// keep adds a feature to the log.
func (g *geoReader) keep(f *featureRead, cut bool) {
	g.pair(f, cut)
	for _, p := range f.points {
		w := f.mark
		if w.Pos = p.Pos; p.EleM == p.EleM {
			w.EleM = p.EleM
		}
		if p.T.Known() {
			w.T = p.T
		}
		g.log.addWaypoint(w)
	}
	if len(f.lines) > 0 {
		g.log.Tracks = append(g.log.Tracks, Track{Name: f.mark.Name, Segments: f.lines})
	}
}

// properties reads those of a feature.
func (g *geoReader) properties(f *featureRead) error {
	if is, err := g.begins('{', "properties"); !is {
		return err
	}
	return g.members(func(key string) error {
		switch key = propertyKey(key); key {
		case "coordtimes", "times":
			return g.times(f)
		case "coordinateproperties":
			if is, err := g.begins('{', "coordinateProperties"); !is {
				return err
			}
			return g.members(func(key string) error {
				if key == "times" {
					return g.times(f)
				}
				return g.skipNext()
			})
		}
		return g.property(f, key)
	})
}

// propertyKey is a name in small letters, without what parts its words.
func propertyKey(name string) string {
	return strings.NewReplacer("-", "", "_", "", " ", "").Replace(strings.ToLower(name))
}

// property reads a single value.
func (g *geoReader) property(f *featureRead, key string) error {
	tok, err := g.token()
	if err != nil {
		return err
	}
	text := ""
	switch v := tok.(type) {
	case string:
		text = strings.TrimSpace(v)
	case json.Number:
		text = v.String()
	case json.Delim:
		return g.skip(tok)
	}
	switch key {
	case "name":
		f.mark.Name = text
	case "title":
		if f.mark.Name == "" {
			f.mark.Name = text
		}
	case "description", "desc":
		f.mark.Desc = text
	case "sym", "markersymbol":
		f.mark.Sym = text
	case "type":
		f.mark.Type = text
	case "time", "timestamp", "datetime":
		f.mark.T = g.time([]byte(text))
	case "ele", "elevation", "altitude", "alt":
		g.set(&f.mark.Fix, elEle, []byte(text))
	default:
		g.set(&f.mark.Fix, measureNamed([]byte(key)), []byte(text))
	}
	return nil
}
