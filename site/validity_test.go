package site_test

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/site"
)

// at returns a ring of offsets in ten-thousandths of a degree from a corner.
func at(lon, lat float64, offsets ...float64) []grid.LonLat {
	var ring []grid.LonLat
	for i := 0; i+1 < len(offsets); i += 2 {
		x := lon + offsets[i]/1e4
		if x > 180 {
			x -= 360
		}
		ring = append(ring, grid.LonLat{Lon: x, Lat: lat + offsets[i+1]/1e4})
	}
	return ring
}

// box is a square ring of ten-thousandths of a degree.
func box(lon, lat, x0, y0, x1, y1 float64) []grid.LonLat {
	return at(lon, lat, x0, y0, x1, y0, x1, y1, x0, y1)
}

func TestValidate(t *testing.T) {
	outer := box(9, 48, 0, 0, 20, 20)
	hole := func(rings ...[]grid.LonLat) site.Site {
		return site.Site{Boundary: []site.Area{{Name: "north", Outer: outer, Holes: rings}}}
	}
	ring := func(r []grid.LonLat) site.Site { return site.Site{Boundary: []site.Area{{Outer: r}}} }
	for name, c := range map[string]struct {
		site site.Site
		want string // empty for a valid site
	}{
		"square":      {ring(outer), ""},
		"no boundary": {site.Site{}, "no boundary: no polygon has that role"},
		"no vertices": {ring(nil), "boundary: no vertices"},
		// The diagonals of a square meet in its middle.
		"bow tie": {ring(at(9, 48, 0, 0, 20, 20, 20, 0, 0, 20)), "boundary: outer ring crosses itself at 9.001000,48.001000"},
		// y = x and y = 10 - x/3 meet at x = 7.5.
		"uneven bow tie": {ring(at(9, 48, 0, 0, 30, 30, 30, 0, 0, 10)), "boundary: outer ring crosses itself at 9.000750,48.000750"},
		"bow tie with its crossing as a vertex": {ring(at(9, 48, 0, 0, 10, 10, 20, 20, 20, 0, 10, 10, 0, 20)),
			"boundary: outer ring touches itself at 9.001000,48.001000"},
		"vertex on a side": {ring(at(9, 48, 0, 0, 20, 0, 20, 20, 10, 0, 0, 20)), "boundary: outer ring touches itself at 9.001000,48.000000"},
		"spike":            {ring(at(9, 48, 0, 0, 20, 0, 20, 10, 30, 10, 20, 10, 20, 20, 0, 20)), "boundary: outer ring touches itself at 9.002000,48.001000"},
		"zero area":        {ring(at(9, 48, 0, 0, 10, 10, 30, 30)), "boundary: outer ring has no area"},
		"one point":        {ring(at(9, 48, 0, 0, 0, 0, 0, 0)), "boundary: outer ring has no area"},
		"hole":             {hole(box(9, 48, 5, 5, 10, 10)), ""},
		"hole outside":     {hole(box(9, 48, 25, 5, 30, 10)), `boundary "north": hole 1 lies outside its outer ring`},
		"hole around":      {hole(box(9, 48, -5, -5, 30, 30)), `boundary "north": hole 1 lies outside its outer ring`},
		"hole across": {hole(at(9, 48, 10, 5, 30, 10, 10, 15)),
			`boundary "north": hole 1 crosses outer ring at 9.002000,48.000750; draw the hole as a keep-out`},
		"hole along the edge": {hole(box(9, 48, 0, 5, 10, 10)),
			`boundary "north": hole 1 touches outer ring in more than one point, one at 9.000000,48.001000; draw the hole as a keep-out`},
		"hole touching once": {hole(at(9, 48, 0, 5, 10, 0.1, 10, 10)), ""},
		"hole touching twice": {hole(at(9, 48, 0, 5, 10, 0, 10, 10)),
			`boundary "north": hole 1 touches outer ring in more than one point, one at 9.000000,48.000500; draw the hole as a keep-out`},
		"hole touching from outside": {hole(at(9, 48, 0, 5, -10, 0, -10, 10)), `boundary "north": hole 1 lies outside its outer ring`},
		"holes crossing": {hole(box(9, 48, 2, 2, 10, 10), box(9, 48, 5, 5, 15, 15)),
			`boundary "north": hole 2 crosses hole 1 at 9.000500,48.001000; draw the hole as a keep-out`},
		"holes nested": {hole(box(9, 48, 5, 5, 8, 8), box(9, 48, 2, 2, 10, 10)), `boundary "north": holes 1 and 2 lie one inside the other`},
		"bow tie hole": {hole(at(9, 48, 4, 4, 8, 8, 8, 4, 4, 8)), `boundary "north": hole 1 crosses itself at 9.000600,48.000600`},
		"bow tie keep-out": {site.Site{Boundary: []site.Area{{Outer: outer}}, Keepouts: []site.Area{{Outer: outer}, {Outer: at(9, 48, 4, 4, 8, 8, 8, 4, 4, 8)}}},
			"keep-out 2: outer ring crosses itself at 9.000600,48.000600"},
		"far keep-out": {site.Site{Boundary: []site.Area{{Outer: outer}}, Keepouts: []site.Area{{Outer: box(9.5, 48, 0, 0, 1, 1)}}},
			"keep-out reaches over 30 km from the boundary's middle; cut it to the site"},
		"overlapping boundaries": {site.Site{Boundary: []site.Area{{Outer: outer}, {Outer: outer}, {Outer: box(9, 48, 10, 10, 40, 40)}}}, ""},
		"too wide": {ring(box(9, 48, 0, 0, 2700, 100)),
			"boundary: ground of 20.1 km east-west by 1.1 km north-south is wider than 20 km: split the site"},
		"off the globe":  {ring(at(9, 89.999, 0, 0, 10, 0, 10, 20)), "boundary: outer ring: vertex 3: latitude 90.001 outside [-90, 90]"},
		"NaN":            {ring([]grid.LonLat{{Lon: math.NaN(), Lat: 48}, {Lon: 9, Lat: 48}, {Lon: 9, Lat: 49}}), "boundary: outer ring: vertex 1: longitude NaN outside [-180, 180]"},
		"at the pole":    {ring(box(9, 89.9, 0, 0, 10, 10)), "boundary: latitude 89.9005 outside [-89, 89]"},
		"85 north":       {ring(box(9, 85, 0, 0, 100, 20)), ""},
		"85 north, bow":  {ring(at(9, 85, 0, 0, 20, 20, 20, 0, 0, 20)), "boundary: outer ring crosses itself at 9.001000,85.001000"},
		"across 180":     {ring(box(179.999, -17, 0, 0, 20, 20)), ""},
		"bow across 180": {ring(at(179.9995, -17, 0, 0, 20, 20, 20, 0, 0, 20)), "boundary: outer ring crosses itself at -179.999500,-16.999000"},
		"hole across 180": {site.Site{Boundary: []site.Area{{Outer: box(179.999, -17, 0, 0, 20, 20),
			Holes: [][]grid.LonLat{box(179.999, -17, 5, 5, 15, 15)}}}}, ""},
		"cut at 180": {site.Site{Boundary: []site.Area{{Outer: box(179.999, -17, 0, 0, 10, 20)},
			{Outer: []grid.LonLat{{Lon: -180, Lat: -17}, {Lon: -179.999, Lat: -17}, {Lon: -180, Lat: -16.998}}}}}, ""},
		"landmark off the globe": {site.Site{Boundary: []site.Area{{Outer: outer}},
			Landmarks: []site.Landmark{{Name: "post", Points: []grid.LonLat{{Lon: 9, Lat: 91}}}}}, `landmark "post": vertex 1: latitude 91 outside [-90, 90]`},
	} {
		t.Run(name, func(t *testing.T) {
			err := c.site.Validate()
			if c.want == "" {
				require.NoError(t, err)
				return
			}
			require.ErrorContains(t, err, c.want)
		})
	}
}

