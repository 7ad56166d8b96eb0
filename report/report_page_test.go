package report

import (
	"bytes"
	"fmt"
	"html"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check/golden"
	"untrod/plan"
	"untrod/site"
)

// reported is a report with pictures of few pixels.
func reported(t testing.TB, r *coverage.Result, s ReportSays) string {
	if s.Made == "" {
		s.Made, s.Program = "2031-06-12", "test"
	}
	var out bytes.Buffer
	require.NoError(t, writeReport(&out, r, s, 15))
	return out.String()
}

// fullReport tells of the compared ground, with its finds and a visit to come.
func fullReport(t testing.TB) (*coverage.Result, ReportSays) {
	r := comparedUnsure(t)
	finds := inventedFinds(r.Frame, r.Sessions[0].Start.Time())
	finds[0].Name, finds[0].DepthM, finds[0].Note = "thimble", 0.12, "under a root"
	return r, ReportSays{Finds: finds, Plan: visitOf(t, r, grid.XY{X: -30, Y: -20}, 3)}
}

var (
	outlined = regexp.MustCompile(`(?s)<(h1|h2|h3|caption|dt|figcaption|nav|footer)\b[^>]*>(.*?)</(?:h1|h2|h3|caption|dt|figcaption|nav|footer)>|<img [^>]*alt="([^"]*)"|<thead>(.*?)</thead>|<tbody>(.*?)</tbody>`)
	tags     = regexp.MustCompile(`<[^>]*>`)
	blanks   = regexp.MustCompile(`\s+`)
)

// outline is what a page is made of: headings, captions, pictures in words, the heads of
// tables and how many rows they have.
func outline(page string) string {
	var out strings.Builder
	plain := func(s string) string {
		return strings.TrimSpace(blanks.ReplaceAllString(html.UnescapeString(tags.ReplaceAllString(s, " ")), " "))
	}
	for _, m := range outlined.FindAllStringSubmatch(page, -1) {
		switch {
		case m[1] != "":
			fmt.Fprintf(&out, "%s: %s\n", m[1], plain(m[2]))
		case m[3] != "":
			fmt.Fprintf(&out, "picture: %s\n", plain(m[3]))
		case m[4] != "":
			fmt.Fprintf(&out, "heads: %s\n", plain(strings.ReplaceAll(m[4], "</th><th", "</th> | <th")))
		default:
			fmt.Fprintf(&out, "rows: %d\n", strings.Count(m[5], "<tr>"))
		}
	}
	return out.String()
}

func TestReportGolden(t *testing.T) {
	r, s := fullReport(t)
	page := reported(t, r, s)
	golden.Bytes(t, "testdata/report.txt", []byte(outline(page)))
	require.Equal(t, page, reported(t, r, s), "the same book and day, but other bytes")
	require.Contains(t, page, "<td><bdi>under a root</bdi></td>")
	for _, c := range cautionLines() {
		require.Contains(t, html.UnescapeString(page), tight(c))
	}
}

// selfContained fails for a page that would fetch anything, or run anything.
func selfContained(t testing.TB, page string) {
	require.NotRegexp(t, `(?i)<(script|link|iframe|object|embed|form|base)\b`, page)
	require.NotRegexp(t, `(?i)\s(href|action|srcset|poster)="[^#"]`, page)
	require.NotRegexp(t, `(?i)\ssrc="[^"]{0,10}(http|//|file)`, page)
	require.NotRegexp(t, `(?i)url\(|@import`, page)
	require.NotRegexp(t, `(?i)\son[a-z]+="`, page)
}

func TestReportDayThatIsNone(t *testing.T) {
	r, _ := fullReport(t)
	require.ErrorContains(t, WriteReport(&bytes.Buffer{}, r, ReportSays{Made: "12 June"}), `"12 June"`)
}

