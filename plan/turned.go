package plan

import (
	"math"

	"untrod/grid"
)

// reached is the quickest way to a form.
type reached struct {
	s    float64 // seconds until all of it is done
	from int     // the form before
	way  way
}

// turned makes the trip of a route: each stop in the form that makes it take least
// time, by going through the stops and keeping the quickest way to each form (Bellman's
// dynamic programming).
func (d *draft) turned(order []int) *trip {
	t := &trip{stops: order}
	if len(order) > 0 {
		t.follow(d.layers(order))
	}
	for _, i := range order {
		t.worth += d.stops[i].worth
	}
	t.brings = d.expected(t.forms)
	return t
}

// layers are the forms of each stop of a route with the quickest ways to them; the end
// is the last, without a form.
func (d *draft) layers(order []int) (forms [][]*form, layers [][]reached) {
	before, last := []*form{nil}, []reached{{}}
	for k := range len(order) + 1 {
		now := []*form{nil}
		if k < len(order) {
			now = d.formsOf(order[k])
		}
		layer := make([]reached, len(now))
		for b, f := range now {
			layer[b].s = math.Inf(1)
			for a, g := range before {
				w, err := d.hop(g, f)
				if s := last[a].s + w.inS + stayOf(f); err == nil && s < layer[b].s {
					layer[b] = reached{s, a, w}
				}
			}
		}
		forms, layers = append(forms, now), append(layers, layer)
		before, last = now, layer
	}
	return forms, layers
}

// follow traces the quickest way back from the end.
func (t *trip) follow(forms [][]*form, layers [][]reached) {
	n := len(t.stops)
	t.forms, t.ways, t.usedS = make([]*form, n), make([]way, n+1), layers[n][0].s
	for k, b := n, 0; k >= 0; k-- {
		if k < n {
			t.forms[k] = forms[k][b]
		}
		t.ways[k], b = layers[k][b].way, layers[k][b].from
	}
}

func stayOf(f *form) float64 {
	if f == nil {
		return 0
	}
	return f.stayS()
}

// hop is the way from one form to the next; nil is the start or the end.
func (d *draft) hop(a, b *form) (way, error) {
	switch {
	case a == nil:
		return d.walk.onward(grid.XY{}, b.from, &d.walk.start, nil)
	case b == nil:
		return d.walk.onward(a.to, grid.XY{}, nil, &d.walk.end)
	}
	return d.walk.between(a.to, b.from)
}

// formsOf returns the forms of a stop that can be walked, made when first asked for.
func (d *draft) formsOf(i int) (out []*form) {
	s := d.stops[i]
	if len(s.forms) == 1 {
		s.forms = append(s.forms, d.walk.turnings(s.forms[0])...)
	}
	for k := range s.forms {
		if !math.IsInf(s.forms[k].walkS, 1) {
			out = append(out, &s.forms[k])
		}
	}
	return out
}
