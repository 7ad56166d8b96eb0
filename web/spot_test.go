package web

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/track"
)

// nearestWays is the plain twin of hits: every step of every searching leg, but those
// that lie over a metre away to one side.
func nearestWays(n *shown, q grid.XY) map[int]float64 {
	out := map[int]float64{}
	for i, w := range n.walks {
		for _, p := range w.Paths {
			for _, l := range p.Legs {
				if l.Kind != track.Searching {
					continue
				}
				line := p.Line(l)
				for k, b := range line {
					a := line[max(k-1, 0)]
					if a.X < q.X-1 && b.X < q.X-1 || a.X > q.X+1 && b.X > q.X+1 || a.Y < q.Y-1 && b.Y < q.Y-1 || a.Y > q.Y+1 && b.Y > q.Y+1 {
						continue
					}
					if d, is := out[i]; q.FromSegment(a.XY, b.XY) < d || !is {
						out[i] = q.FromSegment(a.XY, b.XY)
					}
				}
			}
		}
	}
	return out
}

func TestSpot(t *testing.T) {
	for _, now := range []*shown{smallUnsure(), smallPerfect()} {
		r, rng, seen := now.result, rand.New(rand.NewPCG(5, 1)), map[string]int{}
		for range 600 {
			q := grid.XY{X: 80*rng.Float64() - 40, Y: 80*rng.Float64() - 40}
			doc, err := now.spot(q)
			require.NoError(t, err)
			k, _ := r.Spec.CellAt(q)
			centre := r.Spec.Centre(k)
			require.Equal(t, r.Searchable.Has(k), doc.On == "site")
			inPond := math.Abs(centre.X-8.03) < 6 && math.Abs(centre.Y+5.4) < 6
			require.Equal(t, inPond, doc.On == "keepout", "%v", centre)
			seen[doc.On]++
			if doc.On != "site" {
				require.Zero(t, doc.Passes)
				require.Nil(t, doc.Chance)
				require.Empty(t, doc.State)
			} else {
				require.Equal(t, r.Tally.Passes(k), doc.Passes)
				require.InDelta(t, r.Tally.SecondsPerM2(k), float64(doc.SecondsPerM2), 0)
				require.Equal(t, r.Certainty == nil, doc.Chance == nil)
				require.Equal(t, r.Certainty == nil, doc.State == "")
			}
			var want []int
			ways := nearestWays(now, centre)
			for i := range now.walks {
				if d, is := ways[i]; is && d <= 0.75 {
					want = append(want, i)
				}
			}
			var got []int
			for _, v := range doc.Visits {
				got = append(got, v.N)
				require.InDelta(t, ways[v.N], float64(v.DistanceM), 0.0006)
				require.Equal(t, r.Sessions[v.N].Name, v.Name)
				require.False(t, v.At.Before(r.Sessions[v.N].Start.Time()) || v.At.After(r.Sessions[v.N].End.Time()))
			}
			require.Equal(t, want, got)
			if doc.On == "site" && doc.Passes == 0 {
				for _, v := range doc.Visits { // only by a hair: the sweep rounds to 1/256 of a cell
					require.InDelta(t, 0.75, float64(v.DistanceM), 0.001)
				}
			}
			back := r.Frame.ToXY(grid.LonLat{Lon: float64(doc.Position.Lon), Lat: float64(doc.Position.Lat)})
			require.InDelta(t, 0, math.Hypot(back.X-q.X, back.Y-q.Y), 1e-6)
		}
		require.Greater(t, min(seen["site"], seen["keepout"], seen["outside"]), 10, "%v", seen)
	}
}

// Every cell of a gap says so, no other does.
func TestSpotGap(t *testing.T) {
	now := smallUnsure()
	require.NotEmpty(t, now.result.Gaps)
	of := map[grid.Cell]int{}
	for _, g := range now.result.Gaps {
		for _, run := range g.Cells {
			for col := run.Lo; col < run.Hi; col++ {
				of[grid.Cell{Col: col, Row: run.Row}] = g.ID
			}
		}
	}
	rng := rand.New(rand.NewPCG(6, 1))
	for range 300 {
		k := grid.Cell{Col: rng.IntN(600), Row: rng.IntN(600)}
		doc, err := now.spot(now.result.Spec.Centre(k))
		require.NoError(t, err)
		require.Equal(t, of[k], doc.Gap)
	}
}

func TestHitAt(t *testing.T) {
	p := func(x float64, at track.Instant) track.Point { return track.Point{XY: grid.XY{X: x}, T: at} }
	require.Equal(t, track.Instant(2500), hit{from: p(0, 2000), to: p(4, 4000), q: grid.XY{X: 1, Y: 3}}.at())
	require.Equal(t, track.Instant(4000), hit{from: p(0, 2000), to: p(4, 4000), q: grid.XY{X: 9}}.at())
	require.Equal(t, track.Instant(2000), hit{from: p(1, 2000), to: p(1, 2000), q: grid.XY{X: 9}}.at())
	require.Equal(t, track.NoTime, hit{from: p(0, track.NoTime), to: p(4, track.NoTime)}.at())
}

