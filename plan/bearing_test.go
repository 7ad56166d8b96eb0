package plan_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/plan"
	"untrod/site"
)

// bearingRow is a line between two places near a datum, and the azimuth and length
// of its geodesic by GeodSolve.
type bearingRow struct {
	datum, from, to  grid.LonLat
	offM, azimuth, m float64
}

// check holds the bearing to 0.01 degree, and the length to 1 cm on ground that a
// frame is made for, and returns both differences.
func (r bearingRow) check(t *testing.T) (deg, m float64) {
	f, err := grid.NewFrame(r.datum)
	require.NoError(t, err)
	a, b := f.ToXY(r.from), f.ToXY(r.to)
	deg = math.Abs(math.Remainder(plan.TrueBearing(f, a, b)-r.azimuth, 360))
	m = math.Abs(math.Hypot(b.X-a.X, b.Y-a.Y) - r.m)
	require.LessOrEqual(t, deg, 0.01, "%+v", r)
	if r.offM <= 5000 {
		require.LessOrEqual(t, m, 0.01, "%+v", r)
	}
	return deg, m
}

func TestTrueBearingRecorded(t *testing.T) {
	text, err := os.ReadFile("testdata/bearings.tsv")
	require.NoError(t, err)
	rows, worst := 0, 0.0
	for line := range strings.Lines(string(text)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		var r bearingRow
		_, err := fmt.Sscan(line, &r.datum.Lat, &r.datum.Lon, &r.offM, &r.from.Lat, &r.from.Lon,
			&r.to.Lat, &r.to.Lon, &r.azimuth, &r.m)
		require.NoError(t, err)
		deg, _ := r.check(t)
		worst = max(worst, deg)
		rows++
	}
	t.Logf("%d rows, bearing within %.6f degrees", rows, worst)
	require.Equal(t, 25, rows)
}

// TestTrueBearingGeodSolve draws lines up to 5 km long anywhere within 20 km of
// datums up to latitude 80, and asks GeodSolve.
func TestTrueBearingGeodSolve(t *testing.T) {
	path, err := exec.LookPath("GeodSolve")
	if err != nil {
		if os.Getenv("UNTROD_REQUIRE_TOOLS") != "" {
			t.Fatal("GeodSolve is not installed")
		}
		t.Skip("GeodSolve is not installed (Debian package geographiclib-tools)")
	}
	rng := rand.New(rand.NewPCG(3, 3))
	rows, in := make([]bearingRow, 2000), strings.Builder{}
	for i := range rows {
		r := &rows[i]
		r.datum = grid.LonLat{Lon: 360*rng.Float64() - 180, Lat: 160*rng.Float64() - 80}
		f, err := grid.NewFrame(r.datum)
		require.NoError(t, err)
		reach := 20_000 * rng.Float64() * float64(i%2)
		sin, cos := math.Sincos(2 * math.Pi * rng.Float64())
		a := grid.XY{X: reach * sin, Y: reach * cos}
		sin, cos = math.Sincos(2 * math.Pi * rng.Float64())
		long := math.Pow(10, 0.5+3.2*rng.Float64())
		r.offM, r.from = reach, f.ToLonLat(a)
		r.to = f.ToLonLat(grid.XY{X: a.X + long*sin, Y: a.Y + long*cos})
		fmt.Fprintf(&in, "%.12f %.12f %.12f %.12f\n", r.from.Lat, r.from.Lon, r.to.Lat, r.to.Lon)
	}
	c := exec.Command(path, "-i", "-p", "6")
	c.Stdin = strings.NewReader(in.String())
	out, err := c.Output()
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	require.Len(t, lines, len(rows))
	var worst, worstM float64
	for i, line := range lines {
		var back float64
		_, err := fmt.Sscan(line, &rows[i].azimuth, &back, &rows[i].m)
		require.NoError(t, err)
		deg, m := rows[i].check(t)
		worst = max(worst, deg)
		if rows[i].offM <= 5000 {
			worstM = max(worstM, m)
		}
	}
	t.Logf("%d lines up to 5 km: bearing within %.6f degrees, length within %.4f m", len(rows), worst, worstM)
}

