package main

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/grid"
	"untrod/internal/check"
	"untrod/site/book"
	"untrod/track"
)

// findBook is a book of the example site with its visits, in a folder of its own.
func findBook(t testing.TB) string {
	path := filepath.Join(t.TempDir(), "ford.gpkg")
	mustRun(t, "new", path, "--site", filepath.Join(exampleDir, siteFile))
	mustRun(t, "add", path, filepath.Join(exampleDir, "walks"))
	return path
}

func mustRun(t testing.TB, args ...string) string {
	t.Helper()
	code, out, errs := tryRun(t.Context(), args...)
	require.Zero(t, code, errs)
	return out
}

// findsOf are the finds that list tells, by name.
func findsOf(t testing.TB, path string) map[string]findJSON {
	var told findsJSON
	require.NoError(t, json.Unmarshal([]byte(mustRun(t, "find", path, "list", "--json")), &told))
	require.Equal(t, "untrod-finds-1", told.Schema)
	out := map[string]findJSON{}
	for _, f := range told.Finds {
		out[f.Name] = f
	}
	return out
}

// stop is a moment within the longest stop of the example's first visit, and the
// log's mean place of that stop.
func stopOf(t testing.TB, path string) (at time.Time, pos grid.LonLat) {
	err := viewBook(path, func(b *book.Book) error {
		sources, err := b.Sources()
		require.NoError(t, err)
		visits, err := sources[0].Visits()
		require.NoError(t, err)
		longest := 0.0
		var all []grid.LonLat
		for _, s := range visits[0].Segments {
			for _, f := range s {
				all = append(all, f.Pos)
			}
		}
		frame, err := grid.FrameAround(all)
		require.NoError(t, err)
		for _, p := range track.NewWalk(frame, visits[0].Segments, track.DefaultSettings()).Paths {
			for _, l := range p.Legs {
				line := p.Line(l)
				if d := line[len(line)-1].T.Sub(line[0].T); l.Kind == track.Standing && d > longest {
					longest, at = d, ((line[0].T + line[len(line)-1].T) / 2).Time()
					var m grid.XY
					for _, q := range line {
						m.X, m.Y = m.X+q.X/float64(len(line)), m.Y+q.Y/float64(len(line))
					}
					pos = frame.ToLonLat(m)
				}
			}
		}
		require.Positive(t, longest)
		return nil
	})
	require.NoError(t, err)
	return at.Truncate(time.Second), pos
}

// picture is a photo of a camera: when its clock showed what, in which zone ("" for
// none), and where (nil for nowhere).
func picture(camera, shown, zone string, pos *grid.LonLat) []byte {
	tags, gps := check.Tags{check.TagOriginal: shown}, check.Tags{}
	if zone != "" {
		tags[check.TagOffsetOriginal] = zone
	}
	if pos != nil {
		gps = check.Tags{check.TagLatRef: "N", check.TagLat: angleOf(pos.Lat), check.TagLonRef: "W", check.TagLon: angleOf(-pos.Lon),
			check.TagPositioning: [][2]uint32{{4, 1}}}
	}
	return check.JPEG(check.EXIF(binary.LittleEndian, check.Tags{check.TagMake: camera}, tags, gps))
}

func angleOf(v float64) [][2]uint32 { return [][2]uint32{{uint32(v * 1e7), 1e7}, {0, 1}, {0, 1}} }

func exifTime(t time.Time) string { return t.UTC().Format("2006:01:02 15:04:05") }

func write(t testing.TB, path string, content []byte) {
	t.Helper()
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o777))
	require.NoError(t, os.WriteFile(path, content, 0o600))
}

// TestFindWhereOneStood: a time alone puts a find on the stop, and the zone counts.
func TestFindWhereOneStood(t *testing.T) {
	path := findBook(t)
	at, pos := stopOf(t, path)
	out := mustRun(t, "find", path, "add", "a", "--time", at.Format(time.RFC3339))
	require.Contains(t, out, "put where you stood then, on visit 1 (first evening)")
	mustRun(t, "find", path, "add", "b", "--time", at.Add(2*time.Hour).Format("2006-01-02T15:04:05"), "--zone", "+02:00")
	for _, f := range findsOf(t, path) {
		require.InDelta(t, pos.Lat, *f.Lat, 1e-8)
		require.InDelta(t, pos.Lon, *f.Lon, 1e-8)
		require.Nil(t, f.SdM, "as good as the receiver")
		require.EqualValues(t, 1, f.Visit)
		require.Empty(t, f.Remarks)
	}
}

