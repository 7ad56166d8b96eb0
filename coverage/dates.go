package coverage

import (
	"math"

	"untrod/site"
)

// DateRange is the years some finds of one kind were made in, first and last both
// counted; equal when the year is known. An end not known is site.NoYear. Years
// before our era are below 0; that there is no year 0 is not allowed for.
type DateRange struct{ From, To, Finds int }

// Dating is what the dates of finds tell together.
type Dating struct {
	Mean    float64 // mean year, weighted by finds; NaN when none is dated
	Dated   int     // finds with both ends: all that Mean and Decades are made of
	Open    int     // finds with one end only, left out: any other end would be made up
	Undated int     // finds with no date
	Odd     int     // finds that end before they begin, or with a year beyond MaxYear
	Decades []Decade
}

// Decade is ten years from From, and how many finds fall to them.
type Decade struct {
	From  int
	Finds float64
}

// MaxYear is how far from 0 a year may be; what lies beyond is a slip of the pen.
const MaxYear = 10_000

// DatesOf dates finds together. Mean is South's mean date, each range standing for
// its middle year (South 1977, Method and Theory in Historical Archeology).
// Decades run without a break from the earliest year to the latest and add up to
// Dated, every find spread evenly over its years (aoristic: Ratcliffe 2002, J.
// Quant. Criminol. 18:23). Ranges of fewer than one find are passed over.
// O(ranges x decades of each).
func DatesOf(ranges []DateRange) Dating {
	d := Dating{Mean: math.NaN()}
	var dated []DateRange
	for _, r := range ranges {
		if r.Finds < 1 {
			continue
		}
		group := d.group(r)
		*group += r.Finds
		if group == &d.Dated {
			dated = append(dated, r)
		}
	}
	if len(dated) == 0 {
		return d
	}
	d.Mean = meanYear(dated)
	first, last := decade(dated[0].From), decade(dated[0].To)
	for _, r := range dated {
		first, last = min(first, decade(r.From)), max(last, decade(r.To))
	}
	for i, finds := range spread(dated, blocks{first, 10, (last-first)/10 + 1}) {
		d.Decades = append(d.Decades, Decade{first + 10*i, finds})
	}
	return d
}

// decade is the first year of the ten that a year belongs to.
func decade(year int) int { return int(math.Floor(float64(year)/10)) * 10 }

// group is the count a range belongs to.
func (d *Dating) group(r DateRange) *int {
	from, to := r.From != site.NoYear, r.To != site.NoYear
	odd := func(year int) bool { return year < -MaxYear || year > MaxYear }
	switch {
	case !from && !to:
		return &d.Undated
	case from && odd(r.From) || to && odd(r.To) || from && to && r.To < r.From:
		return &d.Odd
	case !from || !to:
		return &d.Open
	}
	return &d.Dated
}

func meanYear(ranges []DateRange) float64 {
	sum, finds := 0.0, 0.0
	for _, r := range ranges {
		n := float64(r.Finds)
		sum, finds = sum+n*float64(r.From+r.To)/2, finds+n
	}
	return sum / finds
}

// blocks are n stretches of years, the first from year from.
type blocks struct{ from, years, n int }

// spread shares every find out over the blocks by how many of its years fall to
// each. What falls outside the blocks is lost.
func spread(ranges []DateRange, b blocks) []float64 {
	out := make([]float64, b.n)
	for _, r := range ranges {
		for i := max(0, (r.From-b.from)/b.years); i < b.n; i++ {
			start := b.from + i*b.years
			if start > r.To {
				break
			}
			years := min(r.To+1, start+b.years) - max(r.From, start)
			out[i] += float64(r.Finds) * float64(max(years, 0)) / float64(r.To+1-r.From)
		}
	}
	return out
}
