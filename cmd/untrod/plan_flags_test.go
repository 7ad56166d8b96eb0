package main

import (
	"bytes"
	"context"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
	"untrod/site"
	"untrod/track"
)

func TestInterestOf(t *testing.T) {
	for _, c := range []struct {
		text string
		want plan.Interest
		bad  string
	}{
		{text: "old well=3@8m", want: plan.Interest{Landmark: "old well", Weight: 3, FadeM: 8}},
		{text: " a=b = 1.5 @ 20ft", want: plan.Interest{Landmark: "a=b", Weight: 1.5, FadeM: 6.096}},
		{text: "wall=0", want: plan.Interest{Landmark: "wall"}},
		{text: "wall", bad: "not NAME=WEIGHT@DISTANCE"},
		{text: "=3@8m", bad: "not NAME=WEIGHT@DISTANCE"},
		{text: "wall=3", bad: "the distance at which it ends is missing"},
		{text: "wall=much@8m", bad: `the weight "much" is not a number`},
		{text: "wall=NaN@8m", bad: `the weight "NaN" is not a number`},
		{text: "wall=3@8", bad: "a length needs its unit"},
	} {
		t.Run(c.text, func(t *testing.T) {
			got, err := interestOf(c.text)
			if c.bad != "" {
				require.ErrorContains(t, err, c.bad)
				return
			}
			require.NoError(t, err)
			require.InDelta(t, c.want.FadeM, got.FadeM, 1e-12)
			got.FadeM = c.want.FadeM
			require.Equal(t, c.want, got)
		})
	}
}

// A name goes before a kind, and a kind may be in the plural.
func TestInterestNamesAndKinds(t *testing.T) {
	marks := []site.Landmark{{Name: "Old Well", Kind: "well"}, {Name: "boulder"}, {Name: "wall"}, {Name: "north bank", Kind: "wall"}}
	f := &planFlags{interest: []string{"old well=1@5m", "wells=2@5m", "wall=3@5m", "boulders=1@2m"}}
	got, err := f.interests(marks)
	require.NoError(t, err)
	require.Equal(t, []plan.Interest{
		{Landmark: "old well", Weight: 1, FadeM: 5}, {Kind: "wells", Weight: 2, FadeM: 5},
		{Landmark: "wall", Weight: 3, FadeM: 5}, {Kind: "boulders", Weight: 1, FadeM: 2},
	}, got)
	f.interest = []string{"oak=1@5m"}
	_, err = f.interests(marks)
	require.ErrorContains(t, err, "no landmark of that name or kind")
}

func TestYear(t *testing.T) {
	today := time.Date(2026, 7, 2, 12, 0, 0, 0, time.UTC) // noon of day 183 of 365
	y, err := (&planFlags{}).year(today)
	require.NoError(t, err)
	require.InDelta(t, 2026.5, y, 1e-9)
	y, err = (&planFlags{date: "2028-12-31"}).year(today) // a leap year
	require.NoError(t, err)
	require.InDelta(t, 2028+365.0/366, y, 1e-9)
	_, err = (&planFlags{date: "2027-02-29"}).year(today)
	require.ErrorContains(t, err, "not a day")
}

func TestUsualStart(t *testing.T) {
	at := func(lon float64) []grid.LonLat { return []grid.LonLat{{Lon: lon}} }
	_, ok := usualStart([]site.Landmark{{Name: "well", Points: at(1)}, {Name: "gate"}})
	require.False(t, ok, "a gate without a place is none")
	p, ok := usualStart([]site.Landmark{{Name: "lay-by", Kind: "Parking", Points: at(1)}, {Name: "Gate", Points: at(2)}})
	require.True(t, ok)
	require.Equal(t, 2.0, p.Lon, "the gate goes before the car")
}

// The last visit is the one that began last, wherever it is read from.
func TestLastVisit(t *testing.T) {
	visit := func(name string, at track.Instant) coverage.Visit {
		f := track.NoFix
		f.T = at
		return coverage.Visit{Name: name, Segments: [][]track.Fix{{f}}}
	}
	src := func(name string, vs ...coverage.Visit) coverage.Source {
		return coverage.Source{Name: name, Visits: func() ([]coverage.Visit, error) { return vs, nil }}
	}
	all := func(coverage.Source) bool { return true }
	logs := []coverage.Source{src("b", visit("first", 100), visit("late", 900)), src("a", visit("middle", 500), visit("untimed", track.NoTime))}
	v, err := lastVisit(t.Context(), coverage.DefaultSettings(), logs, all)
	require.NoError(t, err)
	require.Equal(t, "late", v.Name)
	v, err = lastVisit(t.Context(), coverage.DefaultSettings(), logs, func(s coverage.Source) bool { return s.Name == "a" })
	require.NoError(t, err)
	require.Equal(t, "middle", v.Name)
}

func TestPlanInterrupted(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var out, errs bytes.Buffer
	cmd := newPlan(streams{&out, &errs})
	dir := filepath.Join(t.TempDir(), "deep", "next")
	cmd.SilenceErrors, cmd.SilenceUsage = true, true
	cmd.SetArgs([]string{"--site", filepath.Join(exampleDir, siteFile), "--swath", "1.28m", "--out", dir, filepath.Join(exampleDir, "walks")})
	require.ErrorIs(t, cmd.ExecuteContext(ctx), context.Canceled)
	require.Empty(t, out.String())
	require.NoDirExists(t, filepath.Dir(dir))
}
