package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"untrod/coverage"
	"untrod/grid"
	"untrod/track"
)

// A Leak is something in a file of a share copy that may tell where the site is, or
// whose it is.
type Leak struct {
	File  string // with the place inside it, such as "share.html, data of image/png"
	Kind  LeakKind
	Found string // as it stands there
}

func (l Leak) String() string { return fmt.Sprintf("%s: %s %q", l.File, l.Kind, l.Found) }

// LeakKind says what leaks.
type LeakKind string

// Kinds of leak.
const (
	LeakPosition LeakKind = "position" // degrees in any form, UTM or web mercator
	LeakName     LeakKind = "name"
	LeakHash     LeakKind = "hash of an input"
	LeakDate     LeakKind = "date or time"
	LeakMetadata LeakKind = "data beside the picture"
	LeakClosed   LeakKind = "cannot be looked into:"
)

// Secrets are what a share copy must not tell.
type Secrets struct {
	places []span2  // in degrees, and in metres of the projections people use
	ids    []string // names, folded, with a space at both ends
	joined []string // long names without spaces
	told   []string // names that may be told, folded
	hashes []hash
	first  track.Instant // of the visits
	last   track.Instant
	dates  bool // days may be told
}

// span2 is a range of north and east numbers.
type span2 struct {
	north, east [2]float64
	metres      bool
}

// nearDeg is how near to the site a position must not be: some 2 km.
const nearDeg = 0.02

// SecretsOf gathers what may not be told of a result: where it is, the names of its
// site, landmarks, sessions, walkers and files, and the hashes of its inputs. What the
// settings allow to be told is no secret.
//
// Names of fewer than four letters, of two in scripts that write words with one or two
// signs, are not looked for; neither are names made only of words that a share copy
// uses itself, such as "the well".
func SecretsOf(r *coverage.Result, set ShareSettings) *Secrets {
	s := &Secrets{dates: set.Dates, first: track.NoTime, last: track.NoTime}
	s.addPlaces(r)
	for _, l := range r.Site.Landmarks {
		if set.Names {
			s.told = append(s.told, folded(l.Name))
		}
	}
	s.addWords(r.Site.Name)
	for _, a := range slices.Concat(r.Site.Boundary, r.Site.Keepouts) {
		s.addWords(a.Name)
	}
	for _, l := range r.Site.Landmarks {
		s.AddName(l.Name)
		// The kind "trough" is told with the name "water trough".
		if kindOf(l) == "" && !(set.Names && strings.Contains(folded(l.Name), folded(l.Kind))) {
			s.AddName(l.Kind)
		}
	}
	for _, l := range r.Site.Slow {
		s.AddName(l.Name)
	}
	for _, l := range r.Site.LaidOut {
		s.AddName(l.Name)
	}
	for _, v := range slices.Concat(r.Sessions, r.LeftOut) {
		s.AddName(v.Name)
		s.AddFile(v.File)
		s.addWords(v.Walker)
		s.AddHash(v.SHA256)
		s.addTimes(v.Start, v.End)
	}
	for _, n := range r.Notes {
		s.AddFile(n.File)
	}
	for _, n := range r.Skipped {
		s.AddFile(n.File)
	}
	for _, c := range r.Copies {
		s.AddName(c.Name)
		s.AddFile(c.File)
	}
	return s
}

// AddFile adds a path: the name of each folder in it and of the file, with its ending
// and without.
func (s *Secrets) AddFile(path string) {
	for _, part := range strings.FieldsFunc(path, func(r rune) bool { return r == '/' || r == '\\' }) {
		s.AddName(part)
		if dot := strings.LastIndexByte(part, '.'); dot > 0 {
			s.AddName(part[:dot])
		}
	}
}

func (s *Secrets) addTimes(ts ...track.Instant) {
	for _, t := range ts {
		if t.Known() {
			if !s.first.Known() || t < s.first {
				s.first = t
			}
			s.last = max(s.last, t)
		}
	}
}

// addPlaces takes the box about the datum, the site and its landmarks, and the same box
// in UTM, of the zones beside too, and in web mercator.
func (s *Secrets) addPlaces(r *coverage.Result) {
	lo, hi := r.Frame.Datum(), r.Frame.Datum()
	add := func(q grid.XY) {
		p := r.Frame.ToLonLat(q)
		if !p.Valid() {
			return
		}
		lo = grid.LonLat{Lon: min(lo.Lon, p.Lon), Lat: min(lo.Lat, p.Lat)}
		hi = grid.LonLat{Lon: max(hi.Lon, p.Lon), Lat: max(hi.Lat, p.Lat)}
	}
	for _, p := range r.Local.Boundary {
		for _, q := range p.Outer {
			add(q)
		}
	}
	for _, l := range r.Local.Landmarks {
		for _, q := range l.XY {
			add(q)
		}
	}
	if hi.Lon-lo.Lon > 180 { // on both sides of the antimeridian
		s.box(grid.LonLat{Lon: -180, Lat: lo.Lat}, grid.LonLat{Lon: -180 + nearDeg, Lat: hi.Lat})
		lo.Lon, hi.Lon = 180-nearDeg, 180
	}
	s.box(lo, hi)
}

