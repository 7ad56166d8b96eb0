package site_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/unicode"
	"pgregory.net/rapid"

	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

func readFinds(t *testing.T, text string) *site.FindTable {
	table, err := site.ReadFinds(strings.NewReader(text), "finds.csv", site.FindReading{})
	require.NoError(t, err)
	return table
}

const plainTable = `name,time,lat,lon,reading,depth (cm),verdict,material,from,to,note,visit,photos
button,2026-04-21T10:20:00Z,47.3101,-31.2005,low 70s,12.5,keeper,brass,1700,1750,"two parts, bent",2,a.jpg;b.heic
foil,,,,31,,scrap,,,,,,
`

// TestFindTwins: the same table in every way a spreadsheet saves it.
func TestFindTwins(t *testing.T) {
	want := readFinds(t, plainTable).Rows
	require.Len(t, want, 2)
	utf16 := func(e unicode.Endianness, bom unicode.BOMPolicy) string {
		text, err := unicode.UTF16(e, bom).NewEncoder().String(plainTable)
		require.NoError(t, err)
		return text
	}
	for name, text := range map[string]string{
		"byte order mark":    "\ufeff" + plainTable,
		"Windows line ends":  strings.ReplaceAll(plainTable, "\n", "\r\n"),
		"old line ends":      strings.ReplaceAll(plainTable, "\n", "\r"),
		"UTF-16":             utf16(unicode.LittleEndian, unicode.UseBOM),
		"UTF-16, big-endian": utf16(unicode.BigEndian, unicode.UseBOM),
		"UTF-16, no mark":    utf16(unicode.LittleEndian, unicode.IgnoreBOM),
		"no last line end":   strings.TrimSuffix(plainTable, "\n"),
		"semicolons, decimal commas, all quoted": `"Name";"Zeit";"Breite";"Länge";"Reading";"Tiefe [cm]";"Verdict";"Material";"Von";"Bis";"Bemerkung";"Visit";"Foto"
"button";"21.04.2026 10:20";"47,3101";"-31,2005";"low 70s";"12,5";"Keeper";"brass";"1700";"1750";"two parts, bent";"2";"a.jpg|b.heic"
"foil";"";"";"";"31";"";"junk";"";"";"";"";"";""
`,
		"tabs, other order and units": "sep=\t\ndepth\tYEARS\tName\tLatitude\tLongitude\tTarget ID\tkeep\tmetal\tcomments\tdate\ttime\tsession\tphoto\n" +
			"12.5 cm\t1700-1750\tbutton\t47°18'36.36\"N\t31 12.03W\tlow 70s\tyes\tbrass\ttwo parts, bent\t4/21/2026\t10:20 AM\t2\ta.jpg;b.heic\n" +
			"\t\tfoil\t\t\t31\tno\t\t\t4/23/2026\t\t\t\n",
		"Windows-1252 and above the head": "Our finds\n;;\n" + strings.Replace(plainTable, "name,", "name,", 1),
	} {
		t.Run(name, func(t *testing.T) {
			table := readFinds(t, text)
			require.Empty(t, table.Notes.List())
			require.Len(t, table.Rows, 2)
			for i := range want {
				got := table.Rows[i]
				require.InDelta(t, 0, apart(want[i].Pos, got.Pos), 1e-9)
				if name != "tabs, other order and units" { // whose foil has a day
					require.Equal(t, want[i].When, got.When)
				}
				got.Pos, got.When, got.Line = want[i].Pos, want[i].When, want[i].Line
				require.Equal(t, fmt.Sprint(want[i]), fmt.Sprint(got))
			}
		})
	}
}

// apart is the largest difference of two places in degrees, 0 of two that are none.
func apart(a, b grid.LonLat) float64 {
	if math.IsNaN(a.Lat) && math.IsNaN(b.Lat) {
		return 0
	}
	return max(math.Abs(a.Lon-b.Lon), math.Abs(a.Lat-b.Lat))
}

func TestFindTableSays(t *testing.T) {
	table := readFinds(t, "Fund;Breite;Länge;Lage\nNagel;47,5;8,25;oben\n")
	require.Equal(t, `name from "Fund", lat from "Breite", lon from "Länge"; not used: "Lage"`, table.Columns)
	require.Equal(t, grid.LonLat{Lon: 8.25, Lat: 47.5}, table.Rows[0].Pos)
	table = readFinds(t, "name,date\nnail,2026-04-11\n")
	f := table.Rows[0]
	require.False(t, f.T.Known())
	require.Equal(t, 24*time.Hour, f.When.To.Time().Sub(f.When.From.Time()))
	table = readFinds(t, "name,note\n\"Gr\xfcn\",\"'=HYPERLINK(\"\"x\"\")\"\n'quoted',=1+1\n")
	require.Equal(t, "Grün", table.Rows[0].Name)
	require.Equal(t, `=HYPERLINK("x")`, table.Rows[0].Note)
	require.Equal(t, "'quoted'", table.Rows[1].Name)
	require.Equal(t, "=1+1", table.Rows[1].Note) // text, and nothing else
	zone := site.FindReading{Zone: time.FixedZone("", -5*3600), Columns: track.Columns{"name": "2", "time": "Wann", "note": "none", "depth-unit": "in"}}
	table, err := site.ReadFinds(strings.NewReader("Wann,Was,depth,note\n2026-04-11 10:20,nail,4,x\n"), "f", zone)
	require.NoError(t, err)
	require.Equal(t, "2026-04-11T15:20:00Z", table.Rows[0].T.Time().Format(time.RFC3339))
	require.Equal(t, "nail", table.Rows[0].Name)
	require.InDelta(t, 0.1016, table.Rows[0].DepthM, 1e-12)
	require.Empty(t, table.Rows[0].Note)
}

