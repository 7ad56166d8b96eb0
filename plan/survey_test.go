package plan_test

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
)

// TestSurveyPlansAsMake holds that one survey gives for one budget after another what
// a plan made from nothing gives.
func TestSurveyPlansAsMake(t *testing.T) {
	for seed := range uint64(2) {
		r := winding(rand.New(rand.NewPCG(seed, 17))).assessed(t, canopy("open"))
		set := threeHours(local(t, r, grid.XY{X: -5, Y: 20}))
		set.Effort, set.BudgetS, set.Hours = 500, 5*3600, nil
		survey, err := plan.NewSurvey(context.Background(), r, set, nil)
		require.NoError(t, err)
		used := map[float64]bool{}
		for _, hours := range []float64{0.8, 0.3, 0.5, 0.8} {
			set.BudgetS, set.Hours = 3600*hours, []float64{0.6, 5}
			got, err := survey.Plan(context.Background(), set.BudgetS, set.Hours...)
			require.NoError(t, err)
			require.Equal(t, made(t, r, set), got)
			used[got.UsedS] = true
		}
		require.Len(t, used, 3, "else the budgets are not tested")
	}
}

func TestSurveyRefuses(t *testing.T) {
	r := meadow().assessed(t, canopy("none"))
	set := threeHours(local(t, r, grid.XY{X: -52, Y: -44}))
	set.Effort, set.BudgetS, set.Hours = 100, 2*3600, nil
	survey, err := plan.NewSurvey(context.Background(), r, set, nil)
	require.NoError(t, err)
	var setting *coverage.SettingsError
	for _, hours := range []float64{-1, 0, 2.01, 25} {
		_, err = survey.Plan(context.Background(), 3600*hours)
		require.ErrorAs(t, err, &setting, "%g h", hours)
	}
	_, err = survey.Plan(context.Background(), 3600, 3)
	require.ErrorAs(t, err, &setting, "hours to compare are budgets too")
	_, err = survey.Plan(context.Background(), 60)
	require.ErrorIs(t, err, plan.ErrBudget)
	_, err = survey.Plan(context.Background(), 3600)
	require.NoError(t, err, "after a budget that was too short")
	ended, end := context.WithCancel(context.Background())
	end()
	_, err = survey.Plan(ended, 3600)
	require.ErrorIs(t, err, context.Canceled)
	_, err = plan.NewSurvey(ended, r, set, nil)
	require.ErrorIs(t, err, context.Canceled)
}
