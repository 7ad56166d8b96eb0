package report

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
	"untrod/site"
)

var sheetDay = time.Date(2026, 5, 30, 0, 0, 0, 0, time.UTC)

func drawSheet(t testing.TB, r *coverage.Result, ps passes, p *plan.Plan, set SheetSettings) []byte {
	if set.Day.IsZero() {
		set.Day = sheetDay
	}
	var out bytes.Buffer
	require.NoError(t, sheetPDF(&out, r, p, ps, set))
	return out.Bytes()
}

// kept is a document as a file for other programs.
func kept(t testing.TB, pdf []byte) string {
	path := filepath.Join(t.TempDir(), "sheet.pdf")
	require.NoError(t, os.WriteFile(path, pdf, 0o600))
	return path
}

// pageTexts are the words of each page, laid out as on it.
func pageTexts(t *testing.T, path string) []string {
	needTool(t, "pdftotext")
	out, err := exec.Command("pdftotext", "-layout", path, "-").Output()
	require.NoError(t, err)
	return strings.Split(strings.TrimSuffix(string(out), "\f"), "\f")
}

// TestSheetGallery writes sheets of many kinds of ground to the folder named by
// UNTROD_GALLERY, to be looked at.
func TestSheetGallery(t *testing.T) {
	dir := os.Getenv("UNTROD_GALLERY")
	if dir == "" {
		t.Skip("UNTROD_GALLERY is not set")
	}
	place := "North gate of the Mühlbach meadow, 300 m past the ford; the track is fit for cars"
	for name, g := range gallery() {
		t.Run(name, func(t *testing.T) {
			r, ps := g.makeUnsure(t)
			p := visitOf(t, r, cornerOf(r), 14)
			write := func(kind string, b []byte) {
				require.NoError(t, os.WriteFile(filepath.Join(dir, "sheet-"+name+kind+".pdf"), b, 0o644))
			}
			write("", drawSheet(t, r, ps, p, SheetSettings{}))
			write("-gaps", drawSheet(t, r, ps, nil, SheetSettings{Paper: Letter, Units: Imperial, Place: place}))
			r, ps = g.make(t)
			write("-sure", drawSheet(t, r, ps, nil, SheetSettings{}))
		})
	}
}

func TestSheetIsTheSameAgain(t *testing.T) {
	r, ps := field().makeUnsure(t)
	p := visitOf(t, r, cornerOf(r), 7)
	for name, p := range map[string]*plan.Plan{"plan": p, "gaps": nil} {
		require.True(t, bytes.Equal(drawSheet(t, r, ps, p, SheetSettings{}), drawSheet(t, r, ps, p, SheetSettings{})), name)
	}
}

func TestSheetWords(t *testing.T) {
	g := field()
	g.name = "Große Wiese – λόφος, Поле"
	g.names = []string{"Schöpfwerk", "שדה"}
	g.landmarks = append(g.landmarks, point("Čížek’s stile", false, 12, 9), point("井", false, 2, -6), point("\u202eevil\x1b[2J", false, -2, 9))
	r, ps := g.makeUnsure(t)
	p := visitOf(t, r, cornerOf(r), 7)
	path := kept(t, drawSheet(t, r, ps, p, SheetSettings{}))
	pages := pageTexts(t, path)
	all := strings.Join(strings.Fields(strings.Join(pages, "\n")), " ")
	for _, want := range []string{"Große Wiese – λόφος, Поле", "Schöpfwerk", "Čížek’s stile", "□", "evil[2J", " m² new", "Map, 1:250",
		"start and end", "surely swept", "magnetic north is 4.7 degrees east", "4.7° east", "In an emergency", "Ordnance", "page 1 of " + fmt.Sprint(len(pages)), "30 May 2026"} {
		require.Contains(t, all, want)
	}
	for _, stop := range p.Stops {
		require.Contains(t, all, gapsOf(stop))
	}
	// Where the site lies (51.23, 12.35) is not told.
	require.NotRegexp(t, `51\.2|12\.3\d`, all)
	told := strings.Join(pageTexts(t, kept(t, drawSheet(t, r, ps, p, SheetSettings{Place: "Mühle, \u05e9\u05d3\u05d4"}))), "\n")
	require.Regexp(t, `Where we are +Mühle`, told)
	require.Regexp(t, `Latitude, longitude +51\.234\d\d°, 12\.345\d\d°`, told)
}

