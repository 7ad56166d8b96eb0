package check

import (
	"math"
	"math/rand/v2"

	"untrod/grid"
	"untrod/track"
)

// Campaign is a site searched in several visits, with known truth: a square of
// 60 m with a pond in it.
type Campaign struct {
	Boundary, Pond grid.Polygon
	Visits         []Visit
}

// NewCampaign simulates a campaign. The style is winding, lanes, spiral, or
// mixed, which is one of each. One seed gives one campaign.
func NewCampaign(seed uint64, style string, r Receiver) Campaign {
	const half = 30.0
	rng := rand.New(rand.NewPCG(seed, 3))
	c := Campaign{Boundary: grid.Polygon{Outer: grid.Ring{{X: -half, Y: -half}, {X: half, Y: -half}, {X: half, Y: half}, {X: -half, Y: half}}}}
	x, y := 24*rng.Float64()-12, 24*rng.Float64()-12
	for i := range 24 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 24)
		c.Pond.Outer = append(c.Pond.Outer, grid.XY{X: x + 5*cos, Y: y + 4*sin})
	}
	for i := range 3 {
		s := DefaultWalk()
		s.Seed, s.Receiver = seed*10+uint64(i), r
		s.Boundary, s.Keepouts = []grid.Polygon{c.Boundary}, []grid.Polygon{c.Pond}
		s.Start += track.Instant(i) * 7 * 86_400_000
		s.Seconds = 2400
		s.patch(i, half, style, rng)
		c.Visits = append(c.Visits, Simulate(s))
	}
	return c
}

// patch sets what part is worked in visit i, and how.
func (s *WalkSettings) patch(i int, half float64, style string, rng *rand.Rand) {
	whole := grid.Bounds{Min: grid.XY{X: 1 - half, Y: 1 - half}, Max: grid.XY{X: half - 1, Y: half - 1}}
	s.Patch = whole
	if style == "mixed" {
		style = []string{"winding", "lanes", "spiral"}[i%3]
	}
	switch style {
	case "lanes":
		s.Style, s.Seconds = Lanes, 3600
		s.Patch.Min.X = whole.Min.X + float64(i)*(2*half-2)/3
		s.Patch.Max.X = s.Patch.Min.X + (2*half-2)/3
	case "spiral":
		s.Style = Spiral
		x, y := 24*rng.Float64()-12, 24*rng.Float64()-12
		s.Patch = grid.Bounds{Min: grid.XY{X: x - 14, Y: y - 14}, Max: grid.XY{X: x + 14, Y: y + 14}}
	}
}

// Foreign are receivers whose error is not of the kind that track.Receiver
// assumes; total is the error per axis of the canopy, in metres.
func Foreign(name string, own Receiver, total float64) Receiver {
	switch name {
	case "first-order": // rough, correlated over a minute
		return Receiver{RoughM: total, RoughS: 60, WhiteM: 0.05, HDOP: own.HDOP}
	case "random walk": // that starts anew every few minutes
		own.DriftM, own.WanderMS, own.ResetS = 0, total/10, 200
	case "jumps": // of 10 to 30 m
		own.JumpsPerHour, own.JumpMinM, own.JumpMaxM = 20, 10, 30
	case "pinned": // at rest, as phones do
		own.PinAtRest = true
	case "offset 3 m":
		own.OffsetM = 3
	}
	return own
}
