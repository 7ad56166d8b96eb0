package report

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
)

// hostile are names as people give them, and as they do not.
var hostile = []string{
	`<script>document.title="run"</script>`, `"><img src=x onerror=alert(1)>`, "{{.Site}}", "בית הבאר, 3", "عين الماء", "井戸 🪙", "ก่ำ", "e\u0301\u0323", "\u202egnp.exe",
	"a\u2068b", "x\u2069y\u2069", "\x00\x07bell", strings.Repeat("Wassergrabenüberführung", 12), "", " ",
}

// hostileGround is comparedUnsure with such names everywhere.
func hostileGround(t testing.TB) (*coverage.Result, ReportSays) {
	r, s := fullReport(t)
	name := func(i int) string { return hostile[i%len(hostile)] }
	r.Site.Name = hostile[0]
	for i := range r.Local.Landmarks {
		r.Local.Landmarks[i].Name = name(i + 3)
	}
	for i := range r.Comparison.Zones {
		r.Comparison.Zones[i].Landmark = name(i / 2)
	}
	for i := range r.Sessions {
		r.Sessions[i].Name, r.Sessions[i].Walker = name(i), name(i+3)
	}
	for i := range s.Finds {
		f := &s.Finds[i]
		f.Name, f.Material, f.Reading, f.Note, f.Detector = name(i), name(i+1), name(i+2), name(i+3), name(i+4)
	}
	for i := range r.Comparison.Readings {
		r.Comparison.Readings[i].Detector = name(i + 1)
	}
	for i := range s.Plan.Stops {
		s.Plan.Stops[i].Why = name(i)
	}
	s.Plan.Notes = hostile
	r.Notes = []coverage.FileNote{{File: hostile[1]}}
	r.Skipped = []coverage.Skipped{{File: hostile[0], Err: fmt.Errorf("%s: no log", hostile[0])}}
	return r, s
}

func TestReportHostileNames(t *testing.T) {
	r, s := hostileGround(t)
	page := reported(t, r, s)
	selfContained(t, page)
	require.Contains(t, page, `<h1><bdi>&lt;script&gt;document.title=&#34;run&#34;&lt;/script&gt;</bdi></h1>`)
	require.Contains(t, page, "<bdi>בית הבאר, 3</bdi>")
	require.NotContains(t, page, "\u202e")
	require.NotRegexp(t, "[\u2068\u2069\x00\x07]", page)
}

func TestMarkup(t *testing.T) {
	for in, want := range map[string]string{
		"":                                 "",
		"45 % of 12 m2 <b>":                "45\u00a0% of 12 m² &lt;b&gt;",
		"from " + asName("<i>") + " on":    "from <bdi>&lt;i&gt;</bdi> on",
		"3 m of בית הבאר, 5 to 10 m":       "3 m of <bdi>בית הבאר</bdi>, 5 to 10 m",
		"بئر 3 قديم":                       "<bdi>بئر 3 قديم</bdi>",
		"א and ב":                          "<bdi>א</bdi> and <bdi>ב</bdi>",
		nameOpens + "cut short, and א":     "<bdi>cut short, and א</bdi>",
		"lost " + nameCloses + " its mate": "lost \u2069 its mate",
	} {
		require.Equal(t, want, string(markup(in)), "%q", in)
	}
}
