package report

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check/golden"
	"untrod/site"
	"untrod/track"
)

func TestTextGolden(t *testing.T) {
	g := field()
	g.missed, g.seed = 0.5, 3
	for name, u := range map[string]Units{"metric": Metric, "imperial": Imperial} {
		t.Run(name, func(t *testing.T) {
			r, _ := g.make(t)
			r.Notes = oddNotes()
			r.Skipped = []coverage.Skipped{{File: "notes.txt", Err: errors.New("notes.txt: not GPX")}}
			r.Sessions[1].Start = track.NoTime
			var b bytes.Buffer
			require.NoError(t, Text(&b, r, u))
			golden.Bytes(t, "testdata/"+name+".txt", b.Bytes())
		})
	}
}

func TestTextOfUnsureGolden(t *testing.T) {
	for name, u := range map[string]Units{"unsure-metric": Metric, "unsure-imperial": Imperial} {
		t.Run(name, func(t *testing.T) {
			r, _ := field().makeUnsure(t)
			var b bytes.Buffer
			require.NoError(t, Text(&b, r, u))
			golden.Bytes(t, "testdata/"+name+".txt", b.Bytes())
		})
	}
}

// A limit never claims more than was found: lower ones are rounded down, upper
// ones up, and none to all when it is not.
func TestLimitsInWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{atLeast(54.99), "54 %"}, {atLeast(0.4), "0 %"}, {atLeast(99.9), "99 %"}, {atLeast(100), "100 %"},
		{atLeast(math.NaN()), "?"},
		{between(54.9, 68.1), "54 to 69 %"}, {between(0.2, 99.3), "0 to over 99 %"}, {between(60, 60), "60 %"},
		{between(100, 100), "100 %"}, {between(0, 0.2), "0 to 1 %"},
		{listed(nil), ""}, {listed([]string{"a"}), "a"}, {listed([]string{"a", "b", "c"}), "a, b and c"},
		{Metric.small(0.28), "28 cm"}, {Imperial.small(0.254), "10 in"}, // 1 inch is 25.4 mm (NIST SP 811)
		{Metric.pace(0.4249), "0.42 m/s"}, {Imperial.pace(0.3048), "1.00 ft/s"},
	} {
		require.Equal(t, c.want, c.got)
	}
}

// A circular normal error is under so many deviations two times in three:
// 1 - exp(-r^2/2) = 2/3 (Rayleigh distribution).
func TestTwoInThree(t *testing.T) {
	require.InDelta(t, 2.0/3, -math.Expm1(-twoInThree*twoInThree/2), 1e-12)
	p := coverage.PositionSettings{Canopy: "open", Receiver: track.Receiver{OffsetM: 0.6, DriftM: 0.8}}
	require.Equal(t, "Allowing for a receiver that is right to 1.5 m two times in three, as is usual under open sky.",
		receiver(p, Metric))
	p = coverage.PositionSettings{Receiver: track.ReceiverOf(4 / 2.4477)} // Rayleigh quantile of 95 %
	require.Contains(t, receiver(p, Metric), "right to 4.0 m in 95 of 100")
}

func TestVisitsNotTimed(t *testing.T) {
	s := coverage.Session{Start: track.NoTime, File: "w.gpx"}
	s.Metres[track.Searching] = 80
	tx := texter{r: &coverage.Result{Sessions: []coverage.Session{s}}}
	tx.visits()
	require.Contains(t, tx.out.String(), "no date             not timed")
}

// The only visit strayed: nothing is said of others.
func TestOnlyVisitStrayed(t *testing.T) {
	r := &coverage.Result{Sessions: make([]coverage.Session, 1), Certainty: &coverage.Certainty{Strays: []string{"walk1"}}}
	tx := texter{r: r}
	tx.leadSure("you can search")
	require.Contains(t, tx.out.String(), "walk1 searched well beyond the edge of the ground.\n")
}

func TestTextOfPerfectPositions(t *testing.T) {
	r, _ := field().make(t)
	r.Settings.Position.Canopy = "none"
	var b bytes.Buffer
	require.NoError(t, Text(&b, r, Metric))
	require.Contains(t, b.String(), "Positions were taken as perfect")
}

