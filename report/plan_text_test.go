package report

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check/golden"
	"untrod/plan"
)

func planText(t *testing.T, r *coverage.Result, p *plan.Plan, u Units) string {
	var b bytes.Buffer
	require.NoError(t, PlanText(&b, r, p, u))
	return b.String()
}

// planWords is the text on one line.
func planWords(t *testing.T, r *coverage.Result, p *plan.Plan) string {
	return strings.Join(strings.Fields(planText(t, r, p, Metric)), " ")
}

func TestPlanTextKeepsTo80Columns(t *testing.T) {
	r, p := fieldPlan(t)
	long := strings.Repeat("milestone ", 12) + strings.Repeat("x", 100)
	for i := range p.Stops {
		p.Stops[i].Why = long
		for k := range p.Stops[i].Reach {
			p.Stops[i].Reach[k].Landmark = long
		}
	}
	p.Notes, p.Left[0].Why, r.Site.Name = []string{long}, long, long
	p.Expected.FreshM2, p.LaneM, p.WalkM = 123_456_789, 9_999_999, 9_999_999
	for _, u := range []Units{Metric, Imperial} {
		for _, l := range strings.Split(planText(t, r, p, u), "\n") {
			require.LessOrEqual(t, utf8.RuneCountInString(l), textWidth, "%q", l)
			require.Equal(t, strings.TrimRight(l, " "), l)
		}
	}
}

func TestPlanTextHandsNoControlCharactersOn(t *testing.T) {
	r, p := fieldPlan(t)
	p.Stops[0].Why, p.Stops[0].Reach[0].Landmark, p.Notes = "\x1b[31mwhy", "\x1b[31mwell", []string{"\x1b[31mnote"}
	p.Left[0].Why = "\x1b[31mleft"
	require.NotContains(t, planText(t, r, p, Metric), "\x1b")
}

func TestPlanTextSays(t *testing.T) {
	for _, c := range []struct {
		name    string
		change  func(*coverage.Result, *plan.Plan)
		holds   []string
		missing []string
	}{
		{"not guided", func(*coverage.Result, *plan.Plan) {},
			[]string{"The receiver cannot keep you on a lane", "string line or flags", "Paces are of 75 cm."}, []string{"can lead you"}},
		{"guided", func(_ *coverage.Result, p *plan.Plan) { p.Guided = true },
			[]string{"The receiver can lead you: load next.gpx"}, []string{"string line"}},
		{"magnetic north to the west", func(_ *coverage.Result, p *plan.Plan) {
			p.Magnetic = plan.Magnetic{DeclinationDeg: -3.24, ErrorDeg: 0.38, HorizontalNT: 20000}
		}, []string{"3.2 degrees west of true north, right to 0.4 two times in three (World Magnetic Model 2025, until 2030)"}, []string{"outside the years", "mislead"}},
		{"model out of date", func(_ *coverage.Result, p *plan.Plan) { p.Magnetic.Expired = true },
			[]string{"The visit is outside the years that model is made for, 2025 to 2030"}, nil},
		{"weak field", func(_ *coverage.Result, p *plan.Plan) { p.Magnetic.HorizontalNT = 3000 },
			[]string{"a compass may mislead", "by compass"}, nil},
		{"no field", func(_ *coverage.Result, p *plan.Plan) { p.Magnetic.HorizontalNT = 1500 },
			[]string{"A compass is of no use here"}, []string{"by compass"}},
		{"start at a landmark", func(r *coverage.Result, p *plan.Plan) {
			p.Settings.Start, p.Settings.End = grid.XY{X: -16.5, Y: 7.5}, grid.XY{X: 13, Y: -3}
		}, []string{"7 stops from gatepost and on to boulder, in", "to boulder."}, nil},
		{"no landmark near", func(_ *coverage.Result, p *plan.Plan) { p.Stops[0].Reach = nil },
			[]string{"begin at 51.2344", "no landmark is near enough"}, nil},
		{"no time", func(_ *coverage.Result, p *plan.Plan) { p.Budgets[0].Stops = 0 },
			[]string{"1 h too short for any gap"}, nil},
		{"no gaps", func(_ *coverage.Result, p *plan.Plan) {
			*p = plan.Plan{NoGaps: true, SecondPass: &plan.SecondPass{NowPercent: 97, AfterPercent: 99.7, LaneM: 700, SearchS: 1800}}
		}, []string{"No gaps are left to walk.", "at right angles to the first, would take 30 min of searching on 700 m of lanes; most likely swept, now 97 %, would be over 99 %."}, []string{"Bearings", "Then "}},
		{"no gaps, and a chance to find", func(_ *coverage.Result, p *plan.Plan) {
			*p = plan.Plan{NoGaps: true, SecondPass: &plan.SecondPass{Detection: true, NowPercent: 60, AfterPercent: 80}}
		}, []string{"the chance to find what lies anywhere, now 60 %, would be 80 %."}, nil},
		{"nothing fits", func(_ *coverage.Result, p *plan.Plan) { p.Stops = nil },
			[]string{"Nothing can be planned for 3 h 00 min.", "Left for another day"}, []string{"string line"}},
		{"what is left and why", func(*coverage.Result, *plan.Plan) {},
			[]string{"Left for another day", ": no time left for it", "more gaps", "Gap 7 is closed off by keep-outs.", "only with the owner's leave"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, p := fieldPlan(t)
			c.change(r, p)
			got := planWords(t, r, p)
			for _, h := range c.holds {
				require.Contains(t, got, h)
			}
			for _, m := range c.missing {
				require.NotContains(t, got, m)
			}
			require.NotContains(t, got, "NaN")
		})
	}
}

