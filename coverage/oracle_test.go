package coverage_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
)

// windingWalk wanders over the square from 0 to side metres in steps.
func windingWalk(seed uint64, n int, side, step float64) []grid.XY {
	rng := rand.New(rand.NewPCG(seed, 1))
	line, h := []grid.XY{{X: side / 2, Y: side / 2}}, 0.0
	for len(line) < n {
		h += rng.NormFloat64() * 0.25
		p := line[len(line)-1]
		q := grid.XY{X: p.X + step*math.Cos(h), Y: p.Y + step*math.Sin(h)}
		if q.X < 1 || q.X > side-1 || q.Y < 1 || q.Y > side-1 {
			h += math.Pi / 2
			continue
		}
		line = append(line, q)
	}
	return line
}

// sweptPercent is the share of a square that lies within radius of the line.
func sweptPercent(line []grid.XY, side, cellM, radiusM float64) float64 {
	spec := grid.SpecFor(grid.Bounds{Max: grid.XY{X: side - cellM/2, Y: side - cellM/2}}, cellM)
	m := grid.NewMask(spec)
	coverage.Sweep(m, line, radiusM)
	return 100 * m.AreaM2() / (side * side)
}

func wkt(line []grid.XY) string {
	var b strings.Builder
	for i, p := range line {
		if i > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, "%.9f %.9f", p.X, p.Y)
	}
	return "LINESTRING(" + b.String() + ")"
}

// TestAgainstVectorBuffer compares the swept share of 1 ha with the buffer of
// simplefeatures v0.59.0, a port of JTS, at 64 segments a quarter circle: an
// area found by noding offset curves, with no cells in it.
func TestAgainstVectorBuffer(t *testing.T) {
	const side = 100.0
	square, err := geom.UnmarshalWKT("POLYGON((0 0,100 0,100 100,0 100,0 0))")
	require.NoError(t, err)
	for seed, points := range []int{4_000, 12_000} {
		line := windingWalk(uint64(seed), points, side, 0.5)
		g, err := geom.UnmarshalWKT(wkt(line))
		require.NoError(t, err)
		buf, err := geom.Buffer(g, 0.75, geom.BufferQuadSegments(64))
		require.NoError(t, err)
		in, err := geom.Intersection(buf, square)
		require.NoError(t, err)
		want, got := 100*in.Area()/(side*side), sweptPercent(line, side, 0.1, 0.75)
		t.Logf("%d points: %.4f %% swept, buffer says %.4f %%, difference %+.4f points", points, got, want, got-want)
		require.InDelta(t, want, got, 0.02)
	}
}

// tool returns the path of an outside program, and skips the test where it is
// not installed; where UNTROD_REQUIRE_TOOLS is set that is a failure.
func tool(t testing.TB, name string) string {
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("UNTROD_REQUIRE_TOOLS") != "" {
			t.Fatalf("%s is not installed", name)
		}
		t.Skipf("%s is not installed (Debian package geos-bin)", name)
	}
	return path
}

// geosop runs one GEOS operation on WKT: geosop -a stdin -f FORMAT [-t] OP [N].
func geosop(t testing.TB, in string, args ...string) string {
	c := exec.Command(tool(t, "geosop"), append([]string{"-a", "stdin"}, args...)...)
	c.Stdin = strings.NewReader(in)
	out, err := c.Output()
	require.NoError(t, err)
	return strings.TrimSpace(string(out))
}

// TestAgainstGEOS compares with the buffer of GEOS, at its 8 segments a
// quarter circle, which make every arc up to 0.2 % thin:
//
//	geosop -a walk.wkt -f wkt buffer 0.75 | geosop -a stdin -f wkt intersection ... | geosop -a stdin -f txt area
func TestAgainstGEOS(t *testing.T) {
	const side = 100.0
	line := windingWalk(3, 6_000, side, 0.5)
	buf := geosop(t, wkt(line), "-f", "wkt", "buffer", "0.75")
	in := geosop(t, buf, "-b", "POLYGON((0 0,100 0,100 100,0 100,0 0))", "-f", "wkt", "intersection")
	area, err := strconv.ParseFloat(geosop(t, in, "-f", "txt", "area"), 64)
	require.NoError(t, err)
	got := sweptPercent(line, side, 0.1, 0.75)
	t.Logf("%.4f %% swept, GEOS says %.4f %%", got, area/100)
	require.InDelta(t, area/100, got, 0.04)
}

// BenchmarkAgainstGEOS times the sweep of six walks, and GEOS on the same lines by
// geosop's own clock: the buffer of each, and the union of the six.
func BenchmarkAgainstGEOS(b *testing.B) {
	var lines [][]grid.XY
	var in strings.Builder
	for seed := range uint64(6) {
		lines = append(lines, windingWalk(seed, 12_001, 100, 0.5))
		fmt.Fprintln(&in, wkt(lines[seed]))
	}
	buffers := geosop(b, in.String(), "-f", "wkt", "buffer", "0.75")
	geos := geosTime(b, in.String(), "buffer", "0.75") + geosTime(b, buffers, "-c", "unaryUnion")
	m := grid.NewMask(grid.SpecFor(grid.Bounds{Max: grid.XY{X: 99.9, Y: 99.9}}, 0.1))
	for b.Loop() {
		for _, l := range lines {
			coverage.Sweep(m, l, 0.75)
		}
	}
	own := b.Elapsed() / time.Duration(b.N)
	b.ReportMetric(float64(own.Nanoseconds())/72_000, "ns/segment")
	b.ReportMetric(float64(geos)/float64(own), "times-faster-than-GEOS")
}

// geosTime is what geosop says an operation took.
func geosTime(b *testing.B, in string, args ...string) time.Duration {
	out := geosop(b, in, append([]string{"-t"}, args...)...)
	m := regexp.MustCompile(`([0-9,]+) usec`).FindStringSubmatch(out)
	require.NotNil(b, m, "%s", out)
	v, err := strconv.Atoi(strings.ReplaceAll(m[1], ",", ""))
	require.NoError(b, err)
	return time.Duration(v) * time.Microsecond
}
