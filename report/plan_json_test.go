package report

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/plan"
)

// Every field of the promised schema is there, and the document reads back as itself.
func TestPlanJSONSchema(t *testing.T) {
	r, p := fieldPlan(t)
	var b bytes.Buffer
	require.NoError(t, PlanJSON(&b, r, p))
	back, err := ReadPlan(bytes.NewReader(b.Bytes()))
	require.NoError(t, err)
	var again bytes.Buffer
	require.NoError(t, writeIndented(&again, back))
	require.Equal(t, b.String(), again.String())
	var all map[string]any
	require.NoError(t, json.Unmarshal(b.Bytes(), &all))
	require.Equal(t, "untrod-plan-1", all["schema"])
	has := func(part any, keys ...string) {
		for _, k := range keys {
			require.Contains(t, part, k)
		}
	}
	has(all, "budget_s", "used_s", "stops", "expected", "home", "budgets", "left", "notes", "magnetic")
	stop := all["stops"].([]any)[0].(map[string]any)
	has(stop, "gap", "worth", "fresh_m2", "lanes", "reach")
	lane := stop["lanes"].([]any)[0].(map[string]any)
	has(lane, "from", "to", "bearing_true_deg", "bearing_magnetic_deg", "length_m")
	has(lane["from"], "lon", "lat")
	has(stop["reach"].([]any)[0], "landmark", "bearing_true_deg", "bearing_magnetic_deg", "distance_m")
	has(all["expected"], "fresh_m2", "as_logged_percent_after", "at_least_percent_after")
}

// A lane's bearings and length are those of its ends, and magnetic is true less
// declination.
func TestPlanLaneFigures(t *testing.T) {
	r, p := fieldPlan(t)
	p.Magnetic.DeclinationDeg = 17.25
	lanes := 0
	for _, s := range PlanOf(r, p).Stops {
		for _, l := range s.Lanes {
			a, b := r.Frame.ToXY(l.From.place()), r.Frame.ToXY(l.To.place())
			require.InDelta(t, apart(a, b), float64(l.LengthM), 0.006+0.003)
			require.InDelta(t, 0, math.Remainder(float64(l.BearingTrueDeg)-17.25-float64(l.BearingMagneticDeg), 360), 0.0101)
			if apart(a, b) > 2 {
				require.InDelta(t, 0, math.Remainder(plan.TrueBearing(r.Frame, a, b)-float64(l.BearingTrueDeg), 360), 0.1)
			}
			require.True(t, l.BearingMagneticDeg >= 0 && l.BearingMagneticDeg < 360)
			lanes++
		}
	}
	require.Greater(t, lanes, 10)
}

func TestReadPlanRefuses(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"no JSON":      {"<gpx/>", "not a plan: "},
		"a summary":    {`{"schema":"untrod-coverage-1"}`, `its schema is "untrod-coverage-1"`},
		"nothing":      {"", "not a plan"},
		"wrong fields": {`{"schema":"untrod-plan-1","stops":7}`, "not a plan"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := ReadPlan(strings.NewReader(c.text))
			require.ErrorContains(t, err, c.want)
		})
	}
}