// With perfect positions there is only as logged to tell of.
func TestPlanTextAsLogged(t *testing.T) {
	r, _ := field().make(t)
	got := planWords(t, r, visitOf(t, r, cornerOf(r), 3))
	require.Contains(t, got, "As logged, ")
	require.NotContains(t, got, "NaN")
	require.NotContains(t, got, "?")
	require.NotContains(t, got, "most likely")
}

// A walker who looks north has what lies east on the right.
func TestSideOf(t *testing.T) {
	north := plan.Lane{From: grid.XY{}, To: grid.XY{Y: 10}}
	east := plan.Lane{From: grid.XY{X: 1, Y: 10}, To: grid.XY{X: 1}}
	require.Equal(t, "right", sideOf(north, east))
	require.Equal(t, "right", sideOf(east, north))
	west := plan.Lane{From: grid.XY{X: -1, Y: 9}, To: grid.XY{X: -1}}
	require.Equal(t, "left", sideOf(north, west))
}

func TestBearingsInWords(t *testing.T) {
	for deg, want := range map[float64]string{0: "000", 7.4: "007", 92.5: "093", 359.4: "359", 359.6: "000", 360: "000"} {
		require.Equal(t, want, threeDigits(deg))
	}
	// Magnetic north 10 degrees east of true: a compass shows 10 less.
	b := compassed(5, plan.Magnetic{DeclinationDeg: 10})
	require.InDelta(t, 355, b.magneticDeg, 1e-9)
	b = compassed(355, plan.Magnetic{DeclinationDeg: -10})
	require.InDelta(t, 5, b.magneticDeg, 1e-9)
	require.True(t, math.IsNaN(compassed(math.NaN(), plan.Magnetic{}).magneticDeg))
}

func walkedOf(t *testing.T) WalkedDoc {
	r, p := fieldPlan(t)
	d := PlanOf(r, p)
	f, err := d.Frame()
	require.NoError(t, err)
	var out []plan.LaneWalked
	for i, stop := range d.Lanes(f) {
		for k := range stop {
			l := plan.LaneWalked{Stop: i, Lane: k, Share: 1 - 0.3*float64((i+k)%4), OffM: 0.4 + 0.1*float64(i)}
			if l.Share < 0.2 || i == 3 {
				l.Share, l.OffM = 0, math.NaN()
			}
			out = append(out, l)
		}
	}
	return Walked(&d, "evening", out)
}

func TestWalkedGolden(t *testing.T) {
	d := walkedOf(t)
	var text, js bytes.Buffer
	require.NoError(t, errors.Join(WalkedText(&text, d, Metric), WalkedJSON(&js, d)))
	golden.Bytes(t, "testdata/walked.txt", text.Bytes())
	golden.Bytes(t, "testdata/walked.json", js.Bytes())
}

func TestRanges(t *testing.T) {
	require.Equal(t, []string{"1-4", "7", "9-10"}, ranges([]int{1, 2, 3, 4, 7, 9, 10}))
	require.Empty(t, ranges(nil))
}

// Lanes come back from the document where the plan has them, to 2 mm.
func TestPlanLanesReadBack(t *testing.T) {
	r, p := fieldPlan(t)
	d := PlanOf(r, p)
	back := d.Lanes(r.Frame)
	require.Len(t, back, len(p.Stops))
	for i, s := range p.Stops {
		for k, l := range stopLanes(s) {
			require.InDelta(t, 0, apart(l.From, back[i][k].From), 0.002)
			require.InDelta(t, 0, apart(l.To, back[i][k].To), 0.002)
		}
	}
}
