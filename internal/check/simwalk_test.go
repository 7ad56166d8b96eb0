package check_test

import (
	"bytes"
	"encoding/xml"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/internal/check"
	"untrod/track"
)

var styles = []check.Style{check.Winding, check.Lanes, check.Spiral}

func TestSimulatePaces(t *testing.T) {
	for _, style := range styles {
		t.Run(style.String(), func(t *testing.T) {
			var metres, seconds [4]float64
			for seed := range uint64(5) {
				set := check.DefaultWalk()
				set.Style, set.Seed = style, seed
				v := check.Simulate(set)
				require.LessOrEqual(t, len(v.True), set.Seconds+400, "at most one dig and the way home longer")
				for i := 1; i < len(v.True); i++ {
					a, b := v.True[i-1], v.True[i]
					metres[b.Kind] += math.Hypot(b.X-a.X, b.Y-a.Y)
					seconds[b.Kind]++
				}
			}
			require.InDelta(t, 0.4, metres[track.Searching]/seconds[track.Searching], 0.03)
			require.InDelta(t, 1.25, metres[track.Walking]/seconds[track.Walking], 0.15)
			digs := seconds[track.Standing] / 180 / (seconds[track.Searching] / 3600)
			require.InDelta(t, 6, digs, 4, "digs an hour, a count of about 20")
		})
	}
}

// Nobody enters a keep-out, and searching stays within the boundary.
func TestSimulateKeepsOut(t *testing.T) {
	square := func(x, y, r float64) grid.Polygon {
		return grid.Polygon{Outer: grid.Ring{{X: x - r, Y: y - r}, {X: x + r, Y: y - r}, {X: x + r, Y: y + r}, {X: x - r, Y: y + r}}}
	}
	for _, style := range styles {
		t.Run(style.String(), func(t *testing.T) {
			set := check.DefaultWalk()
			set.Style, set.Seed = style, 3
			set.Boundary = []grid.Polygon{square(0, 0, 18)}
			set.Keepouts = []grid.Polygon{square(5, 2, 3), square(-22, -9, 2)}
			searched := 0
			for i, s := range check.Simulate(set).True {
				for _, k := range set.Keepouts {
					b := grid.EmptyBounds()
					for _, q := range k.Outer {
						b = b.Add(q)
					}
					in := s.X > b.Min.X && s.X < b.Max.X && s.Y > b.Min.Y && s.Y < b.Max.Y
					require.False(t, in && s.Kind != track.Standing, "second %d in a keep-out", i)
				}
				if s.Kind == track.Searching && i > 120 {
					require.LessOrEqual(t, math.Max(math.Abs(s.X), math.Abs(s.Y)), 18.0)
					searched++
				}
			}
			require.Greater(t, searched, 1500)
		})
	}
}

func TestSimulateIsDeterministic(t *testing.T) {
	set := check.DefaultWalk()
	a, b := check.Simulate(set), check.Simulate(set)
	require.Equal(t, a.True, b.True)
	require.Equal(t, len(a.Log), len(b.Log))
	require.Equal(t, a.Log[1000].XY, b.Log[1000].XY)
	set.Seed++
	require.NotEqual(t, a.True[100], check.Simulate(set).True[100])
}

// Error per axis: total as named at the presets, and the drift's
// autocorrelation (1 + b t) exp(-b t), which is 1/e at DriftS.
func TestReceiverError(t *testing.T) {
	for _, c := range []struct {
		name  string
		r     check.Receiver
		total float64
	}{
		{"open", check.OpenSky, 1.6}, {"light", check.LightCanopy, 3.9}, {"dense", check.DenseCanopy, 5.8},
	} {
		t.Run(c.name, func(t *testing.T) {
			sum, n := 0.0, 0.0
			lag := map[int]float64{}
			for seed := range uint64(150) {
				set := check.DefaultWalk()
				set.Seed, set.Receiver, set.Seconds = seed, c.r, 1200
				v := check.Simulate(set)
				e := make([]float64, len(v.True))
				for i, s := range v.True {
					e[i] = v.Log[i].X - s.X
					sum += e[i] * e[i]
					n++
				}
				for _, k := range []int{1, 120} {
					s := 0.0
					for i := k; i < len(e); i++ {
						s += (e[i] - e[i-k]) * (e[i] - e[i-k])
					}
					lag[k] += s / float64(len(e)-k) / 150
				}
			}
			require.InEpsilon(t, c.total, math.Sqrt(sum/n), 0.1)
			d, w := c.r.DriftM*c.r.DriftM, c.r.WhiteM*c.r.WhiteM
			b := 2.146193 / c.r.DriftS // root of (1 + u) exp(-u) = 1/e
			require.InEpsilon(t, 2*d*(1-(1+b)*math.Exp(-b))+2*w, lag[1], 0.1)
			require.InEpsilon(t, 2*d*(1-1/math.E)+2*w, lag[120], 0.15)
		})
	}
}

