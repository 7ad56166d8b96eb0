package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check/golden"
	"untrod/plan"
	"untrod/track"
)

func fieldPlan(t testing.TB) (*coverage.Result, *plan.Plan) {
	r, _ := field().makeUnsure(t)
	return r, visitOf(t, r, cornerOf(r), 7)
}

// many is a plan of so many copies of one stop, with large numbers in its names.
func many(t testing.TB, stops int) (*coverage.Result, *plan.Plan) {
	r, p := fieldPlan(t)
	s := p.Stops[0]
	p.Stops = nil
	for i := range stops {
		s.Number, s.Gaps, s.Part = i+1, []int{98_765 + i}, "ab"
		p.Stops = append(p.Stops, s)
	}
	return r, p
}

// Names are within 20 characters, unique, and sort in walking order, so that a small
// screen that sorts them shows that order.
func TestPlanNames(t *testing.T) {
	for _, stops := range []int{0, 1, 7, 99, 120} {
		r, p := many(t, stops)
		if stops == 7 {
			r, p = fieldPlan(t)
		}
		_ = r
		var names []string
		last := -1
		for _, i := range itemsOf(p, Metric) {
			require.LessOrEqual(t, utf8.RuneCountInString(i.name), maxNameRunes, i.name)
			require.GreaterOrEqual(t, i.stop, last)
			names, last = append(names, i.name), i.stop
		}
		require.True(t, slices.IsSorted(names), "%q", names)
		require.Len(t, slices.Compact(slices.Clone(names)), len(names))
	}
}

func TestPlanNamesRead(t *testing.T) {
	_, p := fieldPlan(t)
	var names []string
	for _, i := range itemsOf(p, Metric)[:9] {
		names = append(names, i.name)
	}
	require.Equal(t, []string{"00 set out", "01 approach", "01 begin gap 14", "01 corner 1", "01 corner 2",
		"01 corner 3", "01 lanes 1-2", "02 approach", "02 begin gap 7"}, names)
}

func TestPlanGolden(t *testing.T) {
	r, p := fieldPlan(t)
	for name, write := range map[string]func(io.Writer) error{
		"plan.gpx":          func(w io.Writer) error { return PlanGPX(w, r, p, Metric) },
		"plan.kml":          func(w io.Writer) error { return PlanKML(w, r, p, Metric) },
		"plan.geojson":      func(w io.Writer) error { return PlanGeoJSON(w, r, p, Metric) },
		"plan.csv":          func(w io.Writer) error { return PlanCSV(w, r, p) },
		"plan.json":         func(w io.Writer) error { return PlanJSON(w, r, p) },
		"plan-metric.txt":   func(w io.Writer) error { return PlanText(w, r, p, Metric) },
		"plan-imperial.txt": func(w io.Writer) error { return PlanText(w, r, p, Imperial) },
	} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			require.NoError(t, write(&b))
			golden.Bytes(t, "testdata/"+name, b.Bytes())
		})
	}
}

// Children come in the order that the GPX 1.1 schema's sequences fix
// (topografix.com/GPX/1/1/gpx.xsd: gpxType, wptType, rteType).
func TestPlanGPXElementOrder(t *testing.T) {
	order := map[string][]string{
		"gpx":      {"metadata", "wpt", "rte", "trk", "extensions"},
		"metadata": {"name", "desc"},
		"wpt":      {"ele", "time", "magvar", "geoidheight", "name", "cmt", "desc", "src", "link", "sym", "type"},
		"rte":      {"name", "cmt", "desc", "src", "link", "number", "type", "extensions", "rtept"},
		"rtept":    {},
	}
	r, p := fieldPlan(t)
	var b bytes.Buffer
	require.NoError(t, PlanGPX(&b, r, p, Metric))
	type level struct {
		name string
		last int
	}
	stack := []*level{{}}
	for dec := xml.NewDecoder(&b); ; {
		tok, err := dec.Token()
		if err == io.EOF {
			return
		}
		require.NoError(t, err)
		switch e := tok.(type) {
		case xml.StartElement:
			require.Equal(t, gpxNS, e.Name.Space)
			if up := stack[len(stack)-1]; up.name != "" {
				i := slices.Index(order[up.name], e.Name.Local)
				require.GreaterOrEqual(t, i, up.last, "%s in %s", e.Name.Local, up.name)
				up.last = i
			}
			stack = append(stack, &level{name: e.Name.Local})
		case xml.EndElement:
			stack = stack[:len(stack)-1]
		}
	}
}

