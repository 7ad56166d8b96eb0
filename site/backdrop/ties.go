package backdrop

import (
	"errors"
	"fmt"
	"math"

	"untrod/grid"
)

// Tie says where a pixel lies.
type Tie struct {
	Col, Row float64 // from the upper left corner of the upper left pixel
	At       grid.LonLat
}

var (
	errFewTies = errors.New("two tied points are needed at least")
	errLine    = errors.New("the tied points lie on one spot or line: tie points that are far apart, three or more not in a row")
	errMirror  = errors.New("tied like this the picture would be turned over as in a mirror: check which point is which")
)

// FromTies places a picture of that size by tied points: two shift, turn and scale it,
// more also stretch it, so that the squares of the errors are least. offM tells, for
// every tie, how many metres from its point the pixel comes to lie; 0 of two and three.
//
// It is an error when the points do not settle the place, or contradict each other so
// that the picture would be mirrored.
func FromTies(width, height int, ties []Tie) (p Place, offM []float64, err error) {
	if len(ties) < 2 {
		return p, nil, errFewTies
	}
	s, at, err := tiePlane(ties)
	if err != nil {
		return p, nil, err
	}
	fit := stretch
	if len(ties) == 2 {
		fit = turn
	}
	a, err := fit(ties, at)
	if err != nil {
		return p, nil, err
	}
	if p, err = newPlace(width, height, a, s); err != nil {
		return p, nil, err
	}
	for i, t := range ties {
		q := a.At(t.Col, t.Row)
		offM = append(offM, math.Hypot(q.X-at[i].X, q.Y-at[i].Y))
	}
	return p, offM, nil
}

// tiePlane is a plane of true metres about the ties, and their points on it.
func tiePlane(ties []Tie) (System, []grid.XY, error) {
	where := make([]grid.LonLat, len(ties))
	for i, t := range ties {
		if !t.At.Valid() || math.IsNaN(t.Col-t.Col+t.Row-t.Row) {
			return System{}, nil, fmt.Errorf("tied point %d is not a place", i+1)
		}
		where[i] = t.At
	}
	f, err := grid.FrameAround(where)
	if err != nil {
		return System{}, nil, fmt.Errorf("the tied points: %w", err)
	}
	s, err := transverseMercator("tied points", f.Datum(), 1, grid.XY{})
	at := make([]grid.XY, len(ties))
	for i, p := range where {
		at[i] = s.frame.ToXY(p)
	}
	return s, at, err
}

// turn is the similarity through two ties: in complex numbers, with rows pointing down,
// at = a * (col - i row) + b.
func turn(ties []Tie, at []grid.XY) (Affine, error) {
	pixel := func(t Tie) complex128 { return complex(t.Col, -t.Row) }
	from, to := pixel(ties[1])-pixel(ties[0]), complex(at[1].X-at[0].X, at[1].Y-at[0].Y)
	if from == 0 || to == 0 {
		return Affine{}, errLine
	}
	a := to / from
	b := complex(at[0].X, at[0].Y) - a*pixel(ties[0])
	return Affine{X0: real(b), XCol: real(a), XRow: imag(a), Y0: imag(b), YCol: imag(a), YRow: -real(a)}, nil
}

// stretch is the affine map of least squares.
func stretch(ties []Tie, at []grid.XY) (Affine, error) {
	pixels := make([]grid.XY, len(ties))
	for i, t := range ties {
		pixels[i] = grid.XY{X: t.Col, Y: t.Row}
	}
	from, to := spreadOf(pixels, pixels), spreadOf(at, at)
	if from.flat() || to.flat() {
		return Affine{}, errLine
	}
	x := spreadOf(pixels, at)
	d := from.xx*from.yy - from.xy*from.xy
	a := Affine{
		XCol: (x.xx*from.yy - x.yx*from.xy) / d, XRow: (x.yx*from.xx - x.xx*from.xy) / d,
		YCol: (x.xy*from.yy - x.yy*from.xy) / d, YRow: (x.yy*from.xx - x.xy*from.xy) / d,
	}
	a.X0, a.Y0 = to.middle.X-a.At(from.middle.X, from.middle.Y).X, to.middle.Y-a.At(from.middle.X, from.middle.Y).Y
	switch {
	case !(a.det() != 0):
		return a, errLine
	case a.det() > 0: // rows point down
		return a, errMirror
	}
	return a, nil
}

// spread holds sums of products of the parts of two lists of points about their means.
type spread struct {
	middle         grid.XY // of the first
	xx, xy, yx, yy float64
}

func spreadOf(a, b []grid.XY) spread {
	var s spread
	var m grid.XY
	n := float64(len(a))
	for i := range a {
		s.middle, m = s.middle.Plus(a[i]), m.Plus(b[i])
	}
	s.middle, m = grid.XY{X: s.middle.X / n, Y: s.middle.Y / n}, grid.XY{X: m.X / n, Y: m.Y / n}
	for i := range a {
		p, q := a[i], b[i]
		s.xx += (p.X - s.middle.X) * (q.X - m.X)
		s.xy += (p.X - s.middle.X) * (q.Y - m.Y)
		s.yx += (p.Y - s.middle.Y) * (q.X - m.X)
		s.yy += (p.Y - s.middle.Y) * (q.Y - m.Y)
	}
	return s
}

// flat reports whether points lie within 1 % of a line, for the length of it.
func (s spread) flat() bool {
	half, d := (s.xx+s.yy)/2, math.Hypot((s.xx-s.yy)/2, s.xy)
	return !(half-d > 1e-4*(half+d))
}