// Figures of the list are those of the plan: paces of 75 cm, compass = true less the
// declination.
func TestSheetListsThePlan(t *testing.T) {
	r, ps := field().makeUnsure(t)
	p := visitOf(t, r, cornerOf(r), 7)
	all := strings.Join(pageTexts(t, kept(t, drawSheet(t, r, ps, p, SheetSettings{}))), "\n")
	n := 0
	for _, s := range p.Stops {
		for _, b := range s.Reach {
			if b.DistanceM < 1 || b.Landmark == "bank" {
				continue
			}
			n++
			compass := b.TrueDeg - p.Magnetic.DeclinationDeg
			require.Regexp(t, fmt.Sprintf(`from %s.* %.0f +%s +%03.0f° +%s°`, b.Landmark, b.DistanceM/0.75, Metric.length(b.DistanceM), b.TrueDeg, threeDigits(compass)), all)
		}
	}
	require.Greater(t, n, 5)
}

func TestSheetIsSoundPDF(t *testing.T) {
	needTool(t, "qpdf")
	needTool(t, "pdffonts")
	r, ps := field().makeUnsure(t)
	path := kept(t, drawSheet(t, r, ps, visitOf(t, r, cornerOf(r), 7), SheetSettings{Scale: 100}))
	out, err := exec.Command("qpdf", "--check", path).CombinedOutput()
	require.NoError(t, err, string(out))
	require.Contains(t, string(out), "No syntax or stream encoding errors found")
	out, err = exec.Command("pdffonts", path).Output()
	require.NoError(t, err)
	fonts := strings.Split(strings.TrimSpace(string(out)), "\n")[2:]
	require.Len(t, fonts, 2)
	for _, f := range fonts {
		require.Regexp(t, `Identity-H +yes `, f) // emb
	}
}

func TestSheetOddGround(t *testing.T) {
	bare := func() ground {
		g := field()
		g.landmarks, g.keepouts, g.names, g.missed = nil, nil, nil, 0
		return g
	}
	for _, c := range []struct {
		name  string
		g     ground
		plan  bool
		set   SheetSettings
		want  []string
		pages int
	}{
		{name: "nothing named, no gaps", g: func() ground { g := bare(); g.name, g.swathM = "", 3; return g }(),
			want: []string{"Unnamed site", "No gaps are left to walk"}, pages: 4},
		{name: "no landmarks", g: bare().scaled(1, 1), want: []string{"Finds"}, pages: 0},
		{name: "3 m wide", g: gallery()["tiny"], want: []string{"Map, 1:25", "Squares are of 0.5 m"}, pages: 4},
		{name: "near the magnetic pole", g: func() ground { g := field(); g.datum = grid.LonLat{Lon: 139, Lat: 85.9}; return g }(),
			want: []string{"no", "A compass is of no use here"}},
		{name: "past the model", g: field(), set: SheetSettings{Day: time.Date(2041, 2, 3, 0, 0, 0, 0, time.UTC)},
			want: []string{"outside the years that model is made for", "3 February 2041"}},
		{name: "letter, feet", g: field(), plan: true, set: SheetSettings{Paper: Letter, Units: Imperial, Scale: 240},
			want: []string{"Map, 1:240", "ft new", "Squares are of 20 ft"}},
		{name: "very small scale", g: field(), set: SheetSettings{Scale: 10_000}, want: []string{"Map, 1:10,000"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, ps := c.g.makeUnsure(t)
			if c.name == "nothing named, no gaps" {
				r.Gaps = nil
			}
			var p *plan.Plan
			if c.plan {
				p = visitOf(t, r, cornerOf(r), 7)
			}
			pages := pageTexts(t, kept(t, drawSheet(t, r, ps, p, c.set)))
			for _, want := range c.want {
				require.Contains(t, strings.Join(pages, "\n"), want)
			}
			if c.pages > 0 {
				require.Len(t, pages, c.pages)
			}
		})
	}
}

// 5,000 gaps on ground 5 km wide: pages are capped, and it is said.
func TestSheetOfVeryMuch(t *testing.T) {
	g := gallery()["huge"]
	g.cellM = 12
	g.landmarks = append(g.landmarks, site.LocalLandmark{})
	r, ps := g.make(t)
	r.Gaps = nil
	for i := range 5000 {
		x, y := float64(i%100)*30-1500, float64(i/100)*30-750
		ring := grid.Ring{{X: x, Y: y}, {X: x + 8, Y: y}, {X: x + 8, Y: y + 5}, {X: x, Y: y + 5}}
		r.Gaps = append(r.Gaps, coverage.Gap{ID: i + 1, AreaM2: 40, WidestM: 5, CentreXY: grid.XY{X: x + 4, Y: y + 2}, Outline: []grid.Polygon{{Outer: ring}}})
	}
	pages := pageTexts(t, kept(t, drawSheet(t, r, ps, nil, SheetSettings{Scale: 500})))
	all := strings.Join(pages, "\n")
	require.Regexp(t, `Of \d+ maps at 1:500 with a gap on them the 24 with most are drawn`, all)
	require.Contains(t, all, "Listed and numbered are the 60 largest gaps; 4,940 more")
	require.Contains(t, all, "Map 24 of 24, 1:500")
	require.Less(t, len(pages), 24+10)
}