// Our own reader takes the routes for routes, which are no walk, and finds each
// waypoint where the plan has it, to 8 decimals of a degree: 1.1 mm.
func TestPlanGPXReadsBack(t *testing.T) {
	r, p := fieldPlan(t)
	var b bytes.Buffer
	require.NoError(t, PlanGPX(&b, r, p, Metric))
	log, err := track.ReadGPX(&b, "next.gpx")
	require.NoError(t, err)
	require.Empty(t, log.Tracks)
	points, lines := 0, 0
	for _, i := range itemsOf(p, Metric) {
		if len(i.xy) > 1 {
			lines++
			continue
		}
		w := log.Waypoints[points]
		require.Equal(t, i.name, w.Name)
		require.InDelta(t, 0, apart(r.Frame.ToXY(w.Pos), i.xy[0]), 0.002)
		points++
	}
	require.Len(t, log.Waypoints, points)
	require.Len(t, log.Routes, lines)
}

// ogrinfo of GDAL (Debian gdal-bin) opens each file and counts what is in it.
func TestPlanOpensElsewhere(t *testing.T) {
	needTool(t, "ogrinfo")
	r, p := fieldPlan(t)
	points, lines, lanes, gaps := 0, 0, 0, 0
	for _, i := range itemsOf(p, Metric) {
		if len(i.xy) == 1 {
			points++
		} else {
			lines++
		}
	}
	for _, s := range p.Stops {
		lanes, gaps = lanes+len(stopLanes(s)), gaps+len(s.Gaps)
	}
	blocks := 0
	for _, i := range itemsOf(p, Metric) {
		if i.kind == itemLanes {
			blocks++
		}
	}
	for _, c := range []struct {
		name  string
		write func(io.Writer) error
		want  int
		holds []string
	}{
		{"next.gpx", func(w io.Writer) error { return PlanGPX(w, r, p, Metric) }, 0,
			[]string{fmt.Sprintf("Layer name: waypoints\nGeometry: Point\nFeature Count: %d\n", points), fmt.Sprintf("Layer name: routes\nGeometry: Line String\nFeature Count: %d\n", lines)}},
		{"next.kml", func(w io.Writer) error { return PlanKML(w, r, p, Metric) }, points + lines, nil},
		{"next.geojson", func(w io.Writer) error { return PlanGeoJSON(w, r, p, Metric) }, points + lines - blocks + lanes + gaps, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), c.name)
			var b bytes.Buffer
			require.NoError(t, c.write(&b))
			require.NoError(t, os.WriteFile(path, b.Bytes(), 0o644))
			out, err := exec.Command("ogrinfo", "-ro", "-so", "-al", path).CombinedOutput()
			require.NoError(t, err, "%s", out)
			require.NotContains(t, string(out), "ERROR")
			require.NotContains(t, string(out), "Warning")
			for _, h := range c.holds {
				require.Contains(t, string(out), h)
			}
			if c.want > 0 {
				require.Equal(t, c.want, featureCount(string(out)))
			}
		})
	}
}

// featureCount adds up the features of all layers that ogrinfo names.
func featureCount(out string) (sum int) {
	for _, l := range strings.Split(out, "\n") {
		var n int
		if _, err := fmt.Sscanf(l, "Feature Count: %d", &n); err == nil {
			sum += n
		}
	}
	return sum
}