func TestTies(t *testing.T) {
	for _, c := range []struct {
		name string
		ties []float64
		want string
	}{
		{"none", nil, ""},
		{"one", []float64{1.4}, "Ties to marks moved 1 visit by 1.4 m.\n"},
		{"two", []float64{1.4, 3}, "Ties to marks moved 2 visits by 1.4 m and 3.0 m.\n"},
		{"many", []float64{1.4, 3, 0.2, 2}, "Ties to marks moved 4 visits by 0.2 m to 3.0 m.\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := &coverage.Result{Sessions: []coverage.Session{{}}}
			for _, m := range c.ties {
				r.Sessions = append(r.Sessions, coverage.Session{Ties: 1, TieM: m})
			}
			tx := texter{r: r}
			tx.ties()
			require.Equal(t, c.want, tx.out.String())
		})
	}
}

func TestThoroughnessInWords(t *testing.T) {
	coil := coverage.Coil{SizeM: 0.28, SwingM: 1.2}
	for _, c := range []struct {
		name string
		t    coverage.Thoroughness
		want string
	}{
		{"deep", coverage.Thoroughness{Coil: coil, DepthM: 0.15, MedianMS: 0.42, FastestMS: 0.054, MeanPercent: 23.6},
			"At your usual pace of 0.42 m/s a coil of 28 cm on a swing of 1.2 m, 15 cm down, passes over about 24 % of the ground in the swath in one pass; 0.05 m/s or slower would leave nothing within the swing, and"},
		{"too deep", coverage.Thoroughness{Coil: coil, DepthM: 0.4, MedianMS: 0.42}, "no pace is slow enough"},
		{"all reached", coverage.Thoroughness{Coil: coil, FastestMS: math.Inf(1)}, "no pace would leave anything"},
		{"beside", coverage.Thoroughness{Coil: coil, GroundPercent: 31.2},
			"The figures above count the whole swath: as logged, the coil itself passed over about 31 % of the site. Measure the time of a sweep and give it as --sweep-time, and they count only what the coil passed over."},
		{"counted", coverage.Thoroughness{Coil: coil, Counted: true}, "What it missed counts as not swept above, but not in the figure as logged."},
	} {
		t.Run(c.name, func(t *testing.T) {
			tx := texter{r: &coverage.Result{Thoroughness: &c.t, Certainty: &coverage.Certainty{}}}
			tx.thoroughness()
			require.Contains(t, oneLine(&tx), c.want)
		})
	}
	tx := texter{r: &coverage.Result{Thoroughness: &coverage.Thoroughness{Coil: coil}}}
	tx.thoroughness()
	require.NotContains(t, oneLine(&tx), "--sweep-time", "with positions taken as perfect the swath always counts")

	r, _ := field().makeUnsure(t)
	tx = texter{r: r}
	tx.lead()
	require.NotContains(t, oneLine(&tx), "the coil itself")
	r.Thoroughness = &coverage.Thoroughness{Coil: coil, Counted: true}
	tx = texter{r: r}
	tx.lead()
	require.Contains(t, oneLine(&tx), "Swept means here that the coil itself passed over it, at the sweep time you gave.")
	d := Summary(r)
	require.True(t, d.Thoroughness.Counted)
}

func oneLine(t *texter) string { return strings.Join(strings.Fields(t.out.String()), " ") }

func TestDetectionInWords(t *testing.T) {
	given := coverage.Detection{PerPass: 0.7, AnywherePercent: 41, AnywhereLoPercent: 41, AnywhereHiPercent: 41}
	tx := texter{r: &coverage.Result{Detection: &given}}
	tx.detection()
	require.Contains(t, oneLine(&tx), "a chance of 41 % anywhere in the searchable ground, as logged. That")
	given.AnywhereLoPercent, given.AnywhereHiPercent = 35.5, 45.2
	tx = texter{r: &coverage.Result{Detection: &given, Certainty: &coverage.Certainty{}}}
	tx.detection()
	require.Contains(t, oneLine(&tx), "a chance of 41 % (35 to 46 %) anywhere in the searchable ground, of which as much counts as was most likely swept. That")
}

func oddNotes() []coverage.FileNote {
	note := func(file string, k track.NoteKind, n int, example string) coverage.FileNote {
		return coverage.FileNote{File: file, Note: track.Note{Kind: k, Count: n, Example: example}}
	}
	return []coverage.FileNote{
		note("walk1.gpx", track.NoteDuplicate, 1200, "walk1.gpx:44: same place and time as the fix before"),
		note("walk2.gpx", track.NoteDuplicate, 3, "walk2.gpx:7: same place and time as the fix before"),
		note("walk2.gpx", track.NoteSilence, 1, "walk2.gpx:390: nothing for 212 s"),
		note("walk3.gpx", "a-new-kind", 2, "walk3.gpx:1: something"),
	}
}

