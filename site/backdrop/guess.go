package backdrop

import (
	"errors"
	"math"

	"untrod/grid"
)

// nearM is how far from the site a picture may lie whose system is guessed.
const nearM = 20_000

// Why a picture has no place.
var (
	ErrNoNumbers = errors.New("it does not say where it lies: place it by tie points")
	errNoGuess   = errors.New("it does not say in which system its numbers are, and in none of the usual ones does it lie within 20 km of the site: place it by tie points")
	errNoSite    = errors.New("it does not say in which system its numbers are: draw the site's outline or add logs, and it can be guessed")
)

// Place is where the picture lies by what its file says. Where that gives numbers and
// not their system, as world files and ASCII grids do, the system is guessed: degrees,
// UTM or Web Mercator, the first that puts the picture within 20 km of near, the
// middle of the site, nil where that is not known.
//
// It is an error, in plain words, when it has none.
func (p *Picture) Place(near *grid.LonLat) (place Place, guessed bool, err error) {
	switch {
	case p.Numbers == nil && p.Unplaced == "":
		return place, false, ErrNoNumbers
	case p.Unplaced != "":
		return place, false, errors.New(p.Unplaced)
	case p.System.Known():
		place, err = newPlace(p.Width, p.Height, *p.Numbers, p.System)
		return place, false, err
	case near == nil:
		return place, false, errNoSite
	}
	for _, s := range usual(*near) {
		place, err = newPlace(p.Width, p.Height, *p.Numbers, s)
		if err == nil && place.FromM(*near) <= nearM {
			return place, true, nil
		}
	}
	return Place{}, false, errNoGuess
}

// usual are the systems that numbers near a site may be in: its own UTM zone before
// the zones beside it, its own half of the globe before the other.
func usual(near grid.LonLat) []System {
	out := []System{wgs84Degrees}
	zone := int(math.Floor((near.Lon+180)/6)) % 60
	for _, south := range []bool{near.Lat < 0, near.Lat >= 0} {
		for _, beside := range []int{0, 59, 1} {
			out = append(out, utm((zone+beside)%60+1, south))
		}
	}
	return append(out, web)
}
