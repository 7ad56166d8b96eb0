package site

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"untrod/grid"
)

// object is any GeoJSON object: RFC 7946 section 3, and the "crs" of the 2008
// specification. It is read here and not with orb/geojson, which takes a null
// or missing coordinate for 0.
type object struct {
	Type        string
	Name        any
	CRS         json.RawMessage
	Features    []*object
	Geometry    *object
	Properties  map[string]any
	Coordinates json.RawMessage
	Geometries  []*object
}

func (s *Site) readGeoJSON(text []byte, name string) error {
	var o object
	if err := json.Unmarshal(text, &o); err != nil {
		return jsonError(name, text, err)
	}
	src := source{place: name}
	if err := o.checkCRS(src); err != nil {
		return err
	}
	switch o.Type {
	case "FeatureCollection":
		s.Name = plain(o.Name)
		return s.addFeatures(src, o.Features)
	case "Feature":
		src.place += ": feature"
		return s.addFeature(src, &o)
	}
	return s.addGeometry(src, &o)
}

func (s *Site) addFeatures(src source, features []*object) error {
	if len(features) == 0 {
		return src.errorf("collection without features")
	}
	for i, f := range features {
		at := source{place: fmt.Sprintf("%s: feature %d", src.place, i+1)}
		if f == nil || f.Type != "Feature" {
			return at.errorf("not of type Feature")
		}
		if err := s.addFeature(at, f); err != nil {
			return err
		}
	}
	return nil
}

func (s *Site) addFeature(src source, f *object) error {
	src.name, src.kind = property(f.Properties, "name"), property(f.Properties, "kind")
	src.property = func(key string) string { return property(f.Properties, key) }
	src.quoteName()
	var err error
	if src.role, err = parseRole(property(f.Properties, "role")); err != nil {
		return src.errorf("%w", err)
	}
	if err := f.checkCRS(src); err != nil {
		return err
	}
	if f.Geometry == nil {
		s.Notes.Add(NoteNoGeometry, func() string { return src.place + ": no geometry" })
		return nil
	}
	return s.addGeometry(src, f.Geometry)
}

func (s *Site) addGeometry(src source, g *object) error {
	polygon := func(p [][]position) error { return s.addPolygon(src, rings(p)) }
	line := func(l []position) error { return s.addLine(src, LineShape, lonLats(l)) }
	point := func(p position) error { return s.addLine(src, PointShape, []grid.LonLat{grid.LonLat(p)}) }
	switch g.Type {
	case "Polygon":
		return decode(src, g, polygon)
	case "MultiPolygon":
		return decode(src, g, each(polygon))
	case "LineString":
		return decode(src, g, line)
	case "MultiLineString":
		return decode(src, g, each(line))
	case "Point":
		return decode(src, g, point)
	case "MultiPoint":
		return decode(src, g, each(point))
	case "GeometryCollection":
		return each(func(m *object) error {
			if m == nil {
				return src.errorf("null among geometries")
			}
			return s.addGeometry(src, m)
		})(g.Geometries)
	}
	return src.errorf("type %q is not of GeoJSON", g.Type)
}

// each makes of a function of one thing a function of many.
func each[T any](add func(T) error) func([]T) error {
	return func(ts []T) error {
		for _, t := range ts {
			if err := add(t); err != nil {
				return err
			}
		}
		return nil
	}
}

// decode reads a geometry's coordinates as C and hands them to add.
func decode[C any](src source, g *object, add func(C) error) error {
	var c C
	if len(g.Coordinates) == 0 || string(g.Coordinates) == "null" {
		return src.errorf("%s without coordinates", g.Type)
	}
	if err := json.Unmarshal(g.Coordinates, &c); err != nil {
		var bad badPosition
		if errors.As(err, &bad) {
			return src.errorf("%w", bad)
		}
		return src.errorf("coordinates not nested as those of a %s", g.Type)
	}
	return add(c)
}

// position is RFC 7946 section 3.1.1: longitude, latitude, and what follows is
// ignored.
type position grid.LonLat

type badPosition string

func (b badPosition) Error() string {
	return fmt.Sprintf("position %s is not [longitude, latitude]", string(b))
}

func (p *position) UnmarshalJSON(b []byte) error {
	inner, ok := bytes.CutPrefix(b, []byte("["))
	parts := bytes.Split(bytes.TrimSuffix(inner, []byte("]")), []byte(","))
	if !ok || len(parts) < 2 {
		return badPosition(clip(b, 60))
	}
	for i, v := range []*float64{&p.Lon, &p.Lat} {
		var err error
		if *v, err = strconv.ParseFloat(string(bytes.TrimSpace(parts[i])), 64); err != nil {
			return badPosition(clip(b, 60))
		}
	}
	return nil
}

func lonLats(ps []position) []grid.LonLat {
	out := make([]grid.LonLat, len(ps))
	for i, p := range ps {
		out[i] = grid.LonLat(p)
	}
	return out
}

func rings(p [][]position) [][]grid.LonLat {
	out := make([][]grid.LonLat, len(p))
	for i, r := range p {
		out[i] = lonLats(r)
	}
	return out
}

// checkCRS refuses a coordinate reference system other than WGS 84 longitude and
// latitude, the only one RFC 7946 section 4 knows.
func (o *object) checkCRS(src source) error {
	if len(o.CRS) == 0 || string(o.CRS) == "null" {
		return nil
	}
	var crs struct{ Properties struct{ Name string } }
	_ = json.Unmarshal(o.CRS, &crs) // what it cannot read is refused below
	name := strings.ToUpper(crs.Properties.Name)
	epsg := strings.HasPrefix(name, "EPSG:") || strings.HasPrefix(name, "URN:OGC:DEF:CRS:EPSG:")
	switch {
	case epsg && strings.HasSuffix(name, ":4326"),
		strings.HasSuffix(name, "CRS84"), name == "WGS84", name == "WGS 84":
		return nil
	case name == "":
		return src.errorf("crs %s is not WGS 84 longitude, latitude", clip(o.CRS, 80))
	}
	return src.errorf("crs %q is not WGS 84 longitude, latitude", crs.Properties.Name)
}

// property returns a property as text, whatever the case of its key.
func property(props map[string]any, key string) string {
	if v, ok := props[key]; ok {
		return plain(v)
	}
	var found []string
	for k := range props {
		if strings.EqualFold(k, key) {
			found = append(found, k)
		}
	}
	if len(found) == 0 {
		return ""
	}
	return plain(props[slices.Min(found)])
}

// plain returns a text, number or truth value as text, and "" for the rest.
func plain(v any) string {
	switch v := v.(type) {
	case string:
		return strings.TrimSpace(v)
	case float64:
		return number(v)
	case bool:
		return strconv.FormatBool(v)
	}
	return ""
}

// jsonError puts the place before a decoding error, and says it in plain words.
func jsonError(name string, text []byte, err error) error {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax) && strings.HasPrefix(err.Error(), "unexpected end"):
		return fmt.Errorf("%s:%d: cut short: %w", name, lineAt(text, syntax.Offset), err)
	case errors.As(err, &syntax):
		return fmt.Errorf("%s:%d: not JSON: %w", name, lineAt(text, syntax.Offset), err)
	case errors.As(err, &kind):
		return fmt.Errorf("%s:%d: %q cannot be of type %s", name, lineAt(text, kind.Offset), strings.ToLower(kind.Field), kind.Value)
	}
	return fmt.Errorf("%s: %w", name, err)
}

func lineAt(text []byte, offset int64) int {
	return 1 + bytes.Count(text[:min(int(offset), len(text))], []byte("\n"))
}