func TestTextKeepsTo80Columns(t *testing.T) {
	r, _ := field().make(t)
	long := strings.Repeat("very/long/path/", 12) + "walk.gpx"
	r.Site.Name = strings.Repeat("Upper and Lower Kettle Bank ", 5)
	r.Sessions[0].File = long
	r.Local.Landmarks[0].Name = strings.Repeat("milestone ", 10)
	r.Skipped = []coverage.Skipped{{File: long, Err: errors.New(long + ": no such file")}}
	r.SearchableM2, r.SweptM2 = 123_456_789, 123_000_000
	for _, u := range []Units{Metric, Imperial} {
		keepsTo80(t, r, u)
		r.Certainty = unsure(r)
		addTrust(t, r)
		r.Certainty.Strays = []string{long, long}
		keepsTo80(t, r, u)
	}
}

func keepsTo80(t *testing.T, r *coverage.Result, u Units) {
	var b bytes.Buffer
	require.NoError(t, Text(&b, r, u))
	for _, l := range strings.Split(b.String(), "\n") {
		require.LessOrEqual(t, utf8.RuneCountInString(l), textWidth, "%q", l)
		require.False(t, strings.HasPrefix(l, "%"), "%q", l)
	}
}

func TestTextOfNothing(t *testing.T) {
	r := &coverage.Result{Searchable: grid.NewMask(grid.Spec{}), Swept: grid.NewMask(grid.Spec{})}
	var b bytes.Buffer
	require.NoError(t, Text(&b, r, Metric))
	require.Contains(t, b.String(), "no ground to search")
	require.NotContains(t, b.String(), "NaN")
}

func TestTextHandsNoControlCharactersOn(t *testing.T) {
	r, _ := field().make(t)
	r.Site.Name = "\x1b[31mred\u202e\x00 bank\n\n"
	var b bytes.Buffer
	require.NoError(t, Text(&b, r, Metric))
	require.True(t, strings.HasPrefix(b.String(), "[31mred bank\n"), "%q", b.String()[:20])
}

func TestWhere(t *testing.T) {
	r := &coverage.Result{Local: site.Local{Landmarks: []site.LocalLandmark{point("old well", false, 100, 0), point("", false, 0, 50)}}}
	tx := texter{r: r}
	for _, c := range []struct {
		name string
		at   grid.XY
		want string
	}{
		{"nearer the centre", grid.XY{X: 0, Y: 30}, "30 m north of the centre"},
		{"nearer the landmark", grid.XY{X: 90, Y: -10}, "14 m south-west of old well"},
		{"on the landmark", grid.XY{X: 100.5, Y: 0}, "at old well"},
		{"just west of north", grid.XY{X: -1, Y: 20}, "20 m north of the centre"},
		{"north-west", grid.XY{X: -20, Y: 20}, "28 m north-west of the centre"},
		{"a nameless landmark does not count", grid.XY{X: 0, Y: 49}, "49 m north of the centre"},
	} {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.want, tx.where(c.at)) })
	}
}

func TestFiguresInWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{Metric.area(0.04), "0.0 m2"}, {Metric.area(6.44), "6.4 m2"}, {Metric.area(9.97), "10 m2"},
		{Metric.area(38.4), "38 m2"}, {Metric.area(9424), "9,420 m2"}, {Metric.area(123_456), "12 ha"},
		{Metric.area(25_000_000), "2,500 ha"},
		// 1 international acre is 4046.8564224 m2, 1 foot 0.3048 m (NIST SP 811, 2008, appendix B.8)
		{Imperial.area(4046.8564224), "43,600 sq ft"}, {Imperial.area(40468564.224), "10,000 acres"},
		{Imperial.length(3.048), "10 ft"}, {Imperial.length(0.3048), "1.0 ft"},
		{Metric.length(4.24), "4.2 m"}, {Metric.length(1234), "1,230 m"}, {Metric.paces(0.4), "0 m"},
		{percent(0), "0 %"}, {percent(0.2), "under 1 %"}, {percent(84.4), "84 %"},
		{percent(99.6), "over 99 %"}, {about(0.2), "under 1 %"}, {about(65), "about 65 %"}, {percent(100), "100 %"},
		{count(0, "gap"), "no gaps"}, {count(1, "gap"), "1 gap"}, {count(1200, "gap"), "1,200 gaps"},
		{grouped(-0.04, 1), "0.0"}, {grouped(-1234567.89, 2), "-1,234,567.89"},
		{duration(0), "none"}, {duration(20), "under 1 min"}, {duration(3599), "1 h 00 min"}, {duration(6720), "1 h 52 min"},
	} {
		require.Equal(t, c.want, c.got)
	}
}
