package plan_test

import (
	"context"
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
	"untrod/plan"
)

// tourBetween is a tour over places in the plane at 1 m/s; the last two places are
// Start and End.
func tourBetween(at []grid.XY, worth, stay []float64, budget float64) plan.Tour {
	return plan.Tour{
		Worth: worth, Stay: stay, At: at[:len(worth)], Budget: budget,
		Go: func(i, j int) float64 { return apart(at[i], at[j]) },
	}
}

func apart(a, b grid.XY) float64 {
	dx, dy := a.X-b.X, a.Y-b.Y
	return math.Sqrt(float64(dx*dx) + float64(dy*dy))
}

// scattered is a tour of n stops of worth 10 to 99 over a square, round trip, with
// a budget of a share of the way round all of them (0.7124 times the root of n times
// the area: Beardwood, Halton and Hammersley 1959, constant from memory) and stays.
func scattered(seed uint64, n int, share, meanStay float64) plan.Tour {
	rng := rand.New(rand.NewPCG(seed, 7))
	side := 20 * math.Sqrt(float64(n))
	at := make([]grid.XY, n+2)
	worth, stay := make([]float64, n), make([]float64, n)
	for i := range at {
		at[i] = grid.XY{X: rng.Float64() * side, Y: rng.Float64() * side}
	}
	for i := range n {
		worth[i], stay[i] = float64(10+rng.IntN(90)), meanStay*2*rng.Float64()
	}
	at[n+1] = at[n]
	all := float64(0.7124*math.Sqrt(float64(n))*side) + float64(meanStay*float64(n))
	return tourBetween(at, worth, stay, share*all)
}

// requireSound checks an answer from scratch.
func requireSound(t require.TestingT, tour plan.Tour, order []int, worth, used float64) {
	at, w, s, seen := len(tour.Worth), 0.0, 0.0, map[int]bool{}
	for _, i := range order {
		require.False(t, seen[i], "stop %d twice", i)
		require.Positive(t, tour.Worth[i])
		seen[i] = true
		s += tour.Go(at, i)
		s += tour.Stay[i]
		w += tour.Worth[i]
		at = i
	}
	s += tour.Go(at, len(tour.Worth)+1)
	require.Equal(t, w, worth)
	require.Equal(t, s, used)
	require.LessOrEqual(t, used, tour.Budget)
}

// bruteTour tries every order of every set of stops.
func bruteTour(tour plan.Tour) (best float64) {
	n := len(tour.Worth)
	var walk func(at int, used, worth float64, left uint)
	walk = func(at int, used, worth float64, left uint) {
		if used+tour.Go(at, n+1) <= tour.Budget {
			best = max(best, worth)
		}
		for i := range n {
			if s := used + tour.Go(at, i) + tour.Stay[i]; left&(1<<i) != 0 && s <= tour.Budget {
				walk(i, s, worth+tour.Worth[i], left&^(1<<i))
			}
		}
	}
	walk(n, 0, 0, 1<<n-1)
	return best
}

// TestTourAgainstEveryOrder: up to seven stops, where the best is known. It is found
// in the plane, and where a stop is left at another place than it is come to, as with
// lanes. Seconds drawn anyhow, which no ground has, break the triangle inequality so
// that a stop may fit only together with another; there it need not be found.
func TestTourAgainstEveryOrder(t *testing.T) {
	for _, c := range []struct {
		name  string
		with  func(*rand.Rand, plan.Tour) plan.Tour
		least float64 // mean share of the best
	}{
		{"plane", func(_ *rand.Rand, tour plan.Tour) plan.Tour { return tour }, 1},
		{"two ends", twoEnds, 1},
		{"any seconds", anySeconds, 0.95},
		{"some ways missing", someMissing, 0.95},
	} {
		t.Run(c.name, func(t *testing.T) {
			const tours = 60
			share := 0.0
			for seed := range uint64(tours) {
				rng := rand.New(rand.NewPCG(seed, 1))
				tour := c.with(rng, scattered(seed, 1+rng.IntN(7), 0.2+rng.Float64(), 10*rng.Float64()))
				order, worth, used, err := tour.Solve(context.Background(), 300, seed)
				require.NoError(t, err)
				requireSound(t, tour, order, worth, used)
				best := bruteTour(tour)
				require.LessOrEqual(t, worth, best, "seed %d", seed)
				if best == 0 {
					best, worth = 1, 1
				}
				share += worth / best
			}
			t.Logf("mean %.4f of the best", share/tours)
			require.GreaterOrEqual(t, share/tours, c.least)
		})
	}
}