// The last of the pieces of a line holds its end, whatever its length.
func TestPiecesHoldTheLine(t *testing.T) {
	for n := 1; n < 3*piecePoints; n++ {
		line := make([]track.Point, n)
		for i := range line {
			line[i].X = float64(i)
		}
		all := appendPieces(nil, 3, line)
		var joined []track.Point
		for i, p := range all {
			require.LessOrEqual(t, len(p.points), piecePoints)
			joined = append(joined, p.points[min(i, 1):]...)
		}
		require.Equal(t, line, joined)
	}
}

// What was swept after so many visits is what an assessment of them alone finds.
func TestTimelineIsCoverageOfTheFirstVisits(t *testing.T) {
	in := smallGround.input(t)
	var want []float64
	for n := 1; n <= len(in.Logs); n++ {
		r, err := coverage.Assess(t.Context(), coverage.Input{Site: in.Site, Logs: in.Logs[:n]}, smallPerfect().result.Settings, nil)
		require.NoError(t, err)
		want = append(want, r.AsLoggedPercent)
	}
	require.Len(t, want, smallGround.visits)
	require.Equal(t, want, sweptAfter(smallPerfect().result))
	require.Equal(t, want, sweptAfter(smallUnsure().result), "as logged, whatever is allowed for")
}

func TestTracks(t *testing.T) {
	now := smallUnsure()
	docs, err := now.thinned()
	require.NoError(t, err)
	require.Len(t, docs, len(now.walks))
	for i, d := range docs {
		require.Equal(t, now.result.Sessions[i].Name, d.Name)
		var legs []track.Leg
		var lines [][]track.Point
		for _, p := range now.walks[i].Paths {
			for _, l := range p.Legs {
				legs, lines = append(legs, l), append(lines, p.Line(l))
			}
		}
		require.Len(t, d.Legs, len(legs))
		whole, thin := 0, 0
		for k, l := range d.Legs {
			require.Equal(t, legs[k].Kind.String(), l.Kind)
			whole, thin = whole+len(lines[k]), thin+len(l.Line)
			for _, q := range lines[k] { // no fix is further from the thinned line than that
				nearest := math.Inf(1)
				for m := range l.Line {
					nearest = min(nearest, q.FromSegment(l.Line[max(m-1, 0)], l.Line[m]))
				}
				require.LessOrEqual(t, nearest, thinM+1e-9)
			}
		}
		require.Less(t, thin, whole*2/3)
	}
	text, err := json.Marshal(thinLine{{X: 1.234567, Y: -0.001}, {X: -20, Y: 1e-9}})
	require.NoError(t, err)
	require.Equal(t, `[[1.23,0],[-20,0]]`, string(text))
}

func TestOutline(t *testing.T) {
	now := smallPerfect()
	before := math.Inf(1)
	for _, corners := range []int{200, 60, 16, 8, 5, 4, 3} {
		ring, err := proposal(now, corners)
		require.NoError(t, err)
		require.LessOrEqual(t, len(ring), corners)
		require.Positive(t, ring.Area())
		require.NoError(t, grid.Polygon{Outer: ring}.Validate())
		for _, q := range ring {
			require.InDelta(t, math.Round(q.X*10), q.X*10, 1e-6)
			require.InDelta(t, math.Round(q.Y*10), q.Y*10, 1e-6)
		}
		inside := sharesOf(now, ring)
		if corners >= 16 {
			require.Greater(t, inside, 0.97, "%d corners hold the searched ground", corners)
		}
		before = min(before, inside)
	}
	require.Greater(t, before, 0.5)
}

// sharesOf is the share of the searched fixes inside a ring.
func sharesOf(n *shown, ring grid.Ring) float64 {
	m := grid.NewMask(grid.SpecFor(grid.Bounds{Min: grid.XY{X: -100, Y: -100}, Max: grid.XY{X: 100, Y: 100}}, 0.25))
	m.FillPolygon(grid.Polygon{Outer: ring})
	in, all := 0, 0
	for _, w := range n.walks {
		eachSearched(w, func(line []grid.XY) {
			for _, q := range line {
				all++
				if k, ok := m.Spec().CellAt(q); ok && m.Has(k) {
					in++
				}
			}
		})
	}
	return float64(in) / float64(all)
}

// Ground searched in two places far apart gets the hull of both.
func TestOutlineOfPlacesApart(t *testing.T) {
	now := *smallPerfect()
	now.once = lazy{}
	now.walks = nil
	for _, d := range []float64{0, 300} {
		w := smallPerfect().walks[0]
		w.Paths = slices.Clone(w.Paths)
		for i, p := range w.Paths {
			p.Points = slices.Clone(p.Points)
			for k := range p.Points {
				p.Points[k].X += d
			}
			w.Paths[i] = p
		}
		now.walks = append(now.walks, w)
	}
	ring, err := proposal(&now, 16)
	require.NoError(t, err)
	b := grid.EmptyBounds()
	for _, q := range ring {
		b = b.Add(q)
	}
	require.Greater(t, b.Width(), 300.0)
	now.walks = nil
	_, err = proposal(&now, 16)
	require.ErrorContains(t, err, "no ground was searched")
}