// star returns a wobbling ring of n vertices about 500 m across: valid.
func star(n int) []grid.LonLat {
	ring := make([]grid.LonLat, n)
	for i := range ring {
		a := 2 * math.Pi * float64(i) / float64(n)
		r := 0.003 + 0.001*math.Sin(40*a)
		ring[i] = grid.LonLat{Lon: 9 + r*math.Cos(a), Lat: 48 + r*math.Sin(a)}
	}
	return ring
}

// comb returns a ring of long slanting teeth, so that all boxes meet: the worst
// there is for the sweep. Valid.
func comb(n int) []grid.LonLat {
	ring := []grid.LonLat{}
	for i := range n/2 - 1 {
		x := float64(i) * 1e-6
		a, b := grid.LonLat{Lon: 9 + x, Lat: 48.001}, grid.LonLat{Lon: 9.02 + x, Lat: 48.01}
		if i%2 == 1 {
			a, b = b, a
		}
		ring = append(ring, a, b)
	}
	return append(ring, grid.LonLat{Lon: 9.05, Lat: 48}, grid.LonLat{Lon: 8.99, Lat: 48})
}

func TestValidateTakesUnderASecond(t *testing.T) {
	for name, ring := range map[string][]grid.LonLat{"star": star(10_000), "comb": comb(10_000)} {
		t.Run(name, func(t *testing.T) {
			s := site.Site{Boundary: []site.Area{{Outer: ring}}}
			start := time.Now()
			require.NoError(t, s.Validate())
			took := time.Since(start)
			t.Log(name, len(ring), "vertices", took)
			require.Less(t, took, 3*time.Second, "1 s is the aim; three times that on a busy machine")
		})
	}
	s := site.Site{Boundary: []site.Area{{Outer: star(60_000)}}}
	require.EqualError(t, s.Validate(), "boundary, keep-outs, laid-out and slow ground have 60000 vertices, at most 50000; simplify the outlines")
}

