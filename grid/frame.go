package grid

import (
	"errors"
	"fmt"
	"math"

	"github.com/golang/geo/s1"
	"github.com/golang/geo/s2"
)

// MaxSpanM is the widest ground, in metres east-west or north-south, that one
// Frame is made for. At its edge, 10 km from the meridian, the plane is
// stretched by 1.2 millionths: 1.2 mm in a kilometre.
const MaxSpanM = 20_000

// maxDatumLat keeps 30 km of ground around a datum clear of the pole.
const maxDatumLat = 89

// ErrTooWide is wrapped by FrameAround's error when the positions span more
// than MaxSpanM.
var ErrTooWide = errors.New("wider than 20 km")

// Frame ties WGS 84 to a site's local metres: a transverse Mercator plane of
// the ellipsoid whose meridian runs through the datum, scale 1 on it, with the
// datum at (0, 0), X east and Y north. It is the step from LonLat to XY in the
// chain of the package comment: degrees -> the ellipsoid's conformal sphere ->
// that sphere's Mercator plane laid along the datum's meridian -> a series that
// makes the meridian true to scale -> shift to the datum.
//
// Distances through a Frame are right to 1 mm over 5 km around the datum, and
// the way there and back closes to 1e-8 m within 30 km (docs/accuracy.md). The
// zero value is the frame of longitude 0, latitude 0. Frames of equal datum are
// equal under ==. Safe for concurrent use.
type Frame struct {
	datum  LonLat
	northM float64 // of the datum from the equator, along its meridian
}

// NewFrame returns the frame whose origin is at datum. The error says which
// number is out of range: latitudes beyond 89 degrees have no usable meridian.
func NewFrame(datum LonLat) (Frame, error) {
	if !(math.Abs(datum.Lat) <= maxDatumLat) {
		return Frame{}, fmt.Errorf("latitude %v outside [-89, 89]", datum.Lat)
	}
	if !(math.Abs(datum.Lon) <= 180) {
		return Frame{}, fmt.Errorf("longitude %v outside [-180, 180]", datum.Lon)
	}
	return Frame{datum, wgs84.forward(0, datum.Lat).Y}, nil
}

// FrameAround returns the frame whose datum is the middle of the smallest box of
// longitudes and latitudes around ps, which may cross the antimeridian, rounded
// to a millionth of a degree so that six decimals state it in full. Positions
// that are not Valid are passed over.
//
// It is an error when none is left, when the middle lies beyond 89 degrees, and
// (ErrTooWide) when the box spans more than MaxSpanM either way. O(len(ps)).
func FrameAround(ps []LonLat) (Frame, error) {
	box := s2.EmptyRect()
	for _, p := range ps {
		if p.Valid() {
			box = box.AddPoint(s2.LatLngFromDegrees(p.Lat, p.Lon))
		}
	}
	if box.IsEmpty() {
		return Frame{}, errors.New("no valid position")
	}
	f, err := NewFrame(rounded(degrees(box.Center())))
	if err != nil {
		return Frame{}, err
	}
	b := f.span(box)
	if !(b.Width() <= MaxSpanM && b.Height() <= MaxSpanM) {
		return Frame{}, fmt.Errorf("ground of %s east-west by %s north-south is %w: split the site",
			kilometres(b.Width()), kilometres(b.Height()), ErrTooWide)
	}
	return f, nil
}

// kilometres words a length; the plane gives nonsense on the far side of the globe.
func kilometres(m float64) string {
	if !(m < 1e6) {
		return "over 1000 km"
	}
	return fmt.Sprintf("%.1f km", m/1000)
}

// span is the box's extent in metres: its parallels are curved in the plane, so
// the middles of the sides count beside the corners.
func (f Frame) span(box s2.Rect) Bounds {
	b := EmptyBounds()
	mid := box.Center()
	for _, lat := range []float64{box.Lat.Lo, mid.Lat.Radians(), box.Lat.Hi} {
		for _, lng := range []float64{box.Lng.Lo, mid.Lng.Radians(), box.Lng.Hi} {
			b = b.Add(f.ToXY(degrees(s2.LatLng{Lat: s1.Angle(lat), Lng: s1.Angle(lng)})))
		}
	}
	return b
}

func degrees(ll s2.LatLng) LonLat { return LonLat{ll.Lng.Degrees(), ll.Lat.Degrees()} }

func rounded(p LonLat) LonLat {
	return LonLat{math.Round(p.Lon*1e6) / 1e6, math.Round(p.Lat*1e6) / 1e6}
}

// Datum is the frame's origin.
func (f Frame) Datum() LonLat { return f.datum }

// ToXY returns p in metres. The longitude may be any number of turns off, so the
// antimeridian is no edge. Error under 1e-8 m within 30 km of the datum; much
// farther off, beyond 35 degrees of longitude, the result only says "far away".
// NaN gives NaN.
func (f Frame) ToXY(p LonLat) XY {
	q := wgs84.forward(turn(p.Lon-f.datum.Lon), p.Lat)
	return XY{q.X, q.Y - f.northM}
}

// ToLonLat is the inverse of ToXY, longitude in [-180, 180].
func (f Frame) ToLonLat(q XY) LonLat {
	p := wgs84.inverse(XY{q.X, q.Y + f.northM})
	return LonLat{turn(p.Lon + f.datum.Lon), p.Lat}
}

// turn brings an angle in degrees into [-180, 180].
func turn(deg float64) float64 {
	if deg >= -180 && deg <= 180 {
		return deg
	}
	return math.Remainder(deg, 360)
}