func TestReceiverHabits(t *testing.T) {
	set := check.DefaultWalk()
	set.Receiver.EveryS = 5
	v := check.Simulate(set)
	require.Equal(t, (len(v.True)+4)/5, len(v.Log))

	set.Receiver = check.OpenSky
	set.Receiver.MoveM = 3
	v = check.Simulate(set)
	for i := 1; i < len(v.Log); i++ {
		a, b := v.Log[i-1], v.Log[i]
		require.LessOrEqual(t, b.T.Sub(a.T), 25.0)
		require.True(t, math.Hypot(b.X-a.X, b.Y-a.Y) >= 3 || b.T.Sub(a.T) == 25)
	}

	set.Receiver = check.OpenSky
	set.Receiver.SilencesPerHour, set.Receiver.JumpsPerHour, set.Receiver.PinAtRest = 10, 10, true
	v = check.Simulate(set)
	silences, jumps, pinned := 0, 0, 0
	for i := 1; i < len(v.Log); i++ {
		a, b := v.Log[i-1], v.Log[i]
		dt, d := b.T.Sub(a.T), math.Hypot(b.X-a.X, b.Y-a.Y)
		if dt > 30 {
			silences++
		} else if d > 15 {
			jumps++
		} else if d == 0 {
			pinned++
		}
	}
	require.Positive(t, silences)
	require.Positive(t, jumps)
	require.Greater(t, pinned, 300)
}

// A stop is a minute of standing at its place; the log tells of its middle.
func TestStops(t *testing.T) {
	set, at := check.DefaultWalk(), grid.XY{X: -30, Y: -10}
	set.Stops = []grid.XY{at}
	v := check.Simulate(set)
	require.Len(t, v.Stops, 1)
	middle := int(v.Stops[0].Sub(v.Start))
	for i := middle - 30; i < middle+30; i++ {
		require.Equal(t, track.Standing, v.True[i].Kind, i)
		require.InDelta(t, 0, math.Hypot(v.True[i].X-at.X, v.True[i].Y-at.Y), 1.5)
	}
	require.NotEqual(t, track.Standing, v.True[middle-31].Kind)
}

func TestWriteGPX(t *testing.T) {
	fix := track.NoFix
	fix.Pos = grid.LonLat{Lon: -3.25, Lat: 51.5}
	fix.T = track.At(time.Date(2026, 5, 1, 9, 30, 0, 0, time.UTC))
	fix.HDOP = 0.9
	var b bytes.Buffer
	require.NoError(t, check.WriteGPX(&b, "fish & chips", []track.Fix{fix, fix}, track.Waypoint{Fix: fix, Name: "<post>"}))
	var got struct {
		Name   string `xml:"trk>name"`
		Mark   string `xml:"wpt>name"`
		Points []struct {
			Lat  float64   `xml:"lat,attr"`
			Time time.Time `xml:"time"`
			HDOP float64   `xml:"hdop"`
		} `xml:"trk>trkseg>trkpt"`
	}
	require.NoError(t, xml.Unmarshal(b.Bytes(), &got))
	require.Equal(t, "fish & chips", got.Name)
	require.Equal(t, "<post>", got.Mark)
	require.Len(t, got.Points, 2)
	require.Equal(t, 51.5, got.Points[1].Lat)
	require.Equal(t, 0.9, got.Points[1].HDOP)
	require.True(t, fix.T.Time().Equal(got.Points[0].Time))
}
