package report

import (
	"fmt"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
)

// The bar under every map is as long on paper as it says, at every scale and in both
// units, and so is the note beside it: measured on the page as
// `pdftoppm -r 300 -gray` draws it.
func TestScaleBarOnPaper(t *testing.T) {
	needTool(t, "pdftoppm")
	needTool(t, "pdfinfo")
	r, ps := field().make(t)
	for i, scale := range append([]int{120, 1584, 10_000}, sheetScales...) {
		u := Units(i % 2)
		t.Run(fmt.Sprint("1:", scale), func(t *testing.T) {
			t.Parallel()
			path := kept(t, drawSheet(t, r, ps, nil, SheetSettings{Scale: scale, Units: u}))
			for n, text := range pageTexts(t, path) {
				said := barWords.FindStringSubmatch(text)
				if said == nil || n > 1 {
					continue
				}
				checkBar(t, path, n+1, text, u)
			}
		})
	}
}

var (
	barWords = regexp.MustCompile(`1:([\d,]+)\. Printed at full size the bar is ([\d.]+) (mm|in)\.`)
	barLabel = regexp.MustCompile(`(?m)^ *0 +[\d.]+ +([\d.]+) *(m|ft)\b`)
)

func checkBar(t *testing.T, path string, page int, text string, u Units) {
	said, label := barWords.FindStringSubmatch(text), barLabel.FindStringSubmatch(text)
	require.NotNil(t, label, "no labelled bar on page %d", page)
	scale := numberIn(t, said[1])
	onPaper := numberIn(t, said[2])
	ground := numberIn(t, label[1])
	if u == Imperial {
		onPaper, ground = onPaper*25.4, ground*0.3048
	}
	got := longestRun(t, path, page) / 300 * 25.4
	t.Logf("page %d: %.3f mm drawn, %.3f mm meant", page, got, 1000*ground/scale)
	require.InEpsilon(t, 1000*ground/scale, got, 0.005, "%v mm drawn on page %d", got, page)
	require.InEpsilon(t, onPaper, got, 0.01) // said to three digits
	require.Greater(t, got, 20.0)
}

func numberIn(t *testing.T, s string) float64 {
	v, err := strconv.ParseFloat(strings.ReplaceAll(s, ",", ""), 64)
	require.NoError(t, err)
	return v
}

// longestRun is the longest level black line in the strip below the map, in pixels.
func longestRun(t *testing.T, path string, page int) float64 {
	size, err := exec.Command("pdfinfo", "-f", fmt.Sprint(page), "-l", fmt.Sprint(page), path).Output()
	require.NoError(t, err)
	points := pageSize.FindStringSubmatch(string(size))
	require.NotNil(t, points)
	dots := func(pt float64) string { return fmt.Sprint(int(pt / 72 * 300)) }
	foot := numberIn(t, points[2]) - float64(sheetSide+footLine+sheetFoot-2*mm)
	out, err := exec.Command("pdftoppm", "-r", "300", "-gray", "-f", fmt.Sprint(page), "-l", fmt.Sprint(page),
		"-x", "0", "-y", dots(foot), "-W", dots(numberIn(t, points[1])), "-H", dots(float64(sheetFoot)), path).Output()
	require.NoError(t, err)
	var w, h, top int
	_, err = fmt.Sscanf(string(out[:20]), "P5\n%d %d\n%d\n", &w, &h, &top)
	require.NoError(t, err)
	best, run := 0, 0
	for i, v := range out[len(out)-w*h:] {
		if run++; v > 100 || i%w == 0 {
			run = 0
		}
		best = max(best, run)
	}
	return float64(best)
}

var pageSize = regexp.MustCompile(`size: +([\d.]+) x ([\d.]+) pts`)

func TestScaleChosen(t *testing.T) {
	for _, c := range []struct {
		name          string
		width, height float64
		swathM        float64
		scale, maps   int
		wide          bool
	}{
		{"a room", 3, 3, 1.5, 20, 1, false},
		{"a garden", 20, 25, 1.5, 200, 1, false},
		{"a small field", 40, 40, 1.5, 250, 1, false},
		{"a long strip", 130, 20, 1.5, 500, 1, true},
		{"a field", 100, 100, 1.5, 600, 1, false},
		{"lanes just apart enough", 130, 150, 1.5, 750, 1, false},
		{"too large for one page", 200, 200, 1.5, 600, 4, false},
		{"large", 1000, 1000, 1.5, 2000, 9, false},
		{"5 km", 5000, 5000, 1.5, 2000, 15 * 13, false},
		{"narrow swath", 60, 60, 0.3, 200, 4, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := cutUp(grid.Bounds{Max: grid.XY{X: c.width, Y: c.height}}, A4, c.swathM, 0)
			require.Equal(t, []any{c.scale, c.maps, c.wide}, []any{got.scale, len(got.windows), got.wide})
		})
	}
}

// Maps show all of the ground, each as large as the page at its scale, and overlap by
// 12 mm or more.
func TestMapsCoverTheGround(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Float64Range(-9000, 9000)
		size := rapid.Float64Range(0.5, 6000)
		lo := grid.XY{X: at.Draw(t, "x"), Y: at.Draw(t, "y")}
		b := grid.Bounds{Min: lo, Max: grid.XY{X: lo.X + size.Draw(t, "width"), Y: lo.Y + size.Draw(t, "height")}}
		p := Paper(rapid.IntRange(0, 1).Draw(t, "paper"))
		given := rapid.SampledFrom([]int{0, 0, 0, 500, 2000, 10_000}).Draw(t, "scale")
		c := cutUp(b, p, rapid.Float64Range(0.3, 3).Draw(t, "swath"), given)
		on := mapSize(p, c.wide)
		w, h, over := windowM(on.X, c.scale), windowM(on.Y, c.scale), 0.012*float64(c.scale)
		all := c.bounds()
		const slack = 1e-6
		require.True(t, all.Min.X <= b.Min.X+slack && all.Max.X >= b.Max.X-slack && all.Min.Y <= b.Min.Y+slack && all.Max.Y >= b.Max.Y-slack)
		for i, win := range c.windows {
			require.InDelta(t, w, win.Width(), slack)
			require.InDelta(t, h, win.Height(), slack)
			if i%c.columns > 0 {
				require.GreaterOrEqual(t, c.windows[i-1].Max.X-win.Min.X, over-slack)
			}
			if i >= c.columns {
				require.GreaterOrEqual(t, win.Max.Y-c.windows[i-c.columns].Min.Y, over-slack)
			}
		}
		require.True(t, given == 0 || given == c.scale)
	})
}

func TestSquareNames(t *testing.T) {
	n := netOver(grid.Bounds{Min: grid.XY{X: -19, Y: -14}, Max: grid.XY{X: 20, Y: 14}}, 250, Metric)
	require.Equal(t, net{-20, 15, 5}, n)
	for want, q := range map[string]grid.XY{"A1": {X: -20, Y: 14.9}, "B1": {X: -15, Y: 14.9}, "A2": {X: -16, Y: 9.9}, "H6": {X: 19.9, Y: -14}} {
		require.Equal(t, want, n.square(q))
	}
	for i, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 51: "AZ", 52: "BA", 701: "ZZ", 702: "AAA"} {
		require.Equal(t, want, columnName(i))
	}
	require.InDelta(t, 20*footM, netOver(grid.Bounds{Max: grid.XY{X: 9, Y: 9}}, 240, Imperial).stepM, 1e-9)
}
