package report

import (
	"encoding/json"
	"io"

	"untrod/coverage"
)

// CompareSchema names the form of a CompareDoc; it changes when a field changes its
// meaning.
const CompareSchema = "untrod-compare-1"

// CompareDoc is a comparison of landmarks in numbers. Areas are in square metres to
// 0.01, percents to 0.001, metres to 0.01, rates, ratios and counts of finds to
// 0.0001, p to 0.000001. What is not known or has no limit is null.
type CompareDoc struct {
	Schema   string             `json:"schema"`
	Site     string             `json:"site"`
	Settings CompareSettingsDoc `json:"settings"`
	Finds    FindCountsDoc      `json:"finds"`
	Zones    []ZoneDoc          `json:"zones"`
	Rest     ZoneDoc            `json:"rest"`
	Left     LeftsDoc           `json:"left"`
	Readings []BandDoc          `json:"readings"`
	Dates    DatesDoc           `json:"dates"`
}

// CompareSettingsDoc holds the settings of the comparison as used.
type CompareSettingsDoc struct {
	RingsM   []Number    `json:"rings_m"`
	Overlap  string      `json:"overlap"` // nearest or each
	Level    Number      `json:"level"`   // of all limits
	Coverage SettingsDoc `json:"coverage"`
	Position PositionDoc `json:"position"`
}

// FindCountsDoc says where the finds went.
type FindCountsDoc struct {
	OnSite  int `json:"on_site"`
	Outside int `json:"outside"`
	NoPlace int `json:"no_place"`
	NoVisit int `json:"no_visit"`           // of those on the site, made in no visit that is known
	LeftOut int `json:"left_out,omitempty"` // made in visits left out, and not compared
}

// ZoneDoc is a coverage.Zone; landmark is empty and ratio_to_rest null for the rest.
type ZoneDoc struct {
	Landmark        string     `json:"landmark"`
	FromM           Number     `json:"from_m"`
	ToM             Number     `json:"to_m"`
	SearchableM2    Number     `json:"searchable_m2"`
	SweptM2         Number     `json:"swept_m2"` // as logged
	AsLoggedPercent Number     `json:"as_logged_percent"`
	AtLeastPercent  Number     `json:"at_least_percent"` // null with perfect positions
	ExpectedPercent Number     `json:"expected_percent"`
	Interval90      *[2]Number `json:"interval_90_percent"`
	MeanPasses      Number     `json:"mean_passes"`
	SearchSPerM2    Number     `json:"search_s_per_m2"`
	TrackM          Number     `json:"track_m"`
	Finds           Number     `json:"finds"` // a find near an edge counts in part
	Keepers         Number     `json:"keepers"`
	FindsPer100M2   RateDoc    `json:"finds_per_100m2"`
	FindsPerHour    RateDoc    `json:"finds_per_hour"`
	RatioToRest     *RatioDoc  `json:"ratio_to_rest"`
}

// RateDoc is a coverage.Rate.
type RateDoc struct {
	Value Number `json:"value"`
	Lo    Number `json:"lo"`
	Hi    Number `json:"hi"`
}

// RatioDoc is a coverage.Ratio, its limits over the draws. p is that of the finds and the
// ground as logged, p_holm the same corrected for all rings.
type RatioDoc struct {
	RateDoc
	P     Number `json:"p"`
	PHolm Number `json:"p_holm"`
}

// LeftsDoc is what may be left in the ground.
type LeftsDoc struct {
	Site      LeftDoc   `json:"site"`
	Landmarks []LeftDoc `json:"landmarks"`
	Fresh     FreshDoc  `json:"fresh_ground"`
}

// LeftDoc is a coverage.Left. The estimate is null where refused says why.
type LeftDoc struct {
	Landmark string       `json:"landmark"`
	SameM2   Number       `json:"same_m2"`
	Visits   []string     `json:"visits"`
	Catches  []int        `json:"catches"`
	Seconds  []Number     `json:"search_s"`
	Others   int          `json:"other_finds"`
	Refused  string       `json:"refused"`
	Estimate *EstimateDoc `json:"estimate"`
}