// twoEnds has each stop left up to 30 m from where it is come to.
func twoEnds(rng *rand.Rand, tour plan.Tour) plan.Tour {
	left := append([]grid.XY{}, tour.At[:len(tour.Worth)+2]...)
	at := append([]grid.XY{}, left...)
	for i := range tour.Worth {
		left[i] = left[i].Plus(grid.XY{X: 40*rng.Float64() - 20, Y: 40*rng.Float64() - 20})
	}
	tour.Go = func(i, j int) float64 { return apart(left[i], at[j]) }
	return tour
}

// someMissing takes ways away from anySeconds.
func someMissing(rng *rand.Rand, tour plan.Tour) plan.Tour {
	tour = anySeconds(rng, tour)
	n, missing, walk := len(tour.Worth), map[[2]int]bool{}, tour.Go
	for i := range n + 2 {
		for j := range n + 2 {
			missing[[2]int{i, j}] = rng.IntN(4) == 0 && (i < n || j < n)
		}
	}
	tour.Go = func(i, j int) float64 {
		if missing[[2]int{i, j}] {
			return math.Inf(1)
		}
		return walk(i, j)
	}
	return tour
}

// anySeconds replaces the ways by numbers drawn for each ordered pair.
func anySeconds(rng *rand.Rand, tour plan.Tour) plan.Tour {
	n := len(tour.Worth)
	seconds := make([]float64, (n+2)*(n+2))
	for k := range seconds {
		seconds[k] = 40 * rng.Float64()
	}
	seconds[n*(n+2)+n+1] = 5
	tour.Go = func(i, j int) float64 { return seconds[i*(n+2)+j] }
	tour.At, tour.Budget = nil, 10+120*rng.Float64()
	return tour
}

func TestTourProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tour := scattered(rapid.Uint64().Draw(t, "seed"), rapid.IntRange(0, 60).Draw(t, "stops"),
			rapid.Float64Range(0.01, 1.5).Draw(t, "share"), rapid.Float64Range(0, 60).Draw(t, "stay"))
		for i := range tour.Worth {
			if rapid.IntRange(0, 5).Draw(t, "zero") == 0 {
				tour.Worth[i] = 0
			}
		}
		seed := rapid.Uint64().Draw(t, "search")
		order, worth, used, err := tour.Solve(context.Background(), 50, seed)
		require.NoError(t, err)
		requireSound(t, tour, order, worth, used)
		if len(tour.Worth) <= 24 { // all are near, so that the greedy choice is the same
			require.GreaterOrEqual(t, worth, insertGreedy(tour), "no worse than the greedy choice it starts from")
		}
		tour.At = nil
		again, _, _, err := tour.Solve(context.Background(), 50, seed)
		require.NoError(t, err)
		require.Equal(t, order, again, "places only tell what is near")
	})
}