// TestOddFindRows: what cannot be read is counted and shown, and the find stays.
func TestOddFindRows(t *testing.T) {
	for _, c := range []struct {
		name, head, row string
		note            track.NoteKind
		says            string
		left            int
	}{
		{"place in words", "name,lat,lon", "nail,by the oak,", track.NoteBadPosition, `finds.csv:2: "by the oak", "" is no place on the globe`, 1},
		{"off the globe", "name,lat,lon", "nail,96.2,8", track.NoteBadPosition, `finds.csv:2: "96.2", "8" is no place on the globe`, 1},
		{"a verdict of other words", "name,verdict", "nail,pretty", track.NoteBadField, `finds.csv:2: verdict "pretty" is not keeper, scrap or unknown`, 1},
		{"a depth in words", "name,depth cm", "nail,knee deep", track.NoteBadField, `finds.csv:2: depth "knee deep" is not a depth of 0 to 5 m`, 1},
		{"a depth of nothing known", "name,depth cm", "nail,3 spits", track.NoteBadField, `finds.csv:2: depth "3 spits" is not a depth of 0 to 5 m`, 1},
		{"too deep", "name,depth cm", "nail,900", track.NoteBadField, `finds.csv:2: depth "900" is not a depth of 0 to 5 m`, 1},
		{"no time", "name,time", "nail,after lunch", track.NoteBadField, `finds.csv:2: "after lunch" is not a date and time`, 1},
		{"a year in words", "name,from", "nail,old", track.NoteBadField, `finds.csv:2: from "old" is not a year`, 1},
		{"years turned round", "name,from,to", "nail,1750,1700", site.NoteLeftOut, `finds.csv:2: find "nail": from 1750 is after to 1700`, 0},
		{"too many fields", "name,note", "nail,rusty,and,bent", site.NoteLeftOut, `finds.csv:2: a row of 4 fields, where the head has 2`, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			table := readFinds(t, c.head+"\n"+c.row+"\n")
			require.Len(t, table.Rows, c.left)
			require.Equal(t, []track.Note{{Kind: c.note, Count: 1, Example: c.says}}, table.Notes.List())
			if c.left > 0 {
				f := table.Rows[0].Find
				require.Equal(t, "nail", f.Name)
				require.True(t, !f.Placed() && math.IsNaN(f.DepthM) && !f.T.Known() && f.From == site.NoYear && f.Verdict == site.UnknownVerdict)
			}
		})
	}
}

func TestFindTableErrors(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "finds.csv: no rows; such as name,lat,lon,time,reading"},
		{"no head", "nail,47.3,8.1\n", "finds.csv: no line names the columns; such as name,lat,lon,time,reading"},
		{"no unit", "name,depth\nnail,12\n", `finds.csv: line 2: depth "12" has no unit; say depth-unit=cm or depth-unit=in`},
		{"open dates", "name,date\nnail,3/4/2026\n", `finds.csv: date "3/4/2026" may have the day or the month first, and no date in the file tells; say dates=dmy or dates=mdy`},
		{"two orders", "name,date\nnail,13/4/2026\nfoil,4/13/2026\n", `finds.csv: dates "13/4/2026" and "4/13/2026" have the day in different places; say dates=dmy or dates=mdy`},
		{"open quote", "name,note\nnail,\"rusty\nfoil,x\nlead,y\n", "finds.csv: line 2: a quote that is never closed"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := site.ReadFinds(strings.NewReader(c.text), "finds.csv", site.FindReading{})
			require.EqualError(t, err, c.want)
		})
	}
	for key, value := range map[string]string{"colour": "1", "dates": "ymd", "depth-unit": "ell", "lat": "Breitengrad"} {
		_, err := site.ReadFinds(strings.NewReader(plainTable), "finds.csv", site.FindReading{Columns: track.Columns{key: value}})
		require.ErrorContains(t, err, fmt.Sprintf("%q", value)[:1], key)
	}
	_, err := site.ReadFinds(failing{bytes.NewReader([]byte(plainTable)), 40}, "finds.csv", site.FindReading{})
	require.EqualError(t, err, "finds.csv: disk on fire")
}

