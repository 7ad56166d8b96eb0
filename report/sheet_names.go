package report

import (
	"math"

	"gonum.org/v1/plot/vg"

	"untrod/site"
)

// near takes room of half the given size near a place, first of all in a direction;
// least is how far off at the nearest, most times that at the farthest.
func (l *labels) near(at vg.Point, angle float64, half vg.Point, least, most vg.Length) (vg.Point, bool) {
	for reach := vg.Length(1); reach <= most; reach *= 1.4 {
		for i := range 12 {
			sin, cos := math.Sincos(angle + float64((i+1)/2)*math.Pi/6*float64(1-2*(i%2)))
			to := vg.Point{X: at.X + reach*least*vg.Length(cos), Y: at.Y + reach*least*vg.Length(sin)}
			if r := box(to, half.X, half.Y); l.free(r) {
				l.take(r)
				return to, true
			}
		}
	}
	return at, false
}

// placeNames are those of the ends, landmarks and keep-outs.
func (v *mapView) placeNames() {
	if v.s.p != nil {
		set, what := v.s.p.Settings, "start and end"
		if set.Start != set.End {
			what = "start"
			v.name(v.g.point(set.End), "end", true)
		}
		v.name(v.g.point(set.Start), what, true)
	}
	for _, l := range v.s.r.Local.Landmarks {
		v.name(v.g.point(middleOf(l)), l.Name, l.Shape == site.PointShape)
	}
	for i, k := range v.s.r.Local.Keepouts {
		if i >= len(v.s.r.Site.Keepouts) || !v.shows(k.Outer) {
			continue
		}
		if at, ok := middleChord(v.g.rings(k)); ok {
			v.name(at, v.s.r.Site.Keepouts[i].Name, false)
		}
	}
}

// name writes a name by a symbol, or in the middle of what has none.
func (v *mapView) name(at vg.Point, name string, beside bool) {
	const up vg.Length = 7.5
	st := words(sans, 10.5, black)
	name = shorten(st, onPaper(name), 55*mm)
	if name == "…" || name == "" || !v.c.Contains(at) {
		return
	}
	w := widthOf(st, name)
	for _, q := range namePlaces(at, w, up, beside) {
		r := vg.Rectangle{Min: vg.Point{X: q.X - 1.5, Y: q.Y - 3}, Max: vg.Point{X: q.X + w + 1.5, Y: q.Y + up + 1.5}}
		if v.names.free(r) {
			v.names.take(r)
			halo(v.c, st, q.X, q.Y, name)
			return
		}
	}
}

// namePlaces are lower left corners for words of a width and height about a place, the
// best first.
func namePlaces(at vg.Point, w, up vg.Length, beside bool) (out []vg.Point) {
	if !beside {
		out = append(out, vg.Point{X: at.X - w/2, Y: at.Y - up/2})
	}
	for _, gap := range []vg.Length{8.5, 14, 22} {
		for _, side := range []vg.Point{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}, {X: 0.7, Y: 0.7}, {X: 0.7, Y: -0.7}, {X: -0.7, Y: 0.7}, {X: -0.7, Y: -0.7}} {
			q := vg.Point{X: at.X + gap*side.X, Y: at.Y + gap*side.Y}
			switch {
			case side.X == 0:
				q.X -= w / 2
			case side.X < 0:
				q.X -= w
			}
			switch {
			case side.Y == 0:
				q.Y -= up / 2
			case side.Y < 0:
				q.Y -= up
			}
			out = append(out, q)
		}
	}
	return out
}