// holesAtOnePoint is many triangles that share one corner: each pair meets there.
func holesAtOnePoint(n int) site.Area {
	a := site.Area{Outer: box(9, 48, 0, 0, 100, 100)}
	for i := range n {
		y0, y1 := 10+80*float64(2*i)/float64(2*n), 10+80*float64(2*i+1)/float64(2*n)
		a.Holes = append(a.Holes, at(9, 48, 10, 50, 90, y0, 90, y1))
	}
	return a
}

func TestValidateManyTouches(t *testing.T) {
	start := time.Now()
	s := site.Site{Boundary: []site.Area{holesAtOnePoint(1000)}}
	require.NoError(t, s.Validate())
	t.Log("1000 holes at one point:", time.Since(start))
	s.Boundary[0].Holes = append(s.Boundary[0].Holes, s.Boundary[0].Holes[0])
	require.EqualError(t, s.Validate(), "boundary has 1001 holes, at most 1000; draw holes as keep-outs")
}

func TestWriteGeoJSONWinding(t *testing.T) {
	// RFC 7946 section 3.1.6: exterior rings counterclockwise, holes clockwise.
	for name, lon := range map[string]float64{"plain": 9, "across 180": 179.999} {
		t.Run(name, func(t *testing.T) {
			s := site.Site{Name: "m", Boundary: []site.Area{{
				Outer: at(lon, 48, 0, 0, 0, 20, 20, 20, 20, 0),
				Holes: [][]grid.LonLat{box(lon, 48, 5, 5, 15, 15)},
			}}}
			var b bytes.Buffer
			require.NoError(t, s.WriteGeoJSON(&b))
			back, err := site.Read(&b, "x")
			require.NoError(t, err)
			f, err := back.Frame()
			require.NoError(t, err)
			p := back.Local(f).Boundary[0]
			require.Positive(t, p.Outer.Area())
			require.Negative(t, p.Holes[0].Area())
			require.InDelta(t, p.Outer.Area()*0.75, p.Area(), 0.5)
		})
	}
}