// TestFindsRoundTrip: what is written reads back the same, to the bit.
func TestFindsRoundTrip(t *testing.T) {
	text := rapid.Custom(func(t *rapid.T) string {
		return strings.Trim(strings.TrimSpace(rapid.StringOfN(rapid.RuneFrom([]rune("aä=+-@';,\"\n|é7 ")), 0, 12, -1).Draw(t, "text")), "' \n")
	})
	number := func(lo, hi float64) *rapid.Generator[float64] {
		return rapid.OneOf(rapid.Just(math.NaN()), rapid.Float64Range(lo, hi))
	}
	rapid.Check(t, func(t *rapid.T) {
		f := site.NoFind
		f.Name = "n" + text.Draw(t, "name") // some cell of a row must hold something
		f.Reading, f.Detector, f.Material, f.Note = text.Draw(t, "reading"), text.Draw(t, "detector"), text.Draw(t, "material"), text.Draw(t, "note")
		f.DepthM, f.SdM = number(0, 5).Draw(t, "depth"), number(1e-3, 1000).Draw(t, "sd")
		if rapid.Bool().Draw(t, "placed") {
			f.Pos = grid.LonLat{Lon: rapid.Float64Range(-180, 180).Draw(t, "lon"), Lat: rapid.Float64Range(-90, 90).Draw(t, "lat")}
		}
		if rapid.Bool().Draw(t, "timed") {
			f.T = track.Instant(rapid.Int64Range(0, 4e12).Draw(t, "time"))
		}
		if rapid.Bool().Draw(t, "dated") {
			f.From, f.To = rapid.IntRange(-800, 1800).Draw(t, "from"), rapid.IntRange(1800, 2000).Draw(t, "to")
		}
		f.Verdict = rapid.SampledFrom([]site.Verdict{site.Keeper, site.Scrap, site.UnknownVerdict}).Draw(t, "verdict")
		var b bytes.Buffer
		require.NoError(t, site.WriteFinds(&b, []site.Find{f}, nil, nil))
		rows, err := csv.NewReader(bytes.NewReader(b.Bytes())).ReadAll()
		require.NoError(t, err)
		for i, cell := range rows[1] {
			_, err := strconv.ParseFloat(cell, 64)
			require.False(t, err != nil && strings.ContainsAny(cell[:min(1, len(cell))], "=+-@"), "%s: %q is a formula", rows[0][i], cell)
		}
		table, err := site.ReadFinds(&b, "f", site.FindReading{})
		require.NoError(t, err)
		require.Len(t, table.Rows, 1)
		require.Equal(t, fmt.Sprint(f), fmt.Sprint(table.Rows[0].Find))
	})
}

func TestParseYears(t *testing.T) {
	for text, want := range map[string][2]int{"1700": {1700, 1700}, "1700-1750": {1700, 1750}, "1700 to 1750": {1700, 1750},
		"-50-20": {-50, 20}, "-50 - -20": {-50, -20}, " 1700/1750 ": {1700, 1750}} {
		from, to, ok := site.ParseYears(text)
		require.True(t, ok, text)
		require.Equal(t, want, [2]int{from, to}, text)
	}
	for _, text := range []string{"", "old", "1750-1700", "1700-1750-1800", "17xx", "1700.5"} {
		_, _, ok := site.ParseYears(text)
		require.False(t, ok, text)
	}
}

func FuzzReadFinds(f *testing.F) {
	f.Add([]byte(plainTable))
	f.Add([]byte("sep=;\nname;depth\n\"a;1in\n"))
	f.Add([]byte("\xff\xfen\x00a\x00"))
	f.Fuzz(func(t *testing.T, text []byte) {
		table, err := site.ReadFinds(bytes.NewReader(text), "f", site.FindReading{})
		if err != nil {
			return
		}
		for _, r := range table.Rows {
			require.NoError(t, r.Validate())
			require.Equal(t, r.T.Known(), r.When.T.Known() && r.When != site.Moment{})
		}
	})
}

// A season's finds of a club.
func BenchmarkReadFinds10000(b *testing.B) {
	var text strings.Builder
	text.WriteString("name,time,lat,lon,reading,depth (cm),verdict\n")
	for i := range 10_000 {
		fmt.Fprintf(&text, "find %d,%02d.04.2026 10:%02d,47.3%03d,-31.2%03d,low 70s,%d,keeper\n", i, 1+i%28, i%60, i%1000, i%997, i%30)
	}
	b.SetBytes(int64(text.Len()))
	for b.Loop() {
		table, err := site.ReadFinds(strings.NewReader(text.String()), "f", site.FindReading{})
		if err != nil || len(table.Rows) != 10_000 {
			b.Fatal(err)
		}
	}
}