func TestTrueBearingQuarters(t *testing.T) {
	f, err := grid.NewFrame(grid.LonLat{Lon: 10, Lat: 50})
	require.NoError(t, err)
	for _, c := range []struct {
		to   grid.XY
		want float64
	}{{grid.XY{Y: 10}, 0}, {grid.XY{X: 10}, 90}, {grid.XY{Y: -10}, 180}, {grid.XY{X: -10}, 270}} {
		got := plan.TrueBearing(f, grid.XY{}, c.to)
		require.InDelta(t, 0, math.Remainder(got-c.want, 360), 1e-6)
		require.True(t, got >= 0 && got < 360)
	}
	require.True(t, math.IsNaN(plan.TrueBearing(f, grid.XY{X: 1}, grid.XY{X: 1})))
}

func TestBearings(t *testing.T) {
	f, err := grid.NewFrame(grid.LonLat{Lon: 10, Lat: 50})
	require.NoError(t, err)
	at := func(name string, mark bool, shape site.Shape, xy ...grid.XY) site.LocalLandmark {
		return site.LocalLandmark{Landmark: site.Landmark{Name: name, Mark: mark, Shape: shape}, XY: xy}
	}
	well := at("well", false, site.PointShape, grid.XY{X: -21})
	post := at("post", true, site.PointShape, grid.XY{Y: 30})
	oak := at("oak", false, site.PointShape, grid.XY{Y: -25, X: 5}) // behind the post, 11 degrees off its line
	wall := at("wall", false, site.LineShape, grid.XY{X: 60, Y: -50}, grid.XY{X: 60, Y: 50})
	barn := at("barn", false, site.AreaShape, grid.XY{X: 40, Y: -5}, grid.XY{X: 50, Y: -5}, grid.XY{X: 50, Y: 5}, grid.XY{X: 40, Y: 5})
	empty := at("empty", false, site.LineShape)
	for _, c := range []struct {
		name      string
		landmarks []site.LocalLandmark
		want      []string
	}{
		{"none", nil, nil},
		{"one without points", []site.LocalLandmark{empty}, nil},
		{"one", []site.LocalLandmark{wall}, []string{"wall"}},
		{"two that cross badly", []site.LocalLandmark{oak, post}, []string{"post", "oak"}},
		{"a mark half as far again", []site.LocalLandmark{well, post}, []string{"post", "well"}},
		{"the second crosses well", []site.LocalLandmark{oak, barn, post}, []string{"post", "barn"}},
		{"none crosses well", []site.LocalLandmark{oak, post, at("far", false, site.PointShape, grid.XY{Y: 90})}, []string{"post", "oak"}},
		{"no marks", []site.LocalLandmark{wall, barn, well}, []string{"well", "barn"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var names []string
			for _, b := range plan.Bearings(f, c.landmarks, grid.XY{}) {
				names = append(names, b.Landmark)
			}
			require.Equal(t, c.want, names)
		})
	}

	b := plan.Bearings(f, []site.LocalLandmark{barn, wall, post}, grid.XY{})
	require.Equal(t, grid.XY{Y: 30}, b[0].From)
	require.InDelta(t, 30, b[0].DistanceM, 1e-9)
	require.InDelta(t, 180, b[0].TrueDeg, 1e-6) // from the post to the place
	require.Equal(t, grid.XY{X: 40}, b[1].From)
	require.InDelta(t, 270, b[1].TrueDeg, 1e-3)
	require.Equal(t, 53, plan.Paces(40, plan.PaceM))

	// At the landmark itself there is no bearing, and any second will do.
	b = plan.Bearings(f, []site.LocalLandmark{well, post}, grid.XY{Y: 30})
	require.Equal(t, "post", b[0].Landmark)
	require.Zero(t, b[0].DistanceM)
	require.True(t, math.IsNaN(b[0].TrueDeg))
	require.Equal(t, "well", b[1].Landmark)
}
