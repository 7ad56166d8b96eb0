package coverage_test

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check"
	"untrod/site"
	"untrod/track"
)

// compareStudy is what comparisons of many simulated sites came to.
type compareStudy struct {
	sites, rings, finds int
	alone, together     int // rings, and sites with a ring, called unlike the rest
	drawn               int // rings that the mean of the draws' p would call unlike
	out                 int // rings whose limits leave out the truth
	richer              int // sites whose innermost ring was called richer
	over, zones         int // zones whose "at least" was over the truth
	expected, truth     float64
}

// lostAndFound scatters finds over the ground of a campaign, so many per 100 m2, and
// times as many within 5 m of at, and returns those that its visits passed over, each
// logged with the receiver's error of that moment.
func lostAndFound(c check.Campaign, at grid.XY, per100, times float64, rng *rand.Rand) (out []site.Find) {
	f, _ := grid.NewFrame(datum)
	many := per100 * 36 * times // on 60 m by 60 m
	for range int(many + math.Sqrt(many)*rng.NormFloat64()) {
		p := grid.XY{X: 60*rng.Float64() - 30, Y: 60*rng.Float64() - 30}
		if math.Hypot(p.X-at.X, p.Y-at.Y) >= 5 && rng.Float64() > 1/times || inRing(p, c.Pond.Outer) {
			continue
		}
		if logged, when, ok := passedOver(c, p); ok {
			find := site.NoFind
			find.Pos, find.T = f.ToLonLat(logged), when
			out = append(out, find)
		}
	}
	return out
}

// passedOver is where and when a find at p is logged: by the visit that first truly
// went over it, off by what its log is off at that moment.
func passedOver(c check.Campaign, p grid.XY) (logged grid.XY, at track.Instant, ok bool) {
	for _, v := range c.Visits {
		best, near := 0.75, -1
		for i, s := range v.True {
			if d := math.Hypot(s.X-p.X, s.Y-p.Y); s.Kind == track.Searching && d <= best {
				best, near = d, i
			}
		}
		if near < 0 {
			continue
		}
		at = v.Start + track.Instant(1000*near)
		k := slices.IndexFunc(v.Log, func(q track.Point) bool { return q.T >= at })
		if k < 0 {
			k = len(v.Log) - 1
		}
		q, was := v.Log[k], v.True[min(int(v.Log[k].T.Sub(v.Start)), len(v.True)-1)]
		return grid.XY{X: p.X + q.X - was.X, Y: p.Y + q.Y - was.Y}, at, true
	}
	return grid.XY{}, 0, false
}

func inRing(p grid.XY, r grid.Ring) bool {
	inside := false
	for i, a := range r {
		b := r[(i+1)%len(r)]
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
			inside = !inside
		}
	}
	return inside
}

// TestCompareStudy prints the table of docs/accuracy.md on comparisons. Finds lie
// evenly, or three times as dense within 5 m of the landmark, while searching is
// uneven; every find and every walk is logged with a receiver's error.
//
//	UNTROD_STUDY=500 go test ./coverage -run TestCompareStudy -v -timeout 3h
func TestCompareStudy(t *testing.T) {
	var n int
	if _, err := fmt.Sscan(os.Getenv("UNTROD_STUDY"), &n); err != nil || n < 1 {
		t.Skip("set UNTROD_STUDY to the number of sites of each kind")
	}
	fmt.Println("| sites | finds | ring unlike, p < 0.05 % | by the draws % | limits miss the truth % | any ring unlike, together % | innermost richer % | zone at least > truth % | most likely less truth |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|")
	for _, k := range []struct {
		style, canopy string
		per100, times float64
	}{
		{"spiral", "open", 3, 1}, {"spiral", "light", 3, 1}, {"mixed", "light", 3, 1},
		{"spiral", "open", 3, 3}, {"spiral", "light", 3, 3}, {"spiral", "light", 10, 3},
	} {
		s := compareMany(t, n, k.style, k.canopy, k.per100, k.times)
		pc := func(a, b int) float64 { return 100 * float64(a) / float64(max(1, b)) }
		fmt.Printf("| %s, %s, finds %g times as dense | %.0f | %.1f | %.1f | %.1f | %.1f | %.0f | %.1f | %.1f |\n", k.style, k.canopy, k.times,
			float64(s.finds)/float64(n), pc(s.alone, s.rings), pc(s.drawn, s.rings), pc(s.out, s.rings), pc(s.together, s.sites), pc(s.richer, s.sites), pc(s.over, s.zones),
			(s.expected-s.truth)/float64(s.zones))
		if k.times == 1 {
			require.LessOrEqual(t, pc(s.alone, s.rings), 7.0)
			require.LessOrEqual(t, pc(s.together, s.sites), 7.0)
		}
	}
}

