package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check/golden"
	"untrod/site"
	"untrod/track"
)

// noted are finds on the field that most tests draw: on and off its ground, with a
// place and without, and one whose name a spreadsheet would run.
func noted(r *coverage.Result) []site.Find {
	at := func(name string, x, y float64, v site.Verdict, material string, visit int64) site.Find {
		f := site.NoFind
		f.Name, f.Verdict, f.Material, f.Session = name, v, material, visit
		if !math.IsNaN(x) {
			f.Pos = r.Frame.ToLonLat(grid.XY{X: x, Y: y})
		}
		return f
	}
	var c grid.XY
	for _, l := range r.Local.Landmarks {
		if l.Shape == site.PointShape {
			c = l.XY[0]
		}
	}
	nan := math.NaN()
	out := []site.Find{
		at("=button", c.X+4, c.Y, site.Keeper, "Brass", 1),
		at("nail", c.X+5, c.Y+1, site.Scrap, "iron", 1),
		at("coin, worn", c.X+30, c.Y-5, site.Keeper, " brass ", 2),
		at("lump", nan, nan, site.UnknownVerdict, "", 2),
		at("thimble", 5000, 5000, site.Keeper, "silver", 0),
		at("nail \"two\"", nan, nan, site.Scrap, "iron", 9),
	}
	out[0].T, out[0].DepthM, out[0].From, out[0].To = track.At(time.Date(2031, 4, 2, 9, 30, 0, 0, time.UTC)), 0.15, 1700, 1750
	out[2].Reading, out[2].Note, out[2].SdM = "70-75", "bent,\nholed", 2.5
	for i := range out {
		out[i].ID = int64(i + 1)
	}
	return out
}

// tries is how many random changes are made: UNTROD_STUDY of them, or few.
func tries(few int) int {
	if n, err := strconv.Atoi(os.Getenv("UNTROD_STUDY")); err == nil {
		return n
	}
	return few
}

var visitNames = map[int64]string{1: "walk1", 2: "walk2", 9: "long ago"}

func findText(t testing.TB, finds []site.Find) []byte {
	var b bytes.Buffer
	require.NoError(t, site.WriteFinds(&b, finds, func(id int64) string { return visitNames[id] },
		func(f site.Find) string { return strings.Join(f.Photos, " ") }))
	return b.Bytes()
}

func findTable(t testing.TB, finds []site.Find) *FindTable {
	table, err := ReadFindTable(findText(t, finds), "finds.csv")
	require.NoError(t, err)
	return table
}

func withFinds(t testing.TB) func(*coverage.Result, *Says) {
	return func(r *coverage.Result, s *Says) {
		began := track.At(time.Date(2031, 4, 1, 9, 0, 0, 0, time.UTC))
		r.LeftOut = []coverage.Session{{Name: "first try", File: "walk2.gpx", SHA256: "00ff", Fixes: 40, Start: began, End: began + 60_000}}
		s.Finds = findTable(t, noted(r))
	}
}

func TestStatementWithFindsGolden(t *testing.T) {
	st := madeUp(t, withFinds(t), testKey(1))
	golden.Bytes(t, "testdata/statement-finds.json", jsonOf(t, st))
	var page bytes.Buffer
	require.NoError(t, st.WriteHTML(&page))
	golden.Bytes(t, "testdata/statement-finds.html", inlined.ReplaceAll(page.Bytes(), []byte(`src=""`)))
	require.NoError(t, st.WritePDF(io.Discard, A4))
	back, err := ReadStatement(jsonOf(t, st))
	require.NoError(t, err)
	lines, err := back.Differences(st.Content)
	require.NoError(t, err)
	require.Empty(t, lines)
}

