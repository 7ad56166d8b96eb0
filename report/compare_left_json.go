package report

import (
	"math"

	"untrod/coverage"
)

func leftsDoc(r *coverage.Result) LeftsDoc {
	d := LeftsDoc{Landmarks: []LeftDoc{}, Fresh: freshDoc(r)}
	for i, l := range r.Comparison.Left {
		if i == 0 {
			d.Site = leftDoc(r, l)
		} else {
			d.Landmarks = append(d.Landmarks, leftDoc(r, l))
		}
	}
	return d
}

func leftDoc(r *coverage.Result, l coverage.Left) LeftDoc {
	d := LeftDoc{Landmark: l.Landmark, SameM2: round2(l.SameM2), Others: l.Others,
		Visits: []string{}, Catches: append([]int{}, l.Catches...), Seconds: []Number{}}
	for _, v := range l.Visits {
		d.Visits = append(d.Visits, r.Sessions[v].Name)
	}
	for _, s := range l.Seconds {
		d.Seconds = append(d.Seconds, to(s, 1))
	}
	if l.Refused != nil {
		d.Refused = l.Refused.Error()
		return d
	}
	m := l.Removal
	d.Estimate = &EstimateDoc{Method: m.Method, Found: m.Found, N: round2(m.N), SE: round2(m.SE), Lo: round2(m.Lo), Hi: round2(m.Hi),
		Left: round2(m.N - float64(m.Found)), P: to(m.P, 4), PSE: to(m.PSE, 4), Rough: m.Rough}
	return d
}

func freshDoc(r *coverage.Result) FreshDoc {
	t := r.Comparison.Trend
	d := FreshDoc{Visits: []FreshVisitDoc{}, Early: haulDoc(t.Early), Late: haulDoc(t.Late)}
	for _, v := range t.Visits {
		d.Visits = append(d.Visits, FreshVisitDoc{r.Sessions[v.Session].Name,
			HaulDoc{v.Finds, to(v.Hours, 4)}, rateDoc(v.PerHour)})
	}
	if !math.IsNaN(t.Ratio.P) {
		d.LateFrom = d.Visits[t.LateFrom].Visit
		d.LateToEarly = ratioDoc(t.Ratio, t.Ratio.P, t.Ratio.P)
	}
	return d
}

func haulDoc(h coverage.Haul) HaulDoc { return HaulDoc{h.Finds, to(h.Effort, 4)} }
