package report

import (
	"io"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"
	"github.com/paulmach/orb/geojson"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
)

// PlanGeoJSON writes a FeatureCollection (RFC 7946) in walking order: the places and
// ways of PlanGPX as Points and LineStrings, each lane as a LineString with its
// bearings, and the gaps to walk as polygons. The property what is start, way, begin,
// corner, lane, gap, way home or end; stop is the stop's number. What lies across the
// 180th meridian is cut there (section 3.1.9).
func PlanGeoJSON(w io.Writer, r *coverage.Result, p *plan.Plan, u Units) error {
	fc := geojson.NewFeatureCollection()
	for _, i := range itemsOf(p, u) {
		if i.kind == itemLanes { // given lane by lane below
			continue
		}
		f := geojson.NewFeature(orb.Point(place(r.Frame, i.xy[0])))
		if len(i.xy) > 1 {
			f.Geometry = lineDegrees(r.Frame, i.xy)
		}
		f.Properties = geojson.Properties{"what": string(i.kind), "stop": i.stop, "name": i.name, "description": i.desc}
		fc.Append(f)
		if i.kind == itemBegin {
			appendStop(fc, r, p, p.Stops[i.stop-1])
		}
	}
	b, err := fc.MarshalJSON()
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// appendStop adds a stop's lanes and gaps.
func appendStop(fc *geojson.FeatureCollection, r *coverage.Result, p *plan.Plan, s plan.Stop) {
	for _, l := range stopLanes(s) {
		d := laneDoc(r, p, l)
		f := geojson.NewFeature(lineDegrees(r.Frame, []grid.XY{l.From, l.To}))
		f.Properties = geojson.Properties{
			"what": "lane", "stop": s.Number, "lane": l.number, "block": l.block, "rim": l.rim, "length_m": d.LengthM,
			"bearing_true_deg": d.BearingTrueDeg, "bearing_magnetic_deg": d.BearingMagneticDeg,
		}
		fc.Append(f)
	}
	for _, g := range gapsIn(r, s) {
		f := geojson.NewFeature(degrees(r.Frame, g))
		f.Properties = geojson.Properties{"what": "gap", "stop": s.Number, "gap": g.ID, "area_m2": round2(g.AreaM2)}
		fc.Append(f)
	}
}

// gapsIn are the gaps of a stop.
func gapsIn(r *coverage.Result, s plan.Stop) (out []coverage.Gap) {
	for _, id := range s.Gaps {
		if id >= 1 && id <= len(r.Gaps) && r.Gaps[id-1].ID == id {
			out = append(out, r.Gaps[id-1])
		}
	}
	return out
}

func place(f grid.Frame, q grid.XY) [2]float64 {
	p := f.ToLonLat(q)
	return [2]float64{roundTo(p.Lon, 8), roundTo(p.Lat, 8)}
}

// lineDegrees is a line in longitude and latitude, cut at the 180th meridian.
func lineDegrees(f grid.Frame, xy []grid.XY) orb.Geometry {
	near := f.ToLonLat(xy[0]).Lon
	var l orb.LineString
	for _, q := range xy {
		p := f.ToLonLat(q)
		l = append(l, orb.Point{near + math.Remainder(p.Lon-near, 360), p.Lat})
	}
	if b := l.Bound(); b.Min[0] >= -180 && b.Max[0] <= 180 {
		return rounded8(l, 0)
	}
	var out orb.MultiLineString
	for _, turn := range []float64{0, 360, -360} {
		side := orb.Bound{Min: orb.Point{-180 + turn, -90}, Max: orb.Point{180 + turn, 90}}
		for _, piece := range clip.LineString(side, l.Clone()) {
			if len(piece) > 1 {
				out = append(out, rounded8(piece, turn))
			}
		}
	}
	return out
}

func rounded8(l orb.LineString, turn float64) orb.LineString {
	for i, p := range l {
		l[i] = orb.Point{roundTo(p[0]-turn, 8), roundTo(p[1], 8)}
	}
	return l
}