// No place of a find, and no name, is in any form of the statement.
func TestStatementGivesNoPlaceOfAFind(t *testing.T) {
	st := madeUp(t, withFinds(t), nil)
	var page bytes.Buffer
	require.NoError(t, st.WriteHTML(&page))
	r, _ := field().makeUnsure(t)
	for _, f := range noted(r) {
		for _, text := range []string{string(jsonOf(t, st)), page.String()} {
			require.False(t, strings.Contains(text, f.Name), f.Name)
			require.False(t, f.Placed() && strings.Contains(text, fmt.Sprintf("%.7f", f.Pos.Lat)), f.Name)
			require.False(t, f.Placed() && strings.Contains(text, fmt.Sprintf("%.7f", f.Pos.Lon)), f.Name)
		}
	}
}

// Every count is of all finds: by verdict, by visit, by material, and by where they
// lie once those near two landmarks are counted once.
func TestFindCountsAddUp(t *testing.T) {
	r, _ := field().makeUnsure(t)
	rng := rand.New(rand.NewPCG(4, 4))
	one := func(words ...string) string { return words[rng.IntN(len(words))] }
	var near []*grid.Mask
	for _, l := range r.Local.Landmarks {
		near = append(near, groundNear(r.Searchable, l))
	}
	for n := range 20 {
		var finds []site.Find
		for range n {
			f := site.NoFind
			f.Name, f.Verdict, f.Material = "x", site.Verdict(one("keeper", "scrap", "unknown")), one("", "lead", "Lead", "tin")
			f.Session = []int64{0, 1, 2, 9}[rng.IntN(4)]
			if rng.IntN(3) > 0 {
				f.Pos = r.Frame.ToLonLat(grid.XY{X: 120*rng.Float64() - 60, Y: 80*rng.Float64() - 40})
			}
			finds = append(finds, f)
		}
		d := findsDoc(r, findTable(t, finds))
		all := func(c FindCountDoc) int { return c.Keepers + c.Unknown + c.Scrap }
		sum := func(cs []NamedCountDoc) (n int) {
			for _, c := range cs {
				n += all(c.FindCountDoc)
			}
			return n
		}
		require.Equal(t, len(finds), d.Count)
		require.Equal(t, len(finds), all(d.FindCountDoc))
		require.Equal(t, len(finds), sum(d.Visits))
		require.Equal(t, len(finds), sum(d.Materials))
		by := make([]int, len(near))
		off, none, placeless := 0, 0, 0
		for _, f := range finds {
			if !f.Placed() {
				placeless++
				continue
			}
			c, ok := r.Spec.CellAt(r.Frame.ToXY(f.Pos))
			if !ok || !r.Searchable.Has(c) {
				off++
				continue
			}
			lonely := true
			for i, m := range near {
				if m.Has(c) {
					by[i]++
					lonely = false
				}
			}
			if lonely {
				none++
			}
		}
		for i, c := range d.Landmarks {
			require.Equal(t, by[i], all(c.FindCountDoc))
		}
		require.Equal(t, []int{placeless, off, none}, []int{d.WithoutPlace, d.OffGround, all(d.NearNone)})
		names := func(cs []NamedCountDoc) (out []string) {
			for _, c := range cs {
				out = append(out, c.Name)
			}
			return out
		}
		require.Subset(t, []string{"walk1", "walk2", "long ago", ""}, names(d.Visits))
		require.Subset(t, []string{"lead", "tin", ""}, names(d.Materials))
	}
}

