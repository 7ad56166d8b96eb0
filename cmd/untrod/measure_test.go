//go:build linux

package main

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/internal/check"
	"untrod/site"
	"untrod/track"
)

// TestMeasure times whole runs of the program, start to exit, and their peak
// memory. It is no part of the ordinary tests: it needs minutes and gigabytes.
//
//	UNTROD_MEASURE=season go test ./cmd/untrod -run TestMeasure -v -timeout 60m
//
// UNTROD_MEASURE is season (20 visits of 4 h at 1 Hz on 1 ha), also with fewer
// visits and with fewer and more draws; many (20 million fixes on 1 ha, taken as
// true) or far (100 km of track over 100 km2), at 1/16, 1/4 and 1.
func TestMeasure(t *testing.T) {
	what := os.Getenv("UNTROD_MEASURE")
	if what == "" {
		t.Skip("set UNTROD_MEASURE to season, many or far")
	}
	bin := filepath.Join(t.TempDir(), "untrod")
	build := exec.Command("go", "build", "-trimpath", "-o", bin, ".")
	build.Env = append(os.Environ(), "CGO_ENABLED=0")
	out, err := build.CombinedOutput()
	require.NoError(t, err, "%s", out)
	switch what {
	case "season":
		measureSeason(t, bin)
	case "many":
		for _, files := range []int{20, 80, 320} { // of 62,500 fixes
			measureMany(t, bin, files)
		}
	case "far":
		for _, km := range []float64{6.25, 25, 100} {
			measureFar(t, bin, km)
		}
	}
}

// timed runs the program and logs wall time, processor time and peak memory.
func timed(t *testing.T, what, bin string, args ...string) {
	start := time.Now()
	c := exec.Command(bin, args...)
	out, err := c.CombinedOutput()
	wall := time.Since(start)
	require.NoError(t, err, "%s", out)
	use := c.ProcessState.SysUsage().(*syscall.Rusage)
	t.Logf("%s: %.2f s wall, %.2f s processor, %d MB peak, load average %s", what, wall.Seconds(),
		(c.ProcessState.UserTime() + c.ProcessState.SystemTime()).Seconds(), use.Maxrss/1024, loadAverage())
}

// loadAverage is that of the last minute: on a busy machine wall times say little.
func loadAverage() string {
	text, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return "unknown"
	}
	return strings.Fields(string(text))[0]
}

func measureSeason(t *testing.T, bin string) {
	dir := t.TempDir()
	squareFile(t, filepath.Join(dir, "site.geojson"), 100)
	for i := range 20 {
		s := check.DefaultWalk()
		s.Seed, s.Seconds = uint64(i+1), 4*3600
		s.Start += track.Instant(i) * 7 * 86_400_000
		x, y := float64(i%4)*20-40, float64(i/4%4)*20-40
		s.Patch = grid.Bounds{Min: grid.XY{X: x, Y: y}, Max: grid.XY{X: x + 25, Y: y + 25}}
		writeWalk(t, filepath.Join(dir, fmt.Sprintf("walk%02d.gpx", i)), check.Simulate(s))
	}
	logs, _ := filepath.Glob(filepath.Join(dir, "*.gpx"))
	args := append([]string{"cover", "--site", filepath.Join(dir, "site.geojson"), "--swath", "1.5m"}, logs...)
	for range 3 {
		timed(t, "season, every fix as true", bin, append(args, "--canopy", "none")...)
		timed(t, "season, every fix as true, with all files", bin, append(args, "--canopy", "none", "--out", filepath.Join(dir, "out"))...)
		timed(t, "season, light canopy", bin, append(args, "--canopy", "light")...)
		timed(t, "season, light canopy, with all files", bin, append(args, "--canopy", "light", "--out", filepath.Join(dir, "out"))...)
	}
	for _, draws := range []string{"50", "200", "800"} {
		timed(t, "season, light canopy, "+draws+" draws", bin, append(args, "--draws", draws)...)
	}
	for _, n := range []int{5, 10} {
		timed(t, fmt.Sprintf("%d visits, light canopy", n), bin, args[:len(args)-len(logs)+n]...)
	}
}

// measureMany copies one long visit with other dates: the sweep cannot tell.
func measureMany(t *testing.T, bin string, files int) {
	dir := t.TempDir()
	squareFile(t, filepath.Join(dir, "site.geojson"), 100)
	s := check.DefaultWalk()
	s.Seconds = 62_500
	s.Patch = grid.Bounds{Min: grid.XY{X: -48, Y: -48}, Max: grid.XY{X: 48, Y: 48}}
	v := check.Simulate(s)
	fixes := 0
	for i := range files {
		v.Start += 86_400_000
		for k := range v.Log {
			v.Log[k].T += 86_400_000
			v.Log[k].X += 0.1
		}
		if i%16 == 15 {
			for k := range v.Log {
				v.Log[k].X -= 1.6
			}
		}
		fixes += len(v.Log)
		writeWalk(t, filepath.Join(dir, fmt.Sprintf("w%04d.gpx", i)), v)
	}
	timed(t, fmt.Sprintf("%.2f million fixes", float64(fixes)/1e6), bin,
		"cover", "--site", filepath.Join(dir, "site.geojson"), "--swath", "1.5m", "--canopy", "none", dir)
}

// measureFar scatters short searches over 10 km by 10 km.
func measureFar(t *testing.T, bin string, km float64) {
	dir := t.TempDir()
	n := int(km * 4)
	for i := range n {
		s := check.DefaultWalk()
		s.Seed, s.Seconds, s.Style = uint64(i), 700, check.Winding
		x, y := float64(i%20)*500-5000, float64(i/20)*500-5000
		s.Gate = grid.XY{X: x, Y: y}
		s.Patch = grid.Bounds{Min: s.Gate, Max: grid.XY{X: x + 40, Y: y + 40}}
		s.Start += track.Instant(i) * 86_400_000
		writeWalk(t, filepath.Join(dir, fmt.Sprintf("w%04d.gpx", i)), check.Simulate(s))
	}
	timed(t, fmt.Sprintf("%.2f km scattered, 0.25 m cells", km), bin,
		"cover", "--swath", "1.5m", "--cell", "0.25m", "--canopy", "none", dir)
}

func squareFile(t *testing.T, path string, side float64) {
	h := side / 2
	f := measureFrame(t)
	s := site.FromWalks([]grid.Polygon{{Outer: grid.Ring{{X: -h, Y: -h}, {X: h, Y: -h}, {X: h, Y: h}, {X: -h, Y: h}}}}, f, "square")
	w, err := os.Create(path)
	require.NoError(t, err)
	require.NoError(t, s.WriteGeoJSON(w))
	require.NoError(t, w.Close())
}

func measureFrame(t *testing.T) grid.Frame {
	f, err := grid.NewFrame(grid.LonLat{Lon: -31.2, Lat: 47.3})
	require.NoError(t, err)
	return f
}

func writeWalk(t *testing.T, path string, v check.Visit) {
	w, err := os.Create(path)
	require.NoError(t, err)
	b := bufio.NewWriterSize(w, 1<<20)
	require.NoError(t, check.WriteGPX(b, filepath.Base(path), check.Fixes(measureFrame(t), v.Log)))
	require.NoError(t, b.Flush())
	require.NoError(t, w.Close())
}