// EstimateDoc is a coverage.Removal: finds held before the first visit, and left now.
type EstimateDoc struct {
	Method string `json:"method"`
	Found  int    `json:"found"`
	N      Number `json:"n"`
	SE     Number `json:"se"`
	Lo     Number `json:"lo"`
	Hi     Number `json:"hi"`
	Left   Number `json:"left"`
	P      Number `json:"p"` // that one visit takes a find still there
	PSE    Number `json:"p_se"`
	Rough  bool   `json:"rough"`
}

// FreshDoc is a coverage.Trend.
type FreshDoc struct {
	Visits      []FreshVisitDoc `json:"visits"`
	Early       HaulDoc         `json:"early"`
	Late        HaulDoc         `json:"late"`
	LateFrom    string          `json:"late_from"` // the first of the later visits
	LateToEarly *RatioDoc       `json:"late_to_early"`
}

// FreshVisitDoc is a coverage.FreshVisit.
type FreshVisitDoc struct {
	Visit string `json:"visit"`
	HaulDoc
	PerHour RateDoc `json:"finds_per_hour"`
}

// HaulDoc is finds and hours.
type HaulDoc struct {
	Finds int    `json:"finds"`
	Hours Number `json:"hours"`
}

// CompareJSON writes the comparison of r, indented by one space. r.Comparison must be
// there.
func CompareJSON(w io.Writer, r *coverage.Result) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	return enc.Encode(compareDoc(r))
}

func compareDoc(r *coverage.Result) CompareDoc {
	c, set := r.Comparison, r.Settings.Zones
	d := CompareDoc{
		Schema: CompareSchema, Site: r.Site.Name,
		Settings: CompareSettingsDoc{RingsM: []Number{}, Overlap: "each", Level: coverage.CompareLevel,
			Coverage: settings(r), Position: position(r)},
		Finds: FindCountsDoc{OnSite: len(c.Placed), Outside: c.Outside, NoPlace: c.Placeless, LeftOut: r.LeftOutFinds},
		Zones: []ZoneDoc{}, Rest: zoneDoc(c.Rest), Readings: bandDocs(c), Dates: datesDoc(c.Dates),
	}
	if set.Nearest {
		d.Settings.Overlap = "nearest"
	}
	for _, m := range set.RingsM {
		d.Settings.RingsM = append(d.Settings.RingsM, round2(m))
	}
	for _, f := range c.Placed {
		if f.Visit < 0 {
			d.Finds.NoVisit++
		}
	}
	for _, z := range c.Zones {
		zone := zoneDoc(z)
		zone.RatioToRest = ratioDoc(z.RatioToRest, z.RatioAsLogged.P, z.PHolm)
		d.Zones = append(d.Zones, zone)
	}
	d.Left = leftsDoc(r)
	return d
}

func zoneDoc(z coverage.Zone) ZoneDoc {
	d := ZoneDoc{
		Landmark: z.Landmark, FromM: round2(z.FromM), ToM: round2(z.ToM),
		SearchableM2: round2(z.SearchableM2), SweptM2: round2(z.SweptM2), AsLoggedPercent: round3(z.AsLoggedPercent),
		AtLeastPercent: unknown, ExpectedPercent: unknown,
		MeanPasses: to(z.MeanPasses, 4), SearchSPerM2: to(z.SearchSPerM2, 4), TrackM: round2(z.TrackM),
		Finds: to(z.Finds, 4), Keepers: to(z.Keepers, 4),
		FindsPer100M2: rateDoc(z.FindsPer100M2), FindsPerHour: rateDoc(z.FindsPerHour),
	}
	if z.Cells == 0 {
		d.AsLoggedPercent, d.MeanPasses, d.SearchSPerM2 = unknown, unknown, unknown
	}
	if c := z.Certainty; c != nil {
		d.AtLeastPercent, d.ExpectedPercent = round3(c.AtLeastPercent), round3(c.ExpectedPercent)
		d.Interval90 = limits(c.Interval90[0], c.Interval90[1], 3)
	}
	return d
}

func rateDoc(r coverage.Rate) RateDoc { return RateDoc{to(r.Value, 4), to(r.Lo, 4), to(r.Hi, 4)} }

func ratioDoc(r coverage.Ratio, p, holm float64) *RatioDoc {
	return &RatioDoc{RateDoc{to(r.Value, 4), to(r.Lo, 4), to(r.Hi, 4)}, to(p, 6), to(holm, 6)}
}