func TestTourOddCases(t *testing.T) {
	line := []grid.XY{{X: 10}, {X: 20}, {X: 30}, {}, {X: 40}} // stops, Start, End
	worth, stay := []float64{1, 2, 3}, []float64{5, 5, 5}
	for _, c := range []struct {
		name  string
		with  func(*plan.Tour)
		order []int
		err   string
	}{
		{"all fit to the second", func(t *plan.Tour) {}, []int{0, 1, 2}, ""},
		{"a second short", func(t *plan.Tour) { t.Budget-- }, []int{1, 2}, ""},
		{"only the walk fits", func(t *plan.Tour) { t.Budget = 40 }, []int{}, ""},
		{"not even the walk", func(t *plan.Tour) { t.Budget = 39 }, nil, "time too short to get from start to end: 39 s, needs 40 s"},
		{"end out of reach", func(t *plan.Tour) { t.Go = func(i, j int) float64 { return math.Inf(1) } }, nil, "time too short"},
		{"worth nothing", func(t *plan.Tour) { t.Worth = []float64{1, 0, 3} }, []int{0, 2}, ""},
		{"no end to a stay", func(t *plan.Tour) { t.Stay = []float64{5, math.Inf(1), 5} }, []int{0, 2}, ""},
		{"no way to one", noWayTo(1, math.Inf(1)), []int{0, 2}, ""},
		{"way to one not a number", noWayTo(1, math.NaN()), []int{0, 2}, ""},
		{"no stops", func(t *plan.Tour) { t.Worth, t.Stay, t.At = nil, nil, nil }, []int{}, ""},
		{"worth below 0", func(t *plan.Tour) { t.Worth = []float64{1, -2, 3} }, nil, "stop 1: worth -2"},
		{"worth not a number", func(t *plan.Tour) { t.Worth = []float64{1, 2, math.NaN()} }, nil, "stop 2: worth NaN"},
		{"stay below 0", func(t *plan.Tour) { t.Stay = []float64{-5, 5, 5} }, nil, "stop 0: stay of -5 s"},
		{"budget not a number", func(t *plan.Tour) { t.Budget = math.NaN() }, nil, "budget of NaN s"},
		{"stays missing", func(t *plan.Tour) { t.Stay = nil }, nil, "3 stops with 0 stays"},
	} {
		t.Run(c.name, func(t *testing.T) {
			tour := tourBetween(line, worth, stay, 55)
			if c.with(&tour); len(tour.Worth) == 0 && tour.Go != nil {
				tour.Go = func(i, j int) float64 { return 40 }
			}
			order, _, _, err := tour.Solve(context.Background(), 100, 1)
			if c.err != "" {
				require.ErrorContains(t, err, c.err)
				return
			}
			require.NoError(t, err)
			assert.Equal(t, c.order, order)
		})
	}
}

func noWayTo(stop int, seconds float64) func(*plan.Tour) {
	return func(t *plan.Tour) {
		walk := t.Go
		t.Go = func(i, j int) float64 {
			if i == stop || j == stop {
				return seconds
			}
			return walk(i, j)
		}
	}
}

func TestTourErrors(t *testing.T) {
	tour := scattered(1, 20, 0.5, 0)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, _, _, err := tour.Solve(ctx, 1000, 1)
	require.ErrorIs(t, err, context.Canceled)
	tour.Budget, tour.At = 1, nil
	tour.Go = func(i, j int) float64 { return 2 }
	_, _, _, err = tour.Solve(context.Background(), 1000, 1)
	require.ErrorIs(t, err, plan.ErrBudget)
}

// TestTourSameEverywhere: this answer was written down on amd64 and must come out on
// every machine; another seed may answer otherwise.
func TestTourSameEverywhere(t *testing.T) {
	answer := func(seed uint64) string {
		order, worth, _, err := scattered(11, 200, 0.3, 10).Solve(context.Background(), 1000, seed)
		require.NoError(t, err)
		h := fnv.New32a()
		fmt.Fprint(h, order)
		return fmt.Sprintf("%g %d stops %08x", worth, len(order), h.Sum32())
	}
	require.Equal(t, "4073 61 stops b04e375f", answer(1))
	require.Equal(t, answer(1), answer(1))
	require.NotEqual(t, answer(1), answer(2))
}