// TestImportPhotos: of every kind of photo, where it ends up.
func TestImportPhotos(t *testing.T) {
	path := findBook(t)
	at, pos := stopOf(t, path)
	dir := filepath.Join(t.TempDir(), "photos")
	there := grid.LonLat{Lon: pos.Lon + 2e-5, Lat: pos.Lat}
	far := grid.LonLat{Lon: -30, Lat: 40}
	mustRun(t, "find", path, "add", "button", "--time", at.Add(-8*time.Minute).Format(time.RFC3339))
	broken := picture("P", exifTime(at), "+00:00", nil)
	for name, content := range map[string][]byte{
		"own-place.jpg":   picture("Phone", exifTime(at.Add(time.Hour)), "+01:00", &there),
		"by-time.jpg":     picture("Phone", exifTime(at.Add(time.Hour-4*time.Minute)), "+01:00", nil),
		"second-shot.jpg": picture("Phone", exifTime(at.Add(time.Hour-5*time.Minute)), "+01:00", nil), // 1 minute before by-time
		"button-1.jpg":    picture("Phone", exifTime(at.Add(time.Hour-8*time.Minute+30*time.Second)), "+01:00", nil),
		"holiday.jpg":     picture("Phone", exifTime(at.AddDate(0, 1, 0)), "+01:00", &far),
		"broken.jpg":      broken[:60],
		"readme.txt":      []byte("Photos of the club."),
	} {
		write(t, filepath.Join(dir, name), content)
	}
	code, out, errs := tryRun(t.Context(), "find", path, "import", dir)
	require.Zero(t, code, errs)
	require.Contains(t, out, "Added 2 finds and 4 photos to ")
	require.Contains(t, out, "2 files passed over, of no visit and not near the site: broken.jpg, holiday.jpg")
	require.Contains(t, out, "1 file passed over, no finds: readme.txt")
	require.Contains(t, errs, "broken.jpg: its EXIF block is damaged")
	finds := findsOf(t, path)
	require.Len(t, finds, 3)
	require.InDelta(t, there.Lat, *finds["own-place"].Lat, 1e-7)
	require.InDelta(t, there.Lon, *finds["own-place"].Lon, 1e-7)
	sd, err := track.SigmaOf(4, "68")
	require.NoError(t, err)
	require.InDelta(t, sd, *finds["own-place"].SdM, 1e-9)
	require.Len(t, finds["second-shot"].Photos, 2, "both of one find")
	require.Len(t, finds["button"].Photos, 1)
	require.EqualValues(t, 1, finds["second-shot"].Visit)
	require.NotNil(t, finds["second-shot"].Lat)
	for _, f := range finds {
		for _, p := range f.Photos {
			kept, err := os.ReadFile(filepath.Join(filepath.Dir(path), p.File))
			require.NoError(t, err)
			from, err := os.ReadFile(filepath.Join(dir, p.Name))
			require.NoError(t, err)
			require.Equal(t, from, kept, "never changed")
		}
	}
	mustRun(t, "check", path)

	out = mustRun(t, "find", path, "import", dir) // again: nothing new
	require.Contains(t, out, "Added 0 finds and 0 photos to ")
	require.Contains(t, out, "4 files in the book already")
	require.Equal(t, finds, findsOf(t, path))

	require.Contains(t, mustRun(t, "undo", path), "imported 2 finds")
	after := findsOf(t, path)
	require.Len(t, after, 1)
	require.Empty(t, after["button"].Photos)

	mustRun(t, "find", path, "import", "--inside", dir)
	require.Empty(t, findsOf(t, path)["button"].Photos[0].File)
	mustRun(t, "check", path)
}