// Whatever of a find is changed, the SHA-256 is another; the order of the table, its
// quotes, line ends and numbers change nothing.
func TestChangedFindsAreFound(t *testing.T) {
	r, _ := field().makeUnsure(t)
	whole := noted(r)
	want := findTable(t, whole).SHA256()
	rng := rand.New(rand.NewPCG(3, 9))
	changes := []func(f *site.Find){
		func(f *site.Find) { f.Name += "s" },
		func(f *site.Find) { f.Name = strings.ToUpper(f.Name) },
		func(f *site.Find) { f.T = track.At(time.UnixMilli(rng.Int64N(1e12))) },
		func(f *site.Find) {
			f.Pos = grid.LonLat{Lon: math.Nextafter(1+rng.Float64(), 9), Lat: 1 + rng.Float64()}
		},
		func(f *site.Find) { f.SdM = 0.1 + rng.Float64() },
		func(f *site.Find) { f.Reading += "1" },
		func(f *site.Find) { f.Detector += "b" },
		func(f *site.Find) { f.DepthM = rng.Float64() },
		func(f *site.Find) {
			f.Verdict = map[site.Verdict]site.Verdict{site.Keeper: site.Scrap, site.Scrap: site.UnknownVerdict, site.UnknownVerdict: site.Keeper}[f.Verdict]
		},
		func(f *site.Find) { f.Material += "?" },
		func(f *site.Find) { f.From = 1 + rng.IntN(1600) },
		func(f *site.Find) { f.To = 1800 + rng.IntN(100) },
		func(f *site.Find) { f.Note += "\n" },
		func(f *site.Find) { f.Session = 1 + f.Session%2 },
		func(f *site.Find) { f.Photos = append(slices.Clone(f.Photos), "ab12") },
	}
	for i := range tries(300) {
		finds := slices.Clone(whole)
		k := rng.IntN(len(finds))
		changes[i%len(changes)](&finds[k])
		require.NotEqual(t, want, findTable(t, finds).SHA256(), "change %d of find %d", i%len(changes), k)
	}
	require.NotEqual(t, want, findTable(t, whole[1:]).SHA256(), "one taken out")
	require.NotEqual(t, want, findTable(t, append(slices.Clone(whole), whole[2])).SHA256(), "one twice")

	other := slices.Clone(whole)
	slices.Reverse(other)
	for i := range other {
		other[i].ID += 40
	}
	text := bytes.ReplaceAll(findText(t, other), []byte("\n"), []byte("\r\n"))
	text = append([]byte("\xef\xbb\xbf"), bytes.Replace(text, []byte(",thimble,"), []byte(`,"thimble",`), 1)...)
	table, err := ReadFindTable(text, "saved.csv")
	require.NoError(t, err)
	require.Equal(t, want, table.SHA256())
}

// A byte changed in the table is found, or the finds are as they were.
func TestChangedBytesOfFindsAreFound(t *testing.T) {
	r, _ := field().makeUnsure(t)
	text := findText(t, noted(r))
	want, err := ReadFindTable(text, "finds.csv")
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(8, 8))
	same, n := 0, tries(600)
	for range n {
		bad := bytes.Clone(text)
		bad[rng.IntN(len(bad))] ^= byte(1 + rng.IntN(255))
		got, err := ReadFindTable(bad, "finds.csv")
		if err != nil || got.SHA256() != want.SHA256() {
			continue
		}
		same++
		require.Equal(t, len(want.rows), len(got.rows))
		for i, f := range got.rows {
			require.Equal(t, fmt.Sprint(want.rows[i].Find, want.rows[i].Visit), fmt.Sprint(f.Find, f.Visit))
		}
	}
	require.Less(t, same, n/10, "the numbers of the rows, at most")
	t.Logf("%d changes that left every find as it was", same)
}

func TestFindTablesThatAreNone(t *testing.T) {
	head := strings.Join(findTableHead(), ",") + "\n"
	for name, c := range map[string]struct{ text, says string }{
		"another head":  {"name,lat,lon\n", "x: not a table of finds as untrod writes it"},
		"a short row":   {head + "1,button\n", "wrong number of fields"},
		"a bad verdict": {head + "1,button,,,,,,,,lovely,,,,,,\n", `verdict "lovely" is not keeper, scrap or unknown`},
		"half a place":  {head + "1,button,,47,,,,,,,,,,,,\n", "no place on the globe"},
		"a bare quote":  {head + "1,but\"ton,,,,,,,,,,,,,,\n", "bare \""},
	} {
		_, err := ReadFindTable([]byte(c.text), "x")
		require.ErrorContains(t, err, c.says, name)
	}
	none, err := ReadFindTable([]byte(head), "x")
	require.NoError(t, err)
	r, _ := field().makeUnsure(t)
	require.Zero(t, findsDoc(r, none).Count)
}