func TestReportOfLittle(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*coverage.Result, *ReportSays)
		says   []string
		not    []string
	}{
		{"no finds", func(r *coverage.Result, s *ReportSays) {
			s.Finds, r.Comparison.Placed, r.Comparison.Readings, r.Comparison.Dates = nil, nil, nil, coverage.Dating{}
		}, []string{"No finds are noted."}, []string{`id="ring-finds"`, `id="find-list"`, "Left in the ground"}},
		{"no landmarks", func(r *coverage.Result, s *ReportSays) {
			r.Comparison.Zones, r.Comparison.Landmarks, r.Local.Landmarks = nil, nil, nil
		}, []string{"The site has no landmarks", "How hard it was searched"}, []string{`id="ring-effort"`, "Side by side"}},
		{"nothing compared", func(r *coverage.Result, s *ReportSays) { r.Comparison = nil }, []string{`id="find-list"`}, []string{"Landmarks compared"}},
		{"no gaps", func(r *coverage.Result, s *ReportSays) {
			r.Gaps = nil
			p := *s.Plan
			p.Stops, p.NoGaps, p.Left, p.Home = nil, true, nil, nil
			s.Plan = &p
		}, []string{"No gap is left that is worth a walk.", "No gaps are left to walk."}, []string{`id="stops"`}},
		{"no plan", func(r *coverage.Result, s *ReportSays) { s.Plan, s.NoPlan = nil, "too little time" }, []string{"<p>Too little time.</p>"}, []string{`id="stops"`}},
		{"one visit", func(r *coverage.Result, s *ReportSays) { r.Sessions = r.Sessions[:1] }, []string{`id="visit-list"`}, []string{"Bar chart of the share swept"}},
		{"positions perfect, imperial", func(r *coverage.Result, s *ReportSays) { r.Certainty, s.Units = nil, Imperial }, []string{"sq ft"}, []string{`id="figures"`}},
		{"own outline", func(r *coverage.Result, s *ReportSays) { r.OwnOutline = true }, []string{"No site was given"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, s := fullReport(t)
			c.change(r, &s)
			page := reported(t, r, s)
			selfContained(t, page)
			for _, want := range c.says {
				require.Contains(t, page, want)
			}
			for _, no := range c.not {
				require.NotContains(t, page, no)
			}
		})
	}
}

// Many visits are all in the table, and the chart names no more than fit.
func TestReportManyVisits(t *testing.T) {
	r, s := fullReport(t)
	one := r.Sessions[0]
	r.Sessions = nil
	for i := range 300 {
		v := one
		v.Name, v.NewGroundM2 = fmt.Sprintf("walk %d", i+1), r.SweptM2/300
		r.Sessions = append(r.Sessions, v)
	}
	page := reported(t, r, s)
	require.Contains(t, page, "walk 300")
	so := sweptSoFar(r)
	require.InDelta(t, r.AsLoggedPercent, so[299], 1e-6)
	c := &growthChart{r: r, swept: so}
	named := 0
	for i := range so {
		if c.labelled(i) {
			named++
		}
	}
	require.LessOrEqual(t, named, 11)
	require.True(t, c.labelled(299))
}

// A site of a few metres, and one of kilometres.
func TestReportOfAnySize(t *testing.T) {
	for _, sideM := range []float64{3, 5000} {
		t.Run(fmt.Sprintf("%g m", sideM), func(t *testing.T) {
			f, err := grid.NewFrame(compareDatum)
			require.NoError(t, err)
			at := func(x, y float64) grid.LonLat { return f.ToLonLat(grid.XY{X: x * sideM, Y: y * sideM}) }
			ground := &site.Site{Name: "Square", Boundary: []site.Area{{Outer: []grid.LonLat{at(0, 0), at(1, 0), at(1, 1), at(0, 1)}}},
				Landmarks: []site.Landmark{{Name: "pole", Points: []grid.LonLat{at(0.5, 0.5)}}}}
			set := coverage.DefaultSettings()
			set.SwathM, set.CellM = max(1, sideM/400), max(0.1, sideM/1250)
			set.Zones = coverage.ZoneSettings{RingsM: []float64{5, 10}, Nearest: true}
			r, err := coverage.Assess(t.Context(), coverage.Input{Site: ground, Logs: []coverage.Source{lanesOf(f, "walk1.gpx", time.Date(2026, 4, 4, 8, 0, 0, 0, time.UTC), 68)}}, set, nil)
			require.NoError(t, err)
			next := plan.DefaultSettings()
			next.BudgetS, next.Effort, next.Year = 8*3600, 1, 2026.4
			p, err := plan.Make(t.Context(), r, next, nil)
			require.NoError(t, err)
			page := reported(t, r, ReportSays{Plan: p})
			selfContained(t, page)
			require.Contains(t, page, "Landmarks compared")
		})
	}
}

func TestReportFindsInOrder(t *testing.T) {
	r, s := fullReport(t)
	early, late, never := s.Finds[0], s.Finds[6], site.NoFind
	early.Name, late.Name, never.Name = "early", "late", "never"
	s.Finds = []site.Find{never, late, early}
	var names []string
	for _, row := range newReporter(r, s, 30).findList().Table.Rows {
		names = append(names, plainText(row[0]))
	}
	require.Equal(t, []string{"early", "late", "never"}, names)
}
