package web

import (
	"net/http"
	"strings"
	"time"

	"untrod/grid"
	"untrod/plan"
	"untrod/report"
	"untrod/site"
)

// settings are those of the command plan.
func (ask NextDoc) settings(now *shown, today time.Time) (plan.Settings, error) {
	set := plan.DefaultSettings()
	if !(ask.Hours > 0 && ask.Hours <= mostHours) {
		return set, refuse(http.StatusBadRequest, "the hours must be more than 0 and at most 24")
	}
	set.BudgetS, set.Hours, set.Effort = 3600*ask.Hours, nil, sliderEffort
	set.Seed, set.Year = now.result.Settings.Position.Seed, decimalYear(today)
	set.Start = usualStart(now)
	if ask.Start != nil {
		at, err := placeAt(*ask.Start, ask.Datum)
		if err != nil {
			return set, err
		}
		set.Start = now.result.Frame.ToXY(at)
	}
	set.End = set.Start
	if ask.End != nil {
		at, err := placeAt(*ask.End, ask.Datum)
		if err != nil {
			return set, err
		}
		set.End = now.result.Frame.ToXY(at)
	}
	var err error
	if ask.ByFinds {
		set.Finds, err = findsToGoBy(now)
	}
	return set, err
}

// findsToGoBy are the finds with a place that are no scrap.
func findsToGoBy(now *shown) (out []grid.XY, err error) {
	for _, f := range now.finds {
		if f.Placed() && f.Verdict != site.Scrap {
			out = append(out, now.result.Frame.ToXY(f.Pos))
		}
	}
	if len(out) == 0 {
		return nil, refuse(http.StatusUnprocessableEntity, "there are no finds with a place to go by, scrap left out")
	}
	return out, nil
}

func decimalYear(at time.Time) float64 {
	y := at.Year()
	day := func(y int) time.Time { return time.Date(y, 1, 1, 0, 0, 0, 0, time.UTC) }
	return float64(y) + at.Sub(day(y)).Hours()/day(y+1).Sub(day(y)).Hours()
}

// usualStart is a landmark people set out from, else where the last visit came in.
func usualStart(now *shown) grid.XY {
	for _, word := range plan.StartWords {
		for _, l := range now.result.Local.Landmarks {
			if len(l.XY) > 0 && (sameWord(l.Kind, word) || sameWord(l.Name, word)) {
				return l.XY[0]
			}
		}
	}
	var began grid.XY
	if n := len(now.walks); n > 0 && len(now.walks[n-1].Paths) > 0 && len(now.walks[n-1].Paths[0].Points) > 0 {
		began = now.walks[n-1].Paths[0].Points[0].XY
	}
	return plan.WayIn(now.result.Local.Boundary, began)
}

func sameWord(a, b string) bool { return strings.EqualFold(strings.TrimSpace(a), b) }

// placeAt is where a point of a document lies that came back with its datum.
func placeAt(p PointDoc, datum *report.LonLatDoc) (grid.LonLat, error) {
	f, err := frameAt(datum)
	if err != nil {
		return grid.LonLat{}, err
	}
	at := f.ToLonLat(grid.XY{X: float64(p[0]), Y: float64(p[1])})
	if !at.Valid() {
		return at, refuse(http.StatusBadRequest, "a place is two numbers, metres east and north of the datum")
	}
	return at, nil
}

func frameAt(datum *report.LonLatDoc) (grid.Frame, error) {
	if datum == nil {
		return grid.Frame{}, refuse(http.StatusBadRequest, "places without the datum they are measured from")
	}
	f, err := grid.NewFrame(grid.LonLat{Lon: float64(datum.Lon), Lat: float64(datum.Lat)})
	if err != nil {
		return f, refuse(http.StatusBadRequest, "not a datum: "+err.Error())
	}
	return f, nil
}