// krueger is the transverse Mercator projection of one ellipsoid, scale 1 on the
// meridian of longitude 0, metres from the equator and that meridian.
//
// Source: C. F. F. Karney (2011), Transverse Mercator with an accuracy of a few
// nanometers, J. Geodesy 85:475-485, doi 10.1007/s00190-011-0445-3: forward eqs
// 7-14 with the coefficients of eq 35, inverse eqs 15-22 (Newton's method among
// them) with those of eq 36. The series are L. Krueger's (1912), carried to the
// sixth power of n; Karney's bound is 5 nm within 35 degrees of longitude. Letters
// are the paper's: xi north and eta east on the unit sphere, tau the tangent of
// the latitude, n the third flattening.
type krueger struct {
	radius      float64 // of the sphere whose meridian is as long as the ellipsoid's
	e, e2m      float64 // eccentricity, and 1 - e^2
	alpha, beta [6]float64
}

var wgs84 = newKrueger(6378137, 298.257223563)

// newKrueger takes the equatorial radius in metres and the inverse flattening.
func newKrueger(a, invF float64) *krueger {
	f := 1 / invF
	e2, n := f*(2-f), f/(2-f)
	n2 := n * n
	return &krueger{
		radius: a / (1 + n) * (1 + n2*(1./4+n2*(1./64+n2/256))),
		e:      math.Sqrt(e2),
		e2m:    1 - e2,
		alpha: [6]float64{
			n * poly(n, 1./2, -2./3, 5./16, 41./180, -127./288, 7891./37800),
			n2 * poly(n, 13./48, -3./5, 557./1440, 281./630, -1983433./1935360),
			n2 * n * poly(n, 61./240, -103./140, 15061./26880, 167603./181440),
			n2 * n2 * poly(n, 49561./161280, -179./168, 6601661./7257600),
			n2 * n2 * n * poly(n, 34729./80640, -3418889./1995840),
			n2 * n2 * n2 * (212378941. / 319334400),
		},
		beta: [6]float64{
			n * poly(n, 1./2, -2./3, 37./96, -1./360, -81./512, 96199./604800),
			n2 * poly(n, 1./48, 1./15, -437./1440, 46./105, -1118711./3870720),
			n2 * n * poly(n, 17./480, -37./840, -209./4480, 5569./90720),
			n2 * n2 * poly(n, 4397./161280, -11./504, -830251./7257600),
			n2 * n2 * n * poly(n, 4583./161280, -108847./3991680),
			n2 * n2 * n2 * (20648693. / 638668800),
		},
	}
}

// poly is c[0] + c[1]*x + c[2]*x*x + ...
func poly(x float64, c ...float64) float64 {
	s := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		s = s*x + c[i]
	}
	return s
}

// forward takes degrees, longitude in [-180, 180].
func (k *krueger) forward(lon, lat float64) XY {
	sin, cos := math.Sincos(lon * (math.Pi / 180))
	tau := k.conformal(math.Tan(lat * (math.Pi / 180)))
	h2 := tau*tau + cos*cos
	sinh := sin / math.Sqrt(h2) // of eta
	// Sines of the doubled angles from those of the single ones: no more calls.
	dxi, deta := series(&k.alpha, doubled{
		sin: 2 * tau * cos / h2, cos: (cos - tau) * (cos + tau) / h2,
		sinh: 2 * sinh * math.Sqrt(1+sinh*sinh), cosh: 1 + 2*sinh*sinh,
	})
	return XY{k.radius * (math.Asinh(sinh) + deta), k.radius * (math.Atan2(tau, cos) + dxi)}
}

// inverse returns degrees.
func (k *krueger) inverse(q XY) LonLat {
	xi, eta := q.Y/k.radius, q.X/k.radius
	sin, cos := math.Sincos(2 * xi)
	dxi, deta := series(&k.beta, doubled{sin, cos, math.Sinh(2 * eta), math.Cosh(2 * eta)})
	sin, cos = math.Sincos(xi - dxi)
	sinh := math.Sinh(eta - deta)
	tau := k.geographic(sin / math.Hypot(sinh, cos))
	return LonLat{math.Atan2(sinh, cos) * (180 / math.Pi), math.Atan(tau) * (180 / math.Pi)}
}

// conformal takes the tangent of a latitude to that of its conformal latitude.
func (k *krueger) conformal(tau float64) float64 {
	sec := math.Sqrt(1 + tau*tau)
	sigma := math.Sinh(k.e * math.Atanh(k.e*tau/sec))
	return tau*math.Sqrt(1+sigma*sigma) - sigma*sec
}

// geographic undoes conformal by Newton's method. The start is right to e^2 and
// the function bends by e^2, so two steps reach the last digit at any latitude.
func (k *krueger) geographic(conf float64) float64 {
	tau := conf / k.e2m
	for range 2 {
		t := k.conformal(tau)
		tau += (conf - t) / math.Sqrt(1+t*t) *
			(1 + k.e2m*tau*tau) / (k.e2m * math.Sqrt(1+tau*tau))
	}
	return tau
}

// doubled holds the circular functions of 2 xi and the hyperbolic ones of 2 eta.
type doubled struct{ sin, cos, sinh, cosh float64 }

// series sums c[j-1] * sin(2j(xi + i eta)) over j = 1..6 by Clenshaw's
// recurrence in complex numbers, and returns the real and imaginary parts.
func series(c *[6]float64, d doubled) (re, im float64) {
	ar, ai := 2*d.cos*d.cosh, -2*d.sin*d.sinh // twice the cosine of the complex angle
	var y1r, y1i, y2r, y2i float64
	for j := len(c) - 1; j >= 0; j-- {
		y1r, y1i, y2r, y2i = ar*y1r-ai*y1i-y2r+c[j], ar*y1i+ai*y1r-y2i, y1r, y1i
	}
	sr, si := d.sin*d.cosh, d.cos*d.sinh
	return sr*y1r - si*y1i, sr*y1i + si*y1r
}