// TestCameraClock: a camera that is wrong, without zone, is set by its photos with a
// place, and by hand.
func TestCameraClock(t *testing.T) {
	path := findBook(t)
	at, pos := stopOf(t, path)
	var log []track.Fix
	require.NoError(t, viewBook(path, func(b *book.Book) error {
		sources, err := b.Sources()
		require.NoError(t, err)
		visits, err := sources[0].Visits()
		require.NoError(t, err)
		log = visits[0].Segments[0]
		return nil
	}))
	dir := t.TempDir()
	ahead := 3*time.Hour + 25*time.Minute
	for i := range 6 {
		f := log[(2*i+1)*len(log)/12]
		if away := f.T.Time().Sub(at).Abs(); away < 150*time.Second {
			continue // would be of one find with the photo below
		}
		write(t, filepath.Join(dir, fmt.Sprintf("p%d.jpg", i)), picture("Box", exifTime(f.T.Time().Add(ahead)), "", &f.Pos))
	}
	write(t, filepath.Join(dir, "find.jpg"), picture("Box", exifTime(at.Add(ahead)), "", nil))
	out := mustRun(t, "find", path, "import", dir)
	require.Regexp(t, `Box, [5-7] photos: clock taken as 3:2[45]:\d\d ahead`, out)
	requireAt(t, pos, findsOf(t, path), "find")

	path = findBook(t)
	out = mustRun(t, "find", path, "import", "--camera-clock", "+3h25m", filepath.Join(dir, "find.jpg"))
	require.Contains(t, out, "Box, 1 photo: clock taken as 3:25:00 ahead")
	requireAt(t, pos, findsOf(t, path), "find")

	path = findBook(t)
	mustRun(t, "find", path, "import", "--zone", "+03:00", "--camera-clock", "25m", filepath.Join(dir, "find.jpg"))
	requireAt(t, pos, findsOf(t, path), "find")

	path = findBook(t) // nothing tells: said, and kept without a place
	out = mustRun(t, "find", path, "import", filepath.Join(dir, "find.jpg"))
	require.Contains(t, out, "clock taken as right in UTC, for of its photos none has a place and a time of its own; --camera-clock or --zone says better")
	require.Contains(t, out, "find: no visit holds that time: kept without a place")
	require.Equal(t, []string{"no place"}, findsOf(t, path)["find"].Remarks)
}

// requireAt holds that a find, or the one it was taken with, is at a place.
func requireAt(t *testing.T, pos grid.LonLat, finds map[string]findJSON, photo string) {
	t.Helper()
	for _, f := range finds {
		for _, p := range f.Photos {
			if p.Name == photo+".jpg" && f.Lat != nil {
				require.InDelta(t, pos.Lat, *f.Lat, 3e-5)
				require.InDelta(t, pos.Lon, *f.Lon, 3e-5)
				return
			}
		}
	}
	t.Fatalf("no find with a place has the photo %s", photo)
}

// TestImportTable: the same table again and again adds each find once, and so does
// the table that list writes.
func TestImportTable(t *testing.T) {
	path := findBook(t)
	dir := t.TempDir()
	table := filepath.Join(dir, "finds.csv")
	write(t, filepath.Join(dir, "pics", "a.jpg"), check.JPEG(nil))
	write(t, table, []byte(`name;date;time;lat;lon;reading;depth (cm);verdict;visit;photo
nail;2026-06-02;18:20;;;31;10;scrap;;pics/a.jpg
nail;2026-06-02;18:20;;;32;12,5;scrap;;pics/none.jpg
coin;02.06.2026;;44,9072;-27,613;low 70s;;keeper;;
ring;;;50,0;8,0;strange;;keeper;2;
=HYPERLINK("x");2020-01-01;10:00;;;;;;;
`))
	out := mustRun(t, "find", path, "import", "--column", "dates=dmy", table)
	require.Contains(t, out, `finds.csv: name from "name", lat from "lat"`)
	for _, want := range []string{"Added 5 finds and 1 photo to ", "2 with a place of their own", "2 put where you stood within 2 minutes of their time",
		"1 kept without a place", "1 before the first visit", "1 outside the site", `reading "low 70s" is 70 to 73`,
		`reading "strange" is kept as text, for it is no number or range`} {
		require.Contains(t, out, want)
	}
	csv := mustRun(t, "find", path, "list", "--csv")
	require.Contains(t, csv, `,"'=HYPERLINK(""x"")",`)
	require.Contains(t, mustRun(t, "find", path, "import", "--column", "dates=dmy", table), "5 finds in the book already")
	again := filepath.Join(dir, "again.csv")
	write(t, again, []byte(csv))
	out = mustRun(t, "find", path, "import", again)
	require.Contains(t, out, "Added 0 finds and 0 photos")
	require.Contains(t, out, "5 finds in the book already")

	other := findBook(t) // and the table makes the same finds of an empty log
	mustRun(t, "find", other, "import", again)
	require.Equal(t, csv[:strings.Index(csv, "\n")], mustRun(t, "find", other, "list", "--csv")[:strings.Index(csv, "\n")])
	finds := findsOf(t, other)["coin"]
	require.EqualValues(t, 1, finds.Visit, "the one of that day")
}