func TestWriteGeoJSONText(t *testing.T) {
	s := site.Site{
		Name:      "Mill Meadow",
		Boundary:  []site.Area{{Name: "north", Outer: []grid.LonLat{{Lon: 9, Lat: 48}, {Lon: 9.002, Lat: 48}, {Lon: 9.002, Lat: 48.123456789}}}},
		Landmarks: []site.Landmark{{Name: "post", Kind: "iron <post>", Mark: true, Points: []grid.LonLat{{Lon: 9.001, Lat: 48}}}},
	}
	var b strings.Builder
	require.NoError(t, s.WriteGeoJSON(&b))
	got := strings.Join(strings.Fields(b.String()), "")
	require.Equal(t, `{"type":"FeatureCollection","name":"MillMeadow","features":[`+
		`{"type":"Feature","properties":{"role":"boundary","name":"north"},"geometry":{"type":"Polygon","coordinates":[[[9,48],[9.002,48],[9.002,48.12345679],[9,48]]]}},`+
		`{"type":"Feature","properties":{"role":"mark","name":"post","kind":"iron\u003cpost\u003e"},"geometry":{"type":"Point","coordinates":[9.001,48]}}]}`, got)
}

// TestWriteGeoJSONReadsBack holds that a site of 8 decimals and RFC 7946 winding
// comes back as it was.
func TestWriteGeoJSONReadsBack(t *testing.T) {
	post := []grid.LonLat{{Lon: -179.99912345, Lat: -16.99912345}}
	s := site.Site{
		Name: `Mill "Meadow" <é>`,
		Boundary: []site.Area{
			{Name: "north", Outer: []grid.LonLat{{Lon: 179.999, Lat: -17}, {Lon: -179.999, Lat: -17.00000001}, {Lon: -179.998, Lat: -16.997}, {Lon: 179.999, Lat: -16.998}},
				Holes: [][]grid.LonLat{{{Lon: 179.9995, Lat: -16.9995}, {Lon: 180, Lat: -16.999}, {Lon: -179.9999, Lat: -16.9995}}}},
			{Outer: []grid.LonLat{{Lon: 179.99, Lat: -17}, {Lon: 179.991, Lat: -17}, {Lon: 179.991, Lat: -16.99}}},
		},
		Keepouts: []site.Area{{Name: "pond", Outer: []grid.LonLat{{Lon: -179.9995, Lat: -16.9999}, {Lon: -179.9992, Lat: -16.9999}, {Lon: -179.9992, Lat: -16.9991}}}},
		Landmarks: []site.Landmark{
			{Name: "post", Kind: "iron", Mark: true, Points: post},
			{Name: "wall", Shape: site.LineShape, Points: append(post, grid.LonLat{Lon: 179.9998, Lat: -17})},
			{Name: "heap", Shape: site.AreaShape, Points: []grid.LonLat{{Lon: -179.9995, Lat: -16.9999}, {Lon: -179.9992, Lat: -16.9999}, {Lon: -179.9992, Lat: -16.9991}}},
		},
	}
	var b bytes.Buffer
	require.NoError(t, s.WriteGeoJSON(&b))
	back, err := site.Read(&b, "x")
	require.NoError(t, err)
	require.Empty(t, back.Notes.List())
	back.Notes = s.Notes
	require.Equal(t, &s, back)
}

func TestFromWalksAndLocal(t *testing.T) {
	f, err := grid.NewFrame(grid.LonLat{Lon: -180, Lat: 12})
	require.NoError(t, err)
	polys := []grid.Polygon{{
		Outer: grid.Ring{{X: -50, Y: -50}, {X: 50, Y: -50}, {X: 50, Y: 50}, {X: -50, Y: 50}},
		Holes: []grid.Ring{{{X: -5, Y: -5}, {X: 5, Y: -5}, {X: 0, Y: 5}}},
	}}
	s := site.FromWalks(polys, f, "outline")
	require.Equal(t, "outline", s.Name)
	require.NoError(t, s.Validate())
	back := s.Local(f).Boundary
	require.Len(t, back, 1)
	for k, ring := range append([]grid.Ring{back[0].Outer}, back[0].Holes...) {
		want := append([]grid.Ring{polys[0].Outer}, polys[0].Holes...)[k]
		for i := range ring {
			require.InDelta(t, want[i].X, ring[i].X, 1e-6, fmt.Sprint(k, i))
			require.InDelta(t, want[i].Y, ring[i].Y, 1e-6)
		}
	}
}
