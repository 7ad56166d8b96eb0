package plan

import (
	_ "embed"
	"fmt"
	"math"
	"strings"
	"sync"

	"untrod/grid"
)

// The years for which the magnetic model is made, as decimal years.
const (
	MagneticFrom  = 2025.0
	MagneticUntil = 2030.0
)

// Magnetic is what a compass shows at a place and time.
type Magnetic struct {
	// DeclinationDeg is the bearing of magnetic north, clockwise from true north, in
	// [-180, 180]: magnetic bearing = true bearing - declination.
	DeclinationDeg float64
	// ErrorDeg is one standard deviation of DeclinationDeg, iron in the ground and on
	// the walker left out: sqrt(0.26^2 + (5417/H)^2), at most 180. Source: WMM2025
	// error model of NOAA NCEI and BGS.
	ErrorDeg float64
	// HorizontalNT is the horizontal intensity H in nT, which turns the needle.
	HorizontalNT float64
	// Expired says that the year lies outside MagneticFrom to MagneticUntil, ends
	// included: the declination is extrapolated and ErrorDeg too low.
	Expired bool
}

// Blackout reports whether H is under 2000 nT, where a compass is of no use.
// Source for both zones: WMM report, NOAA NCEI and BGS.
func (m Magnetic) Blackout() bool { return m.HorizontalNT < 2000 }

// Caution reports whether H is from 2000 to under 6000 nT, where a compass may be
// misled.
func (m Magnetic) Caution() bool { return m.HorizontalNT >= 2000 && m.HorizontalNT < 6000 }

// Declination returns the magnetic field's direction at a place heightM metres
// above the ellipsoid (100 m matter by 0.0004 degree at latitude 80) in a decimal
// year, by the World Magnetic Model 2025. It is an error when the place is not valid
// or a number not finite; years outside the model's only set Expired. Within 0.01
// degree of NOAA's test values; about 5 us.
//
// Source: WMM2025 technical report (NOAA NCEI and BGS), the synthesis of its section
// 1 from memory, held by the published values; coefficients in data/wmm2025.txt.
func Declination(at grid.LonLat, heightM, year float64) (Magnetic, error) {
	if !at.Valid() {
		return Magnetic{}, fmt.Errorf("magnetic declination: position %v off the globe", at)
	}
	if !isNumber(heightM) || !isNumber(year) {
		return Magnetic{}, fmt.Errorf("magnetic declination: height %v m, year %v", heightM, year)
	}
	north, east := magneticField(at, heightM, year)
	h := math.Hypot(north, east)
	return Magnetic{
		DeclinationDeg: math.Atan2(east, north) * 180 / math.Pi,
		ErrorDeg:       math.Min(180, math.Hypot(0.26, 5417/h)),
		HorizontalNT:   h,
		Expired:        year < MagneticFrom || year > MagneticUntil,
	}, nil
}

func isNumber(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

const (
	magneticDegree  = 12
	magneticRadiusM = 6_371_200 // the model's sphere
	equatorM        = 6_378_137 // WGS 84
	flattening      = 1 / 298.257223563
)

//go:embed data/wmm2025.txt
var wmm2025 string

// gauss is one pair of coefficients and their change a year.
type gauss struct{ g, h, dg, dh float64 }

// coefficients are indexed by degree and order.
var coefficients = sync.OnceValue(func() (c [magneticDegree + 1][magneticDegree + 1]gauss) {
	for line := range strings.Lines(wmm2025) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		var n, m int
		var v gauss
		if _, err := fmt.Sscan(line, &n, &m, &v.g, &v.h, &v.dg, &v.dh); err != nil {
			panic(fmt.Sprintf("plan: magnetic coefficients: %q: %v", line, err))
		}
		c[n][m] = v
	}
	return c
})

// magneticField returns the north and east parts, in nT, on the ellipsoid's
// horizon.
func magneticField(at grid.LonLat, heightM, year float64) (north, east float64) {
	r, lat := geocentric(at.Lat, heightM)
	p, dp := legendre(lat)
	c, years := coefficients(), year-MagneticFrom
	var x, z float64 // north and down on the sphere
	ratio := magneticRadiusM / r
	power := ratio * ratio
	for n := 1; n <= magneticDegree; n++ {
		power *= ratio
		for m := 0; m <= n; m++ {
			sin, cos := math.Sincos(float64(m) * at.Lon * math.Pi / 180)
			g, h := c[n][m].g+years*c[n][m].dg, c[n][m].h+years*c[n][m].dh
			x += power * (g*cos + h*sin) * dp[n][m]
			east += power * float64(m) * (g*sin - h*cos) * p[n][m] / math.Cos(lat)
			z -= power * float64(n+1) * (g*cos + h*sin) * p[n][m]
		}
	}
	sin, cos := math.Sincos(lat - nearPole(at.Lat))
	return x*cos - z*sin, east
}

// nearPole is a latitude in radians, kept a millimetre off the poles, where east has
// no direction.
func nearPole(lat float64) float64 {
	return math.Max(-1, math.Min(lat/(90-1e-8), 1)) * (90 - 1e-8) * math.Pi / 180
}

// geocentric returns the distance from the Earth's centre in metres and the
// geocentric latitude in radians.
func geocentric(lat, heightM float64) (r, centric float64) {
	const e2 = flattening * (2 - flattening)
	sin, cos := math.Sincos(nearPole(lat))
	n := equatorM / math.Sqrt(1-e2*sin*sin)
	p, z := (n+heightM)*cos, (n*(1-e2)+heightM)*sin
	return math.Hypot(p, z), math.Atan2(z, p)
}

type byDegree [magneticDegree + 1][magneticDegree + 1]float64

// legendre returns the Schmidt semi-normalised associated Legendre functions of the
// sine of a geocentric latitude, without the Condon-Shortley phase, and their
// derivatives by colatitude.
func legendre(lat float64) (p, dp byDegree) {
	cos, sin := math.Sincos(lat) // of the colatitude
	p[0][0] = 1
	for n := 1; n <= magneticDegree; n++ {
		k := math.Sqrt(float64(2*n-1) / float64(2*n))
		if n == 1 {
			k = 1
		}
		p[n][n] = k * sin * p[n-1][n-1]
		dp[n][n] = k * (sin*dp[n-1][n-1] + cos*p[n-1][n-1])
		for m := range n {
			a, d := float64(2*n-1), math.Sqrt(float64(n*n-m*m))
			p[n][m], dp[n][m] = a*cos*p[n-1][m]/d, a*(cos*dp[n-1][m]-sin*p[n-1][m])/d
			if n >= 2 && m <= n-2 {
				b := math.Sqrt(float64((n-1)*(n-1)-m*m)) / d
				p[n][m], dp[n][m] = p[n][m]-b*p[n-2][m], dp[n][m]-b*dp[n-2][m]
			}
		}
	}
	return p, dp
}
