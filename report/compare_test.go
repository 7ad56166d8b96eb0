package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/internal/check/golden"
	"untrod/site"
)

func TestCompareTextGolden(t *testing.T) {
	for _, c := range []struct {
		name string
		u    Units
		r    *coverage.Result
	}{
		{"compare-metric", Metric, comparedGround(t)},
		{"compare-imperial", Imperial, comparedGround(t)},
		{"compare-unsure", Metric, comparedUnsure(t)},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b bytes.Buffer
			require.NoError(t, CompareText(&b, c.r, c.u))
			golden.Bytes(t, "testdata/"+c.name+".txt", b.Bytes())
			for _, l := range strings.Split(b.String(), "\n") {
				require.LessOrEqual(t, utf8.RuneCountInString(l), textWidth, l)
			}
		})
	}
}

func TestCompareJSONGolden(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, CompareJSON(&b, comparedUnsure(t)))
	golden.Bytes(t, "testdata/compare.json", b.Bytes())
	var d CompareDoc
	strict := json.NewDecoder(bytes.NewReader(b.Bytes()))
	strict.DisallowUnknownFields()
	require.NoError(t, strict.Decode(&d))
	require.Equal(t, "untrod-compare-1", d.Schema)
	require.Nil(t, d.Rest.RatioToRest)
	var again bytes.Buffer
	enc := json.NewEncoder(&again)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	require.NoError(t, enc.Encode(d))
	require.Equal(t, b.String(), again.String())
}

func TestComparePicturesGolden(t *testing.T) {
	r := comparedUnsure(t)
	effort, finds := newDensitySheet(r, Metric, effortDensity(r), "how hard it was searched"), newDensitySheet(r, Metric, findDensity(r), "finds for the ground swept")
	finds.finds = true
	for name, write := range map[string]func(io.Writer) error{
		"compare-zones":  func(w io.Writer) error { return zonesPNG(w, r, Metric, 100) },
		"compare-effort": func(w io.Writer) error { return densityPNG(w, effort, 100) },
		"compare-finds":  func(w io.Writer) error { return densityPNG(w, finds, 100) },
		"compare-dates":  func(w io.Writer) error { return datesPNG(w, r, 100) },
	} {
		t.Run(name, func(t *testing.T) {
			var pic bytes.Buffer
			require.NoError(t, write(&pic))
			golden.PNG(t, "testdata/"+name+".png", pic.Bytes(), golden.Tolerance{Channel: 24, Pixels: 200})
		})
	}
}

// What cannot be told is said, and nothing breaks.
func TestCompareTextWithLittle(t *testing.T) {
	said := func(edit func(*coverage.Result)) string {
		r := comparedGround(t)
		edit(r)
		var b, pic bytes.Buffer
		require.NoError(t, CompareText(&b, r, Metric))
		require.NoError(t, zonesPNG(&pic, r, Metric, 30))
		require.NoError(t, datesPNG(&pic, r, 30))
		require.NoError(t, CompareJSON(&pic, r))
		return strings.Join(strings.Fields(b.String()), " ")
	}
	for _, c := range []struct {
		name, want string
		edit       func(*coverage.Result)
	}{
		{"no landmarks", "The site has no landmarks, so there is nothing to compare", func(r *coverage.Result) { r.Comparison.Zones = nil }},
		{"no finds", "No finds on the site, so only the searching can be compared.", func(r *coverage.Result) { r.Comparison.Placed = nil }},
		{"no rest", "The rings take up the whole site", func(r *coverage.Result) { r.Comparison.Rest.Cells = 0 }},
		{"not swept", "No ring can be compared with the rest", func(r *coverage.Result) {
			for _, z := range pointers(r.Comparison.Zones) {
				z.RatioAsLogged.P, z.PHolm = math.NaN(), math.NaN()
			}
		}},
		{"alone", "may be chance", func(r *coverage.Result) {
			for _, z := range pointers(r.Comparison.Zones) {
				z.RatioAsLogged.P, z.PHolm = 0.03, 0.18
			}
		}},
		{"limits hold one", "how much it differs stays open", func(r *coverage.Result) {
			r.Comparison.Zones[0].RatioToRest.Lo, r.Comparison.Zones[0].PHolm = 0.8, 0.01
		}},
		{"rising", "Later passes brought more than earlier ones", func(r *coverage.Result) {
			r.Comparison.Left[0].Refused = errors.Join(coverage.ErrRising)
		}},
		{"uneven", "too unlike, fewer finds may only mean less searching", func(r *coverage.Result) {
			r.Comparison.Left[0].Refused = coverage.EvenEffort([]float64{1, 2})
		}},
		{"no visit", "2 finds in no visit by time", func(r *coverage.Result) {
			r.Comparison.Placed[0].Visit, r.Comparison.Placed[1].Visit = -1, -1
		}},
		{"hostile names", "evil", func(r *coverage.Result) { r.Comparison.Zones[0].Landmark = "ev\x1bil\n" }},
	} {
		t.Run(c.name, func(t *testing.T) { require.Contains(t, said(c.edit), c.want) })
	}
}

func TestCompareWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{pWords(0.0004), "under 0.001"}, {pWords(0.0312), "0.031"}, {pWords(0.4), "0.40"}, {pWords(0.999), "1"},
		{span(0, math.Inf(1)), "0 up"}, {span(0.012, 3.44), "0.01 to 3.4"}, {tenth(3), "3"}, {tenth(2.44), "2.4"},
		{decadeWords(1760), "1760s"}, {decadeWords(-40), "40 BCE"}, {yearWords(1762.72), "1763"},
		{rateWords(coverage.Rate{Value: math.NaN()}), "-"}, {ringWords(Imperial, coverage.Zone{FromM: 5, ToM: 10}), "16.4 to 32.8 ft"},
	} {
		require.Equal(t, c.want, c.got)
	}
}

// Each wash is darker than the one before, so that grey print keeps the order.
func TestWashesKeepTheirOrder(t *testing.T) {
	for name, eye := range eyes {
		lighter := paper
		for i, w := range washes {
			step := map[bool]float64{true: 7, false: minStep}[i == 0]
			require.GreaterOrEqual(t, lightness(lighter, eye)-lightness(w, eye), step, "%s, wash %d", name, i)
			lighter = w
		}
	}
}

// An even effort is an even wash up to the edge of the site.
func TestDensityIsEvenToTheEdge(t *testing.T) {
	r := comparedGround(t)
	d := effortDensity(r)
	require.Positive(t, d.step)
	total := 0.0
	for _, s := range d.share {
		total += s
	}
	require.InDelta(t, 100, total, 1e-6)
	require.Len(t, around(site.LocalLandmark{}, 5), 0)
	require.Len(t, around(r.Local.Landmarks[0], 5), 1)
	require.InDelta(t, math.Pi*25, math.Abs(around(r.Local.Landmarks[0], 5)[0].Area()), 0.3)
}
