package plan_test

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/plan"
)

// TestPublishedTours runs the three sets of Tsiligirides (1984), Heuristic methods
// applied to orienteering, Journal of the Operational Research Society 35:797-809:
// distances in the plane, not rounded, from vertex 0 to vertex 1. The best scores
// were proved by integer programming and stand beside the sets; they equal those
// Chao, Golden and Wasil (1996) give, European Journal of Operational Research
// 88:475-489. With UNTROD_STUDY set the effort is the default one, else a small one.
func TestPublishedTours(t *testing.T) {
	effort := 1000
	if os.Getenv("UNTROD_STUDY") != "" {
		effort = plan.DefaultEffort
	}
	sets := map[int][]grid.XY{}
	scores := map[int][]float64{}
	for set := 1; set <= 3; set++ {
		sets[set], scores[set] = publishedSet(t, set)
	}
	sum, n := 0.0, 0
	for _, line := range publishedLines(t, "tsiligirides_optima.tsv") {
		var set int
		var budget, best float64
		_, err := fmt.Sscan(line, &set, &budget, &best)
		require.NoError(t, err)
		tour := tourBetween(sets[set], scores[set], make([]float64, len(scores[set])), budget)
		began := time.Now()
		order, worth, used, err := tour.Solve(context.Background(), effort, 1)
		require.NoError(t, err)
		requireSound(t, tour, order, worth, used)
		t.Logf("set %d  Tmax %3g  best %3g  found %3g  %.3f s", set, budget, best, worth, time.Since(began).Seconds())
		require.LessOrEqual(t, worth, best, "set %d, Tmax %g", set, budget)
		require.GreaterOrEqual(t, worth, 0.93*best, "set %d, Tmax %g", set, budget)
		sum, n = sum+worth/best, n+1
	}
	t.Logf("%d tours, mean %.4f of the best, %d rounds", n, sum/float64(n), effort)
	require.Equal(t, 49, n)
	require.GreaterOrEqual(t, sum/float64(n), 0.985)
}

// publishedSet returns the vertices of a set with the start and the end last.
func publishedSet(t *testing.T, set int) (at []grid.XY, scores []float64) {
	for _, line := range publishedLines(t, fmt.Sprintf("tsiligirides_%d.tsv", set)) {
		var i int
		var p grid.XY
		var score float64
		_, err := fmt.Sscan(line, &i, &p.X, &p.Y, &score)
		require.NoError(t, err)
		at, scores = append(at, p), append(scores, score)
	}
	return append(at[2:len(at):len(at)], at[0], at[1]), scores[2:]
}

func publishedLines(t *testing.T, name string) (lines []string) {
	f, err := os.Open("../../shared/data/orienteering/" + name)
	if err != nil {
		t.Skip("no shared test data beside the project: ", err)
	}
	defer f.Close()
	for sc := bufio.NewScanner(f); sc.Scan(); {
		if s := strings.TrimSpace(sc.Text()); s != "" && s[0] != '#' {
			lines = append(lines, s)
		}
	}
	return lines
}