func (s *Secrets) box(lo, hi grid.LonLat) {
	lo, hi = grid.LonLat{Lon: lo.Lon - nearDeg, Lat: lo.Lat - nearDeg}, grid.LonLat{Lon: hi.Lon + nearDeg, Lat: hi.Lat + nearDeg}
	s.places = append(s.places, span2{north: [2]float64{lo.Lat, hi.Lat}, east: [2]float64{lo.Lon, hi.Lon}})
	zone := math.Floor((lo.Lon+hi.Lon)/2/6)*6 + 3
	for _, off := range []float64{-6, 0, 6} {
		if hi.Lat >= 0 {
			s.projected(lo, hi, func(p grid.LonLat) grid.XY { return utm(p, zone+off) })
		}
		if lo.Lat < 0 {
			s.projected(lo, hi, func(p grid.LonLat) grid.XY { return utm(p, zone+off).Plus(grid.XY{Y: falseNorthing}) })
		}
	}
	s.projected(lo, hi, webMercator)
}

func (s *Secrets) projected(lo, hi grid.LonLat, f func(grid.LonLat) grid.XY) {
	b := grid.EmptyBounds()
	for _, p := range []grid.LonLat{lo, hi, {Lon: lo.Lon, Lat: hi.Lat}, {Lon: hi.Lon, Lat: lo.Lat}} {
		b = b.Add(f(p))
	}
	s.places = append(s.places, span2{north: [2]float64{b.Min.Y, b.Max.Y}, east: [2]float64{b.Min.X, b.Max.X}, metres: true})
}

// falseNorthing is added to northings south of the equator.
const falseNorthing = 10_000_000

// utm is easting and northing about the meridian of a zone, as in the north: scale
// 0.9996, false easting 500 km (NGA.SIG.0012, the universal grids).
func utm(p grid.LonLat, meridian float64) grid.XY {
	f, err := grid.NewFrame(grid.LonLat{Lon: math.Remainder(meridian, 360)})
	if err != nil {
		return grid.XY{X: math.NaN(), Y: math.NaN()}
	}
	q := f.ToXY(p)
	return grid.XY{X: 500_000 + 0.9996*q.X, Y: 0.9996 * q.Y}
}

// webMercator is EPSG:3857: the sphere of WGS 84's equatorial radius (EPSG method 1024).
func webMercator(p grid.LonLat) grid.XY {
	const r = 6378137
	return grid.XY{X: r * p.Lon * math.Pi / 180, Y: r * math.Log(math.Tan(math.Pi/4+p.Lat*math.Pi/360))}
}

// Leaks looks into one file and returns what it tells that it must not, each once:
// nothing when it tells nothing. It decodes PNG, JPEG, ZIP, gzip, PDF, JSON, HTML, SVG,
// XML and text, and what is inside of those; a file that it cannot look into is a leak
// itself. Pictures of words are not read: hand in the words with [Secrets.Told].
//
// A position is a leak within 0.02 degrees of the site: decimal degrees with three
// decimals or more (four below 1), a latitude and a longitude next to each other with
// two, degrees with minutes, whole millionths or ten-millionths of degrees, semicircles,
// UTM and web mercator in metres, the latter not within 100 km of longitude and latitude
// 0. Other grids, and positions in words, it does not know.
func (s *Secrets) Leaks(name string, data []byte) []Leak {
	l := &looker{Secrets: s}
	l.file(name, data, 0)
	return l.sorted()
}

// Told is Leaks for words that are shown but cannot be read back.
func (s *Secrets) Told(where string, words []string) []Leak {
	l := &looker{Secrets: s}
	l.text(where, strings.Join(words, "\n"))
	return l.sorted()
}

// looker gathers what it finds.
type looker struct {
	*Secrets
	found []Leak
}

func (l *looker) leak(where string, kind LeakKind, found string) {
	if r := []rune(found); len(r) > 60 {
		found = string(r[:60]) + "…"
	}
	l.found = append(l.found, Leak{where, kind, found})
}

func (l *looker) sorted() []Leak {
	slices.SortFunc(l.found, func(a, b Leak) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Found, b.Found))
	})
	return slices.Compact(l.found)
}