// appendGreedy walks on to the stop that brings most worth per added second and
// still lets it reach End, until there is none.
func appendGreedy(tour plan.Tour) (worth float64) {
	n := len(tour.Worth)
	at, used, done := n, 0.0, make([]bool, n)
	for {
		best, rate := -1, 0.0
		for i := range n {
			step := tour.Go(at, i) + tour.Stay[i]
			fits := !done[i] && tour.Worth[i] > 0 && used+step+tour.Go(i, n+1) <= tour.Budget
			if fits && (best < 0 || tour.Worth[i]/step > rate) {
				best, rate = i, tour.Worth[i]/step
			}
		}
		if best < 0 {
			return worth
		}
		used += tour.Go(at, best) + tour.Stay[best]
		worth += tour.Worth[best]
		at, done[best] = best, true
	}
}

// insertGreedy puts the stop that brings most worth per added second where it adds
// least, until none fits; nothing is left out of the comparison.
func insertGreedy(tour plan.Tour) (worth float64) {
	n := len(tour.Worth)
	via, used, done := []int{n, n + 1}, tour.Go(n, n+1), make([]bool, n)
	for {
		best, place, rate, cost := -1, 0, 0.0, 0.0
		for i := range n {
			if done[i] || tour.Worth[i] == 0 {
				continue
			}
			for k := 1; k < len(via); k++ {
				a, b := via[k-1], via[k]
				added := tour.Go(a, i) + tour.Stay[i] + tour.Go(i, b) - tour.Go(a, b)
				if r := tour.Worth[i] / added; used+added <= tour.Budget && (best < 0 || r > rate) {
					best, place, rate, cost = i, k, r, added
				}
			}
		}
		if best < 0 {
			return worth
		}
		via = append(via[:place], append([]int{best}, via[place:]...)...)
		used, worth, done[best] = used+cost, worth+tour.Worth[best], true
	}
}

// TestTourBeatsGreedy: at least a tenth better than the better of two greedy choices
// on the mean, and never worse.
func TestTourBeatsGreedy(t *testing.T) {
	const tours = 10
	gain := 0.0
	for seed := range uint64(tours) {
		tour := scattered(seed, 120, 0.3, 10)
		greedy := max(appendGreedy(tour), insertGreedy(tour))
		order, worth, used, err := tour.Solve(context.Background(), 1000, 1)
		require.NoError(t, err)
		requireSound(t, tour, order, worth, used)
		require.GreaterOrEqual(t, worth, greedy)
		gain += (worth/greedy - 1) / tours
	}
	t.Logf("%.1f %% better than greedy", 100*gain)
	require.Greater(t, gain, 0.10)
}

// TestTourAsksLittle: with places given, few of nine million pairs are asked about.
func TestTourAsksLittle(t *testing.T) {
	tour, asked := scattered(3, 3000, 0.1, 20), 0
	walk := tour.Go
	tour.Go = func(i, j int) float64 { asked++; return walk(i, j) }
	order, worth, used, err := tour.Solve(context.Background(), 500, 1)
	require.NoError(t, err)
	requireSound(t, tour, order, worth, used)
	require.Less(t, asked, 150*3000)
}

// BenchmarkTour reports how much better than the better greedy choice the default
// effort is.
func BenchmarkTour(b *testing.B) {
	for _, n := range []int{40, 100, 500, 2000, 5000} {
		for _, stay := range []float64{0, 20} {
			b.Run(fmt.Sprintf("stops=%d/stay=%g", n, stay), func(b *testing.B) {
				tour, worth := scattered(3, n, 0.3, stay), 0.0
				for b.Loop() {
					var err error
					_, worth, _, err = tour.Solve(context.Background(), 0, 1)
					require.NoError(b, err)
				}
				greedy := appendGreedy(tour)
				if n <= 500 {
					greedy = max(greedy, insertGreedy(tour))
				}
				b.ReportMetric(100*(worth/greedy-1), "%better")
			})
		}
	}
}