func compareMany(t *testing.T, n int, style, canopy string, per100, times float64) (s compareStudy) {
	var mu sync.Mutex
	var wg sync.WaitGroup
	slots := make(chan bool, 2)
	for i := range n {
		slots <- true
		wg.Add(1)
		go func() {
			defer func() { <-slots; wg.Done() }()
			c := check.NewCampaign(uint64(i+1), style, trueReceivers[canopy])
			rng := rand.New(rand.NewPCG(uint64(i), 9))
			v := c.Visits[0]
			at := v.True[len(v.True)/2].XY
			finds := lostAndFound(c, at, per100, times, rng)
			r, truth := compareCampaign(t, c, at, finds, canopy)
			mu.Lock()
			defer mu.Unlock()
			s.add(r, truth, len(finds), times)
		}()
	}
	wg.Wait()
	return s
}

func (s *compareStudy) add(r *coverage.Result, truth *grid.Mask, finds int, times float64) {
	s.sites++
	s.finds += finds
	unlike := false
	for i, z := range r.Comparison.Zones {
		if !math.IsNaN(z.RatioToRest.P) {
			s.rings++
			ratio := 1.0
			if i == 0 {
				ratio = times
			}
			if z.RatioToRest.Lo > ratio || z.RatioToRest.Hi < ratio {
				s.out++
			}
			if z.RatioAsLogged.P < 0.05 {
				s.alone++
			}
			if z.RatioToRest.P < 0.05 {
				s.drawn++
			}
		}
		unlike = unlike || z.PHolm < 0.05
		if i == 0 && z.PHolm < 0.05 && z.RatioToRest.Value > 1 {
			s.richer++
		}
	}
	if unlike {
		s.together++
	}
	for i, share := range zoneTruth(r, truth) {
		if z := append(r.Comparison.Zones, r.Comparison.Rest)[i]; z.Certainty != nil {
			s.zones++
			s.expected, s.truth = s.expected+z.Certainty.ExpectedPercent, s.truth+share
			if z.Certainty.AtLeastPercent > share {
				s.over++
			}
		}
	}
}

// zoneTruth is the percent of each zone that was truly swept.
func zoneTruth(r *coverage.Result, truth *grid.Mask) []float64 {
	zones := r.Comparison.Zones
	all, hit := make([]int, len(zones)+1), make([]int, len(zones)+1)
	at := r.Local.Landmarks[0].XY[0]
	r.Searchable.Cells(func(c grid.Cell) {
		p := r.Spec.Centre(c)
		d, k := math.Hypot(p.X-at.X, p.Y-at.Y), 0
		for k < len(zones) && d >= zones[k].ToM {
			k++
		}
		all[k]++
		if truth.Has(c) {
			hit[k]++
		}
	})
	out := make([]float64, len(all))
	for i := range out {
		out[i] = 100 * float64(hit[i]) / float64(max(1, all[i]))
	}
	return out
}

func compareCampaign(t *testing.T, c check.Campaign, at grid.XY, finds []site.Find, canopy string) (*coverage.Result, *grid.Mask) {
	f, err := grid.NewFrame(datum)
	require.NoError(t, err)
	s := site.FromWalks([]grid.Polygon{c.Boundary}, f, "campaign")
	s.Keepouts = site.FromWalks([]grid.Polygon{c.Pond}, f, "").Boundary
	s.Landmarks = []site.Landmark{{Name: "boulder", Points: []grid.LonLat{f.ToLonLat(at)}}}
	set := campaignSettings(t, canopy, 60, 0)
	set.Zones = coverage.ZoneSettings{RingsM: []float64{5, 10, 20}, Nearest: true}
	var logs []coverage.Source
	for i, v := range c.Visits {
		var b bytes.Buffer
		require.NoError(t, check.WriteGPX(&b, fmt.Sprint("visit ", i), check.Fixes(f, v.Log)))
		logs = append(logs, coverage.Source{Name: fmt.Sprintf("v%d.gpx", i), Open: func() (io.ReadCloser, error) {
			return io.NopCloser(bytes.NewReader(b.Bytes())), nil
		}})
	}
	r, err := coverage.Assess(t.Context(), coverage.Input{Site: s, Logs: logs, Finds: finds}, set, nil)
	require.NoError(t, err)
	truth := grid.NewMask(r.Spec)
	for _, v := range c.Visits {
		for _, l := range v.TrueLines() {
			coverage.Sweep(truth, l, 0.75)
		}
	}
	return r, truth
}