// TestImportWaypoints: those of other programs.
func TestImportWaypoints(t *testing.T) {
	path := findBook(t)
	gpx := filepath.Join(t.TempDir(), "w.gpx")
	write(t, gpx, []byte(`<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1">
<wpt lat="44.9072" lon="-27.613"><time>2026-06-02T18:20:00Z</time><name>coin</name><desc>bent</desc></wpt></gpx>`))
	out := mustRun(t, "find", path, "import", gpx)
	require.Contains(t, out, "Added 1 find and 0 photos")
	f := findsOf(t, path)["coin"]
	require.Equal(t, "bent", f.Note)
	require.Equal(t, "2026-06-02T18:20:00Z", f.Time)
	require.EqualValues(t, 1, f.Visit)
}

func TestParsePlace(t *testing.T) {
	for text, want := range map[string]grid.LonLat{
		"47.31,-31.2": {Lon: -31.2, Lat: 47.31}, "47.31, -31.2": {Lon: -31.2, Lat: 47.31}, "47,31 -31,2": {Lon: -31.2, Lat: 47.31},
		"47,31;-31,2": {Lon: -31.2, Lat: 47.31}, "47,31,-31,2": {Lon: -31.2, Lat: 47.31}, "N47.31 W31.2": {Lon: -31.2, Lat: 47.31},
		`47°18'36"N 31°12'W`: {Lon: -31.2, Lat: 47.31},
	} {
		p, err := parsePlace(text)
		require.NoError(t, err, text)
		require.InDelta(t, want.Lat, p.Lat, 1e-9, text)
		require.InDelta(t, want.Lon, p.Lon, 1e-9, text)
	}
	for _, text := range []string{"", "47.31", "by the oak", "96,8", "47 18 31 12", "47.31,-31.2,5"} {
		_, err := parsePlace(text)
		require.Error(t, err, text)
	}
}

// A season's finds of a club, from the table into the book and out again.
func BenchmarkFinds10000(b *testing.B) {
	var text strings.Builder
	text.WriteString("name,time,lat,lon,reading,depth (cm),verdict\n")
	for i := range 10_000 {
		at := time.Date(2026, 6, 2, 18, 10, 0, 0, time.UTC).Add(time.Duration(i) * time.Second / 8)
		place := ","
		if i%2 == 0 {
			place = "44.9072,-27.613"
		}
		fmt.Fprintf(&text, "find %d,%s,%s,low 70s,%d,keeper\n", i, at.Format(time.RFC3339), place, i%30)
	}
	table := filepath.Join(b.TempDir(), "finds.csv")
	write(b, table, []byte(text.String()))
	b.Run("import", func(b *testing.B) {
		for b.Loop() {
			b.StopTimer()
			path := findBook(b)
			b.StartTimer()
			require.Contains(b, mustRun(b, "find", path, "import", table), "Added 10000 finds")
		}
	})
	path := findBook(b)
	mustRun(b, "find", path, "import", table)
	b.Run("list", func(b *testing.B) {
		for b.Loop() {
			mustRun(b, "find", path, "list")
		}
	})
}