// Lines across the 180th meridian are cut there (RFC 7946 section 3.1.9), and lose
// nothing of their length.
func TestPlanGeoJSONAcrossTheMeridian(t *testing.T) {
	for _, lon := range []float64{180, -180} {
		g := field()
		g.datum = grid.LonLat{Lon: lon, Lat: -17}
		r, _ := g.makeUnsure(t)
		p := visitOf(t, r, cornerOf(r), 7)
		var b bytes.Buffer
		require.NoError(t, PlanGeoJSON(&b, r, p, Metric))
		fc, err := geojson.UnmarshalFeatureCollection(b.Bytes())
		require.NoError(t, err)
		cut := 0
		for _, f := range fc.Features {
			lines, isCut := f.Geometry.(orb.MultiLineString)
			if l, ok := f.Geometry.(orb.LineString); ok {
				lines = orb.MultiLineString{l}
			}
			if isCut {
				cut++
			}
			m := 0.0
			for _, l := range lines {
				bound := l.Bound()
				require.Less(t, bound.Max[0]-bound.Min[0], 0.01)
				require.True(t, bound.Min[0] >= -180 && bound.Max[0] <= 180)
				for i := 1; i < len(l); i++ {
					m += apart(r.Frame.ToXY(grid.LonLat{Lon: l[i-1][0], Lat: l[i-1][1]}), r.Frame.ToXY(grid.LonLat{Lon: l[i][0], Lat: l[i][1]}))
				}
			}
			if f.Properties["what"] == "lane" {
				require.InDelta(t, f.Properties["length_m"], m, 0.02)
			}
		}
		require.NotZero(t, cut)
	}
}

// Names that a spreadsheet would run are inert, and each row has every column.
func TestPlanCSVIsInert(t *testing.T) {
	r, p := fieldPlan(t)
	p.Stops[0].Reach[0].Landmark = `=HYPERLINK("http://x","y")`
	p.Stops[1].Reach = nil
	var b bytes.Buffer
	require.NoError(t, PlanCSV(&b, r, p))
	rows, err := csv.NewReader(&b).ReadAll() // an error when rows differ in length
	require.NoError(t, err)
	lanes := 0
	for _, s := range p.Stops {
		lanes += len(stopLanes(s))
	}
	require.Len(t, rows, 1+lanes)
	require.Equal(t, `'=HYPERLINK("http://x","y")`, rows[1][12])
	for _, row := range rows {
		for _, c := range row {
			require.False(t, strings.HasPrefix(c, "="), c)
		}
	}
}

// What is not known is null, and lists are never null.
func TestPlanOfNothing(t *testing.T) {
	r := &coverage.Result{Searchable: grid.NewMask(grid.Spec{}), Swept: grid.NewMask(grid.Spec{})}
	var err error
	r.Frame, err = grid.NewFrame(grid.LonLat{Lon: 1, Lat: 2})
	require.NoError(t, err)
	p := &plan.Plan{NoGaps: true, SecondPass: &plan.SecondPass{NowPercent: math.NaN()}}
	var b bytes.Buffer
	require.NoError(t, PlanJSON(&b, r, p))
	require.True(t, json.Valid(b.Bytes()))
	require.Contains(t, b.String(), `"now_percent": null`)
	for _, list := range []string{"stops", "home", "budgets", "left", "notes", "interest"} {
		require.Contains(t, b.String(), `"`+list+`": []`)
	}
	for _, write := range []func(io.Writer) error{
		func(w io.Writer) error { return PlanGPX(w, r, p, Metric) },
		func(w io.Writer) error { return PlanKML(w, r, p, Metric) },
		func(w io.Writer) error { return PlanGeoJSON(w, r, p, Metric) },
		func(w io.Writer) error { return PlanCSV(w, r, p) },
		func(w io.Writer) error { return HoursPNG(w, r, p, Metric) },
	} {
		require.NoError(t, write(io.Discard))
	}
}
